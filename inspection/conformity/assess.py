"""A measured value against limits: the zone it lies in, and whether that clears the clause.

The zones of one limit T with guard band w = g * u, for a maximum (mirrored for a minimum):
conforming y <= T - w, nonconforming y > T + w, indeterminate between them (ISO 14253-1:2017, ILAC-G8:09/2019;
the places of equality, which those leave open, are as written here). With two limits a value conforms when it
conforms to both, and does not when it fails either.

No decision uses a float or a root: y against T +/- g * u is settled by the sign of T - y and by squares, with the
variance u2 an exact fraction. So a change of unit never changes a result, and on the limit means on the limit.
"""

from dataclasses import dataclass, field, fields
from enum import StrEnum
from fractions import Fraction
from typing import Final

from inspection.conformity.errors import ConformityCode, ConformityError
from inspection.conformity.uncertainty import GaugeSpec, root_rounded_up
from inspection.units import Kind, Quantity


class Zone(StrEnum):
    CONFORMING = "conforming"
    NONCONFORMING = "nonconforming"
    INDETERMINATE = "indeterminate"


class Side(StrEnum):
    """One of the two limits."""

    LOWER = "lower"
    UPPER = "upper"


class Statement(StrEnum):
    """A zone with the side of the limit: the four statements of ILAC-G8:09/2019, 4.2.3."""

    PASS = "pass"  # noqa: S105 - a statement of conformity
    CONDITIONAL_PASS = "conditional_pass"  # noqa: S105 - another
    CONDITIONAL_FAIL = "conditional_fail"
    FAIL = "fail"


class RuleStyle(StrEnum):
    SIMPLE_ACCEPTANCE = "simple_acceptance"
    BENEFIT_OF_DOUBT = "benefit_of_doubt"
    CERTAIN_PASS = "certain_pass"  # noqa: S105 - the name of a decision rule


class Reason(StrEnum):
    """Why an assessment came out as it did; several may hold."""

    WITHIN_LIMITS = "within_limits"
    ON_THE_LIMIT = "on_the_limit"
    BELOW_LOWER = "below_lower"
    ABOVE_UPPER = "above_upper"
    WITHIN_DOUBT = "within_doubt"  # the limit lies within the gauge's expanded uncertainty of the reading
    WITHIN_GUARD_BAND = "within_guard_band"
    DOUBT_CLEARS = "doubt_clears"
    DOUBT_DOES_NOT_CLEAR = "doubt_does_not_clear"
    DOUBT_UNKNOWN = "doubt_unknown"  # the gauge states no uncertainty


@dataclass(frozen=True, slots=True)
class DecisionRule:
    """What clears.

    guard_factor: g of the guard band w = g * u, always 0 under simple acceptance. coverage_factor: k of the
    expanded uncertainty U = k * u within which a reading is too close to call.
    Raises ConformityError bad_rule.
    """

    style: RuleStyle
    guard_factor: Fraction = Fraction(0)
    coverage_factor: Fraction = Fraction(2)
    doubt_squared: Fraction = field(init=False, compare=False, repr=False)  # times u2: what is too close to call

    def __post_init__(self) -> None:
        guarded = self.style is not RuleStyle.SIMPLE_ACCEPTANCE
        if self.coverage_factor < 0 or self.guard_factor < 0 or (self.guard_factor > 0 and not guarded):
            raise ConformityError(ConformityCode.BAD_RULE)
        # Once a rule, not once a reading.
        object.__setattr__(self, "doubt_squared", (self.guard_factor if guarded else self.coverage_factor) ** 2)


# A name of the module is found sooner than a member of its enum, and these are asked for at every reading.
_CONFORMING: Final = Zone.CONFORMING
_NONCONFORMING: Final = Zone.NONCONFORMING
_INDETERMINATE: Final = Zone.INDETERMINATE
_LOWER: Final = Side.LOWER
_UPPER: Final = Side.UPPER
_SIMPLE: Final = RuleStyle.SIMPLE_ACCEPTANCE


def _reasons(*others: Reason) -> tuple[tuple[Reason, ...], ...]:
    """Within, on, below and above the limit, each followed by what the doubt does."""
    places = (Reason.WITHIN_LIMITS, Reason.ON_THE_LIMIT, Reason.BELOW_LOWER, Reason.ABOVE_UPPER)
    return tuple((place, *others) for place in places)


