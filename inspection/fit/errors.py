"""What the fit engine refuses to calculate."""

from collections.abc import Mapping
from enum import StrEnum
from typing import Final


class FitErrorCode(StrEnum):
    """Stable codes of a refusal; the message of each is in `MESSAGES`."""

    SIZE_NOT_POSITIVE = "size_not_positive"
    TOLERANCE_NEGATIVE = "tolerance_negative"
    NO_PIECES = "no_pieces"
    GUIDE_NOT_AHEAD = "guide_not_ahead"
    LIMITS_CROSSED = "limits_crossed"


MESSAGES: Final[Mapping[FitErrorCode, str]] = {
    FitErrorCode.SIZE_NOT_POSITIVE: "The size “%(name)s” must be above 0.",
    FitErrorCode.TOLERANCE_NEGATIVE: "A tolerance cannot be below 0.",
    FitErrorCode.NO_PIECES: "Weigh at least one piece of the car.",
    FitErrorCode.GUIDE_NOT_AHEAD: "The guide stands ahead of the rear axle.",
    FitErrorCode.LIMITS_CROSSED: "The least must not be above the most.",
}


class FitError(ValueError):
    """Numbers that no build can have. `str()` is English; `MESSAGES[error.code]` with `params` translates."""

    def __init__(self, code: FitErrorCode, **params: str) -> None:
        self.code: Final = code
        self.params: Final[Mapping[str, str]] = params
        super().__init__(MESSAGES[code] % params)
