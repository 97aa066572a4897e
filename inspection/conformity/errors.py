"""What the conformity engine refuses to calculate."""

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


MESSAGES: Final[Mapping[ConformityCode, str]] = {
    ConformityCode.NO_LIMIT: "Limits need a lower or an upper limit.",
    ConformityCode.LOWER_ABOVE_UPPER: "The lower limit is above the upper limit.",
    ConformityCode.WRONG_KIND: "A %(found)s cannot be compared with a %(wanted)s.",
    ConformityCode.NEGATIVE_UNCERTAINTY: "A resolution, an error limit and a variance cannot be below 0.",
    ConformityCode.BAD_RULE: "A decision rule needs factors of 0 or more, and no guard band if it is simple.",
    ConformityCode.NOT_MEASURABLE: "Clause %(number)s has no limits that a reading could be compared with.",
    ConformityCode.WRONG_EVIDENCE: "Clause %(number)s cannot be decided by what was entered for it.",
}


class ConformityError(ValueError):
    """A decision that cannot be made. `str()` is English; `MESSAGES[error.code]` with `params` translates."""

    def __init__(self, code: ConformityCode, **params: str) -> None:
        self.code: Final = code
        self.params: Final[Mapping[str, str]] = params
        super().__init__(MESSAGES[code] % params)
