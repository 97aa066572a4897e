"""A track seen from above, drawn from its straights and curves, to scale."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import ceil, cos, radians, sin

from inspection.dynamics.track import Section, Straight, Turn
from inspection.tracks.selectors import LaneTold, TrackPlan

WIDTH, EDGE = 640, 28
_LARGEST_ARC = 15.0  # in degrees; the ends of the pieces tell how much room the whole takes
_Point = tuple[float, float]
_Piece = tuple[str, float, int, _Point]


@dataclass(frozen=True, slots=True)
class LaneLine:
    """A lane as a path: in its track's own color, upon a wider line in the color of print."""

    number: int
    color: str
    path: str


@dataclass(frozen=True, slots=True)
class PlanPicture:
    """The plan. start: the line across all lanes; arrow: behind it, in the direction of racing; labels: lane numbers
    at both ends of the line. meter: so long is 1 m.
    """

    width: int
    height: float
    lanes: tuple[LaneLine, ...]
    start: str
    arrow: str
    labels: tuple[tuple[int, float, float], ...]
    meter: float


def draw_plan(plan: TrackPlan) -> PlanPicture | None:
    """The lanes that have an offset; None when none has, or one would lie beyond the center of a curve."""
    lanes = sorted((way.lane for way in plan.lanes if way.lane.offset_mm is not None), key=_offset)
    if not lanes or plan.inside is not None:
        return None
    ways = [_way(plan.sections, _offset(lane)) for lane in lanes]
    points = [point for way in ways for _kind, _radius, _sweep, point in way]
    left, right = min(x for x, _y in points), max(x for x, _y in points)
    low, high = min(y for _x, y in points), max(y for _x, y in points)
    scale = (WIDTH - 2 * EDGE) / max(right - left, high - low, 0.1)

    def at(point: _Point) -> _Point:
        return round(EDGE + (point[0] - left) * scale, 2), round(EDGE + (high - point[1]) * scale, 2)

    drawn = zip(lanes, ways, strict=True)
    ends = [(0.0, offset) for offset in (_offset(lanes[0]) - 0.09, _offset(lanes[-1]) + 0.09)]
    (x1, y1), (x2, y2) = at(ends[0]), at(ends[1])
    ahead = at((0.0, (_offset(lanes[0]) + _offset(lanes[-1])) / 2))
    return PlanPicture(
        width=round(EDGE * 2 + (right - left) * scale),
        height=round(EDGE * 2 + (high - low) * scale, 1),
        lanes=tuple(LaneLine(lane.number, lane.color, _path(way, at, scale)) for lane, way in drawn),
        start=f"M{x1} {y1}L{x2} {y2}",
        arrow=f"M{ahead[0] + 6} {ahead[1]}h22m-9 -7l9 7l-9 7",
        labels=tuple(
            (lane.number, x, y + shift) for lane, (x, y), shift in ((lanes[0], (x1, y1), 18), (lanes[-1], (x2, y2), -6))
        ),
        meter=round(scale, 2),
    )


def _offset(lane: LaneTold) -> float:
    return float(lane.offset_mm or 0) / 1000


def _way(sections: Sequence[Section], offset: float) -> list[_Piece]:
    """A lane in m, x along the first section and y to its left: each piece with its kind, radius, side and end."""
    x = y = heading = 0.0

    def lane_at() -> _Point:
        return x - offset * sin(heading), y + offset * cos(heading)

    way = [("M", 0.0, 0, lane_at())]
    for section in sections:
        if isinstance(section, Straight):
            x, y = x + section.length_m * cos(heading), y + section.length_m * sin(heading)
            way.append(("L", 0.0, 0, lane_at()))
            continue
        side = 1 if section.turn is Turn.LEFT else -1
        pieces = ceil(section.angle_deg / _LARGEST_ARC)
        step = radians(section.angle_deg / pieces)
        for _piece in range(pieces):
            chord = 2 * section.radius_m * sin(step / 2)
            x, y = x + chord * cos(heading + side * step / 2), y + chord * sin(heading + side * step / 2)
            heading += side * step
            # On the screen y runs down: a turn to the left goes against the clock, which is sweep 0.
            way.append(("A", section.radius_m - side * offset, 0 if side > 0 else 1, lane_at()))
    return way


def _path(way: list[_Piece], at: Callable[[_Point], _Point], scale: float) -> str:
    parts = []
    for kind, radius, sweep, point in way:
        x, y = at(point)
        arc = f"{radius * scale:.2f} {radius * scale:.2f} 0 0 {sweep} " if kind == "A" else ""
        parts.append(f"{kind}{arc}{x} {y}")
    return "".join(parts)
