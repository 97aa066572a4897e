"""What comes of a bench sheet, saved or not: fit with cures, gears, legality at home, weight, pictures; read only.

The planning engine works it out; here the sheet is made its document, and its answer words and drawings.
"""

import datetime as dt
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from fractions import Fraction
from functools import cached_property
from typing import Any

from django.db.models import OuterRef, Subquery
from django.utils import timezone
from django.utils.translation import gettext

from inspection.benchwording.selectors import (
    ClauseLine,
    Figures,
    LegalityLines,
    MeshLines,
    MissingLine,
    PartLine,
    State,
    WorkedOut,
    clause_line,
    crown_lines,
    cut_lines,
    finding_line,
    legality_of,
    mesh_lines,
    mismatch_words,
    missing_lines,
    need_lines,
    path_words,
    state_of,
)
from inspection.chassis.selectors import shown_mm
from inspection.clauses.selectors import sheet_for_engine
from inspection.conformity.facts import Facts
from inspection.conformity.sheet import Sheet
from inspection.conformity.subjects import TRACK_VALUES, Register
from inspection.contents.selectors import register_of
from inspection.fit.findings import Cure, CureCode, Finding, FitVerdict
from inspection.fit.parts import Targets
from inspection.fit.weight import (
    BALLAST_WORDS,
    BallastCode,
    BallastPlan,
    WeightLimits,
    least_ballast,
    plan_ballast,
)
from inspection.gauges.selectors import read_stored
from inspection.gearing.mesh import Mesh
from inspection.gearing.spur import SpurGear
from inspection.models import BenchSheet, Build, Car, Characteristic, DeclaredValue, RuleSheetRevision
from inspection.parts.selectors import part_document, parts_for_kinds
from inspection.planning.assumed import NeedCode
from inspection.planning.document import Bench, BenchPart, read_bench
from inspection.planning.errors import PlanningError
from inspection.planning.evaluation import Evaluation, evaluate, judge_cure
from inspection.planning.legality import CLEARANCES, ClauseAtHome, found_of
from inspection.planning.legality import declared_of as declared_values
from inspection.planning.register import PLACES
from inspection.planning.wear import wear_limits
from inspection.scaledrawings.pictures import Motor, Picture, end_view, gear_pair, guide_in_slot, rear_axle
from inspection.units import DecimalMark, Kind, base_unit, from_base

# By how much a size falls, in mm, for each mm that the rear tires lose in diameter, worn or trued: enough for what is
# said while somebody types. The planning engine judges every diameter, and is asked where a page is opened.
_WEARS = {"rear-tire-diameter": Fraction(1), "ground-clearance": Fraction(1, 2), "rear-clearance": Fraction(1, 2)}


_TARGETS = {one.name for one in fields(Targets)}
WEIGHT_CODE = "weight-ready-to-race"
NOTHING: Mapping[str, str] = {}


def document_of(sheet: BenchSheet, declared: Mapping[str, str] = NOTHING) -> dict[str, Any]:
    """A sheet, saved or not, as the planning engine reads it. No query when the sheet is loaded.

    declared: canonical texts by the code of a characteristic, of what the sheet itself does not tell.
    """
    return {
        "chassis": {
            "name": str(sheet.chassis or ""),
            "sizes": sheet.chassis_sizes,
            "runs_free": sheet.runs_free,
            "corners": sheet.corners,
            "zones": sheet.zones,
        },
        "parts": sheet.parts,
        "mounting": sheet.mounting,
        "spacers": sheet.spacers,
        "ballast": list(sheet.ballast),
        "targets": {name: text for name, text in sheet.targets.items() if name in _TARGETS},
        "track": _track_of(sheet),
        "declared": dict(declared),
    }


def declared_of_cars(cars: Iterable[Car]) -> dict[int, dict[str, str]]:
    """What the latest build of each car declares: canonical texts by the code of the characteristic. One query."""
    latest = Build.objects.filter(car=OuterRef("build__car")).order_by("-number").values("pk")[:1]
    rows = DeclaredValue.objects.filter(build__car__in=[car.pk for car in cars], build=Subquery(latest))
    found: dict[int, dict[str, str]] = {}
    for car, code, text in rows.values_list("build__car", "characteristic__code", "text"):
        found.setdefault(car, {})[code] = text
    return found