_NO_DOUBT: Final = _reasons()
_DOUBT_UNKNOWN: Final = _reasons(Reason.DOUBT_UNKNOWN)
_WITHIN_DOUBT: Final = _reasons(Reason.WITHIN_DOUBT)
_DOUBT_CLEARS: Final = _reasons(Reason.WITHIN_GUARD_BAND, Reason.DOUBT_CLEARS)
_DOUBT_DOES_NOT_CLEAR: Final = _reasons(Reason.WITHIN_GUARD_BAND, Reason.DOUBT_DOES_NOT_CLEAR)

# 1.65: the one-sided 95 % factor, the default of ISO 14253-1 (from memory; cdf(1.65) = 0.9505 is recomputed).
DEFAULT_GUARD_FACTOR: Final = Fraction(165, 100)
SIMPLE_ACCEPTANCE: Final = DecisionRule(RuleStyle.SIMPLE_ACCEPTANCE)
BENEFIT_OF_DOUBT: Final = DecisionRule(RuleStyle.BENEFIT_OF_DOUBT, DEFAULT_GUARD_FACTOR)
CERTAIN_PASS: Final = DecisionRule(RuleStyle.CERTAIN_PASS, DEFAULT_GUARD_FACTOR)


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """Exact limits in the base unit of `kind`, with the quantities as they were written.

    Raises ConformityError no_limit or lower_above_upper.
    """

    kind: Kind
    lower: Fraction | None = None
    upper: Fraction | None = None
    lower_written: Quantity | None = None
    upper_written: Quantity | None = None

    def __post_init__(self) -> None:
        if self.lower is None and self.upper is None:
            raise ConformityError(ConformityCode.NO_LIMIT)
        if self.lower is not None and self.upper is not None and self.lower > self.upper:
            raise ConformityError(ConformityCode.LOWER_ABOVE_UPPER)


def make_limits(*, lower: Quantity | None = None, upper: Quantity | None = None) -> Limits:
    """Limits from quantities as written. Raises ConformityError no_limit, wrong_kind or lower_above_upper."""
    written = lower or upper
    if written is None:
        raise ConformityError(ConformityCode.NO_LIMIT)
    if upper is not None and upper.kind is not written.kind:
        raise ConformityError(ConformityCode.WRONG_KIND, found=upper.kind.value, wanted=written.kind.value)
    return Limits(
        kind=written.kind,
        lower=None if lower is None else lower.base,
        upper=None if upper is None else upper.base,
        lower_written=lower,
        upper_written=upper,
    )


@dataclass(frozen=True, slots=True)
class Measurement:
    """A measured value in the base unit of its kind, and the variance u2 of it in that unit squared.

    A variance of 0 means that the value is exact (a count) or that nothing is known of the gauge.
    Raises ConformityError negative_uncertainty.
    """

    kind: Kind
    value: Fraction
    variance: Fraction = Fraction(0)

    def __post_init__(self) -> None:
        if self.variance.numerator < 0:  # a fraction's sign is its numerator's
            raise ConformityError(ConformityCode.NEGATIVE_UNCERTAINTY)


def make_measurement(reading: Quantity, gauge: GaugeSpec | None = None) -> Measurement:
    """One reading taken with a gauge. Raises ConformityError wrong_kind when the gauge measures another kind."""
    if gauge is None:
        return Measurement(kind=reading.kind, value=reading.base)
    if gauge.kind is not reading.kind:
        raise ConformityError(ConformityCode.WRONG_KIND, found=reading.kind.value, wanted=gauge.kind.value)
    return Measurement(kind=reading.kind, value=reading.base, variance=gauge.variance)


