"""Guide, swing, shaft, braid and lead wires."""

from dataclasses import replace
from fractions import Fraction
from math import cos, radians, sqrt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inspection.fit.check import check_fit
from inspection.fit.findings import CutCode, FitCode, Note, Place
from inspection.fit.guide import lead_length, swing_to_corner
from inspection.fit.parts import Corner, Guide, Leads, Side, Slot, Targets
from tests.inspection.fit.cars import CORNER, car, mm, with_guide


def found(build, code, place=None, targets=None):
    return check_fit(build, targets or Targets(), cures=False).find(code, place)


def leads(**changes):
    values = {
        "routed": Fraction(60),
        "exit_back": Fraction(30),
        "exit_side": Fraction(0),
        "terminal_back": Fraction(6),
        "terminal_side": Fraction(0),
        "slack": Fraction(0),
    }
    return Leads(**(values | changes))


@pytest.mark.parametrize(("depth", "met"), [("6.5", True), ("6.51", False), ("7.2", False)])
def test_the_blade_stays_half_a_millimeter_over_the_floor_of_the_slot(depth, met):
    """Common practice, no source; the slot of this track is 7 mm where it is shallowest."""
    assert found(with_guide(car(), blade_depth=mm(depth)), FitCode.GUIDE_FLOOR).is_met is met


@pytest.mark.parametrize(("thickness", "met"), [("3.09", True), ("3.1", False), ("3.2", False)])
def test_the_blade_is_thinner_than_the_slot(thickness, met):
    assert found(with_guide(car(), blade_thickness=mm(thickness)), FitCode.GUIDE_SLOT).is_met is met


def test_a_guide_for_wood_does_not_go_into_a_shallow_slot():
    """Trade figures: 6.5 mm cut for one scale only, blades of 7 to 8 mm for wood."""
    shallow = car(slot=Slot(depth=mm("6.5"), width=mm("3")))
    assert found(with_guide(shallow, blade_depth=mm("7")), FitCode.GUIDE_FLOOR).value == Fraction("-0.5")


def test_the_shaft_is_cut_to_holder_washers_and_clip():
    report = check_fit(car())
    assert [(cut.length, cut.off) for cut in report.cuts if cut.code is CutCode.GUIDE_SHAFT] == [
        (Fraction("9.5"), Fraction("2.5"))
    ]
    short = check_fit(with_guide(car(), shaft=mm("9")), cures=False)
    assert short.find(FitCode.GUIDE_SHAFT).value == Fraction("-0.5")
    assert [cut.off for cut in short.cuts if cut.code is CutCode.GUIDE_SHAFT] == [None]


def test_a_braid_is_cut_a_little_long():
    """22 mm of contact, 4 mm into the guide, 2 mm to trim."""
    assert [cut.length for cut in check_fit(car()).cuts if cut.code is CutCode.BRAID] == [28]


@pytest.mark.parametrize(
    ("swing", "free"),
    # Law of cosines, derived: 30 mm to where the wire leaves, 6 mm to its end.
    [(0, 24.0), (90, sqrt(900 + 36)), (180, 36.0), (60, sqrt(900 + 36 - 360 * cos(radians(60))))],
)
def test_a_lead_reaches_at_full_steer(swing, free):
    length = float(lead_length(leads(), swing_deg=Fraction(swing))) - 60
    assert free - 1e-9 <= length < free + 0.1


def test_a_lead_is_long_enough_for_the_swing_that_was_measured():
    assert found(car(), FitCode.LEAD_LENGTH).value == 100 - lead_length(car().guide.leads, swing_deg=Fraction(60))
    short = with_guide(car(), leads=replace(car().guide.leads, given=mm("80")))
    assert not found(short, FitCode.LEAD_LENGTH).is_met


@settings(max_examples=50)
@given(st.integers(0, 180), st.integers(0, 180), st.integers(-20, 20), st.integers(-20, 20))
def test_more_swing_never_wants_a_shorter_lead_and_sides_are_alike(swing, more, exit_side, end_side):
    low, high = sorted((swing, more))
    one = leads(exit_side=Fraction(exit_side), terminal_side=Fraction(end_side))
    other = leads(exit_side=Fraction(-exit_side), terminal_side=Fraction(-end_side))
    assert lead_length(one, swing_deg=Fraction(low)) <= lead_length(one, swing_deg=Fraction(high))
    assert lead_length(one, swing_deg=Fraction(low)) == lead_length(other, swing_deg=Fraction(low))


@pytest.mark.parametrize(
    ("tail", "half_width", "angle"),
    [
        # A corner 10 mm back and 10 mm out is 14.14 mm off, at 45 degrees: derived.
        ("15", "0", "45"),
        ("14.1", "0", None),
        # half a width of 2 mm takes asin(2 / 14.14) = 8.13 degrees
        ("15", "2", "36.8"),
    ],
)
def test_the_tail_of_the_guide_meets_a_corner(tail, half_width, angle):
    guide = Guide(tail=mm(tail), tail_half_width=Fraction(half_width), corners=(CORNER,))
    assert swing_to_corner(guide, Side.LEFT) == (None if angle is None else Fraction(angle))
    assert swing_to_corner(guide, Side.RIGHT) is None


def test_swing_is_measured_or_worked_out():
    guide = {"swing_left": None, "swing_right": None, "tail": mm("15")}
    corners = (CORNER, Corner(back=Fraction(10), side=Fraction(-8)))
    build = with_guide(car(), **guide, corners=corners)
    assert found(build, FitCode.GUIDE_SWING, Place.GUIDE_LEFT).value == 45
    assert found(build, FitCode.GUIDE_SWING, Place.GUIDE_RIGHT).value == Fraction("38.6")
    free = with_guide(car(), **(guide | {"tail": mm("9")}), corners=corners)
    assert found(free, FitCode.GUIDE_SWING).notes == (Note.TURNS_FREELY,)


def test_without_its_sizes_nothing_is_said_of_the_guide():
    report = check_fit(replace(car(), guide=Guide(), slot=Slot()))
    wanted = {
        FitCode.GUIDE_FLOOR, FitCode.GUIDE_SLOT, FitCode.GUIDE_SWING, FitCode.GUIDE_SHAFT, FitCode.LEAD_LENGTH,
    }  # fmt: skip
    assert {missing.code for missing in report.missing} == wanted
    assert report.cuts == ()
