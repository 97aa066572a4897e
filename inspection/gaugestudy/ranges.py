"""From a range to a standard deviation: d2, d3 and d2*, and the factors K1, K2, K3 of a crossed study.

d2(m) is the mean and d3(m) the standard deviation of the range of m values from a standard normal distribution.
d2*(m, g) = sqrt(d2(m)^2 + d3(m)^2 / g) turns the mean of g such ranges into a standard deviation without bias in the
square (A. J. Duncan, Quality Control and Industrial Statistics, 4th ed. 1974, Table D3; AIAG Measurement Systems
Analysis, 4th ed. 2010, Appendix C, read second-hand).

The manual's own factors have four decimals, and its worked figures stand on them, so they are used where its tables
reach: K1 = 1 / d2 for 2 or 3 trials and more than 15 ranges, K2 = 1 / d2*(inspectors, 1) for 2 or 3 inspectors,
K3 = 1 / d2*(parts, 1) for 2 to 10 parts. Elsewhere the factor is computed.
"""

from fractions import Fraction
from functools import cache
from math import sqrt
from typing import Final

from inspection.gaugestudy.distributions import normal_below

K1_PRINTED: Final = {2: Fraction("0.8862"), 3: Fraction("0.5908")}
K2_PRINTED: Final = {2: Fraction("0.7071"), 3: Fraction("0.5231")}
K3_PRINTED: Final = {
    2: Fraction("0.7071"), 3: Fraction("0.5231"), 4: Fraction("0.4467"), 5: Fraction("0.4030"), 6: Fraction("0.3742"),
    7: Fraction("0.3534"), 8: Fraction("0.3375"), 9: Fraction("0.3249"), 10: Fraction("0.3146"),
}  # fmt: skip
MANY_RANGES: Final = 15  # beyond, d2* has settled on d2

# The densities vanish well within 8.5 standard deviations; the trapezoid rule on smooth functions that vanish at both
# ends converges faster than any power of the step.
_REACH: Final = 8.5
_STEPS: Final = 170


@cache
def _shares_below() -> tuple[tuple[float, ...], float]:
    """The normal distribution at the nodes of the grid, and the step between them."""
    step = 2 * _REACH / _STEPS
    return tuple(normal_below(-_REACH + n * step) for n in range(_STEPS + 1)), step


@cache
def range_mean(m: int) -> float:
    """d2(m): the mean range of m standard normal values, 0 for m below 2.

    The integral of 1 - F^m - (1 - F)^m (L. H. C. Tippett, Biometrika 17, 1925).
    """
    if m < 2:
        return 0.0
    shares, step = _shares_below()
    return step * sum(1.0 - f**m - (1.0 - f) ** m for f in shares)


@cache
def range_square_mean(m: int) -> float:
    """The mean square of the range of m standard normal values, d2(m)^2 + d3(m)^2; 0 for m below 2.

    Twice the integral over x < y of 1 - F(y)^m - (1 - F(x))^m + (F(y) - F(x))^m (Tippett, as above).
    """
    if m < 2:
        return 0.0
    shares, step = _shares_below()
    below = [f**m for f in shares]
    above = [(1.0 - f) ** m for f in shares]
    total = 0.0
    for j, f_y in enumerate(shares):
        row = sum(1.0 - below[j] - above[i] + (f_y - shares[i]) ** m for i in range(j))
        # On the diagonal the trapezoid rule takes half of each end.
        total += row + (1.0 - below[j] - above[j]) / 2
    # The inner integrand ends at x = y with a slope, and the slopes add up to 1: the step's first correction term
    # (Euler and Maclaurin) is therefore h^2 / 12, twice.
    return 2 * (step * step * total - step * step / 12)


def d2_star(m: int, g: int) -> float:
    """d2*(m, g) for the mean of g ranges of m values each; g: 1 or more."""
    mean, square = range_mean(m), range_square_mean(m)
    return sqrt(mean * mean + max(square - mean * mean, 0.0) / g)


def trial_factor(trials: int, ranges: int) -> Fraction:
    """K1: repeatability is K1 times the mean range. trials: 2 or more. ranges: how many, parts times inspectors."""
    if ranges > MANY_RANGES and trials in K1_PRINTED:
        return K1_PRINTED[trials]
    return _inverse(range_mean(trials) if ranges > MANY_RANGES else d2_star(trials, ranges))


def inspector_factor(inspectors: int) -> Fraction:
    """K2, for the range of the inspectors' means; 0 for a single inspector."""
    if inspectors < 2:
        return Fraction(0)
    return K2_PRINTED.get(inspectors) or _inverse(d2_star(inspectors, 1))


def part_factor(parts: int) -> Fraction:
    """K3, for the range of the parts' means; parts: 2 or more."""
    return K3_PRINTED.get(parts) or _inverse(d2_star(parts, 1))


def _inverse(value: float) -> Fraction:
    """1 / value to six decimals, which is more than the integration is good for."""
    return Fraction(round(1_000_000 / value), 1_000_000)
