"""What is wrong with a rule sheet before it is published: each clause by itself here, between clauses in `across`.

The codes and messages are in `problems`.
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Final

from inspection.conformity.across import contradictions, rounded_limits, unknown_names
from inspection.conformity.assess import SIMPLE_ACCEPTANCE, DecisionRule, Limits, RuleStyle
from inspection.conformity.clauses import (
    BEFORE,
    STANDS_FOR,
    USES,
    Clause,
    Comparator,
    Counts,
    ToleranceStyle,
    make_written_limits,
    required,
)
from inspection.conformity.conditions import About, Condition, Op, Term, normalize_choice
from inspection.conformity.family import effective_sheet
from inspection.conformity.inputs import circular_clauses, with_parts
from inspection.conformity.limits import read_size, widen, widths_of
from inspection.conformity.printed import disagreements, exact_words, rounded_among
from inspection.conformity.problems import PROBLEMS, WARNINGS, Found, Problem, ProblemCode, words
from inspection.conformity.reach import applies, can_hold, opposite
from inspection.conformity.subjects import CharacteristicKind, Register
from inspection.conformity.uncertainty import root_rounded_up
from inspection.units import Kind, Quantity, Unit, base_unit, format_quantity, make_quantity


@dataclass(frozen=True, slots=True)
class _Around:
    """What the checks of one clause know of the sheet. register: None when names are not looked up."""

    register: Register | None
    numbers: frozenset[str]
    decision: DecisionRule
    tolerance_style: ToleranceStyle
    tolerances: Mapping[Kind, Quantity] = field(default_factory=dict)


def find_problems(
    clauses: Sequence[Clause],
    *,
    register: Register | None = None,
    parent: Sequence[Clause] = (),
    decision: DecisionRule = SIMPLE_ACCEPTANCE,
    tolerance_style: ToleranceStyle = ToleranceStyle.NONE,
    tolerances: Mapping[Kind, Quantity] | None = None,
) -> list[Problem]:
    """Everything wrong with the clauses of one sheet, in their order. An empty list: ready to publish.

    A sheet may be published when no problem is blocking. A clause with a limit that has no comparator or no
    measuring point blocks, unless its comparator is `judge_decides` and it says why.

    clauses: the sheet's own, struck ones among them. register: without it, names are not looked up. parent: the
    effective clauses of the general sheet that this one builds on. decision, tolerance_style, tolerances: the sheet's.
    """
    effective = [placed.clause for placed in effective_sheet(parent, clauses).clauses]
    checked = frozenset(clause.number.strip() for clause in effective if clause.is_checked)
    around = _Around(register, checked, decision, tolerance_style, tolerances or {})
    counts = Counter(clause.number.strip() for clause in clauses)
    given = {clause.number.strip() for clause in parent}
    circular = circular_clauses(effective)
    found: list[list[Problem]] = []
    for index, clause in enumerate(clauses):
        wrong = {(clause.number, code, tuple(params.items())): None for code, params in _numbering(clause, counts)}
        if clause.is_struck:
            wrong |= {(clause.number, code, tuple(params.items())): None for code, params in _struck(clause, given)}
        else:
            for number, code, params in _whole_clause(clause, around, circular):
                wrong[number, code, tuple(params.items())] = None  # each once, though two rows have it
        found.append([_problem(number, index, code, dict(params)) for number, code, params in wrong])
    for index, problem in _between(clauses, effective):
        found[index].append(problem)
    return [problem for problems in found for problem in problems]


def _problem(number: str, index: int, code: ProblemCode, params: dict[str, str]) -> Problem:
    return Problem(
        code=code,
        clause_number=number,
        message=PROBLEMS[code] % params,
        blocking=code not in WARNINGS,
        index=index,
        params=params,
    )


def _between(clauses: Sequence[Clause], effective: Sequence[Clause]) -> Iterator[tuple[int, Problem]]:
    """What is wrong between clauses, told at the sheet's own: of two, at the later."""
    places = {id(clause): index for index, clause in enumerate(clauses)}
    for first, second, number, limits in contradictions(effective):
        one, other = effective[first], effective[second]
        told, against = (other, number) if id(other) in places else (one, other.number)
        if id(told) in places:
            index = places[id(told)]
            params = {"other": against, "limits": limits}
            yield index, _problem(told.number, index, ProblemCode.CONTRADICTION, params)
    for place, earlier, limit in rounded_limits(effective):
        told = effective[place]
        if id(told) in places:
            index = places[id(told)]
            yield index, _problem(told.number, index, ProblemCode.ROUNDED_CONVERSION, _not_the_same(earlier, limit))


