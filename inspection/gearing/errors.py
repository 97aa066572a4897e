"""What the gearing engine refuses to calculate."""

from collections.abc import Mapping
from enum import StrEnum
from typing import Final


class GearingCode(StrEnum):
    """Stable codes of a refusal; the message of each is in `MESSAGES`."""

    TEETH_BELOW_ONE = "teeth_below_one"
    SIZE_NOT_POSITIVE = "size_not_positive"
    NOT_A_LENGTH = "not_a_length"


MESSAGES: Final[Mapping[GearingCode, str]] = {
    GearingCode.TEETH_BELOW_ONE: "A gear has 1 tooth or more.",
    GearingCode.SIZE_NOT_POSITIVE: "A size must be above 0.",
    GearingCode.NOT_A_LENGTH: "A length is needed, not a %(found)s.",
}


class GearingError(ValueError):
    """Numbers that no gear can have. `str()` is English; `MESSAGES[error.code]` with `params` translates."""

    def __init__(self, code: GearingCode, **params: str) -> None:
        self.code: Final = code
        self.params: Final[Mapping[str, str]] = params
        super().__init__(MESSAGES[code] % params)
