"""What can be wrong with a rule sheet: codes, messages and what is a warning only. `lint` finds them."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Final


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
    # How a rule is put together.
    RULE_UNREADABLE = "rule_unreadable"
    PARTS_MISSING = "parts_missing"
    PARTS_NOT_USED = "parts_not_used"
    PART_WITHOUT_COMPARATOR = "part_without_comparator"
    OTHER_NOT_USED = "other_not_used"
    OTHER_AND_LIMIT = "other_and_limit"
    OTHER_IS_SUBJECT = "other_is_subject"
    OTHER_OF_WRONG_KIND = "other_of_wrong_kind"
    LIST_NOT_USED = "list_not_used"
    LIST_SIZE_UNREADABLE = "list_size_unreadable"
    ALLOWANCE_MISSING = "allowance_missing"
    ALLOWANCE_NOT_USED = "allowance_not_used"
    TOLERANCE_AND_GUARD = "tolerance_and_guard"
    NO_LIMIT_ELSEWHERE = "no_limit_elsewhere"
    # What it speaks of.
    UNKNOWN_CHARACTERISTIC = "unknown_characteristic"
    UNKNOWN_CLAUSE = "unknown_clause"
    DERIVATION_BROKEN = "derivation_broken"
    # When it holds.
    CONDITION_NEVER_HOLDS = "condition_never_holds"
    ROW_NEVER_REACHED = "row_never_reached"
    CONDITION_CYCLE = "condition_cycle"
    # What it is printed and decided with.
    ROUNDED_CONVERSION = "rounded_conversion"
    GAUGE_OF_WRONG_KIND = "gauge_of_wrong_kind"
    GAUGE_CANNOT_DECIDE = "gauge_cannot_decide"
    ALWAYS_TOO_CLOSE = "always_too_close"
    # How it stands to other clauses.
    CONTRADICTION = "contradiction"
    STRIKES_NOTHING = "strikes_nothing"


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
    ProblemCode.LIMIT_MISSING: "“%(comparator)s” lacks its %(limit)s.",
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
    ProblemCode.RULE_UNREADABLE: "“%(where)s” cannot be read: %(why)s",
    ProblemCode.PARTS_MISSING: "“%(comparator)s” needs parts.",
    ProblemCode.PARTS_NOT_USED: "“%(comparator)s” does not use parts: remove them, or choose all of or any of.",
    ProblemCode.PART_WITHOUT_COMPARATOR: "The part needs a comparator.",
    ProblemCode.OTHER_NOT_USED: "“%(comparator)s” cannot compare with %(other)s.",
    ProblemCode.OTHER_AND_LIMIT: "Compare with %(other)s or write the limit %(limit)s, not both.",
    ProblemCode.OTHER_IS_SUBJECT: "%(other)s is compared with itself.",
    ProblemCode.OTHER_OF_WRONG_KIND: "%(other)s is a %(found)s, but %(characteristic)s is a %(wanted)s.",
    ProblemCode.LIST_NOT_USED: "“%(comparator)s” does not use a list: remove it or change the comparator.",
    ProblemCode.LIST_SIZE_UNREADABLE: "“%(entry)s” in the list is no %(wanted)s, so it gives no limit.",
    ProblemCode.ALLOWANCE_MISSING: "The clause states a tolerance of its own: say which.",
    ProblemCode.ALLOWANCE_NOT_USED: "The tolerance of the clause is not used: choose “in the clause”, or remove it.",
    ProblemCode.TOLERANCE_AND_GUARD: (
        "A printed tolerance and a guard band are never both applied: here the tolerance holds, without guard band."
    ),
    ProblemCode.NO_LIMIT_ELSEWHERE: (
        "Where none of its conditions holds the clause has no limit and stays not checked. Write one for all other "
        "cases, or say when the clause applies."
    ),
    ProblemCode.UNKNOWN_CHARACTERISTIC: "There is no characteristic “%(name)s”.",
    ProblemCode.UNKNOWN_CLAUSE: "There is no clause %(name)s that is checked.",
    ProblemCode.DERIVATION_BROKEN: "%(name)s cannot be worked out: look at what it is worked out from.",
    ProblemCode.CONDITION_NEVER_HOLDS: "The clause can never apply: its conditions contradict each other.",
    ProblemCode.ROW_NEVER_REACHED: "Row %(row)s of the limits can never hold.",
    ProblemCode.CONDITION_CYCLE: "Whether clause %(number)s applies depends on its own outcome.",
    ProblemCode.ROUNDED_CONVERSION: (
        "%(one)s and %(other)s are not the same: %(one)s is %(exact)s. Print the exact figure, or one of them only."
    ),
    ProblemCode.GAUGE_OF_WRONG_KIND: "The gauge measures a %(found)s, but %(characteristic)s is a %(wanted)s.",
    ProblemCode.GAUGE_CANNOT_DECIDE: (
        "No reading of this gauge can pass for certain: the guard band is %(guard)s, and the limits leave %(room)s. "
        "Name a finer gauge, widen the limits, or choose simple acceptance."
    ),
    ProblemCode.ALWAYS_TOO_CLOSE: (
        "Every reading of this gauge is too close to call: it is sure to %(doubt)s, and the limits leave %(room)s."
    ),
    ProblemCode.CONTRADICTION: "Nothing can meet both this clause and clause %(other)s: %(limits)s.",
    ProblemCode.STRIKES_NOTHING: "The general sheet has no clause %(number)s to strike.",
}

WARNINGS: Final = frozenset(
    {
        ProblemCode.ALLOWANCE_NOT_USED,
        ProblemCode.TOLERANCE_AND_GUARD,
        ProblemCode.NO_LIMIT_ELSEWHERE,
        ProblemCode.ROW_NEVER_REACHED,
        ProblemCode.ROUNDED_CONVERSION,
        ProblemCode.ALWAYS_TOO_CLOSE,
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


# What one check finds: codes with the parameters of their messages.
Found = Iterator[tuple[ProblemCode, dict[str, str]]]


def words(name: StrEnum) -> str:
    return name.value.replace("_", " ")