@dataclass(frozen=True, slots=True, init=False)
class Assessment:
    """The outcome for one measurement. Zone and `clears` are apart: a rule may clear what is indeterminate.

    too_close: measure again. Under simple acceptance the reading lies within U of a limit; under a guard band it
    is indeterminate. margin: distance to the nearest limit in the base unit, below 0 when outside.
    """

    measurement: Measurement
    limits: Limits
    rule: DecisionRule
    zone: Zone
    too_close: bool
    margin: Fraction
    nearest: Side

    def __init__(
        self,
        measurement: Measurement,
        limits: Limits,
        rule: DecisionRule,
        zone: Zone,
        too_close: bool,
        margin: Fraction,
        nearest: Side,
    ) -> None:
        # Straight into the slots: half the time of what a frozen dataclass writes for itself, at every reading.
        _set_measurement(self, measurement)
        _set_limits(self, limits)
        _set_rule(self, rule)
        _set_zone(self, zone)
        _set_too_close(self, too_close)
        _set_margin(self, margin)
        _set_nearest(self, nearest)

    @property
    def clears(self) -> bool:
        """Does the reading satisfy the clause, by the rule?"""
        zone = self.zone
        return zone is _CONFORMING or (zone is _INDETERMINATE and self.rule.style is RuleStyle.BENEFIT_OF_DOUBT)

    @property
    def statement(self) -> Statement:
        """Pass y <= T - w, conditional pass T - w < y <= T, conditional fail T < y <= T + w, fail y > T + w, for a
        maximum T. Without guard band it is pass or fail."""
        if self.zone is _CONFORMING:
            return Statement.PASS
        if self.zone is _NONCONFORMING:
            return Statement.FAIL
        return Statement.CONDITIONAL_FAIL if self.margin < 0 else Statement.CONDITIONAL_PASS

    @property
    def reasons(self) -> tuple[Reason, ...]:
        """Where the reading lies, then what its doubt does."""
        size = self.margin.numerator
        place = 0 if size > 0 else 1 if size == 0 else 2 if self.nearest is _LOWER else 3
        if self.zone is _INDETERMINATE:
            return (_DOUBT_CLEARS if self.clears else _DOUBT_DOES_NOT_CLEAR)[place]
        if self.too_close:
            return _WITHIN_DOUBT[place]
        if not self.measurement.variance.numerator and self.measurement.kind is not Kind.COUNT:
            return _DOUBT_UNKNOWN[place]
        return _NO_DOUBT[place]

    @property
    def guard_band(self) -> Fraction:
        """w = g * u in the base unit, rounded up to six significant digits, for display."""
        digits, exponent = root_rounded_up(self.measurement.variance * self.rule.guard_factor**2, digits=6)
        return Fraction(digits) * Fraction(10) ** exponent

    @property
    def acceptance_lower(self) -> Fraction | None:
        """The least value that is certainly conforming, in the base unit, for display; exact when w = 0."""
        return None if self.limits.lower is None else self.limits.lower + self.guard_band

    @property
    def acceptance_upper(self) -> Fraction | None:
        """The greatest value that is certainly conforming, in the base unit, for display; exact when w = 0."""
        return None if self.limits.upper is None else self.limits.upper - self.guard_band


_set_measurement, _set_limits, _set_rule, _set_zone, _set_too_close, _set_margin, _set_nearest = (
    Assessment.__dict__[one.name].__set__ for one in fields(Assessment)
)


def assess(measurement: Measurement, limits: Limits, rule: DecisionRule = SIMPLE_ACCEPTANCE) -> Assessment:
    """Decide one measurement against its limits, in exact arithmetic.

    Raises ConformityError wrong_kind when a length, say, is compared with a mass.
    """
    if measurement.kind is not limits.kind:
        raise ConformityError(ConformityCode.WRONG_KIND, found=measurement.kind.value, wanted=limits.kind.value)
    inside, scale, nearest = _distance_inside(measurement.value, limits)
    variance = measurement.variance
    zone = _CONFORMING if inside >= 0 else _NONCONFORMING
    too_close = False
    spread, spread_divisor = variance.as_integer_ratio()
    if spread:
        # (margin / u)2 against the square of the factor, without a division: every number here is whole.
        doubt, doubt_divisor = rule.doubt_squared.as_integer_ratio()
        squared = inside * inside * doubt_divisor * spread_divisor
        reach = scale * scale * doubt * spread
        if rule.style is _SIMPLE:
            too_close = squared <= reach
        elif squared < reach or (squared == reach and inside < 0):
            zone = _INDETERMINATE
            too_close = True
    return Assessment(measurement, limits, rule, zone, too_close, Fraction(inside, scale), nearest)


def _distance_inside(value: Fraction, limits: Limits) -> tuple[int, int, Side]:
    """How far the value lies inside the nearer limit, below 0 when it lies outside it, as a whole number and its
    divisor above 0.

    With two limits the smaller distance is the nearer limit, from inside and from outside alike: a value conforms to
    both when it conforms to that one, and fails one when it fails that one, because both have the same guard band.
    """
    lower, upper = limits.lower, limits.upper
    number, divisor = value.as_integer_ratio()
    if upper is not None:
        end, above = upper.as_integer_ratio()
        under_upper = end * divisor - number * above
        if lower is None:
            return under_upper, above * divisor, _UPPER
        end, below = lower.as_integer_ratio()
        over_lower = number * below - end * divisor
        if under_upper * below < over_lower * above:
            return under_upper, above * divisor, _UPPER
        return over_lower, below * divisor, _LOWER
    if lower is None:  # `Limits` are never made so
        raise ConformityError(ConformityCode.NO_LIMIT)
    end, below = lower.as_integer_ratio()
    return number * below - end * divisor, below * divisor, _LOWER
