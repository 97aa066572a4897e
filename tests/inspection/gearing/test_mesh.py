"""Pairs on the shafts of a chassis: published pairs, the trade's distances, and what must hold for every pair."""

from fractions import Fraction
from math import degrees

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from inspection.gearing.errors import GearingCode, GearingError
from inspection.gearing.involute import involute
from inspection.gearing.meanings import ASSUMPTIONS, BASES, NOTES, VERDICTS
from inspection.gearing.mesh import (
    ORDER,
    Basis,
    MeshNote,
    MeshTargets,
    MeshVerdict,
    RunningRecord,
    distance_across,
    distance_from_pair,
    is_same_pitch,
    mesh_at,
    reach,
    shift_sum_at,
    shifted_pair,
    tip_to_root_distance,
    working_distance,
    zero_backlash_distance,
)
from inspection.gearing.spur import Assumption, SpurGear, assume_gear, millimeters
from inspection.units import Kind, make_quantity, parse_quantity

HALF = Fraction(1, 2)


def gear(teeth, module=HALF, shift=0, outside=None):
    module, shift = Fraction(module), Fraction(shift)
    diameter = Fraction(outside) if outside is not None else module * (teeth + 2 + 2 * shift)
    return SpurGear(teeth=teeth, module_mm=module, shift=shift, outside_diameter_mm=diameter)


def measured(teeth, outside):
    """A gear of module 0.5 whose outside diameter a caliper told."""
    return assume_gear(teeth=teeth, module_mm=HALF, outside_diameter_mm=Fraction(outside)).gear


PINION = gear(12)
SMALL, LONG, MIDDLE, SHORT = measured(34, 18), measured(34, 19), measured(36, 19), measured(38, 19)


def at(pinion, driven, distance, **more):
    return mesh_at(pinion, driven, distance_mm=Fraction(distance), **more)


# Published pairs.


def test_the_published_standard_pair():
    """S01: module 3, 12 and 24 teeth: distance 54.000 (KHK table 4.1, from memory); contact ratio 1.5111 (derived)."""
    one, other = gear(12, 3), gear(24, 3)
    assert zero_backlash_distance(one, other) == pytest.approx(54, abs=1e-12)
    assert at(one, other, 54).contact_ratio == pytest.approx(1.5111, abs=5e-5)
    assert at(one, other, 54).pressure_angle_deg == pytest.approx(20, abs=1e-9)


def test_the_published_shifted_pair():
    """S02: KHK table 4.3, second-hand: x = 0.6 and 0.36."""
    pair = shifted_pair(gear(12, 3, "0.6"), gear(24, 3, "0.36"))
    assert involute(pair.pressure_angle_deg * 3.141592653589793 / 180) == pytest.approx(0.034316, abs=5e-7)
    assert pair.pressure_angle_deg == pytest.approx(26.0886, abs=5e-5)
    assert pair.center_coefficient == pytest.approx(0.83329, abs=5e-6)
    assert pair.distance_mm == pytest.approx(56.4999, abs=5e-5)
    assert pair.base_mm == pytest.approx((33.8289, 67.6579), abs=5e-5)
    assert pair.operating_mm == pytest.approx((37.667, 75.333), abs=5e-4)
    assert pair.addendum_mm == pytest.approx((4.420, 3.700), abs=5e-4)
    assert pair.tooth_height_mm == pytest.approx(6.370, abs=5e-4)
    assert pair.outside_mm == pytest.approx((44.840, 79.400), abs=5e-4)
    assert pair.root_mm == pytest.approx((32.100, 66.660), abs=5e-4)
    assert pair.contact_ratio == pytest.approx(1.202, abs=5e-4)


def test_the_shift_is_found_again_from_the_distance():
    """S03: KHK table 4.4 and a public gear program's test: 56.4999 mm asks for a sum of 0.9600."""
    one, other = gear(12, 3), gear(24, 3)
    assert shift_sum_at(one, other, 56.4999) == pytest.approx(0.9600, abs=5e-5)
    assert (56.4999 - zero_backlash_distance(one, other)) / 3 == pytest.approx(0.8333, abs=5e-5)
    assert at(one, other, "56.4999").pressure_angle_deg == pytest.approx(26.0886, abs=5e-5)


