"""Parts, conditions and limits by condition as lines of the form: what is stored comes back out of it unchanged."""

import json
from pathlib import Path

import pytest

from inspection.clauses.selectors import clauses_of
from inspection.contents.selectors import content_of, plain_content
from inspection.drafting.forms import ClauseForm, condition_initial, known_of, ways_of
from inspection.exchange.imports import read_sheet
from inspection.exchange.services import create_from_content
from inspection.gauges.services import install_register
from tests import factories

pytestmark = pytest.mark.django_db
RULES = Path(__file__).parents[3] / "fixtures" / "rules"
SHEETS = sorted(path.stem for path in RULES.glob("*.json"))


@pytest.fixture
def club():
    made = factories.club()
    install_register(club=made, by=None)
    return made


def sent_by(form):
    """What a browser sends of a form that nobody has touched, and of one blank line more in each set."""
    data = {}
    for bound in form:
        value = bound.value()
        if value is True:
            value = "on"
        if value not in (None, False, ""):
            data[bound.html_name] = getattr(value, "pk", value)
    for rows in form.sets:
        for bound in rows.management_form:
            data[bound.html_name] = bound.value()
        for row in rows.forms:
            for bound in row:
                value = bound.value()
                if value not in (None, False, ""):
                    data[bound.html_name] = "on" if value is True else value
    return data


@pytest.mark.parametrize(("name", "mark"), [*((name, ".") for name in SHEETS), (SHEETS[-1], ",")])
def test_a_clause_that_is_opened_and_saved_says_what_it_said(club, name, mark):
    club.decimal_mark = mark
    club.save()
    content = read_sheet((RULES / f"{name}.json").read_bytes(), club=club)
    revision = create_from_content(club=club, content=content, by=None)
    revision.rule_sheet.club.decimal_mark = mark

    kept = []
    for clause in clauses_of(revision):
        shown = ClauseForm(club=club, clause=clause)
        again = ClauseForm(sent_by(shown), club=club, clause=clause)
        assert again.is_valid(), (clause.number, again.errors, [one.errors for one in again.sets])
        was = plain_content(content_of(clause)) | {"phases": clause.phases or ["before"]}
        assert plain_content(again.content()) == was, clause.number
        if len(shown.sets) < 4:
            kept.append(clause.number)

    assert kept == (["19"] if name.startswith("r6") else [])


@pytest.fixture
def width(club):
    return factories.characteristic(club, name="Front width", code="front-width")


def typed(width, **fields):
    return {
        "number": "4",
        "text": "Words.",
        "characteristic": width.pk,
        "measuring_point": "at the widest",
        "comparator": "at_most",
        "upper": "60",
        "readings_wanted": "1",
        "phases": ["before"],
    } | fields


def lines(prefix, *rows):
    data = {f"{prefix}-TOTAL_FORMS": len(rows), f"{prefix}-INITIAL_FORMS": 0}
    return data | {f"{prefix}-{n}-{key}": value for n, row in enumerate(rows) for key, value in row.items()}


def test_a_condition_is_typed_in_lines_of_which_or_begins_another_way(club, width):
    rows = [
        {"about": "characteristic", "name": "motor type", "op": "one_of", "values": "Swift 20; Dart 18"},
        {"joined": "and", "about": "phase", "op": "one_of", "values": "after"},
        {"joined": "or", "about": "flag", "name": "sealed motors", "op": "yes"},
        {},
    ]
    form = ClauseForm(typed(width, **lines("applies_when", *rows)), club=club)

    assert form.is_valid(), (form.errors, form.sets[2].errors)
    assert form.content().applies_when == {
        "any": [
            {
                "all": [
                    {
                        "about": "characteristic",
                        "name": "motor-type",
                        "is": "one_of",
                        "values": ["Swift 20", "Dart 18"],
                    },
                    {"about": "phase", "is": "one_of", "values": ["after"]},
                ]
            },
            {"about": "flag", "name": "sealed motors", "is": "yes"},
        ]
    }


@pytest.mark.parametrize(
    ("row", "field", "words"),
    [
        ({"about": "characteristic", "name": "no such thing", "op": "yes"}, "name", "nothing of this name"),
        ({"about": "characteristic", "name": "motor type", "op": "at_least", "values": "3"}, "op", "cannot be asked"),
        ({"about": "characteristic", "name": "wheelbase", "op": "at_least", "values": "3 g"}, "values", "length"),
        ({"about": "date", "op": "at_least", "values": "tomorrow"}, "values", "not a date"),
        ({"about": "flag", "op": "yes"}, "name", "missing"),
        ({"about": "class", "op": "one_of"}, "values", "takes"),
        ({"about": "the weather", "op": "yes"}, "about", "valid choice"),
    ],
)
def test_a_line_that_cannot_be_read_says_where(club, width, row, field, words):
    form = ClauseForm(typed(width, **lines("unless", row)), club=club)

    assert not form.is_valid()
    assert words in str(form.conditions["unless"].forms[0].errors[field])
    assert "lines marked below" in str(form.non_field_errors())


def test_a_comparison_is_typed_as_times_and_plus(club, width):
    rear = factories.characteristic(club, name="Rear width", code="rear-width")
    said = {"other": rear.pk, "factor": "0.9", "offset": "-2", "upper": ""}

    form = ClauseForm(typed(width, **said), club=club)

    assert form.is_valid(), form.errors
    content = form.content()
    assert (content.other, content.factor, content.offset.canonical) == (rear, "0.9", "-2 mm")


def test_limits_under_a_condition_are_read_in_the_unit_of_the_subject(club, width):
    row = {"about": "scale", "op": "one_of", "values": "1:24", "value": "3 1/4 in"}
    bad = {"about": "scale", "op": "one_of", "values": "1:32", "value": "5 g"}

    good = ClauseForm(typed(width, **lines("rows", row)), club=club)
    wrong = ClauseForm(typed(width, **lines("rows", row, bad)), club=club)

    assert good.is_valid(), good.errors
    assert [one.upper.canonical for one in good.content().rows] == ["3 1/4 in"]
    assert not wrong.is_valid()
    assert "length" in str(wrong.rows.forms[1].errors["value"])


def test_a_condition_nested_more_deeply_is_kept_unless_told_otherwise(club, width):
    one = {"about": "flag", "name": "a", "is": "yes"}
    deep = {"all": [{"any": [one, one]}, one]}
    assert ways_of(deep) is None
    assert condition_initial(deep, known_of(club)) == []
    sheet = factories.published_sheet(club, clauses=1)
    clause = sheet.clauses.get()
    clause.applies_when = deep
    clause.save()
    data = sent_by(ClauseForm(club=club, clause=clause))

    kept = ClauseForm(data, club=club, clause=clause)
    dropped = ClauseForm(data | {"keep_applies_when": ""}, club=club, clause=clause)

    assert kept.is_valid(), kept.errors
    assert kept.content().applies_when == deep
    assert dropped.is_valid(), dropped.errors
    assert dropped.content().applies_when == {}


def test_the_cases_of_the_sheets_are_readable_json():
    assert all(json.loads((RULES / "cases" / f"{name}.json").read_text(encoding="utf-8")) for name in SHEETS)
