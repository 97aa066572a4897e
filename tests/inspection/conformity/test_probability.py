"""Conformance probability against the published examples of JCGM 106:2012 and ILAC-G8:09/2019."""

from fractions import Fraction
from statistics import NormalDist

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspection.conformity.assess import Limits, Measurement
from inspection.conformity.errors import ConformityCode, ConformityError
from inspection.conformity.probability import conformance_probability
from inspection.units import Kind


def probability(value: str, u: str, *, lower: str | None = None, upper: str | None = None) -> float:
    return conformance_probability(
        Measurement(kind=Kind.VOLTAGE, value=Fraction(value), variance=Fraction(u) ** 2),
        Limits(
            kind=Kind.VOLTAGE,
            lower=None if lower is None else Fraction(lower),
            upper=None if upper is None else Fraction(upper),
        ),
    )


def test_the_published_one_sided_example_holds():
    """C01: JCGM 106 7.3.3, example 1: p = 0.92 (numbers from memory; 0.919243 recomputed)."""
    p = probability("-5.47", "0.05", upper="-5.40")
    assert round(p, 2) == 0.92
    assert p == pytest.approx(0.919243, abs=5e-7)


def test_the_published_two_sided_example_holds():
    """C03: JCGM 106 7.4: p = 0.66 (inputs read second-hand, result from memory; 0.662630 recomputed)."""
    p = probability("13.6", "1.8", lower="12.5", upper="16.3")
    assert round(p, 2) == 0.66
    assert p == pytest.approx(0.662630, abs=5e-7)


@pytest.mark.parametrize(("p", "z"), [("0.80", 0.84), ("0.90", 1.28), ("0.95", 1.64), ("0.99", 2.33), ("0.999", 3.09)])
def test_the_published_table_of_z_holds(p, z):
    """C04: JCGM 106 7.3.2, table 1 (from memory). The table cuts 1.645 to 1.64."""
    exact = {0.84: "0.8416212", 1.28: "1.2815516", 1.64: "1.6448536", 2.33: "2.3263479", 3.09: "3.0902323"}[z]
    assert abs(float(exact) - z) <= 0.005
    assert probability("0", "1", upper=exact) == pytest.approx(float(p), abs=1e-7)


@pytest.mark.parametrize(
    ("guard", "bound", "risk"),
    [
        ("0.83", 0.05, 0.048457),
        ("1", 0.025, 0.022750),
        ("1.5", 0.0016, 0.001350),
        ("3", 1e-6, 9.87e-10),
    ],
)
def test_the_published_risks_at_the_acceptance_limit_hold(guard, bound, risk):
    """C11: ILAC-G8:09/2019, table 1 (read second-hand): worst risk at y = A for a guard band of r * U, U = 2u."""
    at_acceptance_limit = str(-2 * Fraction(guard))
    outside = probability(at_acceptance_limit, "1", lower="0")  # the tail beyond T, mirrored to keep its digits
    assert outside < bound
    assert outside == pytest.approx(risk, rel=5e-4)


def test_on_the_limit_it_is_an_even_chance():
    assert probability("10", "0.3", upper="10") == 0.5
    assert probability("10", "0.3", lower="10") == 0.5


def test_without_doubt_it_is_certain():
    assert probability("10", "0", upper="10") == 1.0
    assert probability("10.001", "0", upper="10") == 0.0
    assert probability("10", "0", lower="9", upper="11") == 1.0


def test_another_kind_is_refused():
    with pytest.raises(ConformityError) as refused:
        conformance_probability(
            Measurement(kind=Kind.LENGTH, value=Fraction(1)), Limits(kind=Kind.MASS, upper=Fraction(1))
        )
    assert refused.value.code is ConformityCode.WRONG_KIND


@given(
    st.fractions(min_value=-50, max_value=50, max_denominator=1000),
    st.fractions(min_value=Fraction(1, 100), max_value=50, max_denominator=1000),
    st.fractions(min_value=0, max_value=100, max_denominator=1000),
)
def test_it_agrees_with_the_normal_distribution_of_the_standard_library(value, u, width):
    p = probability(str(value), str(u), lower="0", upper=str(width))
    normal = NormalDist(float(value), float(u))
    assert p == pytest.approx(normal.cdf(float(width)) - normal.cdf(0.0), abs=1e-9)


@given(st.fractions(), st.fractions(min_value=Fraction(1, 10**9)), st.fractions(), st.fractions(min_value=0))
def test_any_numbers_give_a_probability(value, u, lower, width):
    assert 0.0 <= probability(str(value), str(u), lower=str(lower), upper=str(lower + width)) <= 1.0
    assert 0.0 <= probability(str(value * 10**400), str(u), upper=str(lower)) <= 1.0
