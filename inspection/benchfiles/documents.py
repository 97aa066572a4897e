"""What comes of a bench, as a JSON document and as lines of text."""

from collections.abc import Iterator
from fractions import Fraction
from typing import Any

from django.utils.translation import gettext as _

from inspection.benchfiles.selectors import BenchOutcome
from inspection.benchwording.selectors import Figures, mismatch_words, reasons_of
from inspection.conformity.verdicts import Outcome
from inspection.fit.findings import Cure, Finding
from inspection.fit.meanings import CAUTIONS, CURES, CUTS, FINDINGS, PLACES
from inspection.fit.meanings import NOTES as FIT_NOTES
from inspection.fit.meanings import VERDICTS as FIT_VERDICTS
from inspection.gearing.crown import CrownMesh
from inspection.gearing.meanings import CROWN_FINDINGS, CROWN_LIMITS, NOTES, VERDICTS
from inspection.planning.assumed import NEEDS
from inspection.planning.document import BenchPart
from inspection.planning.legality import ClauseAtHome, Legality
from inspection.planning.register import SPACER_PLACES
from inspection.planning.search import Failing, Proposal
from inspection.planning.wear import WearLimit
from inspection.units import Kind, base_unit, write_exact
from inspection.verdictfiles.documents import OUTCOME_WORDS

DOCUMENT, VERSION = "bench-result", 1
FIGURES = Figures()  # a file has a decimal point, whatever the club writes
CLEARLY = {True: "yes", False: "no", None: "unknown"}


def result_document(outcome: BenchOutcome) -> dict[str, Any]:
    """What comes of a bench as JSON values. Exact numbers are texts: whole, or a fraction "37/11"."""
    done = outcome.evaluation
    findings = done.report.findings if done.report else ()
    weight = done.weight
    return {
        "document": DOCUMENT,
        "version": VERSION,
        "name": done.bench.name,
        "rule_sheet": outcome.case.rule_sheet,
        "good": done.is_good,
        "fits": CLEARLY[done.fits],
        "meshes": CLEARLY[done.meshes],
        "legal": CLEARLY[done.is_legal],
        "ratio": _exact(done.ratio),
        "rollout_mm": None if done.rollout is None else round(float(done.rollout), 6),
        "mesh": _mesh(outcome),
        "fit": [_finding(outcome, one) for one in findings],
        "not_known": [
            {"code": one.code.value, "place": one.place.value, "sizes": list(one.sizes)}
            for one in (done.report.missing if done.report else ())
        ],
        "cuts": [
            {
                "code": cut.code.value, "words": _(CUTS[cut.code]),
                "length_mm": write_exact(cut.length), "off_mm": _exact(cut.off),
            }
            for cut in (done.report.cuts if done.report else ())
        ],
        "mismatches": [mismatch_words(one, FIGURES) for one in done.mismatches],
        "weight": {
            "total_g": _exact(done.weighed.mass),
            "known_g": write_exact(done.weighed.known),
            "guide_share": None if weight is None else write_exact(weight.guide_share.value),
        },
        "clauses": [_clause(one) for one in (done.legality.clauses if done.legality else ())],
        "wear": [_wear(one) for one in outcome.wear],
        "laps": [
            {
                "lane": lane.number,
                "name": lane.name,
                "length_m": round(lap.length_m, 4),
                "time_s": round(lap.time_s, 4),
                "top_speed_m_s": round(lap.top_speed, 4),
            }
            for lane, lap in outcome.laps
        ],
        "plan": _plan(outcome),
        "assumed": [
            {"code": one.code.value, "path": one.path, "words": _(one.message) % {"value": one.value}}
            for one in (*done.assumptions, *(outcome.driving.assumptions if outcome.laps else ()))
        ],
        "needs": [
            {"code": need.code.value, "words": _(NEEDS[need.code]), "paths": list(need.paths)}
            for need in (*done.needs, *outcome.driving.needs)
        ],
    }  # fmt: skip


def _exact(value: Fraction | None) -> str | None:
    return None if value is None else write_exact(value)


def _mesh(outcome: BenchOutcome) -> dict[str, Any] | None:
    mesh = outcome.evaluation.mesh
    if mesh is None:
        return None
    verdict = None if mesh.verdict is None else mesh.verdict.value
    words = "" if mesh.verdict is None else _(VERDICTS[mesh.verdict])
    if isinstance(mesh, CrownMesh):
        notes = [_(CROWN_FINDINGS[one]) for one in mesh.findings] + [_(CROWN_LIMITS[one]) for one in mesh.limits]
        return {"kind": "crown", "verdict": verdict, "words": words, "notes": notes}
    return {
        "kind": "spur",
        "verdict": verdict,
        "words": words,
        "notes": [_(NOTES[one]) for one in mesh.notes],
        "basis": mesh.basis.value,
        "findings": [one.value for one in mesh.findings],
        "distance_mm": write_exact(mesh.distance_mm),
        "overlap_mm": write_exact(mesh.overlap_mm),
        "tip_clearance_mm": write_exact(mesh.tip_clearance_mm),
        "zero_backlash_mm": mesh.zero_backlash_mm,
        "working_mm": mesh.working_mm,
        "backlash_mm": mesh.backlash_mm,
        "contact_ratio": mesh.contact_ratio,
    }