def _not_the_same(one: Quantity, other: Quantity) -> dict[str, str]:
    return {"one": one.canonical, "other": other.canonical, "exact": exact_words(one, other)}


def _numbering(clause: Clause, counts: Mapping[str, int]) -> Found:
    number = clause.number.strip()
    if not number:
        yield ProblemCode.NUMBER_MISSING, {}
    elif counts[number] > 1:
        yield ProblemCode.DUPLICATE_NUMBER, {"number": number, "count": str(counts[number])}


def _struck(clause: Clause, given: set[str]) -> Found:
    number = clause.number.strip()
    if number and number not in given:
        yield ProblemCode.STRIKES_NOTHING, {"number": number}


def _whole_clause(
    clause: Clause, around: _Around, circular: frozenset[str]
) -> Iterator[tuple[str, ProblemCode, dict[str, str]]]:
    """What is wrong with a clause and its parts, with the number of the one."""
    number = clause.number
    if not clause.text.strip():
        yield number, ProblemCode.TEXT_MISSING, {}
    for one in with_parts(clause):
        for code, params in _one_clause(one, around):
            yield one.number, code, params
        for part in one.parts:
            if part.comparator is None:
                yield part.number, ProblemCode.PART_WITHOUT_COMPARATOR, {}
    limits = [limit for one in with_parts(clause) for limit in _sizes(one)]
    for printed, other in disagreements(clause.text, limits):
        yield number, ProblemCode.ROUNDED_CONVERSION, _not_the_same(printed, other)
    for code, params in _reached(clause):
        yield number, code, params
    if number in circular:
        yield number, ProblemCode.CONDITION_CYCLE, {"number": number}


# ---- one clause, or one part of one ----------------------------------------------------------------------------------


def _one_clause(clause: Clause, around: _Around) -> Found:
    for fault in clause.faults:
        yield ProblemCode.RULE_UNREADABLE, {"where": fault.path, "why": str(fault)}
    if around.register is not None:
        yield from unknown_names(clause, around.register, around.numbers)
    yield from _units_fit(clause)
    yield from _by_comparator(clause)
    yield from _put_together(clause, around)
    for one, other in rounded_among(_sizes(clause)):
        yield ProblemCode.ROUNDED_CONVERSION, _not_the_same(one, other)
    yield from _decidable(clause, around)


def _sizes(clause: Clause) -> list[Quantity]:
    """Its limits, and those of its rows, without tolerances."""
    written = (clause.written_limits, *(row.written_limits for row in clause.rows))
    return [limit for limits in written for name, limit in limits.items() if name != "tolerance"]


def _by_comparator(clause: Clause) -> Found:
    match clause.comparator:
        case None:
            yield from _without_comparator(clause)
        case Comparator.JUDGE_DECIDES:
            if clause.written_limits and not clause.judge_reason.strip():
                yield ProblemCode.REASON_MISSING, {}
        case Comparator.ONE_OF:
            yield from _one_of(clause)
        case Comparator.AS_SUPPLIED:
            fits = clause.kind in {CharacteristicKind.CHOICE, CharacteristicKind.TEXT}
            yield from _subject(clause, Comparator.AS_SUPPLIED, fits=fits)
            yield from _unused_limits(clause, Comparator.AS_SUPPLIED)
            yield from _twice(clause)
        case Comparator.YES_NO:
            yield from _yes_no(clause)
        case Comparator.ALL_OF | Comparator.ANY_OF:
            yield from _unused_limits(clause, clause.comparator)
            if not clause.parts and not clause.faults:
                yield ProblemCode.PARTS_MISSING, {"comparator": words(clause.comparator)}
        case _:
            yield from _numeric(clause, clause.comparator)