def _left_to_declare(bench: Bench, declared: Mapping[str, str], register: Register) -> dict[str, str]:
    """What is declared and stands: what follows from the sizes of the sheet outranks it, also where that is a bound."""
    if not declared:
        return {}
    own = evaluate(bench, cures=False)
    known = found_of(bench, register, build=own.build, report=own.report, mass=own.weighed.mass)
    told = declared_values(declared, register)
    left = {code: text for code, text in declared.items() if code not in known.observations}
    for bounds, is_least in ((known.least, True), (known.most, False)):
        for code, bound in bounds.items():
            readings = told[code].readings if code in told else ()
            if any((one.value < bound) if is_least else (one.value > bound) for one in readings):
                left.pop(code, None)
    return left


def _track_of(sheet: BenchSheet) -> dict[str, Any]:
    layout = sheet.track_layout
    if layout is None:
        return {}
    values = {name: getattr(layout, name) for name in TRACK_VALUES}
    known = {
        name: f"{value} {base_unit(TRACK_VALUES[name]).symbol}" for name, value in values.items() if value is not None
    }
    return {"name": layout.track.name, **known, "sections": layout.sections}


def revision_for(sheet: BenchSheet, on: dt.date) -> RuleSheetRevision | None:
    """The rules of the sheet's class that hold on a day; None without a class or rules. One query."""
    if sheet.racing_class_id is None:
        return None
    published = RuleSheetRevision.objects.of(sheet.car.club).published()
    rows = published.filter(rule_sheet__racing_class=sheet.racing_class_id, effective_from__lte=on)
    return (
        rows.select_related("rule_sheet__club", "rule_sheet__racing_class")
        .order_by("-effective_from", "-number")
        .first()
    )


def facts_at(sheet: BenchSheet, on: dt.date) -> Facts:
    """What is known of car, owner, class and track on a day. No query when the sheet is loaded."""
    layout, of_class, owner = sheet.track_layout, sheet.racing_class, sheet.car.owner
    values = {name: getattr(layout, name) for name in TRACK_VALUES} if layout else {}
    return Facts(
        racing_class=of_class.name if of_class else None,
        scale=(of_class.scale or None) if of_class else None,
        grade=owner.grade or None,
        junior=owner.is_junior,
        track=layout.track.name if layout else None,
        date=on,
        track_values={name: Fraction(value) for name, value in values.items() if value is not None},
    )


@dataclass(frozen=True, slots=True)
class InForce:
    """The rules of a class on a day. register: the club's characteristics by code."""

    revision: RuleSheetRevision
    sheet: Sheet
    register: Mapping[str, Characteristic]

    @property
    def counts_with(self) -> dict[str, str]:
        """What the register says of gears, of the clearances."""
        return {code: self.register[code].counts_with for code in CLEARANCES if code in self.register}


# By class, so that rules are read once for all cars of a class on a page.
Kept = dict[int | None, InForce | None]


@dataclass(frozen=True, slots=True)
class Judged:
    """A sheet with the rules it is judged by, and what the engine says. wrong: why it says nothing."""

    sheet: BenchSheet
    figures: Figures
    rules: InForce | None
    facts: Facts
    found: Evaluation | None
    wrong: str = ""
    asked: dict[str, Any] = field(default_factory=dict)
    declared: Mapping[str, str] = field(default_factory=dict)


def judged(sheet: BenchSheet, kept: Kept, *, cures: bool = True, declared: Mapping[str, str] | None = None) -> Judged:
    """What the engine says of a sheet.

    The queries of `revision_for` and `sheet_for_engine`, and one for the register, once for each class; one more for
    what the car's latest build declares, unless that is given.
    """
    on, figures = timezone.localdate(), Figures(sheet.car.club.decimal_mark)
    if sheet.racing_class_id not in kept:
        revision = revision_for(sheet, on)
        kept[sheet.racing_class_id] = (
            None if revision is None else InForce(revision, sheet_for_engine(revision), register_of(revision))
        )
    rules, facts = kept[sheet.racing_class_id], facts_at(sheet, on)
    asked = {} if rules is None else {"sheet": rules.sheet, "facts": facts, "counts_with": rules.counts_with}
    if declared is None:
        declared = declared_of_cars([sheet.car]).get(sheet.car_id, NOTHING) if rules else NOTHING
    try:
        bench = read_bench(document_of(sheet))
        left = _left_to_declare(bench, declared, rules.sheet.register) if rules else {}
        found = evaluate(replace(bench, declared=left), **asked, cures=cures)
    except PlanningError as error:
        return Judged(sheet, figures, rules, facts, None, _wrong_words(error), asked)
    return Judged(sheet, figures, rules, facts, found, "", asked, left)


