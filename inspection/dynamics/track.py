"""A track as straights and curves, and each lane's way through it. Lengths in m, angles in degrees."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import cos, hypot, inf, isfinite, pi, radians, sin

from inspection.dynamics.errors import DynamicsCode, DynamicsError


class Turn(StrEnum):
    """Which way a curve goes, in the direction of racing."""

    LEFT = "left"
    RIGHT = "right"


@dataclass(frozen=True, slots=True)
class Straight:
    """A straight section. Raises DynamicsError not_positive."""

    length_m: float

    def __post_init__(self) -> None:
        check_positive(length_m=self.length_m)


@dataclass(frozen=True, slots=True)
class Curve:
    """A curve of one radius at the middle of the track. Raises DynamicsError not_positive."""

    radius_m: float
    angle_deg: float
    turn: Turn

    def __post_init__(self) -> None:
        check_positive(radius_m=self.radius_m, angle_deg=self.angle_deg)


Section = Straight | Curve


@dataclass(frozen=True, slots=True)
class Stretch:
    """What one lane has of a section: its length, and its radius (infinite on a straight)."""

    length_m: float
    radius_m: float


@dataclass(frozen=True, slots=True)
class Closing:
    """How far the middle of the track misses its own beginning: in m, and in degrees of heading."""

    gap_m: float
    turn_deg: float


def lane_of(sections: Sequence[Section], *, offset_m: float) -> tuple[Stretch, ...]:
    """One lane through the sections, in order.

    offset_m: of the lane from the middle of the track to the left, seen in the direction of racing; below 0 to the
    right. In a left curve a lane on the left has the smaller radius, and its arc is radius * angle.
    Raises DynamicsError no_sections or lane_inside_curve.
    """
    if not sections:
        raise DynamicsError(DynamicsCode.NO_SECTIONS)
    lane: list[Stretch] = []
    for section in sections:
        if isinstance(section, Straight):
            lane.append(Stretch(section.length_m, inf))
            continue
        radius = section.radius_m - (offset_m if section.turn is Turn.LEFT else -offset_m)
        if radius <= 0:
            raise DynamicsError(DynamicsCode.LANE_INSIDE_CURVE)
        lane.append(Stretch(radius * radians(section.angle_deg), radius))
    return tuple(lane)


def lane_length(sections: Sequence[Section], *, offset_m: float) -> float:
    """Length of one lane in m. Raises DynamicsError no_sections or lane_inside_curve."""
    return sum(stretch.length_m for stretch in lane_of(sections, offset_m=offset_m))


def closing_of(sections: Sequence[Section]) -> Closing:
    """Does the track come back to its beginning? A plan that was measured wrong does not."""
    x = y = heading = 0.0
    for section in sections:
        if isinstance(section, Straight):
            x, y = x + section.length_m * cos(heading), y + section.length_m * sin(heading)
            continue
        angle = radians(section.angle_deg)
        way = 1 if section.turn is Turn.LEFT else -1
        # the chord of an arc: 2 r sin(angle / 2), in the direction half way round
        chord = 2 * section.radius_m * sin(angle / 2)
        x, y = x + chord * cos(heading + way * angle / 2), y + chord * sin(heading + way * angle / 2)
        heading += way * angle
    turns = heading / (2 * pi)
    return Closing(gap_m=hypot(x, y), turn_deg=(turns - round(turns)) * 360)


def check_positive(**sizes: float) -> None:
    """Raises DynamicsError not_positive with the name of the first size that is not above 0, or is no number."""
    for name, size in sizes.items():
        if not (isfinite(size) and size > 0):
            raise DynamicsError(DynamicsCode.NOT_POSITIVE, name=name)


def check_share(**shares: float) -> None:
    """Raises DynamicsError not_a_share with the name of the first number that is not from 0 to 1."""
    for name, share in shares.items():
        if not 0 <= share <= 1:
            raise DynamicsError(DynamicsCode.NOT_A_SHARE, name=name)
