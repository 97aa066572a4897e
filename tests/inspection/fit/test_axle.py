"""Along an axle: every gap by hand on a car of round sizes, and what must hold for any axle."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inspection.fit.axle import edge_recess
from inspection.fit.check import check_fit
from inspection.fit.findings import FitCode, FitVerdict, Note, Place
from inspection.fit.parts import Layout, Side, Targets
from tests.inspection.fit.cars import car, gear, mm, rear, wheel, with_drive, with_side, with_wheel

RIGHT = Place.REAR_RIGHT


def found(build, code, place=None, targets=None, **more):
    return check_fit(build, targets or Targets(), cures=False).find(code, place, **more)


def test_the_car_of_these_tests_fits():
    report = check_fit(car())
    assert report.fits
    assert report.missing == ()
    assert {finding.verdict for finding in report.findings} == {FitVerdict.FITS}


def test_the_width_over_the_tires_is_everything_on_the_axle_and_the_end_play():
    """Two reaches of 15, 5 mm of spacers on either side (or spacer and gear), two tires of 10, play 0.3."""
    width = found(car(), FitCode.WIDTH, Place.REAR)
    assert width.value == Fraction("60.3")
    # twice 0.1 of reach, 0.02 of spacer, 0.1 of tire, and 0.05 of play
    assert width.worst == Fraction("0.49")
    assert width.stack.squared == 2 * (Fraction("0.01") + Fraction("0.0004") + Fraction("0.01")) + Fraction("0.0025")


def test_a_width_is_held_against_the_class_only_where_it_has_a_limit():
    assert found(car(), FitCode.WIDTH, Place.REAR).margin is None
    narrow = Targets(rear_width_most=Fraction(60))
    assert found(car(), FitCode.WIDTH, Place.REAR, narrow).verdict is FitVerdict.DOES_NOT_FIT
    exact = Targets(rear_width_most=Fraction("60.3"))
    assert found(car(), FitCode.WIDTH, Place.REAR, exact).verdict is FitVerdict.MAY_NOT_FIT


def test_the_axle_must_reach_through_both_hubs():
    """57 less 40 between the hubs, 0.3 of play and 16 of hubs."""
    assert found(car(), FitCode.AXLE_LENGTH, Place.REAR).value == Fraction("0.7")
    assert not found(car(rear=rear(length=mm("56"))), FitCode.AXLE_LENGTH, Place.REAR).is_met
    flush = Targets(axle_out_most=Fraction("0.5"))
    assert not found(car(), FitCode.AXLE_LENGTH, Place.REAR, flush).is_met


@pytest.mark.parametrize(("play", "met"), [("0.19", False), ("0.2", True), ("0.5", True), ("0.51", False)])
def test_end_play_is_wanted_between_two_and_five_tenths(play, met):
    """Common practice, no source."""
    assert found(car(rear=rear(end_play=mm(play))), FitCode.END_PLAY, Place.REAR).is_met is met


def test_the_distance_of_the_hubs_tells_the_end_play():
    build = car(rear=rear(end_play=None, hub_to_hub=mm("40.4", "0.01")))
    play = found(build, FitCode.END_PLAY, Place.REAR)
    assert play.value == Fraction("0.4")
    assert found(build, FitCode.WIDTH, Place.REAR).value == Fraction("60.4")
    # between the hubs is measured, so spacers and bushings no longer make the width uncertain
    assert found(build, FitCode.WIDTH, Place.REAR).worst == Fraction("0.21")


def test_an_end_play_that_nobody_measured_is_assumed_and_said_so():
    report = check_fit(car(rear=rear(end_play=None)), Targets(end_play_aim=Fraction("0.4")))
    assert report.find(FitCode.END_PLAY, Place.REAR) is None
    width = report.find(FitCode.WIDTH, Place.REAR)
    assert width.value == Fraction("60.4")
    assert width.notes == (Note.END_PLAY_ASSUMED,)
    assert [missing.sizes for missing in report.missing] == [("rear.end_play", "rear.hub_to_hub")]


def test_the_body_floats_by_what_is_left_with_the_axle_pushed_over():
    """31.5 to the body, 30 to the tire's outer edge, 0.3 of play."""
    for place in (Place.REAR_LEFT, RIGHT):
        assert found(car(), FitCode.BODY_FLOAT, place).value == Fraction("1.2")
    tight = with_side(car(), Side.RIGHT, body=mm("30.7"))
    assert not found(tight, FitCode.BODY_FLOAT, RIGHT).is_met
    assert found(tight, FitCode.BODY_FLOAT, Place.REAR_LEFT).is_met


