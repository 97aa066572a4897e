"""Lists, parts and conditions come in with a file, and what is wrong with them is said."""

import json

import pytest

from inspection.choicelists.selectors import EntryContent, entries_of, newest_revision
from inspection.choicelists.services import create_choice_list
from inspection.clauses.selectors import clauses_of
from inspection.exchange.documents import sheet_document
from inspection.exchange.errors import UnreadableSheet
from inspection.exchange.imports import read_sheet
from inspection.exchange.services import create_from_content
from inspection.models import Characteristic, ChoiceList
from tests import factories

pytestmark = pytest.mark.django_db

MOTOR = {
    "number": "1",
    "text": "Motor.",
    "characteristic": "motor-type",
    "comparator": "one_of",
    "choice_list": "Motors",
}
WIDTHS = {"name": "Widths", "keyed_by": "body", "entries": [{"value": "60 mm", "key": "Plover"}]}
MOTORS = {"name": "Motors", "entries": [{"value": "Swift 20", "allowed_until": "2026-12-31", "note": "last year"}]}
CIRCLE = {"code": "a", "name": "A", "kind": "ratio", "derivation": {"form": "ratio", "of": ["b"]}}


def document(*clauses, **fields):
    return {"document": "rule-sheet", "version": 2, "name": "GT", "clauses": list(clauses)} | fields


def read(club, content):
    return read_sheet(json.dumps(content).encode(), club=club)


def bring_in(club, *clauses, **fields):
    return create_from_content(club=club, content=read(club, document(*clauses, **fields)), by=None)


@pytest.fixture
def club():
    return factories.club()


def test_a_list_comes_in_with_the_sheet_and_goes_out_again(club):
    parts = [
        {"characteristic": "width-over-rear-tires", "comparator": "at_most", "choice_list": "Widths"},
        {"characteristic": "motor-type", "comparator": "one_of", "choice_list": "Motors"},
    ]
    either = {"number": "2", "text": "Either.", "comparator": "any_of", "parts": parts}

    revision = bring_in(club, MOTOR, either, choice_lists=[MOTORS, WIDTHS])

    lists = {one.name: one for one in ChoiceList.objects.of(club)}
    assert set(lists) == {"Motors", "Widths"}
    assert lists["Widths"].keyed_by.code == "body"
    assert entries_of(newest_revision(lists["Motors"]))[0].plain == MOTORS["entries"][0]
    assert {one.code for one in Characteristic.objects.of(club)} == {"motor-type", "width-over-rear-tires", "body"}
    sent = sheet_document(revision)
    assert sent["choice_lists"] == [MOTORS, WIDTHS]
    assert sent["clauses"][1]["parts"] == parts


def test_a_list_that_the_club_has_is_its_own_and_one_that_differs_gets_another_name(club):
    create_choice_list(club=club, name="Motors", entries=[EntryContent(value="Dart 18")], by=None)

    revision = bring_in(club, MOTOR, choice_lists=[MOTORS])
    again = create_from_content(club=club, content=read(club, sheet_document(revision)), name="Copy", by=None)

    assert sorted(one.name for one in ChoiceList.objects.of(club)) == ["Motors", "Motors 2"]
    assert [clause.choice_list.name for one in (revision, again) for clause in clauses_of(one)] == ["Motors 2"] * 2


def test_a_derived_characteristic_brings_what_it_is_worked_out_from(club):
    clause = {"number": "1", "text": "Ratio.", "characteristic": "gear-ratio", "comparator": "at_least", "lower": "3"}

    revision = bring_in(club, clause)

    codes = {one.code for one in Characteristic.objects.of(club)}
    assert codes == {"gear-ratio", "driven-gear-teeth", "pinion-teeth"}
    assert {one["code"] for one in sheet_document(revision)["characteristics"]} == codes


@pytest.mark.parametrize(
    ("clause", "words"),
    [
        ({"choice_list": "No such list"}, "described nowhere"),
        ({"factor": "many"}, "not a plain number"),
        ({"counts": "best"}, "not known here"),
        ({"allowance": "10 %", "tolerance_style": "often"}, "not known here"),
        ({"applies_when": {"about": "weather", "is": "yes"}}, "is not one of"),
        ({"unless": {"about": "characteristic", "name": "no-such", "is": "yes"}}, "described nowhere"),
        ({"applies_when": {"all": "yes"}}, "not written as the schema says"),
        ({"limit_rows": [{"upper": "3 mm"}]}, "without the condition"),
        ({"limit_rows": [{"when": {"about": "junior", "is": "yes"}, "uper": "3 mm"}]}, "not known here"),
        ({"parts": [{"parts": [{"parts": [{"comparator": "yes_no"}]}]}]}, "parts within parts"),
        ({"parts": ["a"]}, "not an object"),
    ],
)
def test_what_cannot_be_read_of_a_rule_is_said_with_its_clause(club, clause, words):
    with pytest.raises(UnreadableSheet) as refusal:
        read(club, document(MOTOR | clause, choice_lists=[MOTORS]))

    problems = refusal.value.problems
    assert any(words in problem and "Clause 1" in problem for problem in problems), problems


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"choice_lists": [{"name": "Motors"}]}, "needs a name of its own and entries"),
        ({"choice_lists": [MOTORS, MOTORS]}, "needs a name of its own and entries"),
        ({"choice_lists": [{"name": "M", "entries": [{"value": "x", "allowed_from": "soon"}]}]}, "not a day"),
        ({"choice_lists": [{"name": "M", "entries": [{"note": "x"}]}]}, "does not say what is allowed"),
        ({"guard_factor": "lots"}, "not a number such as 1.65"),
        ({"tolerance_style": "some"}, "not known here"),
        ({"sheet_tolerances": {"smell": "1 mm"}}, "not a text for a kind of quantity"),
        ({"sheet_tolerances": {"length": "1 g"}}, "cannot be read"),
        ({"characteristics": [CIRCLE]}, "worked out in a way that cannot be read"),
    ],
)
def test_what_cannot_be_read_of_a_sheet_is_said(club, fields, words):
    with pytest.raises(UnreadableSheet) as refusal:
        read(club, document(MOTOR, **{"choice_lists": [MOTORS]} | fields))

    assert any(words in problem for problem in refusal.value.problems), refusal.value.problems


def test_how_a_sheet_decides_travels(club):
    settings = {
        "decision_rule": "certain_pass",
        "guard_factor": "2.00",
        "tolerance_style": "whole_sheet",
        "sheet_tolerances": {"length": "0.1 mm"},
        "allows_overdue_gauges": False,
        "is_closed": True,
    }

    revision = bring_in(club, MOTOR, choice_lists=[MOTORS], **settings)

    revision.refresh_from_db()
    sent = sheet_document(revision)
    assert {name: sent[name] for name in settings} == settings
