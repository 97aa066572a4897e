"""The variance of a gauge is exact, and the doubt that is shown is never less than the real one."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspection.conformity.errors import ConformityCode, ConformityError
from inspection.conformity.uncertainty import GaugeSpec, describe_gauge, expanded_uncertainty, root_rounded_up
from inspection.units import Kind, Quantity, parse_quantity

positive = st.fractions(min_value=Fraction(1, 10**12), max_value=10**12)


def length(text: str) -> Quantity:
    return parse_quantity(text, Kind.LENGTH, default_unit="mm")


def gauge(resolution: str = "0", error: str = "0", repeatability: str = "0") -> GaugeSpec:
    return GaugeSpec(
        kind=Kind.LENGTH,
        resolution=Fraction(resolution),
        max_permissible_error=Fraction(error),
        repeatability=Fraction(repeatability),
    )


def test_a_digital_step_is_a_rectangle_of_its_width():
    """C14: step / sqrt 12, GUM F.2.2.1 (from memory): the square is exact."""
    assert gauge(resolution="1").variance == Fraction(1, 12)


def test_limits_of_error_are_a_rectangle_to_either_side():
    """C14: a / sqrt 3, GUM 4.3.7 (from memory)."""
    assert gauge(error="1").variance == Fraction(1, 3)


def test_the_published_resolution_example_holds():
    """C16: step 0.005 gives u = 0.00144 (ISO 22514-7:2012, A.3, read second-hand)."""
    digits, exponent = root_rounded_up(gauge(resolution="0.005").variance, digits=9)
    assert Decimal(digits).scaleb(exponent) == Decimal("0.00144337568")
    assert f"{Decimal(digits).scaleb(exponent):.5f}" == "0.00144"


def test_independent_parts_add_as_squares():
    assert gauge("0.01", "0.02", "0.03").variance == Fraction(1, 120000) + Fraction(4, 30000) + Fraction(9, 10000)


def test_a_gauge_is_described_in_whatever_units_it_is_printed_in():
    spec = describe_gauge(resolution=length(".0005 in"), max_permissible_error=length("0.02 mm"))
    assert spec == gauge("0.0127", "0.02")
    spec = describe_gauge(
        resolution=length("0.01"), max_permissible_error=length("0.02"), repeatability=length("10 µm")
    )
    assert spec == gauge("0.01", "0.02", "0.01")


def test_a_gauge_of_two_kinds_is_refused():
    mass = parse_quantity("1 g", Kind.MASS, default_unit=None)
    with pytest.raises(ConformityError) as refused:
        describe_gauge(resolution=length("0.01"), max_permissible_error=mass)
    assert refused.value.code is ConformityCode.WRONG_KIND


@pytest.mark.parametrize("parts", [("-1", "0", "0"), ("0", "-1", "0"), ("0", "0", "-1")])
def test_a_gauge_cannot_err_by_less_than_nothing(parts):
    with pytest.raises(ConformityError) as refused:
        gauge(*parts)
    assert refused.value.code is ConformityCode.NEGATIVE_UNCERTAINTY


@pytest.mark.parametrize(
    ("variance", "shown"),
    [
        ("0", "0"),
        ("1", "2.0"),
        ("0.01", "0.20"),
        ("0.0001", "0.020"),
        ("0.000141666", "0.024"),
        ("0.25", "1.0"),
        ("0.24999", "1.0"),
        ("2.5", "3.2"),
        ("250000", "1000"),
        ("2401", "98"),
        ("2401.01", "99"),
        ("2450.26", "1.0E+2"),
    ],
)
def test_doubt_is_shown_to_two_digits_rounded_up(variance, shown):
    doubt = expanded_uncertainty(Fraction(variance))
    assert doubt == Decimal(shown)
    assert len(doubt.as_tuple().digits) == (2 if doubt else 1)


def test_doubt_below_zero_is_refused():
    for variance, coverage in [(Fraction(-1), Fraction(2)), (Fraction(1), Fraction(-2))]:
        with pytest.raises(ConformityError):
            expanded_uncertainty(variance, coverage)


@given(positive, st.integers(1, 12))
def test_a_root_is_rounded_up_to_its_digits_and_no_further(square, digits):
    root, exponent = root_rounded_up(square, digits=digits)
    step = Fraction(10) ** exponent
    assert len(str(root)) == digits
    assert (root * step) ** 2 >= square
    assert ((root - 1) * step) ** 2 < square


@given(positive, positive)
def test_more_variance_never_shows_less_doubt(one, other):
    smaller, larger = sorted([one, other])
    assert expanded_uncertainty(smaller) <= expanded_uncertainty(larger)


def test_a_bias_that_is_not_corrected_widens_the_doubt_to_either_side():
    for bias in ("0.03", "-0.03"):
        known = GaugeSpec(
            kind=Kind.LENGTH,
            resolution=Fraction("0.01"),
            max_permissible_error=Fraction("0.02"),
            bias=Fraction(bias),
        )
        assert known.variance == gauge("0.01", "0.02").variance + Fraction(9, 10000)


def test_only_repeatability_averages_out():
    """By hand: 1/12 + 1/3 + 4 for one reading, 1/12 + 1/3 + 1 for the mean of four."""
    used = gauge("1", "1", "2")
    assert used.variance_of_mean(1) == used.variance == Fraction(5, 12) + 4
    assert used.variance_of_mean(4) == Fraction(5, 12) + 1
    assert gauge("1", "1").variance_of_mean(100) == gauge("1", "1").variance


@given(positive, positive, positive, st.integers(1, 50))
def test_the_mean_of_more_readings_is_never_less_sure(step, error, repeatability, readings):
    used = gauge(str(step), str(error), str(repeatability))
    assert used.variance_of_mean(readings + 1) < used.variance_of_mean(readings) <= used.variance


def test_the_step_of_a_thermometer_is_a_difference():
    """0.9 °F is 0.5 K, though 0.9 °F on the scale is below the freezing point."""
    fahrenheit = parse_quantity("0.9 °F", Kind.TEMPERATURE, default_unit=None)
    spec = describe_gauge(resolution=fahrenheit, max_permissible_error=fahrenheit)
    assert (spec.resolution, spec.max_permissible_error) == (Fraction(1, 2), Fraction(1, 2))


def test_a_bias_is_described_in_its_own_unit():
    spec = describe_gauge(resolution=length("0.01"), max_permissible_error=length("0.02"), bias=length("1 thou"))
    assert spec.bias == Fraction("0.0254")


def test_the_spread_between_inspectors_widens_the_doubt_and_does_not_average_out():
    """By hand: 1/12 + 1/3 + 4 + 9 for one reading, 1/12 + 1/3 + 1 + 9 for the mean of four by one inspector."""
    used = describe_gauge(
        resolution=length("1"),
        max_permissible_error=length("1"),
        repeatability=length("2"),
        reproducibility=length("3"),
    )
    assert used.variance == Fraction(5, 12) + 13
    assert used.variance_of_mean(4) == Fraction(5, 12) + 10
    with pytest.raises(ConformityError) as refused:
        GaugeSpec(
            kind=Kind.LENGTH, resolution=Fraction(1), max_permissible_error=Fraction(1), reproducibility=Fraction(-1)
        )
    assert refused.value.code is ConformityCode.NEGATIVE_UNCERTAINTY
