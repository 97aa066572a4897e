"""Drawings to scale: sizes, gaps with their figures, true teeth that touch where theory says."""

import re
from dataclasses import replace
from fractions import Fraction
from math import cos, hypot, pi, radians, sin

import pytest
from django.template.loader import render_to_string

from inspection.fit.check import check_fit
from inspection.fit.findings import FitCode, Place
from inspection.fit.parts import Slot, Targets
from inspection.gearing.mesh import mesh_at
from inspection.gearing.spur import assume_gear
from inspection.scaledrawings.pictures import (
    Motor,
    _Action,
    end_view,
    gear_pair,
    guide_in_slot,
    outline,
    rear_axle,
)
from tests.inspection.fit.cars import car, mm, with_drive
from tests.inspection.fit.test_worked_case import DISTANCE, PINION, built

TARGETS = Targets()


def gear(teeth=35, diameter="19.5"):
    return assume_gear(
        teeth=teeth, outside_diameter_mm=Fraction(diameter), mate_module_mm=PINION.module_mm
    ).gear  # fmt: skip


def pair(teeth=35, diameter="19.5", distance=DISTANCE):
    driven = gear(teeth, diameter)
    return gear_pair(PINION, driven, mesh_at(PINION, driven, distance_mm=distance))


def drawn(build):
    return rear_axle(build, check_fit(build), TARGETS)


def shapes(picture, style, tag="rect"):
    return [shape for shape in picture.shapes if shape.tag == tag and shape.style.split()[0] == style]


def words_in(picture):
    return [shape.words for shape in picture.shapes if shape.tag == "text"]


def test_every_gap_along_the_axle_has_its_figure():
    words = words_in(drawn(built()))

    for gap in ("end play 0.30", "body float 1.20", "body float 0.90", "tire to gear 2.50", "gear to chassis 0.50",
                "pinion to end bell 0.60", "spacer 0.50", "spacer 5.00", "12.05 between centers"):  # fmt: skip
        assert gap in words


def test_what_does_not_fit_is_said_in_words_and_not_by_color_alone():
    picture = drawn(built())

    assert [shape.words for shape in picture.shapes if shape.style.startswith("bad") and shape.words] == [
        "tire to pinion -0.60 does not fit"
    ]
    assert "tire to pinion -0.60 does not fit" in picture.description


def test_tires_are_drawn_to_one_scale_both_ways():
    build = car()
    picture = drawn(build)
    widths, heights = zip(
        *((float(one.at["width"]), float(one.at["height"])) for one in shapes(picture, "tire")), strict=True
    )
    over = check_fit(build).find(FitCode.WIDTH, Place.REAR).value
    ends = [float(one.at["x1"]) for one in shapes(picture, "leader", "line") if "thin" in one.style]
    scale = (max(ends) - min(ends)) / float(over)

    assert widths == pytest.approx([10 * scale] * 2, abs=0.1)
    assert heights == pytest.approx([20 * scale] * 2, abs=0.1)


def test_a_motor_that_was_not_measured_is_drawn_as_a_guess():
    build = built()
    told = rear_axle(build, check_fit(build), TARGETS, motor=Motor(length=25.0, height=15.0))

    assert len(shapes(drawn(build), "guess")) == 1
    assert len(shapes(told, "motor")) == 1


def test_a_car_whose_motor_lies_along_it_is_drawn_without_gaps_it_does_not_have():
    build = with_drive(car(), center_distance=None, end_bell=None, pinion=None, wall=None)

    assert not [words for words in words_in(drawn(build)) if "pinion" in words or "centers" in words]


def test_labels_do_not_stand_in_each_other():
    picture = drawn(built())
    boxes = []
    for shape in picture.shapes:
        if shape.tag == "text" and shape.style.split()[-1] in {"start", "end"}:
            x, y, long = float(shape.at["x"]), shape.at["y"], len(shape.words) * 7.5
            boxes.append((y, x, x + long) if shape.style.endswith("start") else (y, x - long, x))
    for number, (y, left, right) in enumerate(boxes):
        assert not [one for one in boxes[:number] if one[0] == y and one[1] < right and left < one[2]]


def test_the_end_view_says_what_is_left_under_the_gear_now_and_worn():
    build = built()
    picture = end_view(build, check_fit(build))

    assert "under the gear 0.25" in words_in(picture)
    assert any(words.startswith("with worn tires 0.00") for words in words_in(picture))


def test_a_club_that_writes_a_comma_reads_one_and_coordinates_stay_points():
    build = built()
    picture = end_view(build, check_fit(build), decimal_mark=",")
    page = render_to_string("inspection/scaledrawings/_picture.html", {"picture": picture})

    assert "under the gear 0,25" in page
    assert not re.search(r'(?:x|y|cx|cy|r|width|height)="[^"]*,', page)
    assert "style=" not in page
    assert page.count("<title") == page.count("<desc") == 1


def test_teeth_touch_on_the_line_of_action_and_nowhere_stand_in_each_other():
    driven = gear()
    action = _Action(PINION, driven, float(DISTANCE))
    contacts = action.contacts()
    teeth = list(outline(PINION, 0.0, steps=60))
    others = [(x + float(DISTANCE), y) for x, y in outline(driven, action.turn_of_driven(), steps=60)]

    assert 1 <= len(contacts) <= 2
    for x, y in contacts:
        for points in (teeth, others):
            assert min(hypot(x - px, y - py) for px, py in points) < 0.02


def test_a_tooth_is_as_thick_on_its_pitch_circle_as_theory_says():
    pinion = assume_gear(teeth=20, module_mm=Fraction(1)).gear
    points = list(outline(pinion, 0.0, steps=400))
    on_pitch = [(x, y) for x, y in points if abs(hypot(x, y) - 10) < 0.005 and x > 9 and abs(y) < 2]
    thick = max(y for _x, y in on_pitch) - min(y for _x, y in on_pitch)

    # half of the pitch, as a chord: 2 r sin(s / 2 r) with s = pi m / 2
    assert thick == pytest.approx(2 * 10 * sin(pi / 2 / 20), abs=0.01)


def test_the_line_of_action_is_tangent_to_both_base_circles():
    driven = gear()
    action = _Action(PINION, driven, float(DISTANCE))
    (x1, y1), (x2, y2) = action.tangents
    alpha = radians(mesh_at(PINION, driven, distance_mm=DISTANCE).line.pressure_angle_deg)

    assert hypot(x1, y1) == pytest.approx(PINION.base_diameter_mm / 2)
    assert hypot(x2 - float(DISTANCE), y2) == pytest.approx(driven.base_diameter_mm / 2)
    assert x1 == pytest.approx(PINION.base_diameter_mm / 2 * cos(alpha))
    assert (x2 - x1) * x1 + (y2 - y1) * y1 == pytest.approx(0, abs=1e-9)


def test_gears_that_do_not_reach_have_no_line_of_action_but_their_gap():
    picture = pair(33, "17.5")

    assert not shapes(picture, "action", "line")
    assert "0.05 mm apart" in picture.description
    assert shapes(pair(), "action", "line")


def test_the_guide_stands_over_the_floor_by_what_is_left_and_a_clash_is_another_shape():
    build = car()
    fits = guide_in_slot(build, build.slot)
    shallow = guide_in_slot(build, Slot(depth=mm("5"), width=mm("3")))

    assert "1.00 over the floor" in words_in(fits)
    assert shapes(fits, "gear")
    assert shapes(shallow, "clash")
    assert guide_in_slot(replace(build, guide=replace(build.guide, blade_depth=None)), build.slot) is None
