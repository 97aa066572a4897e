"""Student's t and Fisher's F, by the regularized incomplete beta function. Floats: they inform and never decide."""

from math import erfc, exp, inf, lgamma, log, log1p, sqrt

from inspection.gaugestudy.errors import StudyCode, StudyError

_TINY = 1e-300
_CLOSE = 1e-15
_TERMS = 10_000


def incomplete_beta(a: float, b: float, x: float) -> float:
    """I_x(a, b), the regularized incomplete beta function, for a, b above 0 and x from 0 to 1.

    Continued fraction of DLMF 8.17.22, evaluated by the modified method of Lentz; the symmetry 8.17.4 where it
    converges sooner. Raises StudyError bad_degrees or bad_probability.
    """
    if not (a > 0 and b > 0):
        raise StudyError(StudyCode.BAD_DEGREES)
    if not 0 <= x <= 1:
        raise StudyError(StudyCode.BAD_PROBABILITY)
    if x in {0.0, 1.0}:
        return float(x)
    if x > (a + 1) / (a + b + 2):
        return 1.0 - incomplete_beta(b, a, 1.0 - x)
    front = exp(lgamma(a + b) - lgamma(a) - lgamma(b) + a * log(x) + b * log1p(-x)) / a
    return min(max(front * _continued_fraction(a, b, x), 0.0), 1.0)


def _continued_fraction(a: float, b: float, x: float) -> float:
    value = c = 1.0
    d = 0.0
    for n in range(_TERMS):
        m = n // 2
        if n == 0:
            numerator = 1.0
        elif n % 2 == 0:
            numerator = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))
        else:
            numerator = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
        d = 1.0 + numerator * d
        d = 1.0 / (d if abs(d) > _TINY else _TINY)
        c = 1.0 + numerator / c
        c = c if abs(c) > _TINY else _TINY
        value *= c * d
        if n and abs(1.0 - c * d) < _CLOSE:
            break
    # The method begins at 1 + K; the fraction itself is what multiplies the front.
    return value - 1.0


def t_two_sided(t: float, degrees: float) -> float:
    """Probability that Student's t lies further from 0 than |t|. Raises StudyError bad_degrees."""
    if not degrees > 0:
        raise StudyError(StudyCode.BAD_DEGREES)
    if abs(t) == inf:
        return 0.0
    return incomplete_beta(degrees / 2, 0.5, degrees / (degrees + t * t))


def t_quantile(confidence: float, degrees: float) -> float:
    """The t within which a share `confidence` of the distribution lies, to either side of 0 (0.95: 2.14479 at 14).

    confidence: above 0 and below 1. degrees: degrees of freedom, above 0. Found by halving, to the last digit of a
    float. Raises StudyError bad_degrees or bad_probability.
    """
    if not 0 < confidence < 1:
        raise StudyError(StudyCode.BAD_PROBABILITY)
    outside = 1.0 - confidence
    low, high = 0.0, 1.0
    while t_two_sided(high, degrees) > outside and high < 1e150:
        low, high = high, high * 2
    for _ in range(200):
        middle = (low + high) / 2
        if middle in {low, high}:
            break
        if t_two_sided(middle, degrees) > outside:
            low = middle
        else:
            high = middle
    return high


def f_above(f: float, upper: float, lower: float) -> float:
    """Probability that Fisher's F with these degrees of freedom is f or more. Raises StudyError bad_degrees."""
    if not (upper > 0 and lower > 0):
        raise StudyError(StudyCode.BAD_DEGREES)
    if f <= 0:
        return 1.0
    if f == inf:
        return 0.0
    return incomplete_beta(lower / 2, upper / 2, lower / (lower + upper * f))


def normal_below(z: float) -> float:
    """Share of the standard normal distribution below z, kept exact in the lower tail."""
    return erfc(-z / sqrt(2)) / 2
