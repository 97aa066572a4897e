"""Bias against a check piece of known size, and how it changes with size.

AIAG Measurement Systems Analysis, 4th ed. 2010, chapter III section B, "independent sample method" and linearity (the
worked figures read second-hand; they are the tests).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import inf, sqrt

from inspection.gaugestudy.distributions import t_quantile, t_two_sided
from inspection.gaugestudy.errors import StudyCode, StudyError


@dataclass(frozen=True, slots=True, kw_only=True)
class BiasResult:
    """bias: mean reading minus reference, exactly. variance: of the readings, n - 1 below; exactly.

    t, p: of the bias against none. low, high: the interval that holds the bias with the confidence asked for.
    """

    readings: int
    mean: Fraction
    bias: Fraction
    variance: Fraction
    t: float
    p: float
    factor: float
    low: float
    high: float

    @property
    def degrees(self) -> int:
        return self.readings - 1

    @property
    def is_found(self) -> bool:
        """Does the interval leave 0 out? Otherwise the readings cannot tell this bias from none."""
        return not self.low <= 0 <= self.high


def bias_against(readings: Sequence[Fraction], reference: Fraction, *, confidence: float = 0.95) -> BiasResult:
    """The bias of readings of one piece of known size, with its t interval.

    Raises StudyError too_few_readings (2 at least) or bad_probability.
    """
    n = len(readings)
    if n < 2:
        raise StudyError(StudyCode.TOO_FEW_READINGS, least="2")
    mean = sum(readings, Fraction(0)) / n
    bias = mean - reference
    variance = sum(((value - mean) ** 2 for value in readings), Fraction(0)) / (n - 1)
    error = sqrt(variance / n)
    t = _over(bias, variance / n)
    factor = t_quantile(confidence, n - 1)
    return BiasResult(
        readings=n,
        mean=mean,
        bias=bias,
        variance=variance,
        t=t,
        p=t_two_sided(t, n - 1),
        factor=factor,
        low=float(bias) - factor * error,
        high=float(bias) + factor * error,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class LinearityResult:
    """The line bias = intercept + slope * reference, by least squares, exactly.

    spread: standard deviation about the line. t_slope, t_intercept: against 0, infinite without any spread.
    """

    readings: int
    intercept: Fraction
    slope: Fraction
    variance: Fraction
    t_slope: float
    t_intercept: float
    p_slope: float
    p_intercept: float
    bias_by_reference: tuple[tuple[Fraction, Fraction], ...]

    @property
    def spread(self) -> float:
        return sqrt(self.variance)


def linearity(readings: Sequence[tuple[Fraction, Sequence[Fraction]]]) -> LinearityResult:
    """How the bias changes with size. readings: (reference, readings of it).

    Raises StudyError same_references or too_few_readings (3 at least).
    """
    pairs = [(reference, value - reference) for reference, values in readings for value in values]
    n = len(pairs)
    if n < 3:
        raise StudyError(StudyCode.TOO_FEW_READINGS, least="3")
    mean_x = sum((x for x, _ in pairs), Fraction(0)) / n
    mean_y = sum((y for _, y in pairs), Fraction(0)) / n
    across = sum(((x - mean_x) ** 2 for x, _ in pairs), Fraction(0))
    if not across:
        raise StudyError(StudyCode.SAME_REFERENCES)
    slope = sum(((x - mean_x) * (y - mean_y) for x, y in pairs), Fraction(0)) / across
    intercept = mean_y - slope * mean_x
    variance = sum(((y - intercept - slope * x) ** 2 for x, y in pairs), Fraction(0)) / (n - 2)
    t_slope = _over(slope, variance / across)
    t_intercept = _over(intercept, variance * (Fraction(1, n) + mean_x**2 / across))
    return LinearityResult(
        readings=n,
        intercept=intercept,
        slope=slope,
        variance=variance,
        t_slope=t_slope,
        t_intercept=t_intercept,
        p_slope=t_two_sided(t_slope, n - 2),
        p_intercept=t_two_sided(t_intercept, n - 2),
        bias_by_reference=tuple(
            (reference, sum(values, Fraction(0)) / len(values) - reference) for reference, values in readings if values
        ),
    )


def _over(value: Fraction, variance: Fraction) -> float:
    """value / sqrt(variance), exact until the root is taken; infinite without variance, 0 for 0."""
    if not variance:
        return 0.0 if not value else (inf if value > 0 else -inf)
    root = sqrt(value**2 / variance)
    return -root if value < 0 else root
