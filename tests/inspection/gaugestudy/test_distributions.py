"""Student's t and Fisher's F against printed tables."""

from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspection.gaugestudy.distributions import f_above, incomplete_beta, normal_below, t_quantile, t_two_sided
from inspection.gaugestudy.errors import StudyCode, StudyError

# GUM (JCGM 100:2008) Table G.2, from memory; each agrees to every printed digit.
DEGREES = (1, 2, 3, 4, 5, 10, 16, 20, 50)
T_95 = ("12.71", "4.30", "3.18", "2.78", "2.57", "2.23", "2.12", "2.09", "2.01")
T_99 = ("63.66", "9.92", "5.84", "4.60", "4.03", "3.17", "2.92", "2.85", "2.68")


@pytest.mark.parametrize(("degrees", "printed"), [*zip(DEGREES, T_95, strict=True)])
def test_t_for_95_percent_is_that_of_the_guide(degrees, printed):
    assert f"{t_quantile(0.95, degrees):.2f}" == printed


@pytest.mark.parametrize(("degrees", "printed"), [*zip(DEGREES, T_99, strict=True)])
def test_t_for_99_percent_is_that_of_the_guide(degrees, printed):
    assert f"{t_quantile(0.99, degrees):.2f}" == printed


def test_t_of_one_degree_is_cauchys_and_of_two_has_a_closed_form():
    assert t_two_sided(1, 1) == pytest.approx(0.5, rel=1e-13)
    assert t_two_sided(2, 2) == pytest.approx(1 - 2 / 6**0.5, rel=1e-13)


def test_f_with_two_degrees_above_has_a_closed_form():
    # P(F >= f) = (1 + 2 f / n)^(-n / 2) for 2 and n degrees
    assert f_above(3.0, 2, 10) == pytest.approx((1 + 6 / 10) ** -5, rel=1e-13)


def test_f_of_one_degree_above_is_t_squared():
    assert f_above(2.5**2, 1, 7) == pytest.approx(t_two_sided(2.5, 7), rel=1e-12)


def test_the_ends_are_exact():
    assert (f_above(0, 3, 4), f_above(-1, 3, 4), f_above(inf, 3, 4), t_two_sided(inf, 3)) == (1, 1, 0, 0)
    assert (incomplete_beta(2, 3, 0), incomplete_beta(2, 3, 1)) == (0, 1)
    assert normal_below(0) == 0.5


@given(a=st.floats(0.5, 60), b=st.floats(0.5, 60), x=st.floats(0, 1))
def test_the_incomplete_beta_function_is_symmetric(a, b, x):
    assert incomplete_beta(a, b, x) + incomplete_beta(b, a, 1 - x) == pytest.approx(1, abs=1e-9)


@given(confidence=st.floats(0.01, 0.999), degrees=st.integers(1, 200))
def test_the_quantile_undoes_the_probability(confidence, degrees):
    assert t_two_sided(t_quantile(confidence, degrees), degrees) == pytest.approx(1 - confidence, rel=1e-9)


@pytest.mark.parametrize(
    ("call", "code"),
    [
        (lambda: t_quantile(0.95, 0), StudyCode.BAD_DEGREES),
        (lambda: t_quantile(1.0, 3), StudyCode.BAD_PROBABILITY),
        (lambda: t_two_sided(1.0, -1), StudyCode.BAD_DEGREES),
        (lambda: f_above(1.0, 0, 3), StudyCode.BAD_DEGREES),
        (lambda: incomplete_beta(0, 1, 0.5), StudyCode.BAD_DEGREES),
        (lambda: incomplete_beta(1, 1, 1.5), StudyCode.BAD_PROBABILITY),
    ],
)
def test_what_has_no_value_is_refused(call, code):
    with pytest.raises(StudyError) as refused:
        call()

    assert refused.value.code is code
