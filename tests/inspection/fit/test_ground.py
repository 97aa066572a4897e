"""Clearances and the nose, by hand and by the lever."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inspection.fit.check import check_fit
from inspection.fit.findings import FitCode, FitVerdict, Note
from inspection.fit.parts import Side, Targets
from tests.inspection.fit.cars import car, gear, mm, with_drive, with_ground, with_side, with_wheel


def found(build, code, targets=None, **more):
    return check_fit(build, targets or Targets(), cures=False).find(code, **more)


def test_a_gear_clears_the_track_by_half_the_difference_of_the_diameters():
    """Common practice: tires of 20 and a gear of 19 mm leave 0.5."""
    assert found(car(), FitCode.UNDER_SPUR).value == Fraction("0.5")
    assert found(car(), FitCode.UNDER_SPUR).worst == Fraction("0.025")


def test_clearance_falls_by_half_of_the_diameter_lost():
    """Arithmetic of the trade: 0.5 mm of wear costs 0.25 everywhere."""
    for code in (FitCode.UNDER_SPUR, FitCode.UNDER_MOTOR, FitCode.UNDER_CHASSIS):
        assert found(car(), code).value - found(car(), code, worn=True).value == Fraction("0.25")
    assert found(car(wear=Fraction(0)), FitCode.UNDER_SPUR, worn=True) is None


def test_a_gear_as_large_as_the_tire_touches():
    touching = with_side(car(), Side.RIGHT, gear=gear(outside_diameter=mm("20")))
    assert found(touching, FitCode.UNDER_SPUR).verdict is FitVerdict.DOES_NOT_FIT
    assert found(car(wear=Fraction(1)), FitCode.UNDER_SPUR, worn=True).verdict is FitVerdict.DOES_NOT_FIT


def test_a_wanted_clearance_may_be_met_exactly():
    assert found(car(), FitCode.UNDER_SPUR, Targets(clearance=Fraction("0.5"))).is_met
    assert not found(car(), FitCode.UNDER_SPUR, Targets(clearance=Fraction("0.501"))).is_met


def test_the_smaller_of_two_tires_counts():
    assert found(with_wheel(car(), Side.LEFT, tire_diameter=mm("19.6")), FitCode.UNDER_MOTOR).value == Fraction("1.3")


def test_a_crown_between_the_bushings_has_its_clearance_too():
    inline = with_drive(with_side(car(), Side.RIGHT, gear=None), inside_gear=gear(outside_diameter=mm("15")))
    assert found(inline, FitCode.UNDER_SPUR).value == Fraction("2.5")


def test_what_was_not_measured_under_the_car_is_named():
    report = check_fit(with_drive(with_side(car(), Side.RIGHT, gear=None), below_axle=None))
    assert {FitCode.UNDER_SPUR, FitCode.UNDER_MOTOR} <= {missing.code for missing in report.missing}


def test_the_nose_stands_on_the_line_from_rear_tires_to_guide():
    """2.0 mm at the rear axle, 2.5 at the guide 100 mm on: 2.4 at the front axle, 2.55 at the nose, 110 mm on."""
    lift, nose = found(car(), FitCode.FRONT_LIFT), found(car(), FitCode.NOSE_HEIGHT)
    assert lift.value == Fraction("0.4")  # the front tires alone would carry it at 2.0
    assert nose.value == Fraction("2.55")
    assert lift.notes == nose.notes == (Note.GUIDE_CARRIES,)


def test_large_front_tires_lift_the_guide():
    """19.6 mm: 2.8 at the front axle 80 mm on, so 3.0 at the guide and 3.1 at the nose."""
    build = car()
    small = build.front.left
    large = replace(small, wheel=replace(small.wheel, tire_diameter=mm("19.6")))
    lifted = replace(build, front=replace(build.front, left=large, right=large))
    assert found(lifted, FitCode.FRONT_LIFT).value == Fraction("-0.4")
    assert found(lifted, FitCode.NOSE_HEIGHT).value == Fraction("3.1")
    assert found(lifted, FitCode.NOSE_HEIGHT).notes == (Note.FRONT_TIRES_CARRY,)
    assert not found(lifted, FitCode.FRONT_LIFT, Targets(front_lift_least=Fraction(0))).is_met


@pytest.mark.parametrize("name", ["wheelbase", "guide_ahead", "guide_height", "rear_axle_over_bottom"])
def test_the_nose_is_not_known_without_its_sizes(name):
    report = check_fit(with_ground(car(), **{name: None}))
    assert (name,) in [missing.sizes for missing in report.missing if missing.code is FitCode.NOSE_HEIGHT]


def test_the_nose_needs_its_length():
    report = check_fit(with_ground(car(), nose_ahead=None))
    assert report.find(FitCode.FRONT_LIFT) is not None
    assert [missing.sizes for missing in report.missing] == [("nose_ahead",)]


small = st.fractions(min_value=Fraction(-1, 100), max_value=Fraction(1, 100), max_denominator=1000)


@settings(max_examples=30)
@given(st.sampled_from(["guide_height", "wheelbase", "guide_ahead", "nose_ahead", "rear_axle_over_bottom"]), small)
def test_a_first_order_tolerance_is_what_a_small_change_makes(name, change):
    """The share of each size in the height of the nose is its slope there."""
    build = car()
    size = getattr(build.ground, name)
    before = found(build, FitCode.NOSE_HEIGHT)
    after = found(with_ground(build, **{name: size.changed(change)}), FitCode.NOSE_HEIGHT)
    slope = before.stack.shares.get(name, (Fraction(0), size))[0]
    assert abs(after.value - before.value - slope * change) <= Fraction(1, 100) * change**2
