"""Where a reading stands against its limits, to scale: geometry for templates/inspection/techcards/_limit_picture.html.

Floats are at home here: a picture informs and never decides. Lengths are in units of the drawing, 328 wide.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from django.utils.translation import gettext as _

from inspection.conformity.assess import DecisionRule, Limits, Measurement, RuleStyle
from inspection.conformity.uncertainty import GaugeSpec, expanded_uncertainty
from inspection.units import DecimalMark, Quantity, Unit, format_decimal

WIDTH = 328.0
BAND_TOP, BAND_BOTTOM = 52.0, 77.0
LEAST_BAND = 8.0  # a Too close zone is never drawn narrower: the axis is broken instead
BREAK = 24.0  # the length of axis that a break stands for
STUB = 56.0  # beyond a break: the place of a reading too far away to be to scale


@dataclass(frozen=True, slots=True)
class Window:
    """A stretch of the axis drawn to scale: values lo to hi at x0 to x1."""

    x0: float
    x1: float
    lo: float
    hi: float

    def x(self, value: float) -> float:
        return self.x0 + (value - self.lo) / (self.hi - self.lo) * (self.x1 - self.x0)


@dataclass(frozen=True, slots=True)
class Axis:
    """Windows from left to right, with breaks between them and before a stub at either end."""

    windows: tuple[Window, ...]
    breaks: tuple[float, ...] = ()

    def x(self, value: float) -> float:
        """The place of a value; one that no window holds stands in the middle of the break or stub it falls into."""
        first, last = self.windows[0], self.windows[-1]
        if value < first.lo:
            return max(first.x0 - BREAK, 0.0) / 2
        if value > last.hi:
            return (min(last.x1 + BREAK, WIDTH) + WIDTH) / 2
        for window in self.windows:
            if value <= window.hi:
                return window.x(value) if value >= window.lo else window.x0 - BREAK / 2
        return last.x1

    def is_to_scale(self, value: float) -> bool:
        return any(window.lo <= value <= window.hi for window in self.windows)


@dataclass(frozen=True, slots=True)
class ZoneBox:
    """A stretch of one zone. kind: fail, near or pass. hatch: path of the lines drawn in a Fail zone."""

    kind: str
    x: float
    width: float
    hatch: str = ""


@dataclass(frozen=True, slots=True)
class Label:
    """Words or a figure at a place. kind: fail, near, pass, limit or tick. anchor: start, middle or end."""

    kind: str
    x: float
    text: str
    anchor: str


@dataclass(frozen=True, slots=True)
class ReadingMark:
    """The reading: dot at x, doubt bar from x0 to x1 (equal when nothing is known), words at text_x."""

    x: float
    x0: float
    x1: float
    text: str
    text_x: float


@dataclass(frozen=True, slots=True)
class LimitPicture:
    """Everything the template draws. words: the picture in words, for those who do not see it."""

    zones: tuple[ZoneBox, ...]
    labels: tuple[Label, ...]
    figures: tuple[Label, ...]
    limits: tuple[float, ...]
    edges: tuple[float, ...]
    breaks: tuple[float, ...]
    reading: ReadingMark | None
    words: str


def limit_picture(
    limits: Limits,
    *,
    unit: Unit,
    rule: DecisionRule,
    spec: GaugeSpec | None = None,
    reading: Quantity | None = None,
    measurement: Measurement | None = None,
    decimal_mark: DecimalMark = ".",
) -> LimitPicture:
    """The limits in `unit`, and the reading when there is one.

    spec: the gauge before anything is read; afterwards the measurement's own variance counts.
    """
    variance = measurement.variance if measurement else (spec.variance if spec else Fraction(0))
    factor = rule.coverage_factor if rule.style is RuleStyle.SIMPLE_ACCEPTANCE else rule.guard_factor
    scale = 1 / float(unit.factor)
    spread = math.sqrt(float(variance)) * scale
    half_band = spread * float(factor)
    ends = [float(_in_unit(value, unit)) for value in (limits.lower, limits.upper) if value is not None]
    value = float(reading.to(unit).magnitude) if reading else None
    doubt = spread * float(rule.coverage_factor) if reading else 0.0
    axis = _plan(ends, has_lower=limits.lower is not None, half_band=half_band, reading=value, doubt=doubt)
    zones = _zones(axis, _bounds(limits, ends, half_band))
    places = max(unit.places, *(_places(axis) for _end in ends), reading.places if reading else 0)
    return LimitPicture(
        zones=zones,
        labels=tuple(_zone_labels(zones, [axis.x(end) for end in ends])),
        figures=tuple(_figures(axis, limits, ends, unit, places, decimal_mark)),
        limits=tuple(round(axis.x(end), 2) for end in ends),
        edges=tuple(box.x for box in zones[1:]),
        breaks=axis.breaks,
        reading=_mark(axis, reading.to(unit), doubt, variance, decimal_mark) if reading else None,
        words=_words(limits, unit, reading, variance, decimal_mark),
    )


def _in_unit(base: Fraction, unit: Unit) -> Fraction:
    return (base - unit.offset) / unit.factor


def _plan(ends: list[float], *, has_lower: bool, half_band: float, reading: float | None, doubt: float) -> Axis:
    """One window that holds everything, unless that would draw the Too close zone too narrow to be seen."""
    reach = half_band or abs(ends[0]) * 0.004 or 0.01
    passes_above = has_lower or len(ends) == 2
    points = [
        ends[0] - reach * (3 if passes_above else 5),
        ends[-1] + reach * (5 if passes_above and len(ends) == 1 else 3),
    ]
    if reading is not None:
        points += [reading - doubt, reading + doubt]
    lo, hi = min(points), max(points)
    spare = (hi - lo) / 8
    lo, hi = lo - spare, hi + spare
    if not half_band or 2 * half_band / (hi - lo) * WIDTH >= LEAST_BAND:
        return Axis((Window(0.0, WIDTH, lo, hi),))
    return _broken(ends, half_band, reading, doubt)


def _broken(ends: list[float], half_band: float, reading: float | None, doubt: float) -> Axis:
    """A window round each limit, all of one scale; a reading outside them stands beyond or within a break."""
    around = 4 * half_band
    is_below = reading is not None and reading - doubt < ends[0] - around
    is_above = reading is not None and reading + doubt > ends[-1] + around
    left = STUB + BREAK if is_below else 0.0
    right = WIDTH - (STUB + BREAK if is_above else 0.0)
    width = (right - left - BREAK * (len(ends) - 1)) / len(ends)
    windows = []
    breaks = [left - BREAK / 2] if is_below else []
    x = left
    for place, end in enumerate(ends):
        windows.append(Window(x, x + width, end - around, end + around))
        x += width + BREAK
        if place < len(ends) - 1:
            breaks.append(x - BREAK / 2)
    if is_above:
        breaks.append(right + BREAK / 2)
    return Axis(tuple(windows), tuple(breaks))


def _bounds(limits: Limits, ends: list[float], half_band: float) -> list[tuple[float, str]]:
    """Zones from left to right as (upper end, kind); the last ends at infinity."""
    low, high = ends[0], ends[-1]
    found: list[tuple[float, str]] = []
    if limits.lower is not None:
        found += [(low - half_band, "fail"), (low + half_band, "near")]
    if limits.upper is None:
        return [*found, (math.inf, "pass")]
    if limits.lower is not None and low + half_band >= high - half_band:
        return [(low - half_band, "fail"), (high + half_band, "near"), (math.inf, "fail")]
    return [*found, (high - half_band, "pass"), (high + half_band, "near"), (math.inf, "fail")]


def _zones(axis: Axis, bounds: list[tuple[float, str]]) -> tuple[ZoneBox, ...]:
    boxes = []
    start = 0.0
    for upper, kind in bounds:
        end = WIDTH if math.isinf(upper) else _edge(axis, upper)
        if end - start > 0.01:
            boxes.append(
                ZoneBox(kind, round(start, 2), round(end - start, 2), _hatch(start, end) if kind == "fail" else "")
            )
            start = end
    return tuple(boxes)


def _edge(axis: Axis, value: float) -> float:
    """The place of a zone's end: 0 or the full width when the axis does not reach it."""
    first, last = axis.windows[0], axis.windows[-1]
    if value < first.lo:
        return 0.0
    return WIDTH if value > last.hi else axis.x(value)


