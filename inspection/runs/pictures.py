"""Laps drawn to scale: each a dot on the axis of time, a row for each run."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, floor, log10

from inspection.dynamics.runs import median
from inspection.runs.selectors import seconds_words
from inspection.units import DecimalMark

WIDTH, LEFT, ROW, TOP = 560, 20, 44, 8


@dataclass(frozen=True, slots=True)
class Dot:
    """A lap: where it stands, and whether it stands out as slow (drawn as a square)."""

    x: float
    y: float
    is_slow: bool


@dataclass(frozen=True, slots=True)
class Row:
    """The laps of one run on a line; middle: where their median stands."""

    label: str
    y: float
    middle: float
    dots: tuple[Dot, ...]


@dataclass(frozen=True, slots=True)
class LapPicture:
    """Rows above one axis in s. ticks: place and words. alt: what the picture shows, in words."""

    width: int
    height: int
    axis: float
    rows: tuple[Row, ...]
    ticks: tuple[tuple[float, str], ...]


def draw_laps(
    rows: Sequence[tuple[str, Sequence[Fraction], Sequence[int]]], *, decimal_mark: DecimalMark = "."
) -> LapPicture:
    """A picture of laps. rows: label, laps in s, numbers of the slow ones from 0; at least one lap in all."""
    every = [time for _label, times, _slow in rows for time in times]
    low, high = min(every), max(every)
    step = _step(float(high - low) or 0.1)
    first, last = floor(low / step), max(ceil(high / step), floor(low / step) + 1)
    span = (last - first) * step

    def across(time: Fraction) -> float:
        return round(LEFT + float((time - first * step) / span) * (WIDTH - 2 * LEFT), 1)

    drawn = []
    for number, (label, times, slow) in enumerate(rows):
        y = TOP + ROW * number + ROW / 2
        dots = tuple(
            # Laps in the order driven climb a little, so that equal ones do not hide each other.
            Dot(across(time), round(y + 8 - 16 * (n + 0.5) / len(times), 1), n in slow)
            for n, time in enumerate(times)
        )
        drawn.append(Row(label, y, across(median(times)), dots))
    axis = TOP + ROW * len(rows)
    places = max(0, -floor(log10(step)))
    ticks = tuple(
        (across(n * step), seconds_words(n * step, decimal_mark=decimal_mark, places=places))
        for n in range(first, last + 1)
    )
    return LapPicture(WIDTH, axis + 30, axis, tuple(drawn), ticks)


def _step(span: float) -> Fraction:
    """A round step that gives about five ticks."""
    tenth = Fraction(10) ** floor(log10(span / 5))
    return next(tenth * n for n in (1, 2, 5, 10) if tenth * n * 5 >= Fraction(span).limit_denominator(10**6))