def _wrong_words(error: PlanningError) -> str:
    """What cannot be so, named as the form names it."""
    path, why = error.params.get("path", ""), error.params.get("why", "")
    return f"{path_words(path)}: {why}" if path and why else str(error)


def state_in_short(sheet: BenchSheet, kept: Kept, declared: Mapping[str, str] | None = None) -> State:
    """What comes of a sheet in a few words. The queries of `judged`."""
    told = judged(sheet, kept, cures=False, declared=declared)
    return _state(told, _gears(told), _legality(told))


def _state(told: Judged, mesh: MeshLines | None, legality: LegalityLines | None) -> State:
    if told.found is None:
        return State("bad", gettext("Cannot be worked out"), told.wrong)
    report = told.found.report
    lacking: Sequence[object] = report.missing if report else told.found.needs
    findings: Sequence[Finding] = report.findings if report else ()
    return state_of(findings=findings, missing=lacking, mesh=mesh, legality=legality)


def outcome_of(sheet: BenchSheet, *, typing: bool = False) -> WorkedOut:
    """What comes of a sheet, saved or not. The queries of `judged`.

    typing: somebody waits at the keyboard; the diameter at which a clause fails is then told by the slope of its size,
    else by judging the build on smaller tires.
    """
    told = judged(sheet, {})
    mesh, legality = _gears(told), _legality(told, is_exact=not typing)
    state = _state(told, mesh, legality)
    if told.found is None:
        return WorkedOut(state=state)
    found, figures = told.found, told.figures
    report = found.report
    after = (lambda cure: _legality_after(told, cure)) if told.rules else None
    drawer = _Drawer(told)
    lines = [
        finding_line(one, figures, after, drawer.that_cure if one.verdict not in GOOD else None)
        for one in (report.findings if report else ())
    ]
    return WorkedOut(
        state=state,
        failing=tuple(line for line in lines if line.kind != "ok"),
        fitting=tuple(line for line in lines if line.kind == "ok"),
        missing=_missing(found),
        assumed=tuple(dict.fromkeys(gettext(one.message) % {"value": one.value} for one in found.assumptions)),
        cuts=tuple(cut_lines(report.cuts, figures)) if report else (),
        mesh=mesh,
        gears=_gear_facts(found, figures),
        other_gears=drawer.that_run() if mesh is not None and not mesh.runs else None,
        legality=legality,
        weight=(*_weight_facts(found, figures), *_ballast_facts(told)),
        pictures=_pictures(found, figures.decimal_mark),
    )


def _missing(found: Evaluation) -> tuple[MissingLine, ...]:
    """What cannot be worked out at all, then what the fit engine misses; the weight last."""
    late = {NeedCode.WEIGHT, NeedCode.BALANCE}
    needs = [one for one in found.needs if one.code not in late]
    rest = [one for one in found.needs if one.code in late]
    of_fit = found.report.missing if found.report else ()
    return (*need_lines(needs), *missing_lines(of_fit), *need_lines(rest))


def _gears(told: Judged) -> MeshLines | None:
    mesh = told.found.mesh if told.found else None
    if mesh is None:
        return None
    return mesh_lines(mesh, told.figures) if isinstance(mesh, Mesh) else crown_lines(mesh, told.figures)


def _gear_facts(found: Evaluation, figures: Figures) -> tuple[tuple[str, str], ...]:
    facts = []
    if found.ratio is not None:
        facts.append((gettext("Ratio"), figures.number(found.ratio, 3)))
    if found.rollout is not None:
        facts.append((gettext("Rollout"), shown_mm(found.rollout, figures.decimal_mark)))
    return tuple(facts)


def _weight_facts(found: Evaluation, figures: Figures) -> tuple[tuple[str, str], ...]:
    weighed, weight = found.weighed, found.weight
    facts = []
    if weighed.mass is not None:
        facts.append((gettext("Total"), figures.mm(weighed.mass, "g")))
    elif weighed.known:
        facts.append((gettext("What is weighed so far"), figures.mm(weighed.known, "g")))
    if weight is not None:
        share = weight.guide_share.value
        facts.append((gettext("On the rear axle"), _with_share(weight.on_rear.value, 1 - share, figures)))
        facts.append((gettext("On the guide"), _with_share(weight.on_guide.value, share, figures)))
    return tuple(facts)


