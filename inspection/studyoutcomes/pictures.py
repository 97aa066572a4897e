"""A study drawn to scale: geometry for templates/inspection/studyoutcomes.

Floats are at home here: a picture informs and never decides. Lengths are in units of the drawing, 328 wide.
"""

import math
from dataclasses import dataclass
from fractions import Fraction

from django.utils.translation import gettext as _

from inspection.models import GaugeStudy
from inspection.studyoutcomes.selectors import BiasOutcome, CrossedOutcome
from inspection.units import DecimalMark, Unit, format_decimal

WIDTH, LEFT, TOP, BOTTOM = 328.0, 56.0, 12.0, 188.0
DOT = 3.6


@dataclass(frozen=True, slots=True)
class Tick:
    """A figure beside an axis."""

    at: float
    text: str


@dataclass(frozen=True, slots=True)
class Mark:
    """One reading: a path, filled or not."""

    path: str
    is_filled: bool


@dataclass(frozen=True, slots=True)
class Column:
    """One part: its label in the middle, a hairline at its left end."""

    x: float
    middle: float
    label: str


@dataclass(frozen=True, slots=True)
class ReadingsPicture:
    """Each reading as far from the mean of its part as it lies. key: a mark for each inspector's name."""

    ticks: tuple[Tick, ...]
    columns: tuple[Column, ...]
    marks: tuple[Mark, ...]
    zero: float
    key: tuple[tuple[str, Mark], ...]
    words: str


def readings_picture(outcome: CrossedOutcome, study: GaugeStudy, *, decimal_mark: DecimalMark) -> ReadingsPicture:
    """How far each reading lies from the mean of its part, part by part; a shape for each inspector."""
    readings = outcome.readings
    means = [sum(readings.of_part(p), Fraction(0)) / len(readings.of_part(p)) for p in range(readings.parts)]
    far = [
        [[float(value - means[p]) for value in cell] for p, cell in enumerate(by_part)] for by_part in readings.values
    ]
    reach = max((abs(value) for by_part in far for cell in by_part for value in cell), default=0.0) * 1.1
    reach = reach or float(10**-outcome.unit.places)
    middle, half = (TOP + BOTTOM) / 2, (BOTTOM - TOP) / 2
    wide = (WIDTH - LEFT) / readings.parts
    marks = []
    for i, by_part in enumerate(far):
        for p, cell in enumerate(by_part):
            x = LEFT + wide * p + wide * (i + 1) / (readings.inspectors + 1)
            marks += [_mark(i, x, middle - value / reach * half) for value in cell]
    labels = _labels(study.parts, wide)
    return ReadingsPicture(
        ticks=tuple(_ticks(-reach, reach, lambda value: middle - value / reach * half, 40, decimal_mark)),
        columns=tuple(
            Column(round(LEFT + wide * p, 2), round(LEFT + wide * (p + 0.5), 2), label)
            for p, label in enumerate(labels)
        ),
        marks=tuple(marks),
        zero=middle,
        key=tuple((name, _mark(i, 9.0, 9.0)) for i, name in enumerate(study.inspectors)),
        words=_("{count} readings, none further than {reach} {unit} from the mean of its part.").format(
            count=readings.parts * readings.inspectors * readings.trials,
            reach=f"{reach / 1.1:.3g}".replace(".", decimal_mark),
            unit=outcome.unit.symbol,
        ),
    )


def _labels(names: list[str], wide: float) -> list[str]:
    """The names of the parts where each has room under its column, else their numbers."""
    if all(len(name) * 7.5 <= wide for name in names):
        return names
    every = max(1, math.ceil(20 / wide))
    return [str(n + 1) if n % every == 0 else "" for n in range(len(names))]


def _mark(inspector: int, x: float, y: float) -> Mark:
    """Disc, square, triangle, diamond, filled; then the same four open."""
    x, y, r = round(x, 2), round(y, 2), DOT
    shapes = (
        f"M{x - r} {y}a{r} {r} 0 1 0 {2 * r} 0a{r} {r} 0 1 0 {-2 * r} 0z",
        f"M{x - r} {y - r}h{2 * r}v{2 * r}h{-2 * r}z",
        f"M{x} {y - r - 1}l{r + 1} {2 * r}h{-2 * r - 2}z",
        f"M{x} {y - r - 1}l{r + 1} {r + 1}l{-r - 1} {r + 1}l{-r - 1} {-r - 1}z",
    )
    return Mark(shapes[inspector % 4], inspector % 8 < 4)


def _ticks(low: float, high: float, place, least: float, mark: DecimalMark):  # noqa: ANN001, ANN202
    """Round figures (1, 2 or 5 times a power of ten) at least so far apart in the drawing."""
    step = _step((high - low) * least / abs(place(high) - place(low)))
    places = max(0, -math.floor(math.log10(step) + 1e-9))
    for n in range(math.ceil(low / step), math.floor(high / step) + 1):
        yield Tick(round(place(n * step), 2), format_decimal(Fraction(n * step), places=places, decimal_mark=mark))


def _step(least: float) -> float:
    power = 10.0 ** math.floor(math.log10(least))
    return next(n * power for n in (1, 2, 5, 10) if n * power >= least * 0.999)


@dataclass(frozen=True, slots=True)
class BiasPicture:
    """Readings one under the other against the true size. interval: where the mean surely lies, x0 to x1."""

    ticks: tuple[Tick, ...]
    reference: float
    reference_text: str
    mean: float
    interval: tuple[float, float]
    marks: tuple[Mark, ...]
    height: int
    words: str


def bias_picture(outcome: BiasOutcome, *, decimal_mark: DecimalMark) -> BiasPicture:
    """Every reading in the order taken, from above, against the size of the check piece."""
    reference = float(outcome.reference)
    values = [float(value) for value in outcome.readings]
    low, high = reference + outcome.result.low, reference + outcome.result.high
    first, last = min(reference, low, *values), max(reference, high, *values)
    spare = (last - first) / 8 or float(10**-outcome.unit.places)
    first, last = first - spare, last + spare

    def x(value: float) -> float:
        return round(8 + (value - first) / (last - first) * (WIDTH - 16), 2)

    row = min(14.0, 160 / len(values))
    size = _figure(outcome.reference, outcome.unit, decimal_mark)
    return BiasPicture(
        ticks=tuple(_ticks(first, last, x, 72, decimal_mark)),
        reference=x(reference),
        reference_text=size,
        mean=x(float(outcome.result.mean)),
        interval=(x(low), x(high)),
        marks=tuple(_mark(0, x(value), 44 + row * n) for n, value in enumerate(values)),
        height=math.ceil(44 + row * len(values) + 4),
        words=_("{count} readings of a piece of {size} {unit}").format(
            count=len(values), size=size, unit=outcome.unit.symbol
        ),
    )


def _figure(value: Fraction, unit: Unit, mark: DecimalMark) -> str:
    return format_decimal(value, places=unit.places, decimal_mark=mark)
