"""Cures: their amounts by hand, what stands in their way, and that each one cures."""

from dataclasses import replace
from fractions import Fraction
from math import sqrt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inspection.fit.check import check_fit
from inspection.fit.findings import Caution, CureCode, FitCode, FitVerdict, Place
from inspection.fit.parts import Side, Slot, Targets
from tests.inspection.fit.cars import (
    car,
    gear,
    mm,
    rear,
    with_drive,
    with_ground,
    with_guide,
    with_side,
    with_wheel,
)


def rubbing(length="7"):
    """The pinion 1 mm longer: it ends at 20.6, where the tire begins at 20 with 0.2 wanted between."""
    return with_drive(car(), pinion=replace(car().drive.pinion, length=mm(length)))


def cures_of(build, code, targets=None):
    return check_fit(build, targets or Targets()).find(code).cures


def test_a_tire_that_rubs_the_pinion_has_four_cures_in_order_of_ease():
    cures = cures_of(rubbing(), FitCode.TIRE_TO_PINION)
    assert [cure.code for cure in cures] == [
        CureCode.MOVE_WHEEL_OUT, CureCode.PUSH_PINION_ON, CureCode.SHORTEN_PINION, CureCode.ROUND_TIRE_EDGE,
    ]  # fmt: skip
    out, push, shorten, edge = cures
    assert out.amount == push.amount == shorten.amount == Fraction("0.8")
    # 1.45 deep into the tread: p + o + sqrt(2 p o), to the next hundredth
    assert 0 <= float(edge.amount) - (0.8 + 1.45 + sqrt(2 * 0.8 * 1.45)) < 0.01
    # with the reach, the spacer at their worst
    assert out.sure == Fraction("0.92")


def test_each_cure_says_what_stands_in_its_way():
    out, push, shorten, edge = cures_of(rubbing(), FitCode.TIRE_TO_PINION)
    blocked = [[(one.code, one.place, one.short_by) for one in cure.blockers] for cure in (out, push, shorten)]
    assert blocked == [
        # the body wants 0.5 and keeps 0.4; the axle is longer than both hubs by 0.7 only
        [
            (FitCode.AXLE_LENGTH, Place.REAR, Fraction("0.1")),
            (FitCode.BODY_FLOAT, Place.REAR_RIGHT, Fraction("0.1")),
        ],
        # the pinion would stand 0.2 inside the end bell, where 0.5 is wanted
        [(FitCode.PINION_TO_END_BELL, Place.REAR_RIGHT, Fraction("0.7"))],
        [],
    ]
    assert [cure.works for cure in (out, push, shorten)] == [False, False, True]
    # 2 mm of rubber do not take a radius of 3.78
    assert [one.code for one in edge.blockers] == [FitCode.TIRE_EDGE]


def test_a_cure_that_goes_over_the_legal_width_is_blocked():
    legal = Targets(rear_width_most=Fraction("60.5"))
    out = cures_of(rubbing("6.5"), FitCode.TIRE_TO_PINION, legal)[0]
    assert out.amount == Fraction("0.3")
    assert [one.code for one in out.blockers] == [FitCode.WIDTH]
    assert cures_of(rubbing("6.5"), FitCode.TIRE_TO_PINION)[0].works


def test_cures_that_can_hurt_say_so():
    _, push, shorten, edge = cures_of(rubbing(), FitCode.TIRE_TO_PINION)
    assert push.cautions == (Caution.GEAR_PRESS,)
    assert shorten.cautions == (Caution.CUTTING_DISC,)
    assert edge.cautions == (Caution.TRUING_DUST,)


def test_shortening_a_pinion_may_take_it_off_the_gear():
    out_there = with_side(rubbing("9"), Side.RIGHT, inner_spacers=(mm("2.7"),), gear=gear(hub_width=mm("0.3")))
    shorten = cures_of(out_there, FitCode.TIRE_TO_PINION)[2]
    assert shorten.code is CureCode.SHORTEN_PINION
    assert FitCode.GEAR_ON_PINION in [one.code for one in shorten.blockers]


def test_a_pinion_too_short_for_its_gear_is_not_cured_by_moving_it():
    short = with_drive(car(), pinion=replace(car().drive.pinion, length=mm("2")))
    cures = cures_of(short, FitCode.GEAR_ON_PINION)
    assert [cure.works for cure in cures] == [False]
    assert all(FitCode.GEAR_ON_PINION in [one.code for one in cure.blockers] for cure in cures)


