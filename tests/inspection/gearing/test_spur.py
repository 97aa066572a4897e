"""One gear: circles, thickness and undercut against published figures, and what is assumed."""

from fractions import Fraction
from math import pi

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inspection.gearing.errors import GearingCode, GearingError
from inspection.gearing.spur import (
    ADDENDUM,
    CLEARANCE,
    DEDENDUM,
    PRESSURE_ANGLE_DEG,
    ROOT_FILLET,
    Assumption,
    SpurGear,
    assume_gear,
    least_shift,
    millimeters,
    module_from_diameter,
    shift_from_diameter,
    undercut_limit,
    undercut_limit_teeth,
)
from inspection.units import Kind, parse_quantity

HALF = Fraction(1, 2)


def standard(teeth, module=HALF, shift=0):
    module, shift = Fraction(module), Fraction(shift)
    return SpurGear(teeth=teeth, module_mm=module, shift=shift, outside_diameter_mm=module * (teeth + 2 + 2 * shift))


@pytest.mark.parametrize(
    ("teeth", "pitch", "outside", "root", "base"),
    # S01: module 3, 20 degrees, 12 and 24 teeth (KHK table 4.1, from memory; base circles confirmed second-hand).
    [(12, 36, 42, "28.5", 33.829), (24, 72, 78, "64.5", 67.658)],
)
def test_the_published_standard_gears_have_their_circles(teeth, pitch, outside, root, base):
    gear = standard(teeth, 3)
    assert gear.pitch_diameter_mm == pitch
    assert gear.outside_diameter_mm == outside
    assert gear.root_diameter_mm == Fraction(root)
    assert gear.addendum_mm == 3
    assert gear.tooth_height_mm == Fraction("6.75")
    assert gear.base_diameter_mm == pytest.approx(base, abs=5e-4)


@pytest.mark.parametrize(("angle", "published"), [("14.5", 32), ("20", 17)])
def test_the_undercut_limit_is_the_published_one(angle, published):
    """S04: 2 / sin(alpha)**2; handbooks print 32 and 17 (from memory), rounding 31.903 and 17.097."""
    assert round(undercut_limit(pressure_angle_deg=Fraction(angle))) == published


@pytest.mark.parametrize(("angle", "limit"), [("14.5", 31.9029), ("20", 17.0973), ("25", 11.1978)])
def test_the_undercut_limit_to_four_decimals(angle, limit):
    """S04: recomputed."""
    assert undercut_limit(pressure_angle_deg=Fraction(angle)) == pytest.approx(limit, abs=5e-5)


def test_seventeen_teeth_are_very_slightly_undercut_in_theory():
    """S04: derived, x_min 0.0057."""
    assert least_shift(teeth=17) == pytest.approx(0.0057, abs=5e-5)
    assert undercut_limit_teeth() == 18
    assert standard(17).is_undercut
    assert not standard(18).is_undercut


@pytest.mark.parametrize(
    ("teeth", "least"),
    [
        # S04b: a public gear program's test.
        (12, 0.298133),
        (24, -0.403733),
        # S04c: derived.
        (8, 0.532089),
        (9, 0.473600),
        (10, 0.415111),
        (11, 0.356622),
        (14, 0.181156),
    ],
)
def test_the_least_shift_without_undercut(teeth, least):
    assert least_shift(teeth=teeth) == pytest.approx(least, abs=5.1e-7)


@pytest.mark.parametrize(
    ("teeth", "rule"), [(8, 0.529412), (9, 0.470588), (10, 0.411765), (11, 0.352941), (14, 0.176471)]
)
def test_the_shop_rule_is_close_to_theory_but_below_it(teeth, rule):
    """S04c: (17 - z) / 17, derived."""
    assert (17 - teeth) / 17 == pytest.approx(rule, abs=5e-7)
    assert 0 < least_shift(teeth=teeth) - rule < 0.006


def test_a_rack_tooth_has_the_published_thickness():
    """S05b: module 3, 20 degrees: 4.7124 and height 3.0000 (SDP/SI table 10-2)."""
    gear = standard(1000, 3)
    assert gear.tooth_thickness_mm == pytest.approx(4.7124, abs=5e-5)
    assert gear.addendum_mm == 3


def test_the_basic_rack_is_that_of_the_standard():
    """S13: ISO 53, type A: the first three confirmed in SDP/SI p. T-9, the fillet from memory."""
    assert PRESSURE_ANGLE_DEG == 20
    assert [float(size) for size in (ADDENDUM, DEDENDUM, CLEARANCE, ROOT_FILLET)] == [1, 1.25, 0.25, 0.38]


@pytest.mark.parametrize(("teeth", "shift"), [(34, 1), (36, 0), (38, -1)])
def test_three_families_share_one_outside_diameter(teeth, shift):
    """Common practice, no source: 34, 36 and 38 teeth of module 0.5 are sold with 19 mm."""
    found = shift_from_diameter(teeth=teeth, module_mm=HALF, outside_diameter_mm=Fraction(19))
    assert found == shift
    assert module_from_diameter(teeth=teeth, outside_diameter_mm=Fraction(19), shift=Fraction(shift)) == HALF