def _without_comparator(clause: Clause) -> Found:
    limits = clause.written_limits
    if limits:
        yield ProblemCode.COMPARATOR_MISSING, {"limit": " / ".join(map(format_quantity, limits.values()))}
    elif clause.characteristic.strip() or clause.kind:
        yield ProblemCode.NOTHING_TO_CHECK, {}


def _subject(clause: Clause, comparator: Comparator, *, fits: bool) -> Found:
    """The characteristic is named, and its kind goes with the comparator."""
    if not clause.characteristic.strip() or clause.kind is None:
        yield ProblemCode.CHARACTERISTIC_MISSING, {}
    elif not fits:
        yield (
            ProblemCode.KIND_DOES_NOT_FIT,
            {"comparator": words(comparator), "kind": words(clause.kind)},
        )


def _one_of(clause: Clause) -> Found:
    # A list of bare numbers (tooth counts) is a list of counts; it is compared as text.
    fits = clause.kind in {CharacteristicKind.CHOICE, CharacteristicKind.TEXT, CharacteristicKind.COUNT}
    yield from _subject(clause, Comparator.ONE_OF, fits=fits)
    yield from _unused_limits(clause, Comparator.ONE_OF)
    if not any(normalize_choice(entry.value) for entry in clause.allowed):
        if any(row.choices for row in clause.rows):
            yield from _nothing_elsewhere(clause)
        else:
            yield ProblemCode.CHOICES_MISSING, {}
    yield from _twice(clause)


def _twice(clause: Clause) -> Found:
    written = [(entry.value, entry.key, entry.allowed_from, entry.allowed_until) for entry in clause.allowed]
    normalized = Counter((normalize_choice(value), normalize_choice(key), *dates) for value, key, *dates in written)
    for (choice, *_), count in normalized.items():
        if choice and count > 1:
            yield ProblemCode.DUPLICATE_CHOICE, {"choice": str(choice)}


def _yes_no(clause: Clause) -> Found:
    yield from _subject(clause, Comparator.YES_NO, fits=clause.kind is CharacteristicKind.YES_NO)
    yield from _unused_limits(clause, Comparator.YES_NO)
    if clause.expected_answer is None:
        yield ProblemCode.ANSWER_MISSING, {}


def _numeric(clause: Clause, comparator: Comparator) -> Found:
    is_quantity = clause.kind is not None and clause.kind.quantity_kind is not None
    yield from _subject(clause, comparator, fits=is_quantity)
    if clause.kind and clause.kind.needs_measuring_point and not clause.measuring_point.strip():
        yield (
            ProblemCode.MEASURING_POINT_MISSING,
            {"characteristic": clause.characteristic.strip() or words(clause.kind)},
        )
    elsewhere = STANDS_FOR.get(comparator, "") if clause.reference is not None or clause.entries else ""
    in_rows = {name for row in clause.rows for name in row.written_limits}
    for name in required(clause):
        if name in clause.written_limits or name == elsewhere:
            continue
        if name in in_rows:
            yield from _nothing_elsewhere(clause)
        else:
            yield (
                ProblemCode.LIMIT_MISSING,
                {"comparator": words(comparator), "limit": _LIMIT_WORDS[name]},
            )
    yield from _unused_limits(clause, comparator)
    yield from _order(clause, comparator)
    yield from _plausible(clause)


