"""Bias and linearity against the manual's examples (AIAG MSA 4th ed., Tables III-B 1 to 5; read second-hand)."""

from fractions import Fraction
from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspection.gaugestudy.bias import bias_against, linearity
from inspection.gaugestudy.errors import StudyCode, StudyError
from tests.inspection.gaugestudy import aiag

tenths = st.integers(-500, 500).map(lambda n: Fraction(n, 10))


def test_bias_gives_the_manuals_figures():
    found = bias_against(aiag.numbers(aiag.BIAS), Fraction(6))
    assert f"{float(found.mean):.4f}" == "6.0067"
    assert f"{float(found.variance) ** 0.5:.4f}" == "0.2120"
    assert f"{float(found.variance / found.readings) ** 0.5:.4f}" == "0.0547"
    assert f"{found.t:.2f}" == "0.12"
    assert f"{found.factor:.5f}" == "2.14479"
    assert (f"{found.low:.4f}", f"{found.high:.4f}") == ("-0.1107", "0.1241")
    assert found.degrees == 14
    assert not found.is_found


def test_linearity_gives_the_manuals_line():
    found = linearity(aiag.linearity_readings())
    assert f"{float(found.intercept):.4f} {float(found.slope):.4f}" == "0.7367 -0.1317"
    # means from memory, the rest recomputed
    means = [f"{float(bias):.4f}" for _size, bias in found.bias_by_reference]
    assert means == ["0.4917", "0.1250", "0.0250", "-0.2917", "-0.6167"]
    assert found.spread == pytest.approx(0.239540, abs=5e-7)
    assert found.t_slope == pytest.approx(-12.0426, abs=5e-5)
    assert found.t_intercept == pytest.approx(10.1575, abs=5e-5)
    assert found.p_slope < 1e-15


def test_without_spread_any_bias_is_found_and_none_is_not():
    high, none = (bias_against([Fraction(5)] * 3, Fraction(reference)) for reference in (4, 5))
    assert (high.t, high.p, high.low, high.high, high.is_found) == (inf, 0, 1, 1, True)
    assert (none.t, none.p, none.is_found) == (0, 1, False)
    assert bias_against([Fraction(5)] * 3, Fraction(6)).t == -inf


def test_readings_on_the_line_have_no_spread_about_it():
    found = linearity([(Fraction(n), [Fraction(n) + Fraction(n, 10)]) for n in (1, 2, 3)])
    assert (found.slope, found.intercept, found.variance) == (Fraction(1, 10), 0, 0)
    assert (found.t_slope, found.t_intercept) == (inf, 0)


@pytest.mark.parametrize(
    ("call", "code"),
    [
        (lambda: bias_against([Fraction(1)], Fraction(1)), StudyCode.TOO_FEW_READINGS),
        (lambda: bias_against([Fraction(1)] * 2, Fraction(1), confidence=1), StudyCode.BAD_PROBABILITY),
        (lambda: linearity([(Fraction(1), [Fraction(1)])]), StudyCode.TOO_FEW_READINGS),
        (lambda: linearity([(Fraction(1), [Fraction(1)] * 3)]), StudyCode.SAME_REFERENCES),
    ],
)
def test_too_little_is_refused(call, code):
    with pytest.raises(StudyError) as refused:
        call()
    assert refused.value.code is code


@given(readings=st.lists(tenths, min_size=2, max_size=12), reference=tenths, shift=tenths)
def test_a_shift_of_piece_and_readings_changes_no_bias(readings, reference, shift):
    plain = bias_against(readings, reference)
    shifted = bias_against([value + shift for value in readings], reference + shift)
    assert (shifted.bias, shifted.variance, shifted.low, shifted.high) == (
        plain.bias, plain.variance, plain.low, plain.high,
    )  # fmt: skip


@given(readings=st.lists(tenths, min_size=2, max_size=12), reference=tenths)
def test_the_interval_stands_round_the_bias_and_another_unit_scales_it(readings, reference):
    plain = bias_against(readings, reference)
    inches = bias_against([value / Fraction("25.4") for value in readings], reference / Fraction("25.4"))
    assert plain.low <= float(plain.bias) <= plain.high
    assert inches.bias * Fraction("25.4") == plain.bias
    assert inches.t == pytest.approx(plain.t)
    assert inches.p == pytest.approx(plain.p)
