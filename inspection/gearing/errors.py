"""What the gearing engine refuses to calculate."""

from collections.abc import Mapping
from enum import StrEnum
from typing import Final


class GearingCode(StrEnum):
    """Stable codes of a refusal; the message of each is in `MESSAGES`."""

    TEETH_BELOW_ONE = "teeth_below_one"
    SIZE_NOT_POSITIVE = "size_not_positive"
    NOT_A_LENGTH = "not_a_length"
    ANGLE_OUT_OF_RANGE = "angle_out_of_range"
    NO_ROOT_CIRCLE = "no_root_circle"
    TIP_INSIDE_ROOT = "tip_inside_root"
    SIZE_MISSING = "size_missing"
    NO_STANDARD_MODULE = "no_standard_module"
    SHAFTS_OVERLAP = "shafts_overlap"
    BAND_TURNED_AROUND = "band_turned_around"


MESSAGES: Final[Mapping[GearingCode, str]] = {
    GearingCode.TEETH_BELOW_ONE: "A gear has 1 tooth or more.",
    GearingCode.SIZE_NOT_POSITIVE: "A size must be above 0.",
    GearingCode.NOT_A_LENGTH: "A length is needed, not a %(found)s.",
    GearingCode.ANGLE_OUT_OF_RANGE: "That angle is not one that a gear tooth can have.",
    GearingCode.NO_ROOT_CIRCLE: "%(teeth)s teeth of this size leave nothing of the gear between their roots.",
    GearingCode.TIP_INSIDE_ROOT: "The outside diameter is smaller than the circle at the roots of the teeth.",
    GearingCode.SIZE_MISSING: "Say the module, the pitch or the outside diameter of the gear.",
    GearingCode.NO_STANDARD_MODULE: "No standard module or pitch gives %(teeth)s teeth this outside diameter.",
    GearingCode.SHAFTS_OVERLAP: "The size across both shafts must be larger than each of them.",
    GearingCode.BAND_TURNED_AROUND: "The teeth of a crown gear end at a larger diameter than they begin.",
}


class GearingError(ValueError):
    """Numbers that no gear can have. `str()` is English; `MESSAGES[error.code]` with `params` translates."""

    def __init__(self, code: GearingCode, **params: str) -> None:
        self.code: Final = code
        self.params: Final[Mapping[str, str]] = params
        super().__init__(MESSAGES[code] % params)