def test_what_fits_with_room_to_spare_has_no_cures():
    assert all(finding.cures == () for finding in check_fit(car()).findings)


def test_what_fits_by_less_than_its_tolerance_has_cures_that_make_it_sure():
    build = with_drive(car(), pinion=replace(car().drive.pinion, length=mm("6.15", "0.1")))
    finding = check_fit(build).find(FitCode.TIRE_TO_PINION)
    assert finding.verdict is FitVerdict.MAY_NOT_FIT
    out = finding.cures[0]
    assert out.amount == out.sure == finding.worst - finding.margin
    assert check_fit(out.build).find(FitCode.TIRE_TO_PINION).verdict is FitVerdict.FITS


def with_play(play, **more):
    return car(rear=rear(end_play=mm(play), **more))


@pytest.mark.parametrize(
    ("build", "code", "place", "cure", "amount"),
    [
        (with_play("0.1"), FitCode.END_PLAY, Place.REAR, CureCode.MOVE_WHEEL_OUT, "0.1"),
        (with_play("0.1"), FitCode.END_PLAY, Place.REAR, CureCode.REMOVE_SPACER, "0.1"),
        (with_play("0.8"), FitCode.END_PLAY, Place.REAR, CureCode.MOVE_WHEEL_IN, "0.3"),
        (with_play("0.8"), FitCode.END_PLAY, Place.REAR, CureCode.ADD_SPACER, "0.3"),
        (with_play("0.3", length=mm("55")), FitCode.AXLE_LENGTH, Place.REAR, CureCode.LONGER_AXLE, "1.3"),
        (
            with_side(car(), Side.LEFT, body=mm("30.5")),
            FitCode.BODY_FLOAT, Place.REAR_LEFT, CureCode.MOVE_WHEEL_IN, "0.3",
        ),
        (
            with_side(car(), Side.RIGHT, body=mm("30.5")),
            FitCode.BODY_FLOAT, Place.REAR_RIGHT, CureCode.NARROWER_TIRE, "0.3",
        ),
        (
            with_wheel(car(), Side.RIGHT, inset=mm("-3")),
            FitCode.TIRE_TO_SPUR, Place.REAR_RIGHT, CureCode.MOVE_WHEEL_OUT, "0.5",
        ),
        (with_drive(car(), wall=mm("15.4")), FitCode.SPUR_TO_CHASSIS, Place.REAR_RIGHT, CureCode.MOVE_GEAR_OUT, "0.1"),
        (
            with_side(car(), Side.RIGHT, gear=gear(hub_in=True)),
            FitCode.GEAR_ON_PINION, Place.REAR_RIGHT, CureCode.PULL_PINION_OFF, "0.7",
        ),
        (
            with_drive(car(), end_bell=mm("15")),
            FitCode.GEAR_ON_PINION, Place.REAR_RIGHT, CureCode.MOVE_GEAR_OUT, "0.1",
        ),
        (
            with_drive(car(), pinion=replace(car().drive.pinion, gap=mm("0.3"))),
            FitCode.PINION_TO_END_BELL, Place.REAR_RIGHT, CureCode.PULL_PINION_OFF, "0.2",
        ),
        (
            with_drive(car(), pinion=replace(car().drive.pinion, gap=mm("1.3"))),
            FitCode.PINION_TO_END_BELL, Place.REAR_RIGHT, CureCode.PUSH_PINION_ON, "0.3",
        ),
        (
            with_side(car(), Side.RIGHT, gear=gear(outside_diameter=mm("20.4"))),
            FitCode.UNDER_SPUR, Place.CAR, CureCode.SMALLER_GEAR, "0.42",
        ),
        (with_drive(car(), below_axle=mm("10.5")), FitCode.UNDER_MOTOR, Place.CAR, CureCode.LARGER_TIRE, "1.02"),
        (with_guide(car(), blade_depth=mm("7")), FitCode.GUIDE_FLOOR, Place.CAR, CureCode.TRIM_BLADE, "0.5"),
        (car(slot=Slot(depth=mm("7"), width=mm("2.5"))), FitCode.GUIDE_SLOT, Place.CAR, CureCode.THIN_BLADE, "0.11"),
        (with_guide(car(), shaft=mm("9")), FitCode.GUIDE_SHAFT, Place.CAR, CureCode.LONGER_SHAFT, "0.5"),
        (
            with_guide(car(), leads=replace(car().guide.leads, given=mm("90"))),
            FitCode.LEAD_LENGTH, Place.CAR, CureCode.LONGER_LEAD, "0.5",
        ),
    ],
)  # fmt: skip
def test_each_finding_has_its_cure_with_the_amount(build, code, place, cure, amount):
    finding = check_fit(build).find(code, place)
    assert finding.verdict is FitVerdict.DOES_NOT_FIT
    cures = {one.code: one for one in finding.cures}
    assert cures[cure].amount == Fraction(amount)
    assert check_fit(cures[cure].build).find(code, place).is_met