def _nothing_elsewhere(clause: Clause) -> Found:
    """Its rows give what the clause itself does not: that is enough when one of them always holds."""
    conditions = [*applies(clause.applies_when, clause.unless), *(opposite(row.when) for row in clause.rows)]
    if can_hold(conditions):
        yield ProblemCode.NO_LIMIT_ELSEWHERE, {}


def _unused_limits(clause: Clause, comparator: Comparator) -> Found:
    written = dict.fromkeys((*clause.written_limits, *(name for row in clause.rows for name in row.written_limits)))
    for name in written:
        if name not in USES.get(comparator, ()):
            yield (
                ProblemCode.LIMIT_NOT_USED,
                {"comparator": words(comparator), "limit": _LIMIT_WORDS[name]},
            )


def _units_fit(clause: Clause) -> Found:
    kind = clause.kind.quantity_kind if clause.kind else None
    if clause.kind is None or kind is None:
        return
    quantities = [(format_quantity(quantity), quantity.kind) for quantity in clause.written_limits.values()]
    if clause.unit is not None:
        quantities.append((f"“{clause.unit}”", clause.unit.kind))
    if clause.plausible is not None:
        ends = (clause.plausible.lower, clause.plausible.upper)
        quantities += [(format_quantity(end), end.kind) for end in ends]
    if clause.reference is not None and clause.reference.offset is not None:
        quantities.append((format_quantity(clause.reference.offset), clause.reference.offset.kind))
    for row in clause.rows:
        quantities += [(format_quantity(quantity), quantity.kind) for quantity in row.written_limits.values()]
    for written, found in quantities:
        if found is not kind:
            yield (
                ProblemCode.UNIT_OF_WRONG_KIND,
                {
                    "limit": written,
                    "found": words(found),
                    "characteristic": clause.characteristic.strip() or "it",
                    "wanted": words(kind),
                },
            )


def _order(clause: Clause, comparator: Comparator) -> Found:
    kind = clause.kind.quantity_kind if clause.kind else None
    for row in (None, *clause.rows):
        quantities = {**clause.written_limits, **(row.written_limits if row else {})}
        if any(quantity.kind is not kind for quantity in quantities.values()):
            continue
        lower, upper, tolerance = (quantities.get(name) for name in ("lower", "upper", "tolerance"))
        if comparator is Comparator.BETWEEN and lower and upper and lower.base > upper.base:
            yield (
                ProblemCode.LOWER_ABOVE_UPPER,
                {"lower": format_quantity(lower), "upper": format_quantity(upper)},
            )
        if comparator is Comparator.EQUAL_WITHIN and tolerance is not None:
            if tolerance.magnitude < 0:
                yield ProblemCode.TOLERANCE_NEGATIVE, {}
            elif tolerance.magnitude == 0 and clause.kind is not CharacteristicKind.COUNT:
                yield ProblemCode.TOLERANCE_ZERO, {}


def _plausible(clause: Clause) -> Found:
    band = clause.plausible
    if band is None or band.lower.kind is not band.upper.kind:
        return
    if band.lower.base > band.upper.base:
        yield (
            ProblemCode.PLAUSIBLE_BAND_REVERSED,
            {"lower": format_quantity(band.lower), "upper": format_quantity(band.upper)},
        )
        return
    for limits in (clause.written_limits, *(row.written_limits for row in clause.rows)):
        for name in ("lower", "upper", "nominal"):
            written = limits.get(name)
            if written is None or written.kind is not band.lower.kind:
                continue
            if not band.lower.base <= written.base <= band.upper.base:
                yield ProblemCode.LIMIT_NOT_PLAUSIBLE, {"limit": format_quantity(written)}


# ---- how a rule is put together --------------------------------------------------------------------------------------