def _finding(outcome: BenchOutcome, one: Finding) -> dict[str, Any]:
    return {
        "code": one.code.value,
        "place": one.place.value,
        "words": _(FINDINGS[one.code]),
        "value": write_exact(one.value),
        "worst": write_exact(one.worst),
        "likely": round(one.likely, 6),
        "least": _exact(one.least),
        "most": _exact(one.most),
        "margin": _exact(one.margin),
        "verdict": one.verdict.value,
        "worn": one.worn,
        "notes": [_(FIT_NOTES[note]) for note in one.notes],
        "cures": [_cure(outcome, cure) for cure in one.cures],
    }


def _cure(outcome: BenchOutcome, cure: Cure) -> dict[str, Any]:
    legality = outcome.legality_after(cure)
    return {
        "code": cure.code.value,
        "words": _(CURES[cure.code]),
        "amount_mm": write_exact(cure.amount),
        "sure_mm": write_exact(cure.sure),
        "works": cure.works,
        "blocked_by": [
            {"code": one.code.value, "place": one.place.value, "short_by": write_exact(one.short_by)}
            for one in cure.blockers
        ],
        "legal": CLEARLY[None if legality is None else legality.is_legal],
        "breaks_clauses": _numbers(legality),
        "cautions": [_(CAUTIONS[one]) for one in cure.cautions],
    }


def _numbers(legality: Legality | None) -> list[str]:
    return [] if legality is None else [one.clause.number for one in legality.broken]


def _clause(one: ClauseAtHome) -> dict[str, Any]:
    limits = None if one.result.assessment is None else one.result.assessment.limits
    return {
        "number": one.clause.number,
        "text": one.clause.text,
        "outcome": one.outcome.value,
        "margin": _exact(one.margin),
        "unit": "" if limits is None else base_unit(limits.kind).symbol,
        "unknown": list(one.unknown),
        "counts_gears": CLEARLY[one.counts_gears] if one.is_clearance else None,
    }


def _wear(one: WearLimit) -> dict[str, Any]:
    return {
        "diameter_mm": write_exact(one.diameter),
        "lost_mm": write_exact(one.lost),
        "exact": one.is_exact,
        "passes_there": one.passes_there,
        "clause": one.clause or None,
        "code": None if one.code is None else one.code.value,
        "place": None if one.place is None else one.place.value,
    }


def _plan(outcome: BenchOutcome) -> dict[str, Any] | None:
    found, wish = outcome.plan, outcome.case.wish
    if found is None or wish is None:
        return None
    return {
        "sort": wish.sort.value,
        "wanted_rollout_mm": _exact(wish.rollout),
        "combinations": found.combinations,
        "best": [_proposal(one) for one in found.proposals],
        "nearest_failing": [{**_chosen(one), "reasons": reasons_of(one, FIGURES)} for one in found.nearest_failing],
    }


def _chosen(one: Proposal | Failing) -> dict[str, Any]:
    laid = {} if one.spacers is None else one.spacers.spacers
    return {
        "parts": {place: _name(part) for place, part in one.parts.items()},
        "spacers_mm": {
            place: [write_exact(piece.thickness.value) for piece in way] for place, way in laid.items() if way
        },
        "changes": one.changes,
    }  # fmt: skip


def _proposal(one: Proposal) -> dict[str, Any]:
    done = one.evaluation
    return _chosen(one) | {
        "ratio": _exact(done.ratio),
        "rollout_mm": None if done.rollout is None else round(float(done.rollout), 6),
        "lap_time_s": None if one.lap_time_s is None else round(one.lap_time_s, 4),
        "price": None if one.price is None else f"{float(one.price):.2f}",
    }


def _name(part: BenchPart) -> str:
    return part.name or part.key or part.kind.value


def _mm(value: Fraction) -> str:
    return f"{float(value):.2f}"


# ---- text -----------------------------------------------------------------------------------------------------------


def result_lines(outcome: BenchOutcome) -> Iterator[str]:
    """The same for people: gears, fit with cures, clauses, wear, laps and the plan."""
    done = outcome.evaluation
    yield " · ".join(part for part in (done.bench.name, outcome.case.rule_sheet) if part) or _("Bench")
    yield ""
    yield from _gear_lines(outcome)
    yield from _fit_lines(outcome)
    yield from _clause_lines(outcome)
    yield from _wear_lines(outcome)
    for lane, lap in outcome.laps:
        yield _("Lane %(number)s: %(time).2f s predicted, top speed %(speed).1f m/s.") % {
            "number": lane.number, "time": lap.time_s, "speed": lap.top_speed,
        }  # fmt: skip
    yield from _plan_lines(outcome)
    assumed: dict[str, list[str]] = {}
    for one in done.assumptions:
        assumed.setdefault(_(one.message) % {"value": one.value}, []).append(one.path)
    for what, paths in assumed.items():
        yield _("Assumed: %(what)s (%(paths)s)") % {"what": what, "paths": ", ".join(paths)}
    for need in (*done.needs, *outcome.driving.needs):
        yield _("%(what)s; it takes %(paths)s.") % {"what": _(NEEDS[need.code]), "paths": ", ".join(need.paths)}