def test_what_was_not_measured_is_named():
    known = assume_gear(teeth=34, module_mm=HALF, outside_diameter_mm=Fraction(19), pressure_angle_deg=Fraction(20))
    assert known.assumptions == (Assumption.SHIFT_FROM_DIAMETER, Assumption.FULL_DEPTH)
    listed = assume_gear(teeth=12, module_mm=HALF)
    assert listed.gear == standard(12)
    assert listed.assumptions == (Assumption.STANDARD_DIAMETER, Assumption.PRESSURE_ANGLE, Assumption.FULL_DEPTH)
    mate = assume_gear(teeth=34, outside_diameter_mm=Fraction(19), mate_module_mm=HALF)
    assert mate.gear == known.gear
    assert mate.assumptions[0] is Assumption.MODULE_FROM_MATE


def test_a_module_told_by_the_diameter_says_when_it_is_not_alone():
    measured = assume_gear(teeth=34, outside_diameter_mm=Fraction(19))
    assert measured.gear.module_mm == Fraction(127, 240)
    assert measured.assumptions[:2] == (Assumption.MODULE_FROM_DIAMETER, Assumption.MODULE_AMBIGUOUS)


def test_a_shift_that_hints_at_another_pitch_is_named():
    """36 teeth of 48 pitch measure 20.11 mm; as module 0.5 that would be a shift of 1.1."""
    other = assume_gear(teeth=36, outside_diameter_mm=Fraction("20.11"), mate_module_mm=HALF)
    assert Assumption.SHIFT_LARGE in other.assumptions
    whole = assume_gear(teeth=34, outside_diameter_mm=Fraction(19), mate_module_mm=HALF)
    assert Assumption.SHIFT_LARGE not in whole.assumptions


def test_teeth_alone_are_no_gear():
    with pytest.raises(GearingError) as refused:
        assume_gear(teeth=34)
    assert refused.value.code is GearingCode.SIZE_MISSING
    with pytest.raises(GearingError) as refused:
        assume_gear(teeth=34, outside_diameter_mm=Fraction(1, 100))
    assert refused.value.code is GearingCode.NO_STANDARD_MODULE


def gear(**changes):
    values = {"teeth": 12, "module_mm": HALF, "outside_diameter_mm": Fraction(7)} | changes
    return SpurGear(**values)


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"teeth": 0}, GearingCode.TEETH_BELOW_ONE),
        ({"module_mm": Fraction(0)}, GearingCode.SIZE_NOT_POSITIVE),
        ({"outside_diameter_mm": Fraction(0)}, GearingCode.SIZE_NOT_POSITIVE),
        ({"pressure_angle_deg": Fraction(90)}, GearingCode.ANGLE_OUT_OF_RANGE),
        ({"teeth": 2}, GearingCode.NO_ROOT_CIRCLE),
        ({"outside_diameter_mm": Fraction("4.75")}, GearingCode.TIP_INSIDE_ROOT),
    ],
)
def test_numbers_that_no_gear_can_have_are_refused(changes, code):
    with pytest.raises(GearingError) as refused:
        gear(**changes)
    assert refused.value.code is code


@pytest.mark.parametrize(
    "calculate",
    [
        lambda: module_from_diameter(teeth=0, outside_diameter_mm=Fraction(7)),
        lambda: shift_from_diameter(teeth=0, module_mm=HALF, outside_diameter_mm=Fraction(7)),
        lambda: least_shift(teeth=0),
    ],
)
def test_a_formula_for_no_teeth_is_refused(calculate):
    with pytest.raises(GearingError) as refused:
        calculate()
    assert refused.value.code is GearingCode.TEETH_BELOW_ONE


def test_a_typed_length_becomes_millimeters_and_nothing_else_does():
    assert millimeters(parse_quantity(".75 in", Kind.LENGTH, default_unit="mm")) == Fraction("19.05")
    with pytest.raises(GearingError) as refused:
        millimeters(parse_quantity("9 g", Kind.MASS, default_unit=None))
    assert refused.value.code is GearingCode.NOT_A_LENGTH
    with pytest.raises(GearingError) as refused:
        millimeters(parse_quantity("0 mm", Kind.LENGTH, default_unit=None))
    assert refused.value.code is GearingCode.SIZE_NOT_POSITIVE


@settings(max_examples=40)
@given(st.integers(5, 120), st.fractions(-1, 1), st.fractions(min_value=Fraction(1, 10), max_value=3))
def test_module_shift_and_diameter_go_round_in_a_circle(teeth, shift, module):
    made = standard(teeth, module, shift)
    again = shift_from_diameter(teeth=teeth, module_mm=module, outside_diameter_mm=made.outside_diameter_mm)
    assert again == shift
    assert module_from_diameter(teeth=teeth, outside_diameter_mm=made.outside_diameter_mm, shift=shift) == module


@settings(max_examples=40)
@given(st.integers(8, 120), st.fractions(min_value=Fraction(1, 10), max_value=3))
def test_an_unshifted_tooth_is_half_a_pitch_thick_and_thinner_at_its_tip(teeth, module):
    made = standard(teeth, module)
    assert made.tooth_thickness_mm == pytest.approx(pi * float(module) / 2)
    assert 0 < made.tip_thickness_mm < made.tooth_thickness_mm
