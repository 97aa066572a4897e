"""What the bench's engines find, in words that a builder can act on."""

from fractions import Fraction

from inspection.benchwording.selectors import (
    Figures,
    find_cure,
    finding_key,
    finding_line,
    mesh_lines,
    missing_lines,
    size_words,
    state_of,
)
from inspection.fit.check import check_fit
from inspection.fit.findings import CureCode, FitCode, Missing, Place
from inspection.fit.parts import Targets
from inspection.gearing.mesh import mesh_at
from inspection.gearing.spur import assume_gear
from tests.inspection.fit.cars import car, with_drive, with_guide
from tests.inspection.fit.test_worked_case import DISTANCE, PINION, built

FIGURES = Figures()
WIDE = Targets(rear_width_most=Fraction(61))


def pair(teeth, diameter):
    told = assume_gear(teeth=teeth, outside_diameter_mm=Fraction(diameter), mate_module_mm=Fraction(1, 2))
    return mesh_lines(mesh_at(PINION, told.gear, distance_mm=DISTANCE), FIGURES)


def rubbing():
    report = check_fit(built(), WIDE)
    return report, report.find(FitCode.TIRE_TO_PINION, Place.REAR_RIGHT)


def test_a_tire_that_rubs_lists_its_four_cures_with_amounts_and_what_blocks_them():
    line = finding_line(rubbing()[1], FIGURES)

    assert (line.what, line.value, line.wanted, line.kind) == (
        "Tire to pinion, Rear right", "-0.60 mm", "at least 0.20 mm", "bad",
    )  # fmt: skip
    assert [cure.words for cure in line.cures] == [
        "Move the wheel out by 0.80 mm",
        "Push the pinion further on by 0.80 mm",
        "Shorten the pinion by 0.80 mm",
        "Round the inner edge of the tire to a radius of 3.39 mm",
    ]
    assert [cure.works for cure in line.cures] == [False, False, True, True]
    assert line.working == 2
    assert "Width over the tires: 0.10 mm too much" in line.cures[0].blockers
    assert "Cutting discs" in line.cures[2].cautions[0]


def test_a_cure_that_fits_but_is_not_legal_says_so_and_is_not_counted():
    line = finding_line(
        rubbing()[1], FIGURES, legality=lambda cure: (cure.code is CureCode.ROUND_TIRE_EDGE, "clause 3")
    )

    assert [cure.verdict for cure in line.cures[2:]] == ["Fits, but is not legal", "Works"]
    assert line.working == 1


def test_amounts_are_rounded_so_that_they_are_still_enough():
    assert FIGURES.up(Fraction("0.601")) == "0.61 mm"
    assert FIGURES.up(Fraction("0.6")) == "0.60 mm"
    assert Figures(",").mm(Fraction("0.605")) == "0,60 mm"


def test_a_cure_is_found_again_by_its_key_and_no_other():
    report, finding = rubbing()
    cure = finding.cures[2]

    assert find_cure(report, finding_key(finding, cure)) is cure
    assert find_cure(report, "under_spur:car:now:fly") is None


def test_the_small_gear_does_not_reach_and_by_how_much():
    small = pair(33, "17.5")

    assert not small.runs
    assert small.verdict == "Does not reach: the teeth do not touch."
    assert small.why.startswith("0.05 mm stand between the tips at 12.05 mm")
    assert pair(35, "19.5").verdict == "Runs."


def test_what_is_missing_is_named_as_the_forms_name_it():
    assert size_words("rear.left.bore") == "Rear wheels: Length of the hub on the axle"
    assert size_words("rear.length") == "Rear axle: Length"
    assert size_words("rear.left.body") == "Inside the body, at the rear axle"
    assert size_words("front.end_play") == "End play of the front axle"
    assert size_words("slot.depth") == "depth of the slot, with the track"
    assert size_words("pinion") == "Pinion"


def test_every_size_that_the_engine_can_miss_has_words_of_the_register():
    no_drive = dict.fromkeys(("pinion", "center_distance", "end_bell", "wall", "below_axle"))
    no_guide = dict.fromkeys(("blade_depth", "blade_thickness", "shaft", "holder", "swing_left", "leads"))
    bare = with_guide(with_drive(car(), **no_drive), **no_guide)
    names = {name for one in check_fit(bare).missing for name in one.sizes}

    assert names
    assert [name for name in names if "_" in size_words(name) or size_words(name) == name] == []


def test_one_lack_stands_once_whatever_waits_for_it():
    lines = missing_lines([
        Missing(code=FitCode.UNDER_MOTOR, place=Place.CAR, sizes=("below_axle",)),
        Missing(code=FitCode.BODY_FLOAT, place=Place.REAR_LEFT, sizes=("rear.left.body",)),
        Missing(code=FitCode.BODY_FLOAT, place=Place.REAR_RIGHT, sizes=("rear.right.body",)),
    ])  # fmt: skip

    assert [(line.what, line.sizes) for line in lines] == [
        ("Clearance under the motor", ("Axle down to the lowest point of the motor",)),
        ("Body float with the axle pushed to that side", ("Inside the body, at the rear axle",)),
    ]


def test_the_state_says_first_what_must_be_mended_first():
    report = check_fit(built(), WIDE)

    in_the_way = state_of(findings=report.findings, missing=(), mesh=pair(33, "17.5"), legality=None)
    fits = state_of(findings=check_fit(car()).findings, missing=(), mesh=pair(35, "19.5"), legality=None)

    assert in_the_way.kind == "bad"
    assert in_the_way.words == "Does not go: Does not reach, 2 things do not fit"
    assert (fits.kind, fits.words) == ("ok", "What is known fits")