@pytest.mark.parametrize(
    ("pinion", "driven", "ratio"),
    # S12: standard 20 degree pairs, derived from the formula of S02, without allowance for undercut.
    [(9, 27, 1.4848), (8, 30, 1.4802), (11, 28, 1.5171), (17, 17, 1.5148), (20, 40, 1.6352), (47, 50, 1.7492)],
)
def test_the_contact_ratio_of_standard_pairs(pinion, driven, ratio):
    mesh = at(gear(pinion), gear(driven), Fraction(pinion + driven, 4))
    assert mesh.contact_ratio == pytest.approx(ratio, abs=5e-5)
    assert mesh.contact_ratio_clipped <= mesh.contact_ratio


@pytest.mark.parametrize(
    ("module", "pinion", "driven", "distance"),
    # S11: two derived; the last from a university gear course's example.
    [(Fraction(127, 320), 9, 28, "7.3421875"), ("0.5", 9, 28, "9.25"), ("2", 20, 10, "30")],
)
def test_the_center_distance_of_standard_pairs(module, pinion, driven, distance):
    found = zero_backlash_distance(gear(pinion, module), gear(driven, module))
    assert found == pytest.approx(float(Fraction(distance)), abs=1e-10)


# The distances of three gears of one diameter: common practice, no source; the arithmetic is recomputed.


@pytest.mark.parametrize(
    ("driven", "zero"),
    [(LONG, 11.943), (MIDDLE, 12.000), (SHORT, 11.806), (SMALL, 11.500)],
    ids=["34", "36", "38", "18"],
)
def test_the_distance_without_backlash(driven, zero):
    assert zero_backlash_distance(PINION, driven) == pytest.approx(zero, abs=5e-4)


@pytest.mark.parametrize("driven", [LONG, MIDDLE, SHORT], ids=["34", "36", "38"])
def test_three_gears_of_one_diameter_bottom_at_one_distance_and_run_at_another(driven):
    assert tip_to_root_distance(PINION, driven) == Fraction("11.875")
    assert at(PINION, driven, "11.875").verdict is MeshVerdict.BOTTOMS
    assert at(PINION, driven, "12.05").verdict is MeshVerdict.RUNS


def test_the_thinnest_of_them_bottoms_where_theory_alone_has_it_run():
    mesh = at(PINION, SHORT, "11.8065")
    assert mesh.verdict is MeshVerdict.BOTTOMS
    assert mesh.findings == (MeshVerdict.BOTTOMS,)
    assert mesh.tip_clearance_mm == Fraction("-0.0685")
    assert mesh.working_mm == pytest.approx(11.895)


def test_a_pair_without_backlash_is_tight():
    mesh = at(PINION, MIDDLE, 12)
    assert mesh.verdict is MeshVerdict.TIGHT
    assert mesh.backlash_mm == pytest.approx(0, abs=1e-9)
    assert at(PINION, LONG, "11.90").verdict is MeshVerdict.TIGHT


def test_the_usual_gear_does_not_carry_the_drive_though_its_tips_overlap():
    mesh = at(PINION, SMALL, 12)
    assert mesh.contact_ratio == pytest.approx(0.68, abs=5e-3)
    assert mesh.overlap_mm == HALF
    assert mesh.verdict is MeshVerdict.DRIVE_INTERRUPTED
    assert mesh.findings == (MeshVerdict.DRIVE_INTERRUPTED, MeshVerdict.LOOSE)


def test_gears_whose_tips_just_meet_do_not_reach():
    assert at(PINION, SMALL, "12.499").verdict is MeshVerdict.DRIVE_INTERRUPTED
    assert at(PINION, SMALL, "12.5").verdict is MeshVerdict.DOES_NOT_REACH
    assert at(PINION, SMALL, 400).findings[0] is MeshVerdict.DOES_NOT_REACH


def test_gears_of_two_pitches_do_not_run_at_any_distance():
    other = gear(36, Fraction(127, 240))
    mesh = at(PINION, other, 12)
    assert not is_same_pitch(PINION, other)
    assert mesh.findings == (MeshVerdict.WRONG_PITCH,)
    assert mesh.zero_backlash_mm is mesh.contact_ratio is working_distance(PINION, other) is None
    assert at(PINION, other, 20).findings == (MeshVerdict.WRONG_PITCH, MeshVerdict.DOES_NOT_REACH)
    assert distance_from_pair(PINION, other) is shifted_pair(PINION, other) is None


