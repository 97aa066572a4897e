"""Readings: resistances at 20 degC, means, and what was named."""

from fractions import Fraction

import pytest

from inspection.conformity.assess import Measurement
from inspection.conformity.conditions import Lacking, Missing
from inspection.conformity.errors import ConformityCode, ConformityError
from inspection.conformity.observations import (
    Observation,
    Reading,
    make_reading,
    mean_of,
    mean_or_missing,
    measured,
    named,
    refer_to_20,
    said,
    words_of,
)
from inspection.conformity.uncertainty import GaugeSpec
from inspection.units import Kind, parse_quantity

CALIPER = GaugeSpec(
    kind=Kind.LENGTH,
    resolution=Fraction("0.01"),
    max_permissible_error=Fraction("0.02"),
    repeatability=Fraction("0.03"),
)


def quantity(text: str, kind: Kind):
    return parse_quantity(text, kind, default_unit=None, allow_negative=True)


def ohms(text: str, temperature: str | None = None) -> Reading:
    at = quantity(temperature, Kind.TEMPERATURE) if temperature else None
    return make_reading(quantity(text, Kind.RESISTANCE), temperature=at)


class TestResistance:
    def test_at_20_degrees_it_stays(self):
        assert refer_to_20(ohms("6 Ω", "20 °C")).value == 6
        assert refer_to_20(ohms("6 Ω", "68 °F")).value == 6

    def test_warm_copper_reads_higher(self):
        """R20 = R / (1 + 0.00393 (T - 20)): 6 ohm at 45 degC are 5.463 ohm."""
        warm = refer_to_20(ohms("6 Ω", "45 °C"))
        assert warm.value == 6 / (1 + Fraction("0.00393") * 25)
        assert f"{float(warm.value):.3f}" == "5.463"
        assert refer_to_20(warm) == warm

    def test_cold_copper_reads_lower(self):
        assert refer_to_20(ohms("6 Ω", "10 °C")).value > 6

    def test_its_doubt_is_referred_too(self):
        reading = Reading(
            kind=Kind.RESISTANCE, value=Fraction(6), variance=Fraction("0.01"), repeatability=Fraction("0.1"),
            temperature=Fraction(45),
        )  # fmt: skip
        cold = refer_to_20(reading)
        assert cold.variance / reading.variance == (cold.value / reading.value) ** 2
        assert cold.repeatability / reading.repeatability == cold.value / reading.value

    def test_without_temperature_and_for_other_kinds_it_stays_as_read(self):
        assert refer_to_20(ohms("6 Ω")) == ohms("6 Ω")
        length = make_reading(quantity("6 mm", Kind.LENGTH), temperature=quantity("45 °C", Kind.TEMPERATURE))
        assert refer_to_20(length) == length

    @pytest.mark.parametrize("temperature", ["-201 °C", "201 °C"])
    def test_a_temperature_that_cannot_be_is_refused(self, temperature):
        with pytest.raises(ConformityError) as refused:
            ohms("6 Ω", temperature)
        assert refused.value.code is ConformityCode.BAD_TEMPERATURE


class TestMean:
    def test_only_repeatability_averages_out(self):
        readings = [make_reading(quantity(text, Kind.LENGTH), CALIPER) for text in ("20.1 mm", "20.2 mm", "20.3 mm")]
        shared = CALIPER.variance - Fraction("0.03") ** 2
        expected = Measurement(kind=Kind.LENGTH, value=Fraction("20.2"), variance=shared + Fraction("0.03") ** 2 / 3)
        assert mean_of(readings) == expected
        assert mean_of(readings).variance == CALIPER.variance_of_mean(3)

    def test_of_one_it_is_that_one(self):
        reading = make_reading(quantity("20.1 mm", Kind.LENGTH), CALIPER)
        assert mean_of([reading]).variance == CALIPER.variance

    def test_of_two_gauges_the_worse_is_taken(self):
        rough = GaugeSpec(kind=Kind.LENGTH, resolution=Fraction(1), max_permissible_error=Fraction(0))
        readings = [make_reading(quantity("20 mm", Kind.LENGTH), gauge) for gauge in (CALIPER, rough)]
        assert mean_of(readings).variance == Fraction(1, 12) + Fraction("0.03") ** 2 / 4

    def test_of_two_kinds_it_is_refused_or_missing(self):
        readings = (make_reading(quantity("20 mm", Kind.LENGTH)), make_reading(quantity("20 g", Kind.MASS)))
        with pytest.raises(ConformityError):
            mean_of(readings)
        assert mean_or_missing("x", readings) == (Missing(Lacking.FITTING, "x"),)


def test_a_gauge_of_another_kind_is_refused_and_a_count_has_no_doubt():
    with pytest.raises(ConformityError):
        make_reading(quantity("20 g", Kind.MASS), CALIPER)
    counter = GaugeSpec(kind=Kind.COUNT, resolution=Fraction(1), max_permissible_error=Fraction(0))
    assert make_reading(quantity("4", Kind.COUNT), counter).variance == 0


def test_repeatability_is_part_of_the_variance():
    with pytest.raises(ConformityError):
        Reading(kind=Kind.LENGTH, value=Fraction(1), variance=Fraction(1), repeatability=Fraction(2))


@pytest.mark.parametrize(
    ("observation", "words"),
    [
        (named("brass", "wire"), ("brass", "wire")),
        (named(), ()),
        (measured(make_reading(quantity("9", Kind.COUNT))), ("9",)),
        (measured(make_reading(quantity("9 mm", Kind.LENGTH))), None),
        (said(True), None),
        (Observation(), None),
    ],
)
def test_what_was_named(observation, words):
    assert words_of(observation) == words