def _with_share(mass: Fraction, share: Fraction, figures: Figures) -> str:
    return f"{figures.mm(mass, 'g')}, {figures.number(100 * share, 0)} %"


def _pictures(found: Evaluation, mark: DecimalMark) -> tuple[Picture, ...]:
    drawn: list[Picture | None] = []
    if found.build is not None and found.report is not None:
        known = (found.bench.size_of("motor", code) for code in ("can_length", "can_diameter"))
        motor = Motor(*(None if size is None else float(size.value) for size in known))
        drawn.append(rear_axle(found.build, found.report, found.bench.targets, motor=motor, decimal_mark=mark))
        drawn.append(end_view(found.build, found.report, motor=motor, decimal_mark=mark))
        drawn.append(guide_in_slot(found.build, found.build.slot, decimal_mark=mark))
    gears = found.built.gears
    if isinstance(found.mesh, Mesh) and gears.pinion is not None and isinstance(gears.driven, SpurGear):
        drawn.insert(1, gear_pair(gears.pinion, gears.driven, found.mesh, decimal_mark=mark))
    return tuple(picture for picture in drawn if picture is not None)


def _ballast_facts(told: Judged) -> list[tuple[str, str]]:
    """How much ballast where reaches the weight and the share that are wanted, else the class's least weight."""
    found, figures = told.found, told.figures
    if found is None or found.weight is None:
        return []
    wanted = told.sheet.targets
    total = read_stored(wanted.get("total_mass", ""), Kind.MASS, "g")
    share = read_stored(wanted.get("guide_share", ""), Kind.RATIO, "")
    guide, zones, pieces = found.bench.chassis.base("guide_ahead"), found.bench.zones, found.weighed.pieces
    limits = _weight_limits(told)
    if guide is None or not zones:
        return []
    if total is not None or share is not None:
        plan: BallastPlan | None = plan_ballast(
            pieces,
            guide_ahead=guide,
            zones=zones,
            total=total.base if total else max(found.weight.total.value, limits.total_least or Fraction(0)),
            guide_share=share.base if share else found.weight.guide_share.value,
        )
    else:
        plan = least_ballast(pieces, guide_ahead=guide, zones=zones, limits=limits)
    if plan is None:
        return [(gettext("Ballast"), gettext("No ballast in these places brings it inside the limits of its class."))]
    words = [
        gettext("{mass} {ahead} ahead of the rear axle ({zone})").format(
            mass=figures.mm(piece.mass, "g"), ahead=figures.mm(piece.ahead), zone=piece.zone
        )
        for piece in plan.pieces
    ]
    told_words = "; ".join(words) or gettext("none is needed")
    if plan.code is not BallastCode.REACHED:
        told_words = f"{gettext(BALLAST_WORDS[plan.code])} {told_words if words else ''}".strip()
    return [(gettext("Ballast to add"), told_words)]


def _weight_limits(told: Judged) -> WeightLimits:
    """What the class says of the weight, as far as a clause that was judged tells."""
    legality = told.found.legality if told.found else None
    for clause in legality.clauses if legality else ():
        assessed = clause.result.assessment
        if clause.clause.code == WEIGHT_CODE and assessed is not None:
            return WeightLimits(total_least=assessed.limits.lower, total_most=assessed.limits.upper)
    return WeightLimits()


# Legality at home.


def _legality(told: Judged, *, is_exact: bool = False) -> LegalityLines | None:
    """Clause by clause, with what is left, and which fails first as the rear tires wear; None without rules."""
    if told.rules is None or told.found is None or told.found.legality is None:
        return None
    fails = _fails_by_clause(told, is_exact=is_exact)
    lines: list[ClauseLine] = []
    worn: list[tuple[Fraction, str]] = []
    for clause in told.found.legality.clauses:
        fails_at = fails.get(clause.clause.number)
        words = ""
        if fails_at is not None:
            words = gettext("fails below {size} of rear tire").format(
                size=shown_mm(fails_at, told.figures.decimal_mark)
            )
            worn.append((fails_at, clause.clause.number))
        is_declared = clause.clause.code in told.declared
        lines.append(clause_line(clause, told.figures, told.rules.register, wears=words, is_declared=is_declared))
    first = ""
    if worn:
        fails_at, number = max(worn)
        first = gettext("As tires wear or are trued, clause {clause} fails first: below {size} in diameter.").format(
            clause=number, size=shown_mm(fails_at, told.figures.decimal_mark)
        )
    return legality_of(told.rules.revision.rule_sheet.name, lines, first_to_go=first)


