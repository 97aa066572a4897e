"""What came out for a car, as a JSON document and as lines of text."""

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from inspection.conformity.advice import what_would_settle
from inspection.conformity.assess import Assessment
from inspection.conformity.lint import PROBLEMS
from inspection.conformity.probability import conformance_probability
from inspection.conformity.results import ClauseResult
from inspection.conformity.verdicts import Outcome
from inspection.readings.selectors import doubt_quantity, margin_words
from inspection.units import (
    Quantity,
    Unit,
    as_unit,
    base_unit,
    both_systems,
    format_quantity,
    from_base,
    make_quantity,
    write_exact,
)
from inspection.verdictfiles.selectors import Case, problems_of

DOCUMENT, VERSION = "findings", 1
# ASTM E29 1.3: a reference to it must name the method.
METHOD = "absolute method of ASTM E29: readings are compared as they stand, without rounding"
OUTCOME_WORDS: Mapping[Outcome, Any] = {
    Outcome.PASS: gettext_lazy("Pass"),
    Outcome.FAIL: gettext_lazy("Fail"),
    Outcome.TOO_CLOSE: gettext_lazy("Too close"),
    Outcome.NOT_CHECKED: gettext_lazy("Not checked"),
    Outcome.JUDGE_DECIDES: gettext_lazy("Judge decides"),
    Outcome.NOT_APPLICABLE: gettext_lazy("Does not apply"),
}


def findings_document(case: Case, results: Sequence[ClauseResult]) -> dict[str, Any]:
    """The findings as JSON values. passes: every clause clears."""
    return {
        "document": DOCUMENT,
        "version": VERSION,
        "rule_sheet": case.rule_sheet,
        "revision": case.revision,
        "car": case.car,
        "driver": case.driver,
        "phase": case.facts.phase,
        "method": METHOD,
        "passes": all(result.clears for result in results),
        "clauses": [_finding(case, result) for result in results],
        "problems": [
            {
                "clause": problem.clause_number,
                "code": problem.code.value,
                "message": _(PROBLEMS[problem.code]) % problem.params,
                "blocking": problem.blocking,
            }
            for problem in problems_of(case)
        ],
    }


def _finding(case: Case, result: ClauseResult) -> dict[str, Any]:
    """One clause or part. What does not apply to its sort is left out."""
    plain: dict[str, Any] = {
        "number": result.clause.number,
        "text": result.clause.text,
        "outcome": result.outcome.value,
        "clears": result.clears,
        "too_close": result.too_close,
    }
    if result.assessment is not None:
        plain |= _measured(case, result, result.assessment)
    ruling = result.ruling
    more: dict[str, Any] = {
        "answers": list(result.answers),
        "not_allowed": list(result.refused),
        "allowed": list(result.allowed),
        "go_no_go": {"gauge": ruling.reason, "goes": ruling.passes} if ruling and not ruling.judge else None,
        "ruling": {"judge": ruling.judge, "reason": ruling.reason} if ruling and ruling.judge else None,
        "missing": [{"lacking": miss.lacking.value, "name": miss.name} for miss in result.missing],
        "notes": [note.value for note in result.notes],
        "parts": [_finding(case, part) for part in result.parts],
    }
    return plain | {key: value for key, value in more.items() if value}


def _measured(case: Case, result: ClauseResult, found: Assessment) -> dict[str, Any]:
    reading = _reading_of(case, result, found)
    limits, unit = found.limits, reading.unit
    ends = {"lower": limits.lower_written, "upper": limits.upper_written}
    accepted = {"lower": found.acceptance_lower, "upper": found.acceptance_upper}
    doubt = doubt_quantity(found.measurement.variance, unit)
    other = as_unit(unit.counterpart, unit.kind) if unit.counterpart else None
    known: dict[str, Any] = {
        "reading": format_quantity(reading),
        "gauge": _gauge_of(case, result),
        "limits": {end: both_systems(written) for end, written in ends.items() if written is not None},
        "acceptance": {end: _size(value, unit) for end, value in accepted.items() if value is not None},
        "margin": {
            "words": margin_words(found, reading),
            "other": margin_words(found, reading, unit=other) if other and found.margin else "",
            "exact": write_exact(found.margin),
            "unit": base_unit(limits.kind).symbol,
        },
        "zone": found.zone.value,
        "statement": found.statement.value,
        "rule": found.rule.style.value,
        "reasons": [reason.value for reason in found.reasons],
    }
    if doubt is not None:
        known["expanded_uncertainty"] = format_quantity(doubt)
        known["conformance_probability"] = round(conformance_probability(found.measurement, limits), 6)
    if found.too_close:
        known["settled_by"] = [
            {"gauge": remedy.gauge, "readings": remedy.readings} for remedy in what_would_settle(found, case.gauges)
        ]
    return known


