"""What the conformity engine refuses: to calculate, or to read as a rule."""

from collections.abc import Mapping
from enum import StrEnum
from typing import Final


class ConformityCode(StrEnum):
    """Stable codes of a refusal; the message of each is in `MESSAGES`."""

    NO_LIMIT = "no_limit"
    LOWER_ABOVE_UPPER = "lower_above_upper"
    WRONG_KIND = "wrong_kind"
    NEGATIVE_UNCERTAINTY = "negative_uncertainty"
    BAD_RULE = "bad_rule"
    NOT_MEASURABLE = "not_measurable"
    WRONG_EVIDENCE = "wrong_evidence"
    BAD_TEMPERATURE = "bad_temperature"


MESSAGES: Final[Mapping[ConformityCode, str]] = {
    ConformityCode.NO_LIMIT: "Limits need a lower or an upper limit.",
    ConformityCode.LOWER_ABOVE_UPPER: "The lower limit is above the upper limit.",
    ConformityCode.WRONG_KIND: "A %(found)s cannot be compared with a %(wanted)s.",
    ConformityCode.NEGATIVE_UNCERTAINTY: "A resolution, an error limit and a variance cannot be below 0.",
    ConformityCode.BAD_RULE: "A decision rule needs factors of 0 or more, and no guard band if it is simple.",
    ConformityCode.NOT_MEASURABLE: "Clause %(number)s has no limits that a reading could be compared with.",
    ConformityCode.WRONG_EVIDENCE: "Clause %(number)s cannot be decided by what was entered for it.",
    ConformityCode.BAD_TEMPERATURE: "A resistance is measured between -200 and 200 degrees Celsius.",
}


class ConformityError(ValueError):
    """A decision that cannot be made. `str()` is English; `MESSAGES[error.code]` with `params` translates."""

    def __init__(self, code: ConformityCode, **params: str) -> None:
        self.code: Final = code
        self.params: Final[Mapping[str, str]] = params
        super().__init__(MESSAGES[code] % params)


class RuleCode(StrEnum):
    """Stable codes of what cannot be read as a rule; the message of each is in `RULE_MESSAGES`."""

    NOT_AN_OBJECT = "not_an_object"
    NOT_A_LIST = "not_a_list"
    NOT_TEXT = "not_text"
    NOT_A_NUMBER = "not_a_number"
    NOT_YES_NO = "not_yes_no"
    FIELD_MISSING = "field_missing"
    UNKNOWN_FIELD = "unknown_field"
    UNKNOWN_WORD = "unknown_word"
    OPERATOR_DOES_NOT_FIT = "operator_does_not_fit"
    WRONG_VALUES = "wrong_values"
    BAD_QUANTITY = "bad_quantity"
    BAD_DATE = "bad_date"
    UNKNOWN_CHARACTERISTIC = "unknown_characteristic"
    UNKNOWN_LIST = "unknown_list"
    TOO_DEEP = "too_deep"
    TOO_MANY = "too_many"


RULE_MESSAGES: Final[Mapping[RuleCode, str]] = {
    RuleCode.NOT_AN_OBJECT: "Give names with values here.",
    RuleCode.NOT_A_LIST: "Give a list here.",
    RuleCode.NOT_TEXT: "Give text here.",
    RuleCode.NOT_A_NUMBER: "“%(text)s” is not a plain number such as 0.5, 2 or 4/5.",
    RuleCode.NOT_YES_NO: "Give true or false here.",
    RuleCode.FIELD_MISSING: "“%(field)s” is missing.",
    RuleCode.UNKNOWN_FIELD: "“%(field)s” is not known here.",
    RuleCode.UNKNOWN_WORD: "“%(word)s” is not one of %(allowed)s.",
    RuleCode.OPERATOR_DOES_NOT_FIT: "“%(operator)s” cannot be asked about %(about)s.",
    RuleCode.WRONG_VALUES: "“%(operator)s” takes %(wanted)s.",
    RuleCode.BAD_QUANTITY: "“%(text)s” cannot be read: %(why)s",
    RuleCode.BAD_DATE: "“%(text)s” is not a date such as 2026-03-31.",
    RuleCode.UNKNOWN_CHARACTERISTIC: "There is no characteristic “%(name)s”.",
    RuleCode.UNKNOWN_LIST: "There is no list “%(name)s”.",
    RuleCode.TOO_DEEP: "That is nested more deeply than %(limit)s levels.",
    RuleCode.TOO_MANY: "At most %(limit)s can stand here.",
}


class RuleError(ValueError):
    """Something that cannot be read as a rule. path: where, such as `parts[1].upper`; "" for the whole.

    `str()` is English; `RULE_MESSAGES[error.code]` with `params` translates.
    """

    def __init__(self, code: RuleCode, path: str = "", **params: str) -> None:
        self.code: Final = code
        self.path: Final = path
        self.params: Final[Mapping[str, str]] = params
        super().__init__(RULE_MESSAGES[code] % params)