def _fails_by_clause(told: Judged, *, is_exact: bool) -> dict[str, Fraction]:
    """The diameter of the rear tires, in mm, at which a clause that stands now gives out, by its number."""
    size = told.found.bench.size_of("rear_tires", "diameter") if told.found else None
    if told.found is None or told.found.legality is None or size is None:
        return {}
    if is_exact:
        return {one.clause: one.diameter for one in wear_limits(told.found.bench, **told.asked) if one.clause}
    guessed = ((one.clause.number, _fails_below(one, size.value)) for one in told.found.legality.clauses)
    return {number: diameter for number, diameter in guessed if diameter is not None}


def _fails_below(clause: ClauseAtHome, tire: Fraction) -> Fraction | None:
    """The diameter of the rear tires below which a clause that passes now fails; None where wear does not matter."""
    slope = _WEARS.get(clause.clause.code)
    assessed = clause.result.assessment
    if slope is None or assessed is None or assessed.limits.lower is None or assessed.margin < 0:
        return None
    return tire - (assessed.measurement.value - assessed.limits.lower) / slope


def _legality_after(told: Judged, cure: Cure) -> tuple[bool | None, str]:
    """What the class says of the build after a cure; what fails without it, too, is not the cure's."""
    if told.found is None or told.found.legality is None:
        return None, ""
    broken = [one.clause.number for one in judge_cure(told.found, cure, **told.asked).broken]
    before = {one.clause.number for one in told.found.legality.broken}
    if new := [number for number in broken if number not in before]:
        return False, gettext("Not legal: clause {numbers}").format(numbers=", ".join(new))
    if broken:
        words = gettext("Legal itself; fails with it and without: clause {numbers}")
        return True, words.format(numbers=", ".join(broken))
    return True, gettext("Legal, as far as it is known")


# Parts on hand that a cure asks for.

GOOD = {FitVerdict.FITS, FitVerdict.LIKELY_FITS}
PART_KEY = "part"
MOST_TRIED, MOST_OFFERED = 30, 5
# Where the part lies that a cure changes; what works on the part itself is done with another one as well.
_PLACE_OF = {
    CureCode.LARGER_TIRE: "{axle}_tires",
    CureCode.NARROWER_TIRE: "{axle}_tires",
    CureCode.LONGER_AXLE: "{axle}_axle",
    CureCode.SHORTER_AXLE: "{axle}_axle",
    CureCode.SMALLER_GEAR: "driven_gear",
    CureCode.SHORTEN_PINION: "pinion",
    CureCode.TRIM_BLADE: "guide",
    CureCode.THIN_BLADE: "guide",
    CureCode.LONGER_SHAFT: "guide",
    CureCode.LONGER_LEAD: "lead_wire",
}


