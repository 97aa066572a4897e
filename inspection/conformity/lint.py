"""What is wrong with a rule sheet before it is published: each problem with a stable code, blocking or a warning."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Final

from inspection.conformity.clauses import USES, Clause, Comparator, required
from inspection.conformity.conditions import normalize_choice
from inspection.conformity.subjects import CharacteristicKind
from inspection.units import format_quantity


class ProblemCode(StrEnum):
    """Stable codes of what is wrong with a clause; the message of each is in `PROBLEMS`."""

    NUMBER_MISSING = "number_missing"
    DUPLICATE_NUMBER = "duplicate_number"
    TEXT_MISSING = "text_missing"
    COMPARATOR_MISSING = "comparator_missing"
    CHARACTERISTIC_MISSING = "characteristic_missing"
    KIND_DOES_NOT_FIT = "kind_does_not_fit"
    MEASURING_POINT_MISSING = "measuring_point_missing"
    LIMIT_MISSING = "limit_missing"
    LIMIT_NOT_USED = "limit_not_used"
    UNIT_OF_WRONG_KIND = "unit_of_wrong_kind"
    LOWER_ABOVE_UPPER = "lower_above_upper"
    TOLERANCE_NEGATIVE = "tolerance_negative"
    TOLERANCE_ZERO = "tolerance_zero"
    CHOICES_MISSING = "choices_missing"
    DUPLICATE_CHOICE = "duplicate_choice"
    ANSWER_MISSING = "answer_missing"
    REASON_MISSING = "reason_missing"
    NOTHING_TO_CHECK = "nothing_to_check"
    PLAUSIBLE_BAND_REVERSED = "plausible_band_reversed"
    LIMIT_NOT_PLAUSIBLE = "limit_not_plausible"


PROBLEMS: Final[Mapping[ProblemCode, str]] = {
    ProblemCode.NUMBER_MISSING: "The clause needs a number.",
    ProblemCode.DUPLICATE_NUMBER: "Number %(number)s is given to %(count)s clauses.",
    ProblemCode.TEXT_MISSING: "The clause needs a text.",
    ProblemCode.COMPARATOR_MISSING: (
        "The limit %(limit)s needs a comparator: at least, at most, between, or equal within a tolerance. "
        "Without one a judge must decide, and the clause must say why."
    ),
    ProblemCode.CHARACTERISTIC_MISSING: "Say what is measured, counted, chosen or answered.",
    ProblemCode.KIND_DOES_NOT_FIT: "“%(comparator)s” cannot be used with a %(kind)s.",
    ProblemCode.MEASURING_POINT_MISSING: (
        "Say where %(characteristic)s is measured. Otherwise a judge must decide, and the clause must say why."
    ),
    ProblemCode.LIMIT_MISSING: "“%(comparator)s” needs a %(limit)s.",
    ProblemCode.LIMIT_NOT_USED: "“%(comparator)s” does not use the %(limit)s: remove it or change the comparator.",
    ProblemCode.UNIT_OF_WRONG_KIND: "%(limit)s is a %(found)s, but %(characteristic)s is a %(wanted)s.",
    ProblemCode.LOWER_ABOVE_UPPER: "The lower limit %(lower)s is above the upper limit %(upper)s.",
    ProblemCode.TOLERANCE_NEGATIVE: "A tolerance cannot be below 0.",
    ProblemCode.TOLERANCE_ZERO: "With a tolerance of 0 hardly any reading can pass.",
    ProblemCode.CHOICES_MISSING: "The list of what is allowed is empty.",
    ProblemCode.DUPLICATE_CHOICE: "“%(choice)s” is in the list twice.",
    ProblemCode.ANSWER_MISSING: "Say whether yes or no is the answer that passes.",
    ProblemCode.REASON_MISSING: "The clause has a limit, so say why a judge decides it.",
    ProblemCode.NOTHING_TO_CHECK: "The clause names a characteristic but checks nothing.",
    ProblemCode.PLAUSIBLE_BAND_REVERSED: "The plausible band %(lower)s to %(upper)s is the wrong way round.",
    ProblemCode.LIMIT_NOT_PLAUSIBLE: "The limit %(limit)s lies outside the plausible band.",
}

_WARNINGS: Final = frozenset(
    {
        ProblemCode.TOLERANCE_ZERO,
        ProblemCode.DUPLICATE_CHOICE,
        ProblemCode.NOTHING_TO_CHECK,
        ProblemCode.LIMIT_NOT_PLAUSIBLE,
    }
)


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong with one clause. message: English; `PROBLEMS[code]` with `params` translates it.

    blocking: the sheet cannot be published with it. index: place of the clause in the sheet, from 0.
    """

    code: ProblemCode
    clause_number: str
    message: str
    blocking: bool
    index: int
    params: Mapping[str, str] = field(default_factory=dict, compare=False)


