"""Figures printed beside each other that are not the same: 1.5 mm beside .060 in, 3.25 in "(82.5 mm)"."""

import re
from collections.abc import Iterable, Iterator
from fractions import Fraction
from itertools import combinations, pairwise
from typing import Final

from inspection.units import Kind, Quantity, UnitsError, format_quantity, parse_quantity

# Kinds that people print in two systems, and the units they print.
_UNITS: Final = {
    "mm": Kind.LENGTH, "cm": Kind.LENGTH, "m": Kind.LENGTH, "in": Kind.LENGTH, "in.": Kind.LENGTH,
    "inch": Kind.LENGTH, "inches": Kind.LENGTH, '"': Kind.LENGTH, "″": Kind.LENGTH, "thou": Kind.LENGTH,
    "ft": Kind.LENGTH, "g": Kind.MASS, "kg": Kind.MASS, "oz": Kind.MASS, "oz.": Kind.MASS, "lb": Kind.MASS,
}  # fmt: skip
_FIGURE: Final = re.compile(
    r"(?<![\w.,])(?<![0-9]/)(?P<number>[0-9]+[ -][0-9]+/[0-9]+|[0-9]+/[0-9]+|[0-9]*[.,][0-9]+|[0-9]+)\s?"
    r"(?P<unit>mm|cm|m|inches|inch|in\.?|\"|″|thou|ft|kg|g|oz\.?|lb)(?!\w)"
)
# What may stand between two figures that mean the same.
_BETWEEN: Final = re.compile(
    r"[\s(\[/=≈~,;:]*(?:(?:or|is|that is|i\.e\.|about|beside|resp\.)[\s(\[=]*)?", re.IGNORECASE
)
_NEAR: Final = Fraction(1, 10)  # figures that differ by more are not meant to be the same

LIMITS_NEAR: Final = Fraction(3, 100)  # limits of two rows or clauses are more often meant to differ


def figures_in(text: str) -> Iterator[tuple[Quantity, int, int]]:
    """The lengths and masses printed in a text, with where each begins and ends."""
    for match in _FIGURE.finditer(text):
        try:
            figure = parse_quantity(f"{match['number']} {match['unit']}", _UNITS[match["unit"]], default_unit=None)
        except UnitsError:
            continue
        yield figure, match.start(), match.end()


def disagree(one: Quantity, other: Quantity, *, near: Fraction = _NEAR) -> bool:
    """Are these meant to be one size in two systems, and are not? A figure that is the other rounded to the places
    its unit is shown with is right. near: by what share two sizes may differ that are meant to be one."""
    if one.kind is not other.kind or not _is_metric(one) ^ _is_metric(other) or one.base == other.base:
        return False
    larger = max(one.base, other.base)
    if larger <= 0 or abs(one.base - other.base) > larger * near:
        return False
    return not (_rounds_to(one, other) or _rounds_to(other, one))


def _is_metric(quantity: Quantity) -> bool:
    return quantity.unit.symbol in {"mm", "cm", "m", "µm", "g", "mg", "kg"}


def _rounds_to(exact: Quantity, printed: Quantity) -> bool:
    """Is the printed figure the exact one, rounded to as many places as its unit is shown with? No fraction is."""
    if printed.is_fraction:
        return False
    step = Fraction(1, 10 ** max(printed.unit.places, printed.places))
    return abs(exact.to(printed.unit).magnitude - printed.magnitude) <= step / 2


def disagreements(text: str, limits: Iterable[Quantity]) -> Iterator[tuple[Quantity, Quantity]]:
    """Figures side by side in a text that stand for one size and are not the same; and limits for which the text
    has only figures that are not the same."""
    figures = list(figures_in(text))
    for (one, _, end), (other, start, _) in pairwise(figures):
        if _BETWEEN.fullmatch(text[end:start]) and disagree(one, other):
            yield one, other
    for limit in limits:
        near = [figure for figure, _, _ in figures if _same_or_near(figure, limit)]
        if near and all(disagree(limit, figure) for figure in near):
            yield limit, near[0]


def rounded_among(limits: Iterable[Quantity]) -> Iterator[tuple[Quantity, Quantity]]:
    """Limits of one characteristic that are meant to be one size and are not."""
    for one, other in combinations(limits, 2):
        if disagree(one, other, near=LIMITS_NEAR):
            yield one, other


def _same_or_near(figure: Quantity, limit: Quantity) -> bool:
    if figure.kind is not limit.kind:
        return False
    return abs(figure.base - limit.base) <= max(figure.base, limit.base) * _NEAR


def exact_words(quantity: Quantity, unit_of: Quantity) -> str:
    """A size exactly, in the unit of another: 3.25 in is 82.55 mm."""
    converted = quantity.to(unit_of.unit)
    for places in range(unit_of.unit.places, 7):
        if (converted.magnitude * 10**places).denominator == 1:
            return format_quantity(converted, places=places)
    return format_quantity(converted, places=unit_of.unit.places + 2)
