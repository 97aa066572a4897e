"""The chart of pinions and gears as a picture: a cell for each pair, told by shape and word, never by color alone."""

from dataclasses import dataclass
from textwrap import wrap

from inspection.planner.selectors import Chart, ChartCell

LEFT, TOP, WIDE, HIGH = 132, 52, 118, 78
_LETTERS = 19
"""So many letters go into the width of a cell; a longer word is broken."""


@dataclass(frozen=True, slots=True)
class Head:
    """A name beside a row or above a column, in lines. x, y: of the first line."""

    x: int
    y: int
    lines: tuple[tuple[int, str], ...]


@dataclass(frozen=True, slots=True)
class CellShape:
    """A pair of gears at its place. lines: what it comes to, each with its height."""

    x: int
    y: int
    cell: ChartCell
    lines: tuple[tuple[int, str], ...]


@dataclass(frozen=True, slots=True)
class ChartPicture:
    """The whole chart, driven gears down and pinions across."""

    width: int
    height: int
    columns: tuple[Head, ...]
    rows: tuple[Head, ...]
    cells: tuple[CellShape, ...]


def draw_chart(chart: Chart) -> ChartPicture:
    """A picture of a chart, in pixels. Names and words are broken into three lines and then cut off."""
    columns = tuple(
        Head(LEFT + WIDE * place + 6, 18, _lines(name, 18, _LETTERS)) for place, name in enumerate(chart.pinions)
    )
    rows = tuple(
        Head(0, _top(place) + 24, _lines(name, _top(place) + 24, 18)) for place, (name, _) in enumerate(chart.rows)
    )
    cells = tuple(
        CellShape(LEFT + WIDE * across, _top(down), cell, _lines(cell.words, _top(down) + 38, _LETTERS))
        for down, (_name, own) in enumerate(chart.rows)
        for across, cell in enumerate(own)
    )
    width, height = LEFT + WIDE * len(chart.pinions) + 2, TOP + HIGH * len(chart.rows) + 2
    return ChartPicture(width=width, height=height, columns=columns, rows=rows, cells=cells)


def _top(row: int) -> int:
    return TOP + HIGH * row


def _lines(words: str, y: int, letters: int) -> tuple[tuple[int, str], ...]:
    lines = wrap(words, letters)
    if len(lines) > 3:
        lines = [*lines[:2], lines[2][: letters - 1] + "…"]
    return tuple((y + 16 * place, line) for place, line in enumerate(lines))
