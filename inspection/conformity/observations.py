"""What was found on a car: readings with their variances, and answers."""

from collections.abc import Sequence
from dataclasses import dataclass, fields
from fractions import Fraction
from typing import Final

from inspection.conformity.assess import Measurement
from inspection.conformity.conditions import Lacking, Missing
from inspection.conformity.errors import ConformityCode, ConformityError
from inspection.conformity.uncertainty import GaugeSpec
from inspection.units import Kind, Quantity

# Temperature coefficient of the resistance of annealed copper at 20 degC, per kelvin: 0.00393 (IEC 60028:1925,
# which has 1/254.45; from memory).
COPPER: Final = Fraction(393, 100_000)
REFERENCE_TEMPERATURE: Final = Fraction(20)  # degC
_NONE: Final = Fraction(0)
_COLDEST, _HOTTEST = Fraction(-200), Fraction(200)


@dataclass(frozen=True, slots=True, init=False)
class Reading(Measurement):
    """One reading in the base unit of its kind: a measurement, and what was known when it was taken.

    variance: u2 of it, with the repeatability in it. repeatability: standard deviation of repeated readings, the only
    part of the doubt that a mean makes smaller. temperature: of a resistance, in degC. overdue: taken with a gauge past
    its calibration date. Raises ConformityError negative_uncertainty or bad_temperature.
    """

    repeatability: Fraction = _NONE
    temperature: Fraction | None = None
    overdue: bool = False

    def __init__(
        self,
        kind: Kind,
        value: Fraction,
        variance: Fraction = _NONE,
        repeatability: Fraction = _NONE,
        temperature: Fraction | None = None,
        overdue: bool = False,
    ) -> None:
        repeated = repeatability.numerator  # a fraction's sign is its numerator's
        if variance.numerator < 0 or repeated < 0 or (repeated and repeatability**2 > variance):
            raise ConformityError(ConformityCode.NEGATIVE_UNCERTAINTY)
        if temperature is not None and not _COLDEST <= temperature <= _HOTTEST:
            raise ConformityError(ConformityCode.BAD_TEMPERATURE)
        # Straight into the slots: half the time of what a frozen dataclass writes for itself, at every reading.
        _set_kind(self, kind)
        _set_value(self, value)
        _set_variance(self, variance)
        _set_repeatability(self, repeatability)
        _set_temperature(self, temperature)
        _set_overdue(self, overdue)


_set_kind, _set_value, _set_variance = (Measurement.__dict__[one.name].__set__ for one in fields(Measurement))
_set_repeatability, _set_temperature, _set_overdue = (
    Reading.__dict__[name].__set__ for name in ("repeatability", "temperature", "overdue")
)


def make_reading(
    quantity: Quantity,
    gauge: GaugeSpec | None = None,
    *,
    temperature: Quantity | None = None,
    overdue: bool = False,
) -> Reading:
    """A reading taken with a gauge; a count has no doubt whatever it was taken with.

    Raises ConformityError wrong_kind when the gauge measures another kind, or bad_temperature.
    """
    if gauge is not None and gauge.kind is not quantity.kind:
        raise ConformityError(ConformityCode.WRONG_KIND, found=quantity.kind.value, wanted=gauge.kind.value)
    is_exact = gauge is None or quantity.kind is Kind.COUNT
    return Reading(
        kind=quantity.kind,
        value=quantity.base,
        variance=Fraction(0) if gauge is None or is_exact else gauge.variance,
        repeatability=Fraction(0) if gauge is None or is_exact else gauge.repeatability,
        temperature=None if temperature is None else temperature.base,
        overdue=overdue,
    )


@dataclass(frozen=True, slots=True)
class Observation:
    """What was found for one characteristic: readings, a yes or no, or words (one, or several as with materials).

    answers: None when nothing was answered; () says that there is none, as of changes made to a car.
    """

    readings: tuple[Reading, ...] = ()
    answer: bool | None = None
    answers: tuple[str, ...] | None = None


def measured(*readings: Reading) -> Observation:
    return Observation(readings)


def said(answer: bool) -> Observation:
    return Observation(answer=answer)


def named(*answers: str) -> Observation:
    return Observation(answers=answers)


def refer_to_20(reading: Reading) -> Reading:
    """A resistance as it would be at 20 degC: R20 = R / (1 + 0.00393 (T - 20)), exactly; others unchanged.

    The doubt of the temperature is left out: 1 K is 0.4 % of the resistance, so it is measured at rest.
    """
    if reading.kind is not Kind.RESISTANCE or reading.temperature is None:
        return reading
    factor = 1 / (1 + COPPER * (reading.temperature - REFERENCE_TEMPERATURE))
    return Reading(
        kind=reading.kind,
        value=reading.value * factor,
        variance=reading.variance * factor**2,
        repeatability=reading.repeatability * factor,
        temperature=REFERENCE_TEMPERATURE,
        overdue=reading.overdue,
    )


def mean_of(readings: Sequence[Reading]) -> Measurement:
    """The mean of one or more readings of one kind, with the variance of it.

    What the readings share (step and error of the gauge) does not average out: of several gauges the largest is
    taken. Repeatability divides by their number (GUM 4.2.3, 5.2.2). Raises ConformityError wrong_kind.
    """
    first = readings[0]
    for reading in readings:
        if reading.kind is not first.kind:
            raise ConformityError(ConformityCode.WRONG_KIND, found=reading.kind.value, wanted=first.kind.value)
    if len(readings) == 1:
        return first
    count = len(readings)
    value = sum((reading.value for reading in readings), Fraction(0)) / count
    shared = max(reading.variance - reading.repeatability**2 for reading in readings)
    repeated = sum((reading.repeatability**2 for reading in readings), Fraction(0)) / count**2
    return Measurement(kind=first.kind, value=value, variance=shared + repeated)


def mean_or_missing(code: str, readings: Sequence[Reading]) -> Measurement | tuple[Missing, ...]:
    if len({reading.kind for reading in readings}) != 1:
        return (Missing(Lacking.FITTING, code),)
    return mean_of(readings)


def words_of(observed: Observation) -> tuple[str, ...] | None:
    """What was named; a count as its number (a list of tooth counts). None where nothing was."""
    if observed.answers is not None:
        return observed.answers
    whole = [reading.value for reading in observed.readings if reading.kind in {Kind.COUNT, Kind.RATIO}]
    if whole and len(whole) == len(observed.readings):
        return tuple(str(value) for value in whole)
    return None
