"""Sums of sizes with tolerances."""

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inspection.fit.errors import MESSAGES, FitError, FitErrorCode
from inspection.fit.sizes import Size, Stack, Term, constant, linear, one, root_down, root_up

numbers = st.fractions(-100, 100, max_denominator=1000)
tolerances = st.fractions(0, 1, max_denominator=1000)
stacks = st.lists(
    st.builds(
        Term,
        st.sampled_from("abcdefgh"),
        st.sampled_from([1, -1, Fraction(1, 2)]),
        st.just(Size(Fraction(3), Fraction(1))),
    ),
    max_size=6,
).map(lambda terms: Stack(tuple(terms)))


def size(value, within="0"):
    return Size(Fraction(value), Fraction(within))


def test_worst_case_adds_tolerances_and_root_sum_square_their_squares():
    """3, 4 and 5: derived."""
    stack = one("length", size("10", "0.3")) - one("width", size("4", "0.4")) + constant(Fraction(1))
    assert stack.value == 7
    assert stack.worst == Fraction("0.7")
    assert stack.squared == Fraction("0.25")


def test_one_part_counted_twice_is_off_the_same_way_twice():
    part = one("part", size("2", "0.1"))
    assert (part + part).worst == Fraction("0.2")
    assert (part + part).squared == Fraction("0.04")
    assert (part - part).worst == 0
    assert (part + one("other", size("2", "0.1"))).squared == Fraction("0.02")


def test_half_a_diameter_is_off_by_half_its_tolerance():
    assert one("diameter", size("20", "0.1"), Fraction(1, 2)).worst == Fraction("0.05")


def test_a_result_that_is_no_sum_has_its_value_and_its_slopes():
    """a b at 3 and 4, a off by 0.1: 12 within 0.4."""
    product = linear(Fraction(12), Term("a", Fraction(4), size("3", "0.1")), Term("b", Fraction(3), size("4")))
    assert product.value == 12
    assert product.worst == Fraction("0.4")


def test_a_tolerance_is_not_below_zero():
    with pytest.raises(FitError) as refused:
        size("1", "-0.1")
    assert refused.value.code is FitErrorCode.TOLERANCE_NEGATIVE


def test_every_refusal_has_a_message():
    assert set(MESSAGES) == set(FitErrorCode)


@settings(max_examples=40)
@given(numbers, tolerances, numbers, tolerances)
def test_sums_are_exact(a, da, b, db):
    first, second = one("a", Size(a, da)), one("b", Size(b, db))
    assert (first + second).value == a + b
    assert (first - second).value == a - b
    assert (first - second).worst == da + db
    assert (first - second).squared == da**2 + db**2


@settings(max_examples=40)
@given(stacks)
def test_root_sum_square_is_never_more_than_the_worst_case(stack):
    assert stack.squared <= stack.worst**2


@settings(max_examples=50)
@given(st.fractions(0, 10**6))
def test_roots_are_held_between_two_numbers_a_millionth_apart(square):
    low, high = root_down(square), root_up(square)
    assert low**2 <= square <= high**2
    assert high - low <= Fraction(1, 10**6)