def find_problems(clauses: Sequence[Clause]) -> list[Problem]:
    """Everything wrong with the clauses of one sheet, in their order. An empty list: ready to publish.

    A sheet may be published when no problem is blocking. A clause with a limit that has no comparator or no
    measuring point blocks, unless its comparator is `judge_decides` and it says why.
    """
    counts = Counter(clause.number.strip() for clause in clauses)
    problems: list[Problem] = []
    for index, clause in enumerate(clauses):
        found = [*_numbering(clause, counts), *_wording(clause)]
        problems += [
            Problem(
                code=code,
                clause_number=clause.number,
                message=PROBLEMS[code] % params,
                blocking=code not in _WARNINGS,
                index=index,
                params=params,
            )
            for code, params in found
        ]
    return problems


_Found = Iterator[tuple[ProblemCode, dict[str, str]]]


def _numbering(clause: Clause, counts: Mapping[str, int]) -> _Found:
    number = clause.number.strip()
    if not number:
        yield ProblemCode.NUMBER_MISSING, {}
    elif counts[number] > 1:
        yield ProblemCode.DUPLICATE_NUMBER, {"number": number, "count": str(counts[number])}


def _wording(clause: Clause) -> _Found:
    if not clause.text.strip():
        yield ProblemCode.TEXT_MISSING, {}
    yield from _units_fit(clause)
    match clause.comparator:
        case None:
            yield from _without_comparator(clause)
        case Comparator.JUDGE_DECIDES:
            if clause.written_limits and not clause.judge_reason.strip():
                yield ProblemCode.REASON_MISSING, {}
        case Comparator.ONE_OF:
            yield from _one_of(clause)
        case Comparator.YES_NO:
            yield from _yes_no(clause)
        case Comparator.ALL_OF | Comparator.ANY_OF | Comparator.AS_SUPPLIED:
            return
        case _:
            yield from _numeric(clause, clause.comparator)


def _without_comparator(clause: Clause) -> _Found:
    limits = clause.written_limits
    if limits:
        yield ProblemCode.COMPARATOR_MISSING, {"limit": " / ".join(map(format_quantity, limits.values()))}
    elif clause.characteristic.strip() or clause.kind:
        yield ProblemCode.NOTHING_TO_CHECK, {}


def _subject(clause: Clause, comparator: Comparator, *, fits: bool) -> _Found:
    """The characteristic is named, and its kind goes with the comparator."""
    if not clause.characteristic.strip() or clause.kind is None:
        yield ProblemCode.CHARACTERISTIC_MISSING, {}
    elif not fits:
        yield (
            ProblemCode.KIND_DOES_NOT_FIT,
            {"comparator": _words(comparator), "kind": _words(clause.kind)},
        )


