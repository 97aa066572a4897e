"""Who meets whom how often, as squares: as many drivers as a page or a sheet can hold."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

CELL = 10
MOST_DRAWN = 60
SHADES = 5
OPACITIES = ("0", ".14", ".3", ".46", ".64", ".85")


@dataclass(frozen=True, slots=True)
class Shade:
    """All squares of one count: an SVG path. level: 0 for never to 5 for most often."""

    times: int
    level: int
    path: str

    @property
    def opacity(self) -> str:
        """How dark: part of the ink, for paper takes no style sheet inside a picture."""
        return OPACITIES[self.level]


@dataclass(frozen=True, slots=True)
class MeetingsPicture:
    """The squares of a draw, a row and a column a driver. size: of a side, in the units of the paths.

    marks: (where, number) every five drivers; diagonal: the squares where a driver meets himself.
    """

    size: int
    shades: tuple[Shade, ...]
    diagonal: str
    marks: tuple[tuple[int, int], ...]

    @property
    def width_mm(self) -> int:
        """How wide on paper, the numbers at its side included, where there is room: squares of 5 mm."""
        return (self.size + 18) // 2


def meetings_picture(report: dict[str, Any]) -> MeetingsPicture | None:
    """The picture of a draw's report; None for more drivers than can be told apart."""
    table: Sequence[Sequence[int]] = report["meetings"]
    drivers = len(table)
    if drivers > MOST_DRAWN:
        return None
    most = max(map(max, table))
    paths: dict[int, list[str]] = {}
    for row, line in enumerate(table):
        for column, times in enumerate(line):
            if row != column:
                paths.setdefault(times, []).append(_square(column, row))
    return MeetingsPicture(
        size=drivers * CELL,
        shades=tuple(
            # Rounded up, so that whoever meets at all is never drawn as a pair that does not.
            Shade(times=times, level=-(-times * SHADES // most) if most else 0, path="".join(squares))
            for times, squares in sorted(paths.items())
        ),
        diagonal="".join(_square(place, place) for place in range(drivers)),
        marks=tuple((place * CELL + CELL // 2, report["seats"][place]) for place in range(0, drivers, 5)),
    )


def _square(column: int, row: int) -> str:
    return f"M{column * CELL + 1} {row * CELL + 1}h{CELL - 2}v{CELL - 2}h-{CELL - 2}z"
