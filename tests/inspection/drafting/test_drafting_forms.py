"""A clause as typed: limits exact, in the form they were written, or refused with a word on what to do."""

import pytest

from inspection.conformity.clauses import Comparator
from inspection.drafting.forms import ClauseForm
from inspection.models import Clause
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def club():
    return factories.club()


@pytest.fixture
def width(club):
    return factories.characteristic(club, name="Overall width", kind="length", unit="mm")


def typed(width, **fields):
    return {
        "number": "4",
        "text": "The car is no wider than this.",
        "characteristic": width.pk,
        "measuring_point": "widest part",
        "comparator": "at_most",
        "readings_wanted": "1",
        "phases": ["before"],
    } | fields


@pytest.mark.parametrize(
    ("text", "canonical"),
    [
        ("64", "64 mm"),
        ("64.00 mm", "64.00 mm"),
        ("63,4 mm", "63.4 mm"),  # never 634
        (".040 in", "0.040 in"),
        ("2 1/16 in", "2 1/16 in"),
        ('3.25"', "3.25 in"),
        ("60 thou", "60 thou"),
    ],
)
def test_a_limit_is_kept_in_the_form_it_was_written(club, width, text, canonical):
    form = ClauseForm(typed(width, upper=text), club=club)

    assert form.is_valid(), form.errors
    assert form.content().upper.canonical == canonical


def test_a_decimal_comma_club_types_and_sees_commas(width):
    width.club.decimal_mark = ","
    width.club.save()
    form = ClauseForm(typed(width, upper="63,40 mm"), club=width.club)
    stored = Clause(number="4", text="x", characteristic=width, comparator="at_most", upper="63.40 mm", pk=1)

    assert form.is_valid(), form.errors
    assert form.content().upper.canonical == "63.40 mm"
    assert ClauseForm(club=width.club, clause=stored).initial["upper"] == "63,40 mm"


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("85 g", "length"),
        ("NaN mm", "not a number"),
        ("1e999", "exponent"),
        ("-3 mm", "below 0"),
        ("1,234 mm", "two ways"),
        ("64 mm or so", "unit"),
        ("<script>alert(1)</script>", "not a number"),
        ("inf", "not a number"),
    ],
)
def test_a_limit_that_cannot_be_read_is_refused(club, width, text, word):
    form = ClauseForm(typed(width, upper=text), club=club)

    assert not form.is_valid()
    assert word in str(form.errors["upper"])


def test_a_limit_without_a_subject_is_kept_for_later(club, width):
    form = ClauseForm(typed(width, characteristic="", comparator="", lower="7 mm"), club=club)

    assert form.is_valid(), form.errors
    assert form.content().lower.canonical == "7 mm"
    assert form.content().comparator is None


def test_a_subject_that_is_answered_takes_no_limit(club, width):
    windows = factories.characteristic(club, kind="yes_no", unit="")

    form = ClauseForm(typed(windows, comparator="yes_no", upper="3 mm"), club=club)

    assert list(form.errors) == ["upper"]


def test_a_list_is_typed_one_a_line(club, width):
    tires = factories.characteristic(club, kind="choice", unit="")

    form = ClauseForm(typed(tires, comparator="one_of", choices=" rubber \r\n\r\nhard   urethane\n"), club=club)

    assert form.is_valid(), form.errors
    assert form.content().choices == ("rubber", "hard urethane")
    assert form.content().comparator is Comparator.ONE_OF


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"text": "x" * 1001}, "text"),
        ({"text": " "}, "text"),
        ({"number": ""}, "number"),
        ({"number": "x" * 13}, "number"),
        ({"measuring_point": "x" * 1000}, "measuring_point"),
        ({"comparator": "about"}, "comparator"),
        ({"readings_wanted": "0"}, "readings_wanted"),
        ({"readings_wanted": "1e9"}, "readings_wanted"),
        ({"phases": ["yesterday"]}, "phases"),
        ({"choices": "x" * 81}, "choices"),
        ({"upper": "1" * 41}, "upper"),
    ],
)
def test_what_a_clause_cannot_hold(club, width, fields, field):
    form = ClauseForm(typed(width, **fields), club=club)

    assert not form.is_valid()
    assert list(form.errors) == [field]


def test_a_text_of_a_thousand_characters_is_kept(club, width):
    form = ClauseForm(typed(width, text="x" * 1000), club=club)

    assert form.is_valid()
    assert len(form.content().text) == 1000


def test_a_scale_cannot_be_the_gauge_of_a_width(club, width):
    scale = factories.gauge(club, measures="mass")

    assert "gauge" in ClauseForm(typed(width, gauge=scale.pk), club=club).errors


def test_another_club_s_subject_and_gauge_are_not_to_be_had(club, width):
    other = factories.club()
    strange = {"characteristic": factories.characteristic(other).pk, "gauge": factories.gauge(other).pk}

    assert set(ClauseForm(typed(width) | strange, club=club).errors) == {"characteristic", "gauge"}


def test_a_stored_clause_comes_back_into_the_form_and_out_again_the_same(club, width):
    stored = factories.published_sheet(club).clauses.get(number="1")
    form = ClauseForm(club=club, clause=stored)
    data = {name: value for name, value in form.initial.items() if value is not None}
    data["characteristic"] = stored.characteristic.pk

    again = ClauseForm(data, club=club, clause=stored)

    assert again.is_valid(), again.errors
    assert again.content().upper.canonical == stored.upper
    assert again.content().measuring_point == stored.measuring_point


def test_each_subject_carries_its_measuring_point_for_the_page_to_offer(club, width):
    html = str(ClauseForm(club=club)["characteristic"])

    assert 'data-point="widest part of the body, pins and tape not counted"' in html
    assert '<optgroup label="Everything else">' in html