def test_gaps_at_the_pinion_are_taken_where_they_are_smallest():
    """The motor ends at 13, the pinion at 19.6; the gear stands from 15.5 to 17.5, the tire begins at 20.

    The gear may go out by 1.8 within the pinion, with 0.3 of play, and in by 1.9.
    """
    assert found(car(), FitCode.TIRE_TO_PINION, RIGHT).value == Fraction("0.4")
    assert found(car(), FitCode.GEAR_ON_PINION, RIGHT).value == Fraction("1.8")
    assert found(car(), FitCode.SPUR_TO_CHASSIS, RIGHT).value == Fraction("0.5")
    assert found(car(), FitCode.TIRE_TO_SPUR, RIGHT).value == Fraction("2.5")
    hub_in = with_side(car(), Side.RIGHT, gear=gear(hub_in=True))
    assert found(hub_in, FitCode.TIRE_TO_SPUR, RIGHT).value == 0
    assert found(hub_in, FitCode.GEAR_ON_PINION, RIGHT).value == Fraction("-0.7")


@pytest.mark.parametrize(("gap", "met"), [("0.49", False), ("0.5", True), ("1", True), ("1.01", False)])
def test_a_flat_blade_goes_between_pinion_and_end_bell(gap, met):
    """0.5 to 1.0 mm: common practice, no source."""
    pinion = replace(car().drive.pinion, gap=mm(gap))
    assert found(with_drive(car(), pinion=pinion), FitCode.PINION_TO_END_BELL, RIGHT).is_met is met


def test_a_small_tire_may_pass_over_the_pinion():
    """8 and 3.5 of radius leave 0.55 at 12.05, whatever the sides do."""
    small = with_wheel(car(), Side.RIGHT, tire_diameter=mm("16"), inset=mm("-3"))
    passing = found(small, FitCode.TIRE_TO_PINION, RIGHT)
    assert passing.value == Fraction("0.55")
    assert passing.notes == (Note.PASSES_OVER,)


def test_an_anglewinder_is_noted_and_an_inline_car_has_no_such_gap():
    angled = with_drive(car(), layout=Layout.ANGLEWINDER)
    assert Note.SHAFTS_AT_ANGLE in found(angled, FitCode.TIRE_TO_PINION, RIGHT).notes
    inline = with_drive(car(), layout=Layout.INLINE)
    assert found(inline, FitCode.TIRE_TO_PINION) is None
    assert found(inline, FitCode.GEAR_ON_PINION) is None


@pytest.mark.parametrize(
    ("change", "code", "sizes"),
    [
        ({"pinion": None}, FitCode.TIRE_TO_PINION, ("pinion",)),
        ({"end_bell": None}, FitCode.GEAR_ON_PINION, ("end_bell",)),
        ({"center_distance": None}, FitCode.TIRE_TO_PINION, ("center_distance",)),
        ({"wall": None}, FitCode.SPUR_TO_CHASSIS, ("wall",)),
    ],
)
def test_what_was_not_measured_is_named(change, code, sizes):
    report = check_fit(with_drive(car(), **change))
    assert report.find(code) is None
    assert sizes in [missing.sizes for missing in report.missing if missing.code is code]


def test_a_rounded_edge_makes_room_and_takes_rubber():
    """Radius 4, the pinion 1.45 deep: 4 - sqrt(16 - 2.55**2) = 0.9182."""
    build = with_wheel(car(), Side.RIGHT, edge=Fraction(4), rim_diameter=mm("10"))
    gap = found(build, FitCode.TIRE_TO_PINION, RIGHT)
    assert float(gap.value) == pytest.approx(0.4 + 0.9182, abs=1e-4)
    assert found(build, FitCode.TIRE_EDGE, RIGHT).value == 1
    thin = with_wheel(car(), Side.RIGHT, edge=Fraction(4))
    assert found(thin, FitCode.TIRE_EDGE, RIGHT).value == -2