class _Drawer:
    """The parts on hand for this car, each tried once in place of the one on the sheet. One query, once asked."""

    def __init__(self, told: Judged) -> None:
        self.told = told
        self.tried: dict[str, list[tuple[BenchPart, Evaluation]]] = {}

    @cached_property
    def parts(self) -> tuple[BenchPart, ...]:
        car = self.told.sheet.car
        places = [*_PLACE_OF.values(), "pinion"]
        kinds = dict.fromkeys(kind for place in places for kind in PLACES[place.format(axle="rear")])
        rows = parts_for_kinds(car.club, list(kinds), car.owner).filter(stock__gt=0)
        try:
            return read_bench({"on_hand": [part_document(part) | {"stock": part.stock} for part in rows]}).on_hand
        except PlanningError:
            return ()

    def at(self, place: str) -> list[tuple[BenchPart, Evaluation]]:
        """What comes of the sheet with each part at a place."""
        if place not in self.tried:
            self.tried[place] = list(self._try(place))
        return self.tried[place]

    def _try(self, place: str) -> Iterator[tuple[BenchPart, Evaluation]]:
        found = self.told.found
        if found is None or place not in found.bench.parts:
            return
        now = found.bench.parts[place].key
        fitting = [part for part in self.parts if part.kind in PLACES[place] and part.key != now]
        for part in fitting[:MOST_TRIED]:
            try:
                done = evaluate(found.bench.with_parts({place: part}), **self.told.asked, cures=False)
            except PlanningError:
                continue
            yield part, done

    def that_cure(self, finding: Finding, cure: Cure) -> tuple[PartLine, ...]:
        """Those with which the finding is met and nothing else is worse."""
        place = _PLACE_OF.get(cure.code, "").format(axle="front" if finding.place.startswith("front") else "rear")
        if not place:
            return ()
        key = _key(finding)
        good = [
            (part, done)
            for part, done in self.at(place)
            if key in {_key(one) for one in _findings(done) if one.is_met} and not self._worse(done)
        ]
        return self._lines(place, good)

    def that_run(self) -> tuple[PartLine, ...]:
        """Gears that drive in place of one of those on the sheet, with what then has to be settled."""
        lines: list[PartLine] = []
        for place in ("driven_gear", "pinion"):
            good = [(part, done) for part, done in self.at(place) if done.meshes and not done.mismatches]
            lines += self._lines(place, good)
        return tuple(lines)

    def _lines(self, place: str, good: Sequence[tuple[BenchPart, Evaluation]]) -> tuple[PartLine, ...]:
        """Those that make nothing else worse first, then the nearest to the ratio of the sheet."""
        now = (self.told.found.ratio if self.told.found else None) or Fraction(0)
        order = sorted(
            good,
            key=lambda one: (len(self._worse(one[1])), abs((one[1].ratio or now) - now), one[0].name, one[0].key),
        )
        return tuple(self._line(place, part, done, now) for part, done in order[:MOST_OFFERED])

    def _line(self, place: str, part: BenchPart, done: Evaluation, now: Fraction) -> PartLine:
        words = []
        if done.ratio is not None and done.ratio != now:
            words.append(gettext("the ratio is then {ratio}").format(ratio=self.told.figures.number(done.ratio, 3)))
        if worse := self._worse(done):
            words.append(gettext("to be settled then: {what}").format(what="; ".join(worse)))
        return PartLine(part.name, f"{PART_KEY}:{place}:{part.key}", ", ".join(words))

    def _worse(self, done: Evaluation) -> list[str]:
        """What drives, fits or passes on the sheet and no more with the part, in words."""
        found = self.told.found
        if found is None:
            return []
        before = {_key(one) for one in _findings(found) if not one.is_met}
        worse = [
            finding_line(one, self.told.figures).what
            for one in _findings(done)
            if not one.is_met and _key(one) not in before
        ]
        if found.meshes and not done.meshes:
            worse.append(gettext("the gears do not run"))
        worse += [mismatch_words(one, self.told.figures) for one in done.mismatches if one not in found.mismatches]
        known = {one.clause.number for one in found.legality.broken} if found.legality else set()
        broken = [one.clause.number for one in done.legality.broken] if done.legality else []
        worse += [gettext("clause {number}").format(number=number) for number in broken if number not in known]
        return worse


def _findings(done: Evaluation) -> Sequence[Finding]:
    return done.report.findings if done.report else ()


def _key(finding: Finding) -> tuple[str, str, bool]:
    return finding.code, finding.place, finding.worn


# What a sheet declares.


def declared_by(sheet: BenchSheet) -> dict[str, dict[str, str]]:
    """What a sheet declares: words of the build, and canonical texts by the code of the characteristic. No query."""
    motor = sheet.parts.get("motor", {})
    words = {
        "drive_layout": sheet.chassis_sizes.get("layout", ""),
        "motor": motor.get("name", "")[:80],
        "motor_class": motor.get("sizes", {}).get("motor_class", "")[:40],
    }
    declared: dict[str, str] = {}
    try:
        found = evaluate(read_bench(document_of(sheet)), cures=False)
    except PlanningError:
        return {"words": words, "declared": declared}
    known = found_of(found.bench, {}, build=found.build, report=found.report, mass=found.weighed.mass)
    for code, observation in known.observations.items():
        if observation.readings:
            reading = observation.readings[0]
            exact = reading.value if reading.kind is Kind.COUNT else Fraction(round(reading.value * 100), 100)
            declared[code] = from_base(exact, base_unit(reading.kind)).canonical
        elif observation.answers:
            declared[code] = ", ".join(observation.answers)
    return {"words": words, "declared": declared}
