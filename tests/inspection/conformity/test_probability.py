"""Conformance probability; its published examples stand in test_published.py."""

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