def test_more_backlash_than_is_good_is_loose():
    mesh = at(PINION, MIDDLE, "12.2")
    assert mesh.verdict is MeshVerdict.LOOSE
    assert mesh.verdict.runs
    generous = MeshTargets(loose_above=Fraction(1, 2))
    assert at(PINION, MIDDLE, "12.2", targets=generous).verdict is MeshVerdict.RUNS


def test_a_clipped_contact_ratio_stops_at_the_base_tangents():
    """Derived: the 9 tooth pinion's base tangent cuts the gear's tip path; what is left is its own tip path."""
    mesh = at(gear(9), gear(27), 9)
    assert mesh.contact_ratio_clipped == pytest.approx(3.5170 / 2.9521, abs=5e-4)
    assert MeshNote.CONTACT_LOW in mesh.notes
    assert MeshNote.UNDERCUT_PINION in mesh.notes


def test_teeth_that_would_be_pointed_are_noted():
    assert MeshNote.POINTED_PINION in at(gear(8, shift=1), gear(30), 10).notes
    assert MeshNote.POINTED_DRIVEN in at(gear(30), gear(8, shift=1), 10).notes


def test_an_anglewinder_is_noted():
    assert MeshNote.SHAFTS_AT_ANGLE in at(PINION, MIDDLE, "12.05", shaft_angle_deg=Fraction(15)).notes


# What a builder has seen.


def test_a_pair_that_ran_free_outranks_theory():
    ran = [RunningRecord(distance_mm=Fraction("11.86"))]
    here = at(PINION, MIDDLE, "11.86", records=ran)
    assert (here.verdict, here.theory, here.basis) == (MeshVerdict.RUNS, MeshVerdict.BOTTOMS, Basis.RECORD)
    assert MeshNote.THEORY_DIFFERS in here.notes
    assert at(PINION, MIDDLE, "11.95", records=ran).verdict is MeshVerdict.RUNS
    assert at(PINION, MIDDLE, "11.80", records=ran).verdict is MeshVerdict.BOTTOMS
    assert at(PINION, MIDDLE, "12.05", records=ran).basis is Basis.THEORY


def test_a_pair_that_drove_far_apart_does_so_closer_together():
    drove = [RunningRecord(distance_mm=Fraction("12.05"))]
    assert at(PINION, SMALL, "12.00", records=drove).verdict is MeshVerdict.RUNS
    assert at(PINION, SMALL, "11.45", records=drove).verdict is MeshVerdict.TIGHT
    assert at(PINION, SMALL, "12.20", records=drove).verdict is MeshVerdict.DRIVE_INTERRUPTED


def test_two_pitches_that_ran_once_ran_there_only():
    other = gear(36, Fraction(127, 240))
    ran = [RunningRecord(distance_mm=Fraction("12.6"))]
    assert at(PINION, other, "12.61", records=ran).verdict is MeshVerdict.RUNS
    assert at(PINION, other, "12.7", records=ran).verdict is MeshVerdict.WRONG_PITCH


def test_a_pair_that_runs_free_tells_the_distance_of_the_shafts():
    told = distance_from_pair(PINION, MIDDLE)
    assert told.least_mm == pytest.approx(12.0)
    assert told.least_mm < told.likely_mm < told.most_mm
    assert at(PINION, MIDDLE, Fraction(told.most_mm) - Fraction(1, 1000)).contact_ratio > 1
    assert at(PINION, MIDDLE, Fraction(told.most_mm) + Fraction(1, 1000)).contact_ratio < 1


def test_a_caliper_over_both_shafts_tells_the_distance():
    """Derived: shafts of 2.00 and 2.38 mm, 14.19 mm over both."""
    over = {"motor_shaft_mm": Fraction(2), "axle_mm": Fraction("2.38")}
    assert distance_across(across_mm=Fraction("14.19"), **over) == 12
    for across, code in ((Fraction(0), GearingCode.SIZE_NOT_POSITIVE), (Fraction(2), GearingCode.SHAFTS_OVERLAP)):
        with pytest.raises(GearingError) as refused:
            distance_across(across_mm=across, **over)
        assert refused.value.code is code


def test_a_distance_is_above_zero():
    with pytest.raises(GearingError) as refused:
        at(PINION, MIDDLE, 0)
    assert refused.value.code is GearingCode.SIZE_NOT_POSITIVE


def test_every_code_has_its_meaning():
    assert set(VERDICTS) == set(MeshVerdict)
    assert set(NOTES) == set(MeshNote)
    assert set(BASES) == set(Basis)
    assert set(ASSUMPTIONS) == set(Assumption)