def _put_together(clause: Clause, around: _Around) -> Found:
    """Parts, comparisons, lists and tolerances where the comparator has a use for them."""
    comparator = clause.comparator
    if comparator is None:
        return
    if clause.parts and not comparator.is_group:
        yield ProblemCode.PARTS_NOT_USED, {"comparator": words(comparator)}
    stands_for = STANDS_FOR.get(comparator)
    takes_list = comparator.takes_a_list or (stands_for is not None and stands_for not in clause.written_limits)
    has_list = bool(clause.choices or clause.entries or any(row.choices for row in clause.rows))
    if has_list and not takes_list and comparator is not Comparator.JUDGE_DECIDES:
        yield ProblemCode.LIST_NOT_USED, {"comparator": words(comparator)}
    yield from _compared(clause, comparator, around.register)
    kind = clause.kind.quantity_kind if clause.kind else None
    if comparator.is_numeric and kind is not None:
        for entry in clause.entries:
            size = read_size(entry.value, clause)
            if size is None:
                yield ProblemCode.LIST_SIZE_UNREADABLE, {"entry": entry.value, "wanted": words(kind)}
    yield from _tolerance(clause, comparator, around)


def _compared(clause: Clause, comparator: Comparator, register: Register | None) -> Found:
    if clause.reference is None:
        return
    subject = register.get(clause.reference.code) if register is not None else None
    other = subject.name if subject else clause.reference.code
    name = STANDS_FOR.get(comparator)
    if name is None:
        yield ProblemCode.OTHER_NOT_USED, {"comparator": words(comparator), "other": other}
        return
    if name in clause.written_limits:
        yield (
            ProblemCode.OTHER_AND_LIMIT,
            {"other": other, "limit": format_quantity(clause.written_limits[name])},
        )
    if clause.reference.code == clause.code and clause.code:
        yield ProblemCode.OTHER_IS_SUBJECT, {"other": other}
    if subject is not None and clause.kind is not None and subject.kind is not clause.kind:
        yield (
            ProblemCode.OTHER_OF_WRONG_KIND,
            {
                "other": other,
                "found": words(subject.kind),
                "characteristic": clause.characteristic.strip() or "it",
                "wanted": words(clause.kind),
            },
        )


def _style(clause: Clause, around: _Around) -> ToleranceStyle:
    return clause.tolerance_style or around.tolerance_style


def _tolerance(clause: Clause, comparator: Comparator, around: _Around) -> Found:
    style = _style(clause, around)
    if clause.allowance is None:
        if clause.tolerance_style is ToleranceStyle.IN_RULE and comparator.is_numeric and not clause.faults:
            yield ProblemCode.ALLOWANCE_MISSING, {}
    elif style is not ToleranceStyle.IN_RULE or not comparator.is_numeric:
        yield ProblemCode.ALLOWANCE_NOT_USED, {}
    decision = clause.decision or around.decision
    if comparator.is_numeric and _is_widened(clause, around) and decision.guard_factor:
        yield ProblemCode.TOLERANCE_AND_GUARD, {}


def _is_widened(clause: Clause, around: _Around) -> bool:
    style = _style(clause, around)
    if style is ToleranceStyle.IN_RULE:
        return clause.allowance is not None
    kind = clause.kind.quantity_kind if clause.kind else None
    return style is ToleranceStyle.WHOLE_SHEET and kind in around.tolerances


# ---- when it holds ---------------------------------------------------------------------------------------------------


def _reached(clause: Clause, within: tuple[Condition, ...] = ()) -> Found:
    """Conditions that can never hold, and rows that can never be reached, of a clause and its parts."""
    around = within or (Term(About.PHASE, Op.ONE_OF, values=clause.phases or (BEFORE,)),)
    conditions = (*around, *applies(clause.applies_when, clause.unless))
    if not can_hold(conditions):
        yield ProblemCode.CONDITION_NEVER_HOLDS, {}
        return
    before: tuple[Condition, ...] = ()
    for place, row in enumerate(clause.rows, start=1):
        if not can_hold((*conditions, *before, row.when)):
            yield ProblemCode.ROW_NEVER_REACHED, {"row": str(place)}
        before = (*before, opposite(row.when))
    for part in clause.parts:
        yield from _reached(part, conditions)


