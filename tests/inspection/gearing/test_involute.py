"""The involute function against standard tables."""

from math import degrees, pi, radians

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspection.gearing.errors import GearingCode, GearingError
from inspection.gearing.involute import involute, involute_angle


def test_the_involute_of_twenty_degrees():
    """S08: a gear handbook's 0.014904384 (second-hand)."""
    assert involute(radians(20)) == pytest.approx(0.0149043839, abs=5e-11)


@pytest.mark.parametrize(
    ("angle", "published"),
    [
        # S08b: standard tables, as any gear handbook prints them (from memory; they recompute).
        ("14.5", 0.0055448),
        ("15", 0.0061498),
        ("17.5", 0.0098662),
        ("22.5", 0.0215145),
        ("24", 0.0263497),
        ("25", 0.0299753),
        ("30", 0.0537515),
    ],
)
def test_the_involute_table(angle, published):
    assert involute(radians(float(angle))) == pytest.approx(published, abs=5.1e-8)
    assert degrees(involute_angle(published)) == pytest.approx(float(angle), abs=2e-4)


@given(st.floats(0, pi / 2 - 1e-3))
def test_the_angle_of_an_involute_is_the_angle(angle):
    assert involute_angle(involute(angle)) == pytest.approx(angle, abs=1e-7 if angle < 1e-2 else 1e-10)


@given(st.floats(0, 1e9))
def test_the_involute_of_the_angle_is_the_involute(value):
    assert involute(involute_angle(value)) == pytest.approx(value, rel=1e-6, abs=1e-15)


@pytest.mark.parametrize("angle", [-0.1, pi / 2, 2.0, float("nan")])
def test_an_angle_has_an_involute_below_a_right_angle_only(angle):
    with pytest.raises(GearingError) as refused:
        involute(angle)
    assert refused.value.code is GearingCode.ANGLE_OUT_OF_RANGE


@pytest.mark.parametrize("value", [-1e-9, float("nan"), float("inf")])
def test_no_angle_has_such_an_involute(value):
    with pytest.raises(GearingError) as refused:
        involute_angle(value)
    assert refused.value.code is GearingCode.ANGLE_OUT_OF_RANGE
