"""What is read of parts: what fits a place, sizes as typed and as shown, amounts."""

import re
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inspection.models import Club
from inspection.parts.selectors import (
    SizeNotUnderstood,
    diameter_of_code,
    main_sizes,
    part_document,
    part_version,
    parts_for_place,
    parts_of,
    read_amount,
    read_size,
    size_lines,
    specs_of,
    with_diameter_of_code,
)
from inspection.planning.register import PART_SIZES, PLACES
from tests import factories


@pytest.mark.django_db
def test_parts_of_a_place_come_with_what_is_in_stock_first():
    club = factories.club()
    empty = factories.part(club, kind="pinion", name="A pinion")
    there = factories.part(club, kind="pinion", name="Z pinion", stock=2)
    factories.part(club, kind="tire", stock=9)
    factories.part(club, kind="pinion", is_active=False, stock=9)
    factories.part(factories.club(), kind="pinion", stock=9)

    assert list(parts_for_place(club, "pinion")) == [there, empty]


@pytest.mark.django_db
def test_parts_of_a_driver_serve_that_driver_alone():
    club = factories.club()
    ada, ben = factories.driver(club), factories.driver(club)
    of_club, of_ada = factories.part(club, kind="guide"), factories.part(club, kind="guide", owner=ada)

    assert set(parts_for_place(club, "guide")) == {of_club}
    assert set(parts_for_place(club, "guide", ada)) == {of_club, of_ada}
    assert set(parts_for_place(club, "guide", ben)) == {of_club}


@pytest.mark.django_db
def test_both_kinds_of_driven_gear_spacers_and_ballast_are_found():
    club = factories.club()
    made = {kind: factories.part(club, kind=kind) for kind in ("spur_gear", "crown_gear", "spacer", "ballast")}

    assert set(parts_for_place(club, "driven_gear")) == {made["spur_gear"], made["crown_gear"]}
    for place in ("rear_left_inner", "spacer"):
        assert list(parts_for_place(club, place)) == [made["spacer"]]
    assert list(parts_for_place(club, "ballast")) == [made["ballast"]]
    with pytest.raises(KeyError):
        parts_for_place(club, "spoiler")


@pytest.mark.django_db
def test_a_bench_document_holds_texts_that_json_can_carry():
    part = factories.part(
        factories.club(), kind="pinion", name="Eleven", price=Decimal("2.5"), sizes={"teeth": "11", "module": "0.5 mm"}
    )

    assert part_document(part) == {
        "name": "Eleven",
        "kind": "pinion",
        "sizes": {"teeth": "11", "module": "0.5 mm"},
        "price": "2.50",
        "part": part.public_id,
    }


@pytest.mark.django_db
def test_the_mark_of_a_form_differs_once_anything_shown_has_changed():
    club = factories.club()
    part = factories.part(club)
    before = part_version(part)

    part.allowed_in.add(factories.racing_class(club))

    assert part_version(part) != before


@pytest.mark.django_db
def test_a_register_of_many_parts_is_read_with_two_queries(django_assert_num_queries):
    club = factories.club()
    for _ in range(12):
        factories.part(club, owner=factories.driver(club)).allowed_in.add(factories.racing_class(club))

    with django_assert_num_queries(2):
        assert len([(str(part.owner), list(part.allowed_in.all())) for part in parts_of(club)]) == 12


@pytest.mark.parametrize(
    ("code", "diameter"),
    [
        ("200", "20.0 mm"),
        ("185", "18.5 mm"),
        (" 158 ", "15.8 mm"),
        ("20", ""),
        ("0200", ""),
        ("18x10", ""),
        ("999", ""),
    ],
)
def test_a_tire_code_of_three_digits_is_tenths_of_a_millimeter(code, diameter):
    assert diameter_of_code(code) == diameter


def test_a_measured_diameter_outranks_the_code():
    assert with_diameter_of_code("tire", {"size_code": "200"})["diameter"] == "20.0 mm"
    assert with_diameter_of_code("tire", {"size_code": "200", "diameter": "19.6 mm"})["diameter"] == "19.6 mm"
    assert "diameter" not in with_diameter_of_code("wheel", {"size_code": "200"})


def test_the_code_is_shown_as_understood_in_both_systems():
    lines = {line.label: line for line in size_lines("tire", {"size_code": "200", "diameter": "20.0 mm"})}
    other = {line.label: line for line in size_lines("tire", {"size_code": "200", "diameter": "19.6 mm"})}

    assert lines["Size code"].note == "means 20.00 mm (0.787 in) mounted"
    assert "the diameter given counts" in other["Size code"].note
    assert other["Diameter, mounted"].value == "19.60 mm (0.772 in)"


def test_a_bare_number_is_in_the_clubs_unit_and_with_its_mark():
    width = specs_of("tire")["width"]

    assert read_size(width, "9,5", club=Club(decimal_mark=",")) == "9.5 mm"
    assert read_size(width, "3/8", club=Club(units="in")) == "3/8 in"
    assert read_size(width, "9.5 mm", club=Club(units="in")) == "9.5 mm"
    assert read_size(width, "", club=Club()) == ""


@pytest.mark.parametrize(("code", "text"), [("teeth", "11.5"), ("teeth", "0"), ("bore", "2 g"), ("bore", "-2")])
def test_what_a_size_cannot_be_is_refused_in_words(code, text):
    with pytest.raises(SizeNotUnderstood, match=r"\w+ \w+"):
        read_size(specs_of("pinion")[code], text, club=Club())


def test_a_size_from_a_face_may_lie_on_either_side():
    assert read_size(specs_of("wheel")["inset"], "-0.5", club=Club()) == "-0.5 mm"
    assert read_size(specs_of("wheel")["inset"], "0", club=Club()) == "0 mm"


@given(st.decimals(min_value="0.01", max_value="99", places=2), st.sampled_from([".", ","]))
@settings(max_examples=40)
def test_what_is_kept_is_read_back_unchanged(value, mark):
    width = specs_of("tire")["width"]
    kept = read_size(width, f"{value}".replace(".", mark), club=Club(decimal_mark=mark))

    assert read_size(width, kept, club=Club(decimal_mark=mark)) == kept


@pytest.mark.django_db
def test_a_part_is_told_from_others_by_two_sizes():
    club = factories.club()
    gear = factories.part(club, kind="spur_gear", sizes={"teeth": "36", "outside_diameter": "19.0 mm"})

    assert main_sizes(gear, decimal_mark=",") == "36 teeth, 19,0 mm"
    assert main_sizes(factories.part(club, kind="other", sizes={})) == ""


def test_every_place_takes_kinds_that_have_sizes():
    assert {kind for kinds in PLACES.values() for kind in kinds} <= set(PART_SIZES)


@pytest.mark.parametrize(
    ("text", "amount"), [("7.50", "7.50"), ("7,5", "7.50"), ("7", "7.00"), ("EUR 12", "12.00"), ("3 €", "3.00")]
)
def test_amounts_are_read_as_people_write_them(text, amount):
    assert read_amount(text) == Decimal(amount)


@pytest.mark.parametrize("text", ["-1", "1.234,50", "free", "1.005"])
def test_no_amount_is_guessed(text):
    with pytest.raises(ValueError, match=re.escape(text)):
        read_amount(text)


def test_nothing_typed_is_no_amount():
    assert read_amount("  ") is None
