"""Reads tracks and layouts, and knows the lanes a new track usually has."""

import hashlib
import itertools
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Protocol

from django.db.models import Prefetch, QuerySet

from inspection.dynamics.errors import DynamicsError
from inspection.dynamics.track import Closing, Curve, Section, Straight, Turn, closing_of, lane_length
from inspection.models import Club, Track, TrackLayout
from inspection.units import Kind, parse_quantity

# Lane names as most tracks have them, with a color that the name says. The first six are the usual ones, in order.
USUAL_COLORS = {
    "white": "#ffffff",
    "red": "#c8202f",
    "blue": "#1d55b5",
    "green": "#1b8346",
    "yellow": "#f2c500",
    "black": "#111111",
    "orange": "#e8730c",
    "purple": "#6b3fa0",
    "brown": "#6f4522",
    "gray": "#85878b",
    "grey": "#85878b",
    "pink": "#e58cb0",
}
USUAL_NAMES = ("White", "Red", "Blue", "Green", "Yellow", "Black", "Orange", "Purple")


def track_version(track: Track) -> str:
    """A short mark of what the form of a track shows; it differs once anybody has changed it."""
    return hashlib.sha256(f"{track.name}\x1f{track.is_active}".encode()).hexdigest()[:16]


def usual_colors(names: Sequence[str]) -> list[str]:
    """A color for each lane: what its name says, else the next that no other lane has."""
    said = [USUAL_COLORS.get(name.strip().casefold()) for name in names]
    free = itertools.cycle([color for color in USUAL_COLORS.values() if color not in said] or ["#85878b"])
    return [color or next(free) for color in said]


def usual_lane_order(numbers: Sequence[int]) -> list[int]:
    """Out along the odd lanes, back along the even ones: 1 3 5 6 4 2, so that nobody jumps across the track."""
    ascending = sorted(numbers)
    return ascending[::2] + ascending[1::2][::-1]


def layouts_newest_first() -> QuerySet[TrackLayout]:
    """Layouts with their lanes and posts. Three queries, however many."""
    return TrackLayout.objects.order_by("-number").prefetch_related("lanes", "posts")


def tracks_of(club: Club) -> QuerySet[Track]:
    """Tracks with their layouts, newest first, in use before retired. Four queries, however many."""
    layouts = Prefetch("layouts", queryset=layouts_newest_first())
    return Track.objects.of(club).order_by("-is_active", "name").prefetch_related(layouts)


def layouts_of(track: Track) -> list[TrackLayout]:
    """The track's layouts, newest first. Three queries."""
    return list(layouts_newest_first().filter(track=track))


def current_layout(track: Track) -> TrackLayout | None:
    """The newest layout, with lanes and posts. Three queries."""
    return layouts_newest_first().filter(track=track).first()


# The way of each lane, from straights and curves.

# A plan that was taken with a tape closes to this: common practice, no source.
_GAP_M, _TURN_DEG = 0.02, 1.0


class LaneTold(Protocol):
    """A lane, saved or as the form gives it."""

    number: int
    name: str
    color: str
    length_m: Decimal | None
    offset_mm: Decimal | None


@dataclass(frozen=True, slots=True)
class LaneWay:
    """A lane and its length along the sections, in m; difference: what was typed, less that. None when not known."""

    lane: LaneTold
    length_m: Decimal | None
    difference_m: Decimal | None


@dataclass(frozen=True, slots=True)
class TrackPlan:
    """Straights and curves with what follows from them. inside: the lane that would lie beyond a curve's center."""

    sections: tuple[Section, ...]
    closing: Closing
    lanes: tuple[LaneWay, ...]
    inside: LaneTold | None

    @property
    def closes(self) -> bool:
        """Does it come back to its beginning, as well as a tape can tell?"""
        return self.closing.gap_m <= _GAP_M and abs(self.closing.turn_deg) <= _TURN_DEG

    @property
    def gap_m(self) -> Decimal:
        return _to_mm(self.closing.gap_m)

    @property
    def turn_deg(self) -> Decimal:
        return Decimal(abs(self.closing.turn_deg)).quantize(Decimal("0.1"))


def sections_of(stored: Iterable[Mapping[str, str]]) -> tuple[Section, ...]:
    """The sections that a layout keeps, as the engine reads them. No query."""
    return tuple(_section(one) for one in stored)


def _section(one: Mapping[str, str]) -> Section:
    if "length" in one:
        return Straight(_base(one["length"], Kind.LENGTH, "m") / 1000)
    radius, angle = _base(one["radius"], Kind.LENGTH, "mm") / 1000, _base(one["angle"], Kind.ANGLE, "°")
    return Curve(radius, angle, Turn(one["turn"]))


def _base(text: str, kind: Kind, unit: str) -> float:
    return float(parse_quantity(text, kind, default_unit=unit).base)


def plan_of(stored: Sequence[Mapping[str, str]], lanes: Iterable[LaneTold]) -> TrackPlan | None:
    """What follows from straights and curves: each lane's true length, and whether they close. None without any.

    No query beyond reading the lanes.
    """
    sections = sections_of(stored)
    if not sections:
        return None
    ways, inside = [], None
    for lane in lanes:
        length = None
        if lane.offset_mm is not None:
            try:
                length = _to_mm(lane_length(sections, offset_m=float(lane.offset_mm) / 1000))
            except DynamicsError:
                inside = inside or lane
        typed = lane.length_m
        difference = None if length is None or typed is None else typed - length
        ways.append(LaneWay(lane, length, difference))
    return TrackPlan(sections, closing_of(sections), tuple(ways), inside)


def _to_mm(meters: float) -> Decimal:
    return Decimal(meters).quantize(Decimal("0.001"))