def _gear_lines(outcome: BenchOutcome) -> Iterator[str]:
    done = outcome.evaluation
    if done.mesh is not None and done.mesh.verdict is not None:
        yield _("Gears: %(words)s") % {"words": _(VERDICTS[done.mesh.verdict])}
    if done.ratio is not None:
        yield _("Ratio %(ratio).3f.") % {"ratio": float(done.ratio)}
    if done.rollout is not None:
        yield _("Rollout %(rollout)s mm.") % {"rollout": _mm(done.rollout)}
    if done.weighed.mass is not None:
        yield _("Weight %(mass).1f g.") % {"mass": float(done.weighed.mass)}


def _fit_lines(outcome: BenchOutcome) -> Iterator[str]:
    report = outcome.evaluation.report
    for one in report.findings if report else ():
        words = {
            "what": _(FINDINGS[one.code]), "place": _(PLACES[one.place]), "value": _mm(one.value),
            "worst": _mm(one.worst), "verdict": _(FIT_VERDICTS[one.verdict]),
            "worn": _(", with worn tires") if one.worn else "",
        }  # fmt: skip
        yield _("%(what)s, %(place)s%(worn)s: %(value)s ± %(worst)s. %(verdict)s") % words
        for cure in one.cures:
            yield "    " + _cure_words(outcome, cure)


def _cure_words(outcome: BenchOutcome, cure: Cure) -> str:
    legality = outcome.legality_after(cure)
    if not cure.works:
        names = ", ".join(_(FINDINGS[one.code]) for one in cure.blockers)
        then = _("does not work: %(names)s") % {"names": names} if names else _("does not work")
    elif legality is not None and not legality.is_legal:
        then = _("works, and breaks clause %(numbers)s") % {"numbers": ", ".join(_numbers(legality))}
    else:
        then = _("works")
    words = _("%(cure)s %(amount)s mm: %(then)s.") % {
        "cure": _(CURES[cure.code]), "amount": _mm(cure.amount), "then": then,
    }  # fmt: skip
    return " ".join([words, *(_(CAUTIONS[one]) for one in cure.cautions)])


def _clause_lines(outcome: BenchOutcome) -> Iterator[str]:
    legality = outcome.evaluation.legality
    for one in legality.clauses if legality else ():
        words = [f"{one.clause.number}  {OUTCOME_WORDS[one.outcome]}"]
        if one.margin is not None and one.result.assessment is not None:
            unit = base_unit(Kind(one.result.assessment.limits.kind)).symbol
            words.append(_("%(margin)s %(unit)s left") % {"margin": _mm(one.margin), "unit": unit})
        if one.unknown and one.outcome is Outcome.NOT_CHECKED:
            words.append(_("to be measured or declared: %(names)s") % {"names": ", ".join(one.unknown)})
        yield "; ".join(words)


def _wear_lines(outcome: BenchOutcome) -> Iterator[str]:
    for one in outcome.wear:
        what = (
            _("clause %(number)s") % {"number": one.clause}
            if one.code is None
            else f"{_(FINDINGS[one.code])}, {_(PLACES[one.place])}"
        )
        yield _("Rear tires down to %(diameter)s mm: %(what)s") % {"diameter": _mm(one.diameter), "what": what}


def _plan_lines(outcome: BenchOutcome) -> Iterator[str]:
    found = outcome.plan
    if found is None:
        return
    yield _("Of %(count)d combinations, the best:") % {"count": found.combinations}
    for number, one in enumerate(found.proposals, start=1):
        rollout = one.evaluation.rollout
        yield f"{number:4}  {_mm(rollout) if rollout is not None else ''} mm  {_choice_words(one)}"
    for failing in found.nearest_failing:
        yield _("Not %(parts)s: %(why)s") % {
            "parts": _choice_words(failing),
            "why": " ".join(reasons_of(failing, FIGURES)),
        }


def _choice_words(one: Proposal | Failing) -> str:
    """The parts, and the spacers by place, in mm."""
    words = [_name(part) for part in one.parts.values()]
    laid = {} if one.spacers is None else one.spacers.spacers
    words += [
        f"{_(SPACER_PLACES[place])} {' + '.join(f'{float(piece.thickness.value):g}' for piece in way)}"
        for place, way in laid.items()
        if way
    ]
    return ", ".join(words)
