"""What would settle a reading that is too close to its limit."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspection.conformity.advice import MOST_READINGS, Remedy, readings_that_settle, what_would_settle
from inspection.conformity.assess import (
    BENEFIT_OF_DOUBT,
    CERTAIN_PASS,
    SIMPLE_ACCEPTANCE,
    Limits,
    Measurement,
    assess,
)
from inspection.conformity.uncertainty import GaugeSpec
from inspection.units import Kind

RULES = [SIMPLE_ACCEPTANCE, BENEFIT_OF_DOUBT, CERTAIN_PASS]
LIMITS = Limits(kind=Kind.LENGTH, upper=Fraction(65))
small = st.fractions(min_value=0, max_value=1, max_denominator=100)


def gauge(step: str, error: str, repeatability: str = "0", kind: Kind = Kind.LENGTH) -> GaugeSpec:
    return GaugeSpec(
        kind=kind,
        resolution=Fraction(step),
        max_permissible_error=Fraction(error),
        repeatability=Fraction(repeatability),
    )


def test_a_finer_gauge_settles_what_a_coarse_one_cannot():
    """0.02 mm inside: the caliper is sure to 0.024 mm, the micrometer to 0.0024 mm."""
    caliper, micrometer = gauge("0.01", "0.02"), gauge("0.001", "0.002")
    close = assess(Measurement(Kind.LENGTH, Fraction("64.98"), caliper.variance), LIMITS)
    assert close.too_close
    assert what_would_settle(close, {"caliper": caliper, "micrometer": micrometer}) == (Remedy("micrometer", 1),)


def test_more_readings_settle_what_only_scatters():
    """k2 r2 / n below 0.02 squared with r = 0.03: n above 9; at 9 it would still be too close."""
    shaky = gauge("0.0001", "0", "0.03")
    close = assess(Measurement(Kind.LENGTH, Fraction("65.02"), shaky.variance), LIMITS)
    assert what_would_settle(close, {"shaky": shaky}) == (Remedy("shaky", 10),)
    assert readings_that_settle(close.margin, close.rule, shaky, most=9) is None


def test_the_fewest_readings_stand_first_and_another_kind_is_left_out():
    close = assess(Measurement(Kind.LENGTH, Fraction("64.98"), Fraction(1)), LIMITS)
    gauges = {
        "shaky": gauge("0.0001", "0", "0.02"),
        "scale": gauge("0.001", "0.001", kind=Kind.MASS),
        "fine": gauge("0.001", "0.002"),
        "unknown": gauge("0", "0"),
    }
    assert [remedy.gauge for remedy in what_would_settle(close, gauges)] == ["fine", "shaky"]


@pytest.mark.parametrize("rule", RULES)
def test_on_the_limit_nothing_settles_it(rule):
    fine = gauge("0.0001", "0.0001")
    exactly = assess(Measurement(Kind.LENGTH, Fraction(65), fine.variance), LIMITS, rule)
    assert exactly.too_close
    assert what_would_settle(exactly, {"fine": fine}) == ()


@given(st.fractions(min_value=-1, max_value=1, max_denominator=200), small, small, small, st.sampled_from(RULES))
def test_so_many_readings_settle_it_and_one_fewer_does_not(margin, step, error, repeatability, rule):
    """Tried by judging the mean, from the definition."""
    used = GaugeSpec(
        kind=Kind.LENGTH, resolution=step, max_permissible_error=error, repeatability=repeatability, bias=Fraction(0)
    )

    def is_settled(readings: int) -> bool:
        mean = Measurement(Kind.LENGTH, LIMITS.upper - margin, used.variance_of_mean(readings))
        return not assess(mean, LIMITS, rule).too_close

    needed = readings_that_settle(margin, rule, used)
    if needed is not None:
        assert is_settled(needed)
        beside = margin**2 == rule.doubt_squared * used.variance_of_mean(needed - 1) if needed > 1 else False
        assert needed == 1 or beside or not is_settled(needed - 1)
    elif used.variance and margin:
        on_the_edge = margin**2 == rule.doubt_squared * used.variance_of_mean(MOST_READINGS)
        assert on_the_edge or not is_settled(MOST_READINGS)
