"""What the dynamics engine refuses to calculate."""

from collections.abc import Mapping
from enum import StrEnum
from typing import Final


class DynamicsCode(StrEnum):
    """Stable codes of a refusal; the message of each is in `MESSAGES`."""

    NOT_POSITIVE = "not_positive"
    NOT_A_SHARE = "not_a_share"
    NO_SECTIONS = "no_sections"
    LANE_INSIDE_CURVE = "lane_inside_curve"
    DOES_NOT_MOVE = "does_not_move"
    NO_RATIOS = "no_ratios"
    UNKNOWN_INPUT = "unknown_input"
    NO_LAPS = "no_laps"


MESSAGES: Final[Mapping[DynamicsCode, str]] = {
    DynamicsCode.NOT_POSITIVE: "“%(name)s” must be above 0.",
    DynamicsCode.NOT_A_SHARE: "“%(name)s” is a share: from 0 to 1.",
    DynamicsCode.NO_SECTIONS: "A track has at least one straight or curve.",
    DynamicsCode.LANE_INSIDE_CURVE: "This lane would lie beyond the center of a curve.",
    DynamicsCode.DOES_NOT_MOVE: "The motor does not overcome what holds the car back.",
    DynamicsCode.NO_RATIOS: "Name at least one gear ratio.",
    DynamicsCode.UNKNOWN_INPUT: "“%(name)s” is no input of the prediction.",
    DynamicsCode.NO_LAPS: "Name at least one lap of each run.",
}


class DynamicsError(ValueError):
    """Numbers that no car or track can have. `str()` is English; `MESSAGES[error.code]` with `params` translates."""

    def __init__(self, code: DynamicsCode, **params: str) -> None:
        self.code: Final = code
        self.params: Final[Mapping[str, str]] = params
        super().__init__(MESSAGES[code] % params)
