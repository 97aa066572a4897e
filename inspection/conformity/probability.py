"""How likely it is that the true value conforms. It informs ("why?") and never decides, so floats will do."""

from fractions import Fraction
from math import erfc, inf, sqrt
from typing import Final

from inspection.conformity.assess import Limits, Measurement
from inspection.conformity.errors import ConformityCode, ConformityError

_FAR: Final = Fraction(10_000)  # the square of 100 standard uncertainties: the probability beyond is 0


def conformance_probability(measurement: Measurement, limits: Limits) -> float:
    """Probability, 0 to 1, that a value known with standard uncertainty u lies within the limits.

    Normal distribution about the measured value: JCGM 106:2012, 7.2 to 7.4. Without uncertainty it is 0 or 1.
    Raises ConformityError wrong_kind.
    """
    if measurement.kind is not limits.kind:
        raise ConformityError(ConformityCode.WRONG_KIND, found=measurement.kind.value, wanted=limits.kind.value)
    lower = -inf if limits.lower is None else _score(limits.lower - measurement.value, measurement.variance)
    upper = inf if limits.upper is None else _score(limits.upper - measurement.value, measurement.variance)
    if not measurement.variance:
        return 1.0 if lower <= 0 <= upper else 0.0
    if lower > 0:  # both limits on one side: the difference of the small tails keeps its digits
        return _tail_above(lower) - _tail_above(upper)
    if upper < 0:
        return _tail_above(-upper) - _tail_above(-lower)
    return 1.0 - _tail_above(upper) - _tail_above(-lower)


def _score(distance: Fraction, variance: Fraction) -> float:
    """distance / sqrt(variance), held within 100; without variance, the sign of the distance."""
    sign = (distance > 0) - (distance < 0)
    if not variance:
        return float(sign)
    return sign * sqrt(min(distance * distance / variance, _FAR))


def _tail_above(score: float) -> float:
    """The share of a standard normal distribution above the score."""
    return erfc(score / sqrt(2)) / 2
