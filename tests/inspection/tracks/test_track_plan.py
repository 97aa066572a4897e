import json
from decimal import Decimal
from math import pi
from pathlib import Path

import pytest

from inspection.tracks.pictures import draw_plan
from inspection.tracks.selectors import plan_of
from inspection.tracks.services import LaneContent

OVAL = [
    {"length": "2 m"}, {"radius": "500 mm", "angle": "180", "turn": "left"},
    {"length": "2 m"}, {"radius": "500 mm", "angle": "180", "turn": "left"},
]  # fmt: skip
EIGHT = [
    {"length": "2 m"}, {"radius": "1 m", "angle": "270", "turn": "left"},
    {"length": "2 m"}, {"radius": "1 m", "angle": "270", "turn": "right"},
]  # fmt: skip


def lanes(*offsets, length=None):
    return [
        LaneContent(number=n, name=f"L{n}", color="#c8202f", length_m=length, offset_mm=offset and Decimal(offset))
        for n, offset in enumerate(offsets, start=1)
    ]


def test_each_lane_has_the_length_of_its_own_arcs():
    plan = plan_of(OVAL, lanes("50", "0", "-50"))

    assert [way.length_m for way in plan.lanes] == [
        Decimal(4 + 2 * pi * radius).quantize(Decimal("0.001")) for radius in (0.45, 0.5, 0.55)
    ]


def test_a_typed_length_is_held_against_the_plan():
    (way,) = plan_of(OVAL, lanes("0", length=Decimal("7.200"))).lanes

    assert way.difference_m == Decimal("7.200") - Decimal("7.142")


def test_a_lane_without_an_offset_has_no_length_by_the_plan():
    (way,) = plan_of(OVAL, lanes(None, length=Decimal("7.2"))).lanes

    assert (way.length_m, way.difference_m) == (None, None)


def test_an_oval_closes_and_so_does_a_figure_of_eight_whose_lanes_are_alike():
    assert plan_of(OVAL, ()).closes
    plan = plan_of(EIGHT, lanes("100", "-100"))
    assert plan.closes
    assert plan.lanes[0].length_m == plan.lanes[1].length_m


def test_a_plan_that_was_measured_wrong_does_not_close_and_says_by_how_much():
    plan = plan_of([{"length": "2.1 m"}, *OVAL[1:]], ())

    assert not plan.closes
    assert plan.gap_m == Decimal("0.100")
    assert plan.turn_deg == 0


def test_a_lane_beyond_the_center_of_a_curve_is_named_and_nothing_is_drawn():
    plan = plan_of(OVAL, lanes("0", "600"))

    assert plan.inside.number == 2
    assert draw_plan(plan) is None


def test_without_sections_there_is_no_plan():
    assert plan_of([], lanes("0")) is None


def test_the_picture_holds_every_lane_to_scale():
    picture = draw_plan(plan_of(OVAL, lanes("50", "-50")))
    by_number = {line.number: line.path for line in picture.lanes}

    assert set(by_number) == {1, 2}
    # 2 m of straight between two half circles: outer lane 3.1 m long and 1.1 m wide, drawn in the same scale
    assert picture.height - 56 == pytest.approx(1.1 * picture.meter, abs=0.5)
    assert picture.width - 56 == pytest.approx(3.1 * picture.meter, abs=1)
    assert by_number[1].startswith("M")
    assert "A" in by_number[1]


def test_a_turn_to_the_left_is_drawn_against_the_clock():
    curves = [{"radius": "500 mm", "angle": "90", "turn": side} for side in ("left", "right")]
    left, right = (draw_plan(plan_of([curve], lanes("0"))) for curve in curves)

    assert " 0 0 0 " in left.lanes[0].path
    assert " 0 0 1 " in right.lanes[0].path


def test_the_demo_track_closes_and_agrees_with_its_lanes():
    file = Path(__file__).parents[3] / "fixtures" / "demo" / "club.json"
    about = json.loads(file.read_text(encoding="utf-8"))["track"]
    told = [
        LaneContent(**row | {"length_m": Decimal(row["length_m"]), "offset_mm": Decimal(row["offset_mm"])})
        for row in about["lanes"]
    ]

    plan = plan_of(about["layout"]["sections"], told)

    assert plan.closes
    assert all(abs(way.difference_m) <= Decimal("0.001") for way in plan.lanes)
