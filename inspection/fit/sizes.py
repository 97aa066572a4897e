"""Sizes with tolerances, and sums of them: worst case and root-sum-square. Exact.

Worst case adds what every size may be off; root-sum-square adds the squares, for sizes that are off independently of
each other (the usual statistical tolerance stack). A size that enters a sum twice is counted once, with both shares.
"""

from dataclasses import dataclass
from fractions import Fraction
from math import isqrt, sqrt
from typing import Final, NamedTuple

from inspection.fit.errors import FitError, FitErrorCode

ZERO: Final = Fraction(0)
_FINE: Final = 10**6


@dataclass(frozen=True, slots=True)
class Size:
    """A size in mm (or degrees) and how far it may be off either way. Raises FitError tolerance_negative."""

    value: Fraction
    within: Fraction = ZERO

    def __post_init__(self) -> None:
        if self.within.numerator < 0:
            raise FitError(FitErrorCode.TOLERANCE_NEGATIVE)

    def changed(self, by: Fraction) -> "Size":
        """This size made larger (or smaller, below 0) by so much."""
        return Size(self.value + by, self.within)


class Term(NamedTuple):
    """One size in a sum: value added is share * size."""

    name: str
    share: Fraction | int
    size: Size


@dataclass(frozen=True, slots=True)
class Stack:
    """A sum of named sizes and a constant. A name stands for one part: the same name is the same size."""

    terms: tuple[Term, ...] = ()
    constant: Fraction | int = 0

    def __add__(self, other: "Stack") -> "Stack":
        return Stack(self.terms + other.terms, self.constant + other.constant)

    def __sub__(self, other: "Stack") -> "Stack":
        terms = [Term(name, -share, size) for name, share, size in other.terms]
        return Stack((*self.terms, *terms), self.constant - other.constant)

    def __neg__(self) -> "Stack":
        return Stack(tuple(Term(term.name, -term.share, term.size) for term in self.terms), -self.constant)

    @property
    def value(self) -> Fraction:
        """Exactly. Numerators over one denominator, reduced once: a planner sums thousands of stacks."""
        upper, lower = self.constant.as_integer_ratio()
        for _, times, one_size in self.terms:
            share, part = times.as_integer_ratio()
            size, unit = one_size.value.as_integer_ratio()
            part *= unit
            if lower % part:
                upper, lower = upper * part, lower * part
            upper += share * size * (lower // part)
        return Fraction(upper, lower)

    @property
    def shares(self) -> dict[str, tuple[Fraction | int, Size]]:
        """By name: the share with which a size enters in all, and the size."""
        merged: dict[str, tuple[Fraction | int, Size]] = {}
        for term in self.terms:
            before = merged.get(term.name)
            merged[term.name] = (term.share if before is None else before[0] + term.share, term.size)
        return {name: pair for name, pair in merged.items() if pair[0]}

    @property
    def worst(self) -> Fraction:
        """How far the sum may be off when everything is off at once."""
        upper, lower = 0, 1
        names = {term.name for term in self.terms}
        # Names are seldom told twice, and a planner asks this of thousands of stacks.
        once = len(names) == len(self.terms)
        for share, size in (term[1:] for term in self.terms) if once else self.shares.values():
            off, unit = size.within.as_integer_ratio()
            if off:
                times, part = share.as_integer_ratio()
                part *= unit
                upper = upper * part + abs(times) * off * lower
                lower *= part
        return Fraction(upper, lower)

    @property
    def squared(self) -> Fraction:
        """The square of how far it may be off by root-sum-square."""
        return sum(((share * size.within) ** 2 for share, size in self.shares.values() if size.within), ZERO)


def one(name: str, size: Size, share: int | Fraction = 1) -> Stack:
    """A sum of one size."""
    return Stack((Term(name, share, size),))


def constant(value: Fraction) -> Stack:
    """A sum of nothing but a number that is exact."""
    return Stack((), value)


def linear(value: Fraction, *slopes: Term) -> Stack:
    """A result that is no plain sum, by first order: its value, and how much it moves with each size."""
    return Stack(slopes, value - Stack(slopes).value)


def root_up(square: Fraction) -> Fraction:
    """The square root of a number of 0 or more, rounded up by less than a millionth; exact where it is whole."""
    low = root_down(square)
    return low if low * low == square else low + Fraction(1, _FINE)


def root_down(square: Fraction) -> Fraction:
    """The square root of a number of 0 or more, rounded down by less than a millionth."""
    return Fraction(isqrt(square.numerator * _FINE * _FINE // square.denominator), _FINE)


def as_float_root(square: Fraction) -> float:
    """For showing only."""
    return sqrt(square)