@pytest.mark.parametrize(("depth", "back"), [("0", "5"), ("-1", "5"), ("1", "2"), ("5", "0"), ("6", "0")])
def test_a_quarter_circle_stands_back_as_geometry_says(depth, back):
    """Radius 5: derived; at a depth of 1 the triangle 3, 4, 5 leaves 2."""
    assert float(edge_recess(Fraction(5), Fraction(depth))) == pytest.approx(float(back), abs=2e-6)
    assert edge_recess(Fraction(5), Fraction(depth)) <= Fraction(back)


# For any axle.

lengths = st.fractions(min_value=Fraction(1, 10), max_value=12, max_denominator=100).map(
    lambda value: mm(value, "0.05")
)


@settings(max_examples=40)
@given(lengths, lengths, lengths, lengths)
def test_an_axle_turned_around_is_the_same_axle(reach, spacer, tire, play):
    build = car(rear=rear(end_play=play))
    build = with_side(
        build, Side.LEFT, reach=reach, inner_spacers=(spacer,), wheel=wheel(tire_width=tire), body=mm("40")
    )
    turned = replace(build, rear=replace(build.rear, left=build.rear.right, right=build.rear.left))
    turned = with_drive(turned, side=Side.LEFT)
    mirror = {Place.REAR_LEFT: Place.REAR_RIGHT, Place.REAR_RIGHT: Place.REAR_LEFT}
    there = {(one.code, one.place, one.worn): one for one in check_fit(turned, cures=False).findings}
    for one in check_fit(build, cures=False).findings:
        other = there[one.code, mirror.get(one.place, one.place), one.worn]
        assert (one.value, one.worst, one.stack.squared) == (other.value, other.worst, other.stack.squared)


@settings(max_examples=40)
@given(lengths, lengths)
def test_what_a_wheel_moves_out_the_body_loses(spacer, more):
    before = with_side(car(), Side.RIGHT, outer_spacers=(spacer,))
    after = with_side(car(), Side.RIGHT, outer_spacers=(spacer, more))
    for code, change in ((FitCode.BODY_FLOAT, -1), (FitCode.TIRE_TO_PINION, 1), (FitCode.TIRE_TO_SPUR, 1)):
        assert found(after, code, RIGHT).value == found(before, code, RIGHT).value + change * more.value
    assert found(after, FitCode.WIDTH, Place.REAR).value - found(before, FitCode.WIDTH, Place.REAR).value == more.value


@settings(max_examples=40)
@given(st.fractions(min_value=Fraction(1, 20), max_value=20, max_denominator=20))
def test_a_car_of_another_size_has_gaps_of_another_size(scale):
    """Everything along the axle in another unit: no number is hidden in the sums."""

    def scaled(size):
        return mm(size.value * scale, size.within * scale)

    def side(part):
        tire = part.wheel
        return replace(
            part,
            reach=scaled(part.reach),
            body=scaled(part.body),
            inner_spacers=tuple(scaled(spacer) for spacer in part.inner_spacers),
            gear=part.gear
            and replace(
                part.gear,
                outside_diameter=scaled(part.gear.outside_diameter),
                face_width=scaled(part.gear.face_width),
                hub_width=scaled(part.gear.hub_width),
            ),
            wheel=replace(
                tire,
                tire_diameter=scaled(tire.tire_diameter),
                tire_width=scaled(tire.tire_width),
                bore=scaled(tire.bore),
            ),
        )

    axle = car().rear
    large = rear(
        left=side(axle.left), right=side(axle.right), length=scaled(axle.length), end_play=scaled(axle.end_play)
    )
    there = {(one.code, one.place): one for one in check_fit(car(rear=large), cures=False).findings}
    looked = [FitCode.END_PLAY, FitCode.AXLE_LENGTH, FitCode.WIDTH, FitCode.BODY_FLOAT, FitCode.TIRE_TO_SPUR]
    for one in check_fit(car(), cures=False).findings:
        if one.code in looked and one.place.value.startswith("rear"):
            assert there[one.code, one.place].value == one.value * scale
            assert there[one.code, one.place].worst == one.worst * scale
