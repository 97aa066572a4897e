"""A small sidewinder of our own, whose sizes come out round, for the tests of the fit engine."""

from dataclasses import replace
from fractions import Fraction

from inspection.fit.parts import (
    Axle,
    AxleSide,
    Build,
    Corner,
    Drive,
    DrivenGear,
    Ground,
    Guide,
    Layout,
    Leads,
    Pinion,
    Side,
    Slot,
    Wheel,
)
from inspection.fit.sizes import Size


def mm(value, within="0"):
    return Size(Fraction(value), Fraction(within))


def wheel(**changes):
    values = {
        "tire_diameter": mm("20", "0.05"),
        "tire_width": mm("10", "0.1"),
        "inset": mm("0"),
        "rim_diameter": mm("16"),
        "bore": mm("8"),
    }
    return Wheel(**(values | changes))


def gear(**changes):
    values = {"outside_diameter": mm("19"), "face_width": mm("2"), "hub_width": mm("2.5"), "hub_in": False}
    return DrivenGear(**(values | changes))


def rear(**changes):
    """Bushings 15 mm from the middle; right: 0.5 mm spacer, gear of 4.5 mm, wheel; left: 5 mm of spacers, wheel."""
    values = {
        "left": AxleSide(
            reach=mm("15", "0.1"), wheel=wheel(), inner_spacers=(mm("5", "0.02"),), body=mm("31.5", "0.1")
        ),
        "right": AxleSide(
            reach=mm("15", "0.1"),
            wheel=wheel(),
            inner_spacers=(mm("0.5", "0.02"),),
            gear=gear(),
            body=mm("31.5", "0.1"),
        ),
        "length": mm("57"),
        "end_play": mm("0.3", "0.05"),
    }
    return Axle(**(values | changes))


def front(**changes):
    small = wheel(tire_diameter=mm("18"), tire_width=mm("6"), bore=mm("6"))
    side = AxleSide(reach=mm("20"), wheel=small, body=mm("30"))
    return Axle(**({"left": side, "right": side, "length": mm("53"), "end_play": mm("0.3")} | changes))


def drive(**changes):
    values = {
        "layout": Layout.SIDEWINDER,
        "side": Side.RIGHT,
        "pinion": Pinion(outside_diameter=mm("7"), length=mm("6"), gap=mm("0.6")),
        "center_distance": mm("12.05", "0.02"),
        "end_bell": mm("13"),
        "wall": mm("15"),
        "below_axle": mm("8.5"),
    }
    return Drive(**(values | changes))


def car(**changes):
    """Everything fits, at the worst."""
    values = {
        "rear": rear(),
        "front": front(),
        "drive": drive(),
        "ground": Ground(
            chassis_below_axle=mm("8"),
            rear_axle_over_bottom=mm("8"),
            front_axle_over_bottom=mm("7"),
            wheelbase=mm("80"),
            guide_ahead=mm("100"),
            guide_height=mm("2.5"),
            nose_ahead=mm("110"),
        ),
        "guide": Guide(
            blade_depth=mm("6", "0.05"),
            blade_thickness=mm("2.6"),
            shaft=mm("12"),
            holder=mm("7"),
            spacers=(mm("0.5"),),
            clip=mm("2"),
            swing_left=mm("60"),
            swing_right=mm("58"),
            contact=mm("22"),
            braid_end=mm("4"),
            leads=Leads(
                routed=Fraction(60),
                exit_back=Fraction(30),
                exit_side=Fraction(0),
                terminal_back=Fraction(6),
                terminal_side=Fraction(0),
                given=mm("100"),
            ),
        ),
        "slot": Slot(depth=mm("7"), width=mm("3.1", "0.1")),
        "wear": Fraction(1, 2),
    }
    return Build(**(values | changes))


def with_drive(build, **changes):
    return replace(build, drive=replace(build.drive, **changes))


def with_guide(build, **changes):
    return replace(build, guide=replace(build.guide, **changes))


def with_ground(build, **changes):
    return replace(build, ground=replace(build.ground, **changes))


def with_side(build, side, **changes):
    part = replace(build.rear.side(side), **changes)
    return replace(build, rear=replace(build.rear, **{side.value: part}))


def with_wheel(build, side, **changes):
    return with_side(build, side, wheel=replace(build.rear.side(side).wheel, **changes))


CORNER = Corner(back=Fraction(10), side=Fraction(10))