def _reading_of(case: Case, result: ClauseResult, found: Assessment) -> Quantity:
    """The reading as it was written; the mean, a resistance at 20 °C or a worked-out value in the clause's unit."""
    written = case.readings.get(result.clause.code, ())
    if result.reading is not None and written[result.reading].base == found.measurement.value:
        return written[result.reading]
    kind = found.limits.kind
    shown = found.limits.upper_written or found.limits.lower_written
    unit = written[0].unit if written else shown.unit if shown else base_unit(kind)
    return from_base(found.measurement.value, unit)


def _gauge_of(case: Case, result: ClauseResult) -> str:
    used = case.used.get(result.clause.code, ())
    if result.reading is not None:
        return used[result.reading]
    return ", ".join(dict.fromkeys(name for name in used if name))


def _size(base: Fraction, unit: Unit) -> str:
    return format_quantity(make_quantity((base - unit.offset) / unit.factor, unit))


# ---- text -----------------------------------------------------------------------------------------------------------


def findings_lines(case: Case, results: Sequence[ClauseResult]) -> Iterator[str]:
    """The findings as a table of text: number, outcome, what was found, the limit, and what to know."""
    title = case.rule_sheet if case.revision is None else f"{case.rule_sheet}, {_('revision')} {case.revision}"
    yield " · ".join(part for part in (title, case.car, case.driver) if part)
    yield ""
    rows = [row for result in results for row in _rows(case, result)]
    widths = [max((len(row[column]) for row in rows), default=0) for column in range(4)]
    for row in rows:
        cells = [cell.ljust(width) for cell, width in zip(row[:4], widths, strict=True)]
        yield "  ".join([*cells, row[4]]).rstrip()
    yield ""
    failing = [result.clause.number for result in results if not result.clears]
    if failing:
        yield _("Does not clear: clause %(numbers)s.") % {"numbers": ", ".join(failing)}
    else:
        yield _("Every clause clears.")
    for problem in problems_of(case):
        message = _(PROBLEMS[problem.code]) % problem.params
        yield _("Rule sheet, clause %(number)s: %(message)s") % {"number": problem.clause_number, "message": message}


def _rows(case: Case, result: ClauseResult) -> Iterator[tuple[str, str, str, str, str]]:
    found, limit, why = "", "", []
    if result.assessment is not None:
        reading = _reading_of(case, result, result.assessment)
        found = format_quantity(reading)
        limits = result.assessment.limits
        ends = (_("from %(limit)s"), limits.lower_written), (_("up to %(limit)s"), limits.upper_written)
        limit = " ".join(words % {"limit": format_quantity(end)} for words, end in ends if end is not None)
        why.append(margin_words(result.assessment, reading))
    elif result.answers:
        found = ", ".join(result.answers)
    if result.too_close:
        why.append(_("too close, measure again") + _settled_words(case, result.assessment))
    if result.missing:
        names = ", ".join(f"{miss.lacking.value} {miss.name}".strip().replace("_", " ") for miss in result.missing)
        why.append(_("not known: %(names)s") % {"names": names})
    if result.ruling is not None:
        why.append(f"{result.ruling.judge}: {result.ruling.reason}" if result.ruling.judge else result.ruling.reason)
    why += [note.value.replace("_", " ") for note in result.notes]
    yield result.clause.number, str(OUTCOME_WORDS[result.outcome]), found, limit, "; ".join(why)
    for part in result.parts:
        yield from _rows(case, part)


def _settled_words(case: Case, found: Assessment | None) -> str:
    remedies = what_would_settle(found, case.gauges) if found is not None else ()
    if not remedies:
        return ""
    first = remedies[0]
    if first.readings == 1:
        return _(" (%(gauge)s would settle it)") % {"gauge": first.gauge}
    return _(" (the mean of %(count)d readings with %(gauge)s would settle it)") % {
        "count": first.readings,
        "gauge": first.gauge,
    }