def test_a_wheel_without_spacers_cannot_come_in():
    bare = with_side(car(), Side.LEFT, inner_spacers=(), body=mm("25.5"))
    cures = check_fit(bare).find(FitCode.BODY_FLOAT, Place.REAR_LEFT).cures
    assert [cure.code for cure in cures] == [CureCode.NARROWER_TIRE]


def test_too_wide_a_car_comes_in_where_it_has_spacers():
    cures = cures_of(car(), FitCode.WIDTH, Targets(rear_width_most=Fraction(60)))
    assert [(cure.code, cure.amount, cure.works) for cure in cures] == [
        (CureCode.MOVE_WHEEL_IN, Fraction("0.3"), True),
        (CureCode.NARROWER_TIRE, Fraction("0.3"), True),
    ]


@pytest.mark.parametrize(
    ("targets", "cure", "amount"),
    # a washer of 1 at the guide raises the front axle by 0.8: 0.4 is found
    [
        (Targets(front_lift_least=Fraction("0.8")), CureCode.RAISE_GUIDE, "0.5"),
        (Targets(front_lift_most=Fraction("0.2")), CureCode.LOWER_GUIDE, "0.25"),
    ],
)
def test_washers_at_the_guide_count_by_the_lever(targets, cure, amount):
    cures = cures_of(car(), FitCode.FRONT_LIFT, targets)
    assert [(one.code, one.amount) for one in cures] == [(cure, Fraction(amount))]
    assert check_fit(cures[0].build, targets).find(FitCode.FRONT_LIFT).margin == 0


def test_a_washer_that_is_not_there_cannot_be_taken_out():
    bare = with_guide(car(), spacers=())
    assert cures_of(bare, FitCode.FRONT_LIFT, Targets(front_lift_most=Fraction("0.2"))) == ()


def test_a_nose_on_the_track_is_raised_at_the_guide():
    low = with_ground(car(), guide_height=mm("0.1"), front_axle_over_bottom=mm("9"))
    cures = cures_of(low, FitCode.NOSE_HEIGHT)
    assert [cure.code for cure in cures] == [CureCode.RAISE_GUIDE]
    assert check_fit(cures[0].build).find(FitCode.NOSE_HEIGHT).is_met


gaps = st.fractions(min_value=0, max_value=2, max_denominator=50)


@settings(max_examples=12, deadline=None)
@given(
    pinion=st.fractions(min_value=3, max_value=9, max_denominator=50),
    gap=gaps,
    spacer=gaps,
    body=st.fractions(min_value=28, max_value=33, max_denominator=50),
    play=gaps,
    hub_in=st.booleans(),
)
def test_every_cure_cures_and_one_that_works_spoils_nothing(pinion, gap, spacer, body, play, hub_in):
    build = car(rear=rear(end_play=mm(play, "0.05")))
    build = with_side(build, Side.RIGHT, body=mm(body), outer_spacers=(mm(spacer),), gear=gear(hub_in=hub_in))
    build = with_drive(build, pinion=replace(build.drive.pinion, length=mm(pinion), gap=mm(gap)))
    report = check_fit(build)
    unmet = {(one.code, one.place, one.worn) for one in report.findings if not one.is_met}
    for finding in report.findings:
        assert finding.is_met or finding.cures or finding.code is FitCode.BODY_FLOAT
        for cure in finding.cures:
            after = {
                (one.code, one.place, one.worn) for one in check_fit(cure.build, cures=False).findings if not one.is_met
            }
            this = finding.code, finding.place, finding.worn
            assert this not in after or this[:2] in [(one.code, one.place) for one in cure.blockers]
            assert not (cure.works and after - unmet)
            assert cure.works or cure.blockers
            assert 0 < cure.amount <= cure.sure
