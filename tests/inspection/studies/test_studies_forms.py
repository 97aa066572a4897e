"""Names and numbers of a study as people type them."""

import pytest

from inspection.gaugestudy.order import Place
from inspection.studies.forms import BiasStudyForm, CrossedStudyForm, ReadingForm
from tests import factories

pytestmark = pytest.mark.django_db

CROSSED = {"name": "Tires", "parts": "3", "inspectors": "Lou, Mo", "trials": "2", "tolerance": ""}
BIAS = {"name": "Block", "reference": "20", "inspector": "Lou", "trials": "10"}


@pytest.fixture
def gauge():
    return factories.gauge(factories.club(decimal_mark=","))


def test_a_number_of_parts_names_them_itself(gauge):
    form = CrossedStudyForm(CROSSED, gauge=gauge)

    assert form.is_valid(), form.errors
    content = form.content()
    assert (content.parts, content.inspectors, content.trials) == (("Part 1", "Part 2", "Part 3"), ("Lou", "Mo"), 2)
    assert content.tolerance == ""


def test_names_may_be_typed_with_commas_and_the_tolerance_in_any_unit(gauge):
    form = CrossedStudyForm(CROSSED | {"parts": "red, blue ,  green", "tolerance": "1/64 in"}, gauge=gauge)

    assert form.is_valid(), form.errors
    assert form.content().parts == ("red", "blue", "green")
    assert form.content().tolerance == "1/64 in"


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("parts", "1"),
        ("parts", "red, Red"),
        ("parts", "red"),
        ("parts", ",".join(f"p{n}" for n in range(31))),
        ("parts", "a" * 41 + ", b"),
        ("inspectors", " , "),
        ("trials", "1"),
        ("tolerance", "0 mm"),
        ("tolerance", "3 g"),
        ("tolerance", "wide"),
    ],
)
def test_what_makes_no_study_is_said_at_its_field(gauge, field, value):
    form = CrossedStudyForm(CROSSED | {field: value}, gauge=gauge)

    assert not form.is_valid()
    assert list(form.errors) == [field]


def test_a_bias_study_is_of_one_piece_in_one_hand(gauge):
    form = BiasStudyForm(BIAS | {"reference": "20,00"}, gauge=gauge)

    assert form.is_valid(), form.errors
    content = form.content()
    assert (content.kind, content.parts, content.inspectors, content.reference) == (
        "bias", ("20,00 mm",), ("Lou",), "20.00 mm",
    )  # fmt: skip
    assert not BiasStudyForm(BIAS | {"reference": "20 g"}, gauge=gauge).is_valid()


def test_a_reading_takes_the_unit_of_the_gauge_and_the_mark_of_the_club(gauge):
    form = ReadingForm({"place": "1.2.0", "text": "19,38"}, gauge=gauge)

    assert form.is_valid(), form.errors
    assert form.cleaned_data["place"] == Place(1, 2, 0)
    assert form.cleaned_data["text"].canonical == "19.38 mm"
    assert form.cleaned_data["sure"] is False


def test_being_sure_holds_for_the_reading_that_was_asked_about_alone(gauge):
    sure, other = (ReadingForm({"place": "0.0.0", "text": text, "sure": "194"}, gauge=gauge) for text in ("194", "195"))
    assert sure.is_valid()
    assert other.is_valid()
    assert (sure.cleaned_data["sure"], other.cleaned_data["sure"]) == (True, False)


@pytest.mark.parametrize(
    "typed",
    [
        {"place": "1.2", "text": "1"},
        {"place": "a.b.c", "text": "1"},
        {"place": "0.0.0", "text": "-1"},
        {"place": "0.0.0", "text": ""},
        {"place": "0.0.0", "text": "1 g"},
    ],
)
def test_what_is_no_reading_is_refused(gauge, typed):
    assert not ReadingForm(typed, gauge=gauge).is_valid()
