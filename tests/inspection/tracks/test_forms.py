"""What a club types about its track becomes exact decimals in the units of the record."""

from decimal import Decimal

import pytest

from inspection.models import Club
from inspection.tracks.forms import LayoutForm, LayoutForms
from tests import factories

METRIC = Club(units="mm", decimal_mark=".")
COMMA = Club(units="mm", decimal_mark=",")
INCH = Club(units="in", decimal_mark=".")


def read(club, **typed):
    form = LayoutForm({"direction": "clockwise", "divisor": "20"} | typed, club=club)
    assert form.is_valid(), form.errors
    return form.cleaned_data


@pytest.mark.parametrize(
    ("club", "typed", "kept"),
    [
        (METRIC, "6.35", "6.350"),
        (COMMA, "6,35", "6.350"),
        (METRIC, "6,35 mm", "6.350"),
        (METRIC, "1/4 in", "6.350"),
        (INCH, "1/4", "6.350"),
        (INCH, "6.35 mm", "6.350"),
        (INCH, "0.25", "6.350"),
    ],
)
def test_a_slot_depth_is_read_in_the_clubs_units_or_in_those_typed(club, typed, kept):
    assert read(club, slot_depth_mm=typed)["slot_depth_mm"] == Decimal(kept)


def test_a_lane_in_feet_is_kept_in_meters():
    forms = LayoutForms(INCH, None, posted(lanes=[("1", "White", "#ffffff", "70")]))

    assert forms.is_valid()
    assert forms.content.lanes[0].length_m == Decimal("21.336")


def test_only_the_conductor_may_lie_below_the_surface():
    assert read(METRIC, conductor_height_mm="-0.2")["conductor_height_mm"] == Decimal("-0.200")
    form = LayoutForm({"direction": "clockwise", "divisor": "20", "slot_depth_mm": "-1"}, club=METRIC)
    assert form.errors["slot_depth_mm"]


@pytest.mark.parametrize("typed", ["deep", "6.35 g", "1,234", "99999", "NaN", "1e3"])
def test_a_measure_that_cannot_be_read_for_certain_is_refused(typed):
    form = LayoutForm({"direction": "clockwise", "divisor": "20", "slot_depth_mm": typed}, club=METRIC)

    assert form.errors["slot_depth_mm"]


def test_labels_name_the_unit_that_a_bare_number_has():
    assert str(LayoutForm(club=METRIC)["slot_depth_mm"].label).endswith(", mm")
    assert str(LayoutForm(club=INCH)["slot_depth_mm"].label).endswith(", in")


def test_a_stored_measure_is_shown_as_it_would_be_typed():
    form = LayoutForm(club=INCH, initial={"slot_depth_mm": Decimal("6.350")})
    comma = LayoutForm(club=COMMA, initial={"slot_depth_mm": Decimal("6.350")})

    assert form["slot_depth_mm"].value() == "0.25"
    assert comma["slot_depth_mm"].value() == "6,35"


@pytest.mark.parametrize("typed", ["1 3 2", "1,3,2", "1-3-2", " 1;3 ; 2 "])
def test_a_lane_order_may_be_parted_by_anything(typed):
    assert read(METRIC, lane_order=typed)["lane_order"] == (1, 3, 2)


@pytest.mark.parametrize("typed", ["one two", "1 2²", "1000"])
def test_a_lane_order_is_numbers(typed):
    assert LayoutForm({"direction": "clockwise", "divisor": "20", "lane_order": typed}, club=METRIC).errors[
        "lane_order"
    ]


def posted(lanes=(), posts=(), sections=(), **plain):
    data = {"direction": "clockwise", "divisor": "20", "based_on": "0"} | plain
    for prefix, rows, names in (
        ("lane", lanes, ("number", "name", "color", "length_m", "offset_mm")),
        ("post", posts, ("number", "name", "adults_only")),
        ("section", sections, ("length", "radius", "angle", "turn")),
    ):
        data |= {f"{prefix}-TOTAL_FORMS": str(len(rows)), f"{prefix}-INITIAL_FORMS": "0"}
        for index, row in enumerate(rows):
            data |= {f"{prefix}-{index}-{name}": value for name, value in zip(names, row, strict=False)}
    return data