# For every pair.

gears = st.builds(
    gear,
    st.integers(7, 60),
    st.just(HALF),
    st.fractions(-1, 1, max_denominator=20),
)
distances = st.fractions(1, 40, max_denominator=1000)


@settings(max_examples=40)
@given(gears, gears, distances)
def test_a_mesh_is_the_same_from_either_gear(one, other, distance):
    first, second = at(one, other, distance), at(other, one, distance)
    assert first.findings == second.findings
    assert first.ratio * second.ratio == 1
    assert first.tip_clearance_mm == second.tip_clearance_mm
    assert first.backlash_mm == pytest.approx(second.backlash_mm)
    assert first.contact_ratio == pytest.approx(second.contact_ratio)
    assert first.contact_ratio_clipped == pytest.approx(second.contact_ratio_clipped)
    assert zero_backlash_distance(one, other) == pytest.approx(zero_backlash_distance(other, one))


@settings(max_examples=40)
@given(gears, gears, distances, distances, st.lists(distances, max_size=2))
def test_more_distance_is_never_tighter(one, other, distance, further, ran):
    near, far = sorted((distance, further))
    records = [RunningRecord(distance_mm=place) for place in ran]
    close, wide = at(one, other, near, records=records), at(one, other, far, records=records)
    assert ORDER.index(close.verdict) <= ORDER.index(wide.verdict)
    assert close.tip_clearance_mm <= wide.tip_clearance_mm
    assert (close.backlash_mm is None) or close.backlash_mm <= wide.backlash_mm + 1e-12


@settings(max_examples=40)
@given(gears, gears, distances, st.fractions(min_value=Fraction(1, 50), max_value=50, max_denominator=50))
def test_a_pair_twice_as_large_is_the_same_pair(one, other, distance, scale):
    def scaled(made):
        return gear(made.teeth, made.module_mm * scale, made.shift)

    large, small = at(scaled(one), scaled(other), distance * scale), at(one, other, distance)
    assert large.tip_clearance_mm == small.tip_clearance_mm * scale
    assert large.contact_ratio == pytest.approx(small.contact_ratio, abs=1e-9)
    if small.backlash_mm is not None and abs(small.backlash_mm) > 1e-6:
        assert large.findings == small.findings


@settings(max_examples=40)
@given(gears, gears, distances, st.sampled_from(["in", "thou", "cm", "µm"]))
def test_a_mesh_is_the_same_in_any_unit(one, other, distance, unit):
    def told(size):
        millimeter = parse_quantity("1 mm", Kind.LENGTH, default_unit=None).unit
        return millimeters(make_quantity(size, millimeter).to(unit))

    def typed(made):
        return SpurGear(
            teeth=made.teeth,
            module_mm=told(made.module_mm),
            outside_diameter_mm=told(made.outside_diameter_mm),
            shift=made.shift,
        )

    assert at(typed(one), typed(other), told(distance)) == at(one, other, distance)


@settings(max_examples=40)
@given(gears, gears)
def test_at_its_own_distance_a_pair_has_no_backlash_and_gives_its_shift_back(one, other):
    distance = zero_backlash_distance(one, other)
    assume(distance is not None)
    there = mesh_at(one, other, distance_mm=Fraction(distance) + Fraction(1, 10**9))
    assert there.backlash_mm == pytest.approx(0, abs=1e-7)
    assert shift_sum_at(one, other, distance + 1e-12) == pytest.approx(float(one.shift + other.shift), abs=1e-6)


@settings(max_examples=40)
@given(gears, gears, distances)
def test_numbers_of_a_mesh_agree_with_each_other(one, other, distance):
    mesh = at(one, other, distance)
    assert mesh.overlap_mm == reach(one, other) - distance
    assert mesh.verdict is mesh.findings[0] is mesh.theory
    assert (mesh.verdict is MeshVerdict.DOES_NOT_REACH) == (mesh.overlap_mm <= 0)
    assert (mesh.verdict is MeshVerdict.BOTTOMS) == (mesh.tip_clearance_mm <= 0)
    if mesh.contact_ratio is not None:
        assert mesh.contact_ratio_clipped <= mesh.contact_ratio + 1e-9
        assert 0 <= mesh.pressure_angle_deg < degrees(1.5708)
    if mesh.working_mm is not None:
        assert mesh.working_mm > tip_to_root_distance(one, other)