def _hatch(x0: float, x1: float, step: float = 8.0) -> str:
    """Lines rising to the right across the band between x0 and x1, as one SVG path."""
    height = BAND_BOTTOM - BAND_TOP
    lines = []
    foot = x0 - height + (step - (x0 - height) % step)
    while foot < x1:
        start, end = max(foot, x0), min(foot + height, x1)
        if end > start:
            lines.append(f"M{start:.1f} {BAND_BOTTOM - (start - foot):.1f}L{end:.1f} {BAND_BOTTOM - (end - foot):.1f}")
        foot += step
    return "".join(lines)


def _zone_labels(zones: tuple[ZoneBox, ...], limits: list[float]) -> Iterable[Label]:
    words = {"fail": _("Fail"), "pass": _("Pass")}
    for box in zones:
        if box.kind == "near" or box.width < 38:
            continue
        if box.x == 0.0:
            yield Label(box.kind, 10.0, words[box.kind], "start")
        elif box.x + box.width >= WIDTH - 0.01:
            yield Label(box.kind, WIDTH - 8, words[box.kind], "end")
        else:
            yield Label(box.kind, round(box.x + box.width / 2, 2), words[box.kind], "middle")
    last = -math.inf
    for x in limits if any(box.kind == "near" for box in zones) else ():
        if x - last >= 76:
            yield Label("near", round(min(max(x, 32.0), WIDTH - 32), 2), _("Too close"), "middle")
            last = x