def test_a_row_without_a_name_is_not_there():
    rows = [("1", "White", "#ffffff", "21.5"), ("2", "", "#c8202f", ""), ("3", "Blue", "#1d55b5", "")]
    forms = LayoutForms(METRIC, None, posted(rows, [("1", "Bridge", "on"), ("2", "")]))

    assert forms.is_valid()
    assert [(lane.number, lane.name) for lane in forms.content.lanes] == [(1, "White"), (3, "Blue")]
    assert [(post.number, post.name, post.adults_only) for post in forms.content.posts] == [(1, "Bridge", True)]


@pytest.mark.parametrize(
    ("row", "field"),
    [
        (("1", "", "#ffffff", "21.5"), "name"),
        (("", "White", "#ffffff", ""), "number"),
        (("0", "White", "#ffffff", ""), "number"),
        (("1", "White", "white", ""), "color"),
        (("1", "White", "#ffffff", "far"), "length_m"),
    ],
)
def test_a_lane_that_is_half_there_is_pointed_out(row, field):
    forms = LayoutForms(METRIC, None, posted([row]))

    assert not forms.is_valid()
    assert forms.lanes.forms[0].errors[field]


@pytest.mark.django_db
def test_the_page_of_a_new_layout_starts_from_the_current_one():
    layout = factories.track_layout(factories.club(), lanes=3, posts=2, divisor=24, voltage_v=Decimal(12))

    forms = LayoutForms(METRIC, layout)

    assert forms.layout["divisor"].value() == 24
    assert forms.layout["voltage_v"].value() == "12"
    assert forms.layout["lane_order"].value() == "1 3 2"
    assert [form["name"].value() for form in forms.lanes] == ["White", "Red", "Blue", None, None]
    assert [form["name"].value() for form in forms.posts] == ["Post 1", "Post 2", None, None]


LANE = [("1", "White", "#ffffff", "", "")]


def test_straights_and_curves_are_kept_as_a_layout_keeps_them():
    rows = [("2.4 m", "", "", ""), ("", "300", "90", "left"), ("", "", "", ""), ("350 mm", "", "", "")]
    forms = LayoutForms(METRIC, None, posted(LANE, sections=rows))

    assert forms.is_valid()
    assert forms.content.sections == (
        {"length": "2.4 m"}, {"radius": "300 mm", "angle": "90", "turn": "left"}, {"length": "0.35 m"},
    )  # fmt: skip


@pytest.mark.parametrize(
    ("row", "field"),
    [
        (("2.4", "300", "", ""), "length"),
        (("", "300", "90", ""), "turn"),
        (("", "300", "", "left"), "angle"),
        (("", "", "90", "left"), "radius"),
        (("0", "", "", ""), "length"),
        (("", "300", "0", "left"), "angle"),
        (("-2", "", "", ""), "length"),
    ],
)
def test_a_section_that_is_neither_straight_nor_curve_is_marked(row, field):
    forms = LayoutForms(METRIC, None, posted(LANE, sections=[row]))

    assert not forms.is_valid()
    assert field in forms.sections[0].errors
    assert forms.plan is None


def test_a_lane_lies_to_the_left_or_with_a_minus_to_the_right():
    rows = [("1", "White", "#ffffff", "", "-44.5"), ("2", "Red", "#c8202f", "", "1 3/4 in")]
    forms = LayoutForms(METRIC, None, posted(rows))

    assert forms.is_valid()
    assert [lane.offset_mm for lane in forms.content.lanes] == [Decimal("-44.50"), Decimal("44.45")]
