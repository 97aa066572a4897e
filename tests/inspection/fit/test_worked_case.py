"""A bench evening in full, with a car and numbers of our own: gears first, then everything on the axle."""

from dataclasses import replace
from fractions import Fraction

from inspection.fit.check import check_fit
from inspection.fit.findings import CureCode, FitCode, Place
from inspection.fit.parts import Pinion, Side, Targets
from inspection.gearing.mesh import MeshVerdict, distance_across, mesh_at
from inspection.gearing.spur import Assumption, assume_gear
from tests.inspection.fit.cars import car, gear, mm, with_drive, with_side, with_wheel

HALF = Fraction(1, 2)
# 14.24 mm over a motor shaft of 2.00 and an axle of 2.38.
DISTANCE = distance_across(across_mm=Fraction("14.24"), motor_shaft_mm=Fraction("2.00"), axle_mm=Fraction("2.38"))
PINION = assume_gear(teeth=11, module_mm=HALF, outside_diameter_mm=Fraction("6.5")).gear


def mesh(teeth, diameter):
    told = assume_gear(teeth=teeth, outside_diameter_mm=Fraction(diameter), mate_module_mm=HALF)
    assert Assumption.MODULE_FROM_MATE in told.assumptions
    return mesh_at(PINION, told.gear, distance_mm=DISTANCE)


def built():
    """The larger gear; a pinion of 7 mm; a body that leaves 31.2 mm on either side."""
    pinion = Pinion(outside_diameter=mm("6.5"), length=mm("7"), gap=mm("0.6"))
    build = with_drive(car(), pinion=pinion, center_distance=mm("12.05", "0.02"))
    build = with_side(build, Side.RIGHT, gear=gear(outside_diameter=mm("19.5")), body=mm("31.2"))
    return with_wheel(build, Side.RIGHT, rim_diameter=mm("11"))


def test_the_usual_gear_is_rejected_for_the_right_reason():
    assert Fraction("12.05") == DISTANCE
    usual = mesh(33, "17.5")
    assert usual.verdict is MeshVerdict.DOES_NOT_REACH
    assert usual.overlap_mm == Fraction("-0.05")


def test_the_larger_family_runs():
    assert [mesh(teeth, "19.5").verdict for teeth in (35, 37)] == [MeshVerdict.RUNS, MeshVerdict.RUNS]
    # two teeth less with the same diameter are pushed out by a module, and still mesh 0.06 mm closer
    assert mesh(35, "19.5").zero_backlash_mm < mesh(37, "19.5").zero_backlash_mm == 12


def test_what_is_left_under_the_larger_gear_is_shown_now_and_worn():
    report = check_fit(built())
    assert report.find(FitCode.UNDER_SPUR).value == Fraction("0.25")
    worn = report.find(FitCode.UNDER_SPUR, worn=True)
    assert worn.value == 0
    assert not worn.is_met


def test_the_tire_rubs_and_its_four_cures_are_tried_on_the_car():
    report = check_fit(built(), Targets(rear_width_most=Fraction(61)))
    finding = report.find(FitCode.TIRE_TO_PINION, Place.REAR_RIGHT)
    assert finding.value == Fraction("-0.6")
    tried = {cure.code: (float(cure.amount), cure.works, [one.code for one in cure.blockers]) for cure in finding.cures}
    assert tried == {
        CureCode.MOVE_WHEEL_OUT: (0.8, False, [FitCode.AXLE_LENGTH, FitCode.WIDTH, FitCode.BODY_FLOAT]),
        CureCode.PUSH_PINION_ON: (0.8, False, [FitCode.PINION_TO_END_BELL]),
        CureCode.SHORTEN_PINION: (0.8, True, []),
        CureCode.ROUND_TIRE_EDGE: (3.39, True, []),
    }


def test_after_a_cure_that_works_only_the_worn_tire_is_left_to_do():
    cured = next(cure for cure in check_fit(built()).find(FitCode.TIRE_TO_PINION).cures if cure.works).build
    assert [(one.code, one.worn) for one in check_fit(cured).findings if not one.is_met] == [(FitCode.UNDER_SPUR, True)]
    fresh = replace(cured, wear=Fraction(1, 4))
    assert check_fit(fresh).fits
