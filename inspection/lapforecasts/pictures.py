"""The speed of a lap along the track, to scale, with the curves marked below."""

from dataclasses import dataclass
from fractions import Fraction
from math import inf

from inspection.dynamics.lap import Lap, speed_trace
from inspection.dynamics.track import Stretch
from inspection.units import DecimalMark, format_decimal

WIDTH, LEFT, HEIGHT, TOP = 640, 44, 200, 10


@dataclass(frozen=True, slots=True)
class Bar:
    """A curve along the axis: from where, how far."""

    x: float
    width: float


@dataclass(frozen=True, slots=True)
class TracePicture:
    """Speed in m/s over meters. rows: speeds with their height; ticks: meters with their place."""

    width: int
    height: int
    axis: int
    line: str
    curves: tuple[Bar, ...]
    rows: tuple[tuple[float, str], ...]
    ticks: tuple[tuple[float, str], ...]


def draw_trace(lap: Lap, stretches: tuple[Stretch, ...], *, decimal_mark: DecimalMark = ".") -> TracePicture:
    """A picture of one lap on one lane."""
    points = speed_trace(lap)
    length, top = lap.length_m, max(speed for _way, speed in points)
    ceiling = max(1, -(-top // 1))
    across, axis = (WIDTH - LEFT - 8) / length, TOP + HEIGHT

    def at(way: float, speed: float) -> str:
        return f"{LEFT + way * across:.1f} {axis - HEIGHT * speed / ceiling:.1f}"

    begin, curves = 0.0, []
    for stretch in stretches:
        if stretch.radius_m != inf:
            curves.append(Bar(round(LEFT + begin * across, 1), round(stretch.length_m * across, 1)))
        begin += stretch.length_m
    step = next(step for step in (0.5, 1, 2, 5, 10, 20, 50, 100, 1000) if length / step <= 8)
    ticks = [n * step for n in range(int(length / step) + 1)]
    every = 1 if ceiling <= 8 else 2 if ceiling <= 16 else 5
    return TracePicture(
        width=WIDTH,
        height=axis + 40,
        axis=axis,
        line="M" + "L".join(at(way, speed) for way, speed in points),
        curves=tuple(curves),
        rows=tuple((round(axis - HEIGHT * n / ceiling, 1), str(n)) for n in range(0, int(ceiling) + 1, every)),
        ticks=tuple(
            (
                round(LEFT + way * across, 1),
                format_decimal(Fraction(way), places=1 if step < 1 else 0, decimal_mark=decimal_mark),
            )
            for way in ticks
        ),
    )