# ---- what it is decided with -----------------------------------------------------------------------------------------

_HALF: Final = Fraction(1, 2)


def _decidable(clause: Clause, around: _Around) -> Found:
    """Whether the named gauge can decide the limits: a band narrower than twice the guard band can pass nothing."""
    kind = clause.kind.quantity_kind if clause.kind else None
    gauge = clause.gauge
    if gauge is None or kind is None or clause.comparator is None or not clause.comparator.is_numeric:
        return
    if gauge.kind is not kind:
        yield (
            ProblemCode.GAUGE_OF_WRONG_KIND,
            {
                "found": words(gauge.kind),
                "characteristic": clause.characteristic.strip() or "it",
                "wanted": words(kind),
            },
        )
        return
    if kind is Kind.COUNT:
        return
    variance = gauge.variance
    if clause.counts is Counts.MEAN:
        variance = gauge.variance_of_mean(max(clause.readings_wanted, 1))
    rule = clause.decision or around.decision
    unit = clause.unit if clause.unit and clause.unit.kind is kind else base_unit(kind)
    told: set[ProblemCode] = set()
    for row in (None, *clause.rows):
        limits = make_written_limits(clause, {**clause.written_limits, **(row.written_limits if row else {})})
        if limits is None:
            continue
        for code, params in _room(_as_applied(clause, limits, around), rule, variance, unit, clause, around):
            if code not in told:
                told.add(code)
                yield code, params


def _as_applied(clause: Clause, limits: Limits, around: _Around) -> Limits:
    """The limits with their printed tolerance."""
    if not _is_widened(clause, around):
        return limits
    if _style(clause, around) is ToleranceStyle.IN_RULE and clause.allowance is not None:
        return widen(limits, *widths_of(clause.allowance, limits))
    width = around.tolerances[limits.kind]
    size = width.magnitude * width.unit.factor
    return widen(limits, size, size)


def _room(limits: Limits, rule: DecisionRule, variance: Fraction, unit: Unit, clause: Clause, around: _Around) -> Found:
    room = _half_width(limits)
    if room is None:
        return
    guard = rule.guard_factor if not _is_widened(clause, around) else Fraction(0)
    left = format_quantity(_size(room / _HALF if limits.lower is not None else room, unit))
    if guard and room**2 < guard**2 * variance:
        if rule.style is RuleStyle.CERTAIN_PASS:
            yield ProblemCode.GAUGE_CANNOT_DECIDE, {"guard": _root(guard**2 * variance, unit), "room": left}
        else:  # the doubt clears, but every reading is in doubt
            yield ProblemCode.ALWAYS_TOO_CLOSE, {"doubt": _root(guard**2 * variance, unit), "room": left}
    elif not guard and variance and room**2 <= rule.coverage_factor**2 * variance:
        yield ProblemCode.ALWAYS_TOO_CLOSE, {"doubt": _root(rule.coverage_factor**2 * variance, unit), "room": left}


def _half_width(limits: Limits) -> Fraction | None:
    """How far the best of all readings is from a limit; None where there is no end to it. No size is below 0."""
    if limits.upper is None:
        return None
    if limits.lower is not None:
        return (limits.upper - limits.lower) * _HALF
    return limits.upper if limits.kind is not Kind.TEMPERATURE and limits.upper >= 0 else None


def _size(base: Fraction, unit: Unit) -> Quantity:
    return make_quantity(base / unit.factor, unit)


def _root(square: Fraction, unit: Unit) -> str:
    digits, exponent = root_rounded_up(square / unit.factor**2, digits=2)
    places = max(0, -exponent)
    return format_quantity(make_quantity(Fraction(digits) * Fraction(10) ** exponent, unit), places=places)


_LIMIT_WORDS: Final[Mapping[str, str]] = {
    "lower": "lower limit",
    "upper": "upper limit",
    "nominal": "value",
    "tolerance": "tolerance",
}