def _one_of(clause: Clause) -> _Found:
    # A list of bare numbers (tooth counts) is a list of counts; it is compared as text.
    fits = clause.kind in {CharacteristicKind.CHOICE, CharacteristicKind.TEXT, CharacteristicKind.COUNT}
    yield from _subject(clause, Comparator.ONE_OF, fits=fits)
    yield from _unused_limits(clause, Comparator.ONE_OF)
    normalized = Counter(normalize_choice(choice) for choice in clause.choices)
    if not any(normalized):
        yield ProblemCode.CHOICES_MISSING, {}
    for choice, count in normalized.items():
        if choice and count > 1:
            yield ProblemCode.DUPLICATE_CHOICE, {"choice": choice}


def _yes_no(clause: Clause) -> _Found:
    yield from _subject(clause, Comparator.YES_NO, fits=clause.kind is CharacteristicKind.YES_NO)
    yield from _unused_limits(clause, Comparator.YES_NO)
    if clause.expected_answer is None:
        yield ProblemCode.ANSWER_MISSING, {}


def _numeric(clause: Clause, comparator: Comparator) -> _Found:
    is_quantity = clause.kind is not None and clause.kind.quantity_kind is not None
    yield from _subject(clause, comparator, fits=is_quantity)
    if clause.kind and clause.kind.needs_measuring_point and not clause.measuring_point.strip():
        yield (
            ProblemCode.MEASURING_POINT_MISSING,
            {"characteristic": clause.characteristic.strip() or _words(clause.kind)},
        )
    for name in required(clause):
        if name not in clause.written_limits:
            yield (
                ProblemCode.LIMIT_MISSING,
                {"comparator": _words(comparator), "limit": _LIMIT_WORDS[name]},
            )
    yield from _unused_limits(clause, comparator)
    yield from _order(clause, comparator)
    yield from _plausible(clause)


def _unused_limits(clause: Clause, comparator: Comparator) -> _Found:
    for name in clause.written_limits:
        if name not in USES.get(comparator, ()):
            yield (
                ProblemCode.LIMIT_NOT_USED,
                {"comparator": _words(comparator), "limit": _LIMIT_WORDS[name]},
            )


def _units_fit(clause: Clause) -> _Found:
    kind = clause.kind.quantity_kind if clause.kind else None
    if clause.kind is None or kind is None:
        return
    quantities = [(format_quantity(quantity), quantity.kind) for quantity in clause.written_limits.values()]
    if clause.unit is not None:
        quantities.append((f"“{clause.unit}”", clause.unit.kind))
    if clause.plausible is not None:
        ends = (clause.plausible.lower, clause.plausible.upper)
        quantities += [(format_quantity(end), end.kind) for end in ends]
    for written, found in quantities:
        if found is not kind:
            yield (
                ProblemCode.UNIT_OF_WRONG_KIND,
                {
                    "limit": written,
                    "found": _words(found),
                    "characteristic": clause.characteristic.strip() or "it",
                    "wanted": _words(kind),
                },
            )


def _order(clause: Clause, comparator: Comparator) -> _Found:
    kind = clause.kind.quantity_kind if clause.kind else None
    if any(quantity.kind is not kind for quantity in clause.written_limits.values()):
        return
    lower, upper, tolerance = clause.lower, clause.upper, clause.tolerance
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


def _plausible(clause: Clause) -> _Found:
    band = clause.plausible
    if band is None or band.lower.kind is not band.upper.kind:
        return
    if band.lower.base > band.upper.base:
        yield (
            ProblemCode.PLAUSIBLE_BAND_REVERSED,
            {"lower": format_quantity(band.lower), "upper": format_quantity(band.upper)},
        )
        return
    for name in ("lower", "upper", "nominal"):
        written = clause.written_limits.get(name)
        if written is None or written.kind is not band.lower.kind:
            continue
        if not band.lower.base <= written.base <= band.upper.base:
            yield ProblemCode.LIMIT_NOT_PLAUSIBLE, {"limit": format_quantity(written)}


_LIMIT_WORDS: Final[Mapping[str, str]] = {
    "lower": "lower limit",
    "upper": "upper limit",
    "nominal": "value",
    "tolerance": "tolerance",
}


def _words(name: StrEnum) -> str:
    return name.value.replace("_", " ")
