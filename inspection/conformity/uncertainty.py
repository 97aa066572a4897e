"""How far a reading can be trusted: the variance of a gauge's readings, exactly, and its doubt for display."""

from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from math import isqrt

from inspection.conformity.errors import ConformityCode, ConformityError
from inspection.units import Kind, Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugeSpec:
    """What is known of a gauge, in the base unit of its kind (mm, g, degree ...).

    resolution: the smallest step it shows. max_permissible_error: the largest error its maker or calibration
    allows, to either side. repeatability: standard deviation of repeated readings, from a study; reproducibility:
    that between the inspectors who read it, from the same study. bias: of its readings against a check block, above
    or below 0; it is not corrected for, so it widens the doubt.
    variance: u2, the square of the standard uncertainty of one reading, in the base unit squared:
    resolution2 / 12 + error2 / 3 + repeatability2 + reproducibility2 + bias2, by JCGM 100:2008 (GUM) F.2.2.1 for the
    step of a display, 4.3.7 for equal likelihood within limits, 5.1.2 for the sum. The GUM would have a known error
    corrected (3.2.4); where nobody corrects it, its square joins the sum, the usual remedy (from memory, no source).
    Raises ConformityError negative_uncertainty.
    """

    kind: Kind
    resolution: Fraction
    max_permissible_error: Fraction
    repeatability: Fraction = Fraction(0)
    bias: Fraction = Fraction(0)
    reproducibility: Fraction = Fraction(0)
    variance: Fraction = field(init=False, compare=False)

    def __post_init__(self) -> None:
        if min(self.resolution, self.max_permissible_error, self.repeatability, self.reproducibility) < 0:
            raise ConformityError(ConformityCode.NEGATIVE_UNCERTAINTY)
        # Once a gauge, not once a reading: a tech line takes many readings with one gauge.
        variance = self.resolution**2 / 12 + self.max_permissible_error**2 / 3 + self.repeatability**2
        variance += self.reproducibility**2 + self.bias**2
        object.__setattr__(self, "variance", variance)

    def variance_of_mean(self, readings: int) -> Fraction:
        """u2 of the mean of so many readings, 1 or more, in the base unit squared.

        Only repeatability averages out (GUM 4.2.3): step, permissible error, bias and the inspector's own hand are the
        same in every reading.
        """
        repeated = self.repeatability**2
        return self.variance - repeated + repeated / readings


def describe_gauge(
    *,
    resolution: Quantity,
    max_permissible_error: Quantity,
    repeatability: Quantity | None = None,
    bias: Quantity | None = None,
    reproducibility: Quantity | None = None,
) -> GaugeSpec:
    """A gauge from quantities of one kind, in whatever units they are written. Each is a difference: a step of
    0.5 °F is 5/18 of a degree Celsius.

    Raises ConformityError wrong_kind or negative_uncertainty.
    """
    kind = resolution.kind
    for part in (max_permissible_error, repeatability, bias, reproducibility):
        if part is not None and part.kind is not kind:
            raise ConformityError(ConformityCode.WRONG_KIND, found=part.kind.value, wanted=kind.value)
    return GaugeSpec(
        kind=kind,
        resolution=_size(resolution),
        max_permissible_error=_size(max_permissible_error),
        repeatability=Fraction(0) if repeatability is None else _size(repeatability),
        bias=Fraction(0) if bias is None else _size(bias),
        reproducibility=Fraction(0) if reproducibility is None else _size(reproducibility),
    )


def _size(difference: Quantity) -> Fraction:
    """In the base unit, whatever the zero of the unit."""
    return difference.magnitude * difference.unit.factor


def expanded_uncertainty(variance: Fraction, coverage: Fraction = Fraction(2)) -> Decimal:
    """coverage * sqrt(variance) for display, to two significant digits, rounded up (GUM 7.2.6).

    For pages and paper only: decisions compare squares. Raises ConformityError negative_uncertainty.
    """
    if variance < 0 or coverage < 0:
        raise ConformityError(ConformityCode.NEGATIVE_UNCERTAINTY)
    digits, exponent = root_rounded_up(variance * coverage**2, digits=2)
    return Decimal(digits).scaleb(exponent)


def root_rounded_up(square: Fraction, *, digits: int) -> tuple[int, int]:
    """(n, e) such that n * 10**e is the square root of `square`, rounded up to `digits` significant digits.

    Integer arithmetic throughout, so that the value is never below the root. (0, 0) for 0.
    """
    if square == 0:
        return 0, 0
    low, high = 10 ** (digits - 1), 10**digits
    # The root has about half as many digits as its square; the loops settle the last step.
    exponent = (len(str(square.numerator)) - len(str(square.denominator))) // 2 - digits
    while (n := _ceiling_root(square, exponent)) > high:
        exponent += 1
    while n < low:
        exponent -= 1
        n = _ceiling_root(square, exponent)
    return (low, exponent + 1) if n == high else (n, exponent)


def _ceiling_root(square: Fraction, exponent: int) -> int:
    """The least whole n with n * 10**exponent >= sqrt(square), for square above 0."""
    scale = 10 ** abs(2 * exponent)
    scaled = square / scale if exponent > 0 else square * scale
    ceiling = -(-scaled.numerator // scaled.denominator)
    return isqrt(ceiling - 1) + 1