def _step(axis: Axis) -> float:
    """A round step (1, 2 or 5 times a power of ten) that leaves 64 between ticks."""
    window = axis.windows[0]
    least = 64 / (window.x1 - window.x0) * (window.hi - window.lo)
    power = 10.0 ** math.floor(math.log10(least))
    return next(n * power for n in (1, 2, 5, 10) if n * power >= least * 0.999)


def _places(axis: Axis) -> int:
    return max(0, -math.floor(math.log10(_step(axis)) + 1e-9))


def _figures(
    axis: Axis, limits: Limits, ends: list[float], unit: Unit, places: int, mark: DecimalMark
) -> Iterable[Label]:
    """The limits' own figures, and round values between them where there is room."""
    taken = [axis.x(end) for end in ends]
    exact = [value for value in (limits.lower, limits.upper) if value is not None]
    for value, x in zip(exact, taken, strict=True):
        text = format_decimal(_in_unit(value, unit), places=places, decimal_mark=mark)
        yield Label("limit", round(min(max(x, 20.0), WIDTH - 20), 2), text, "middle")
    if axis.breaks:
        return
    step = _step(axis)
    window = axis.windows[0]
    n = math.ceil(window.lo / step)
    while n * step <= window.hi:
        x = window.x(n * step)
        if all(abs(x - other) >= 48 for other in taken) and 18 <= x <= WIDTH - 18:
            yield Label(
                "tick", round(x, 2), format_decimal(Fraction(n * step), places=places, decimal_mark=mark), "middle"
            )
        n += 1


def _mark(axis: Axis, reading: Quantity, doubt: float, variance: Fraction, mark: DecimalMark) -> ReadingMark:
    unit, value = reading.unit, float(reading.magnitude)
    x = axis.x(value)
    if axis.is_to_scale(value):
        x0, x1 = max(axis.x(value - doubt), 0.0), min(axis.x(value + doubt), WIDTH)
    else:
        x0 = x1 = x
    number = format_decimal(reading.magnitude, places=max(unit.places, reading.places), decimal_mark=mark)
    text = f"{number} ± {_doubt(variance, unit, mark)}" if variance else number
    half = len(text) * 3.9 + 2
    return ReadingMark(round(x, 2), round(x0, 2), round(x1, 2), text, round(min(max(x, half), WIDTH - half), 2))


def _doubt(variance: Fraction, unit: Unit, mark: DecimalMark) -> str:
    """The expanded uncertainty (k = 2) in a unit: two digits, and the places they need."""
    doubt = expanded_uncertainty(variance / unit.factor**2)
    return f"{doubt:f}".replace(".", mark)


def _words(limits: Limits, unit: Unit, reading: Quantity | None, variance: Fraction, mark: DecimalMark) -> str:
    def figure(base: Fraction) -> str:
        return format_decimal(_in_unit(base, unit), places=max(unit.places, 2), decimal_mark=mark)

    parts = []
    if limits.lower is not None:
        parts.append(_("lower limit {limit}").format(limit=figure(limits.lower)))
    if limits.upper is not None:
        parts.append(_("upper limit {limit}").format(limit=figure(limits.upper)))
    if reading is not None:
        number = format_decimal(reading.to(unit).magnitude, places=max(unit.places, reading.places), decimal_mark=mark)
        parts.append(_("reading {reading}").format(reading=number))
    if variance:
        parts.append(_("sure to {doubt}").format(doubt=_doubt(variance, unit, mark)))
    return _("{parts}, in {unit}").format(parts=", ".join(parts), unit=unit.symbol or _("units"))
