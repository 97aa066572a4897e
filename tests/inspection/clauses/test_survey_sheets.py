"""Six rule sheets of the kinds that clubs write, as data alone, each clause with a car that passes and one that fails.

The sheets are fixtures/rules, the cars fixtures/rules/cases, in our own wording and with invented names. What is judged
goes the way of the card: read from the file, saved, published, loaded, and judged by the engine.
"""

import datetime as dt
import functools
import json
import re
from fractions import Fraction
from pathlib import Path

import jsonschema
import pytest

from inspection.clauses.selectors import clauses_of, content_of, problems_of, sheet_for_engine
from inspection.conformity.clauses import Comparator
from inspection.conformity.facts import Facts
from inspection.conformity.observations import Observation, make_reading
from inspection.conformity.parse import parse_clause
from inspection.conformity.sheet import judge_one
from inspection.conformity.verdicts import Outcome, Ruling
from inspection.contents.selectors import requirements_in
from inspection.exchange.documents import sheet_document
from inspection.exchange.imports import read_sheet
from inspection.exchange.selectors import schema_text
from inspection.exchange.services import create_from_content
from inspection.gauges.services import install_register
from inspection.rulesheets.services import publish_rule_sheet
from inspection.units import parse_quantity
from inspection.wording.selectors import limit_words
from tests import factories

pytestmark = pytest.mark.django_db
ROOT = Path(__file__).parents[3]
RULES = ROOT / "fixtures" / "rules"
SHEETS = sorted(path.stem for path in RULES.glob("*.json"))
DECIDED_BY_VALUE = {"N", "L", "K", "D"}


@functools.cache
def cases(name):
    return json.loads((RULES / "cases" / f"{name}.json").read_text(encoding="utf-8"))


def draft(name):
    club = factories.club()
    install_register(club=club, by=None)
    content = read_sheet((RULES / f"{name}.json").read_bytes(), club=club)
    return create_from_content(club=club, content=content, by=None)


def observed(subject, values):
    values = values if isinstance(values, list) else [values]
    kind = subject.kind.quantity_kind
    if kind is not None:
        readings = [make_reading(parse_quantity(text, kind, default_unit=subject.unit)) for text in values]
        return Observation(readings=tuple(readings))
    if values in (["yes"], ["no"]):
        return Observation(answer=values == ["yes"])
    return Observation(answers=tuple(values))


def facts_of(plain):
    said = dict(plain)
    if "date" in said:
        said["date"] = dt.date.fromisoformat(said["date"])
    if "flags" in said:
        said["flags"] = frozenset(said["flags"])
    if "track_values" in said:
        said["track_values"] = {name: Fraction(value) for name, value in said["track_values"].items()}
    return Facts(**said)


def outcome(sheet, case, car):
    if "with_clause" in case and car is not case.get("does_not_apply"):
        more = parse_clause(case["with_clause"], sheet.register)
        sheet = type(sheet)(clauses=(*sheet.clauses, more), register=sheet.register)
    facts = facts_of(car.get("facts", {}))
    found = {code: observed(sheet.register[code], values) for code, values in car["found"].items()}
    rulings = {
        number: Ruling(passes=passes, judge="A. Judge", reason="looked at it")
        for number, passes in car.get("rulings", {}).items()
    }
    return judge_one(sheet, case["number"], found, facts, rulings).outcome


def cars_of(case):
    """Each car of a case, with what is to come out."""
    for key, wanted in (("passes", Outcome.PASS), ("fails", Outcome.FAIL), ("does_not_apply", Outcome.NOT_APPLICABLE)):
        if case.get(key):
            yield case[key], wanted
    for car in case.get("also_passes", []):
        yield car, Outcome.PASS
    for car in case.get("also_fails", []):
        yield car, Outcome.FAIL


@pytest.mark.parametrize("name", SHEETS)
def test_each_clause_passes_a_good_car_fails_a_bad_one_and_applies_where_it_says(name):
    revision = draft(name)
    publish_rule_sheet(rule_sheet=revision.rule_sheet, effective_from=dt.date(2026, 1, 1), by=factories.user())
    revision.refresh_from_db()
    sheet = sheet_for_engine(revision)
    wrong = {}
    for case in cases(name):
        for car, wanted in cars_of(case):
            if (found := outcome(sheet, case, car)) is not wanted:
                wrong[case["number"], str(car)] = (found.value, wanted.value)

    assert wrong == {}


@pytest.mark.parametrize("name", SHEETS)
def test_each_clause_has_its_cars_and_none_is_left_out(name):
    revision = draft(name)

    assert [case["number"] for case in cases(name)] == [clause.number for clause in clauses_of(revision)]
    for case in cases(name):
        only_informs = case["kind"] == "\u2013"
        assert only_informs or (case["passes"] and case["fails"]), case["number"]


@pytest.mark.parametrize("name", SHEETS)
def test_what_has_a_value_is_decided_by_the_value_and_only_what_has_none_by_a_judge(name):
    by_number = {clause.number: content_of(clause) for clause in clauses_of(draft(name))}
    for case in cases(name):
        content = by_number[case["number"]]
        asked = [one.comparator for one in requirements_in(content) if one.comparator]
        if case["hard"] == "H":
            assert content.judge or Comparator.JUDGE_DECIDES not in asked, case["number"]
            continue
        assert Comparator.JUDGE_DECIDES not in asked, case["number"]
        if set(case["kind"].split()) & DECIDED_BY_VALUE:
            assert any(one.is_numeric or one.takes_a_list for one in asked), case["number"]


@pytest.mark.parametrize("name", SHEETS)
def test_a_sheet_is_a_good_document_without_problems_and_travels_unchanged(name):
    document = json.loads((RULES / f"{name}.json").read_text(encoding="utf-8"))
    jsonschema.validate(document, json.loads(schema_text()))
    revision = draft(name)
    contents = [content_of(clause) for clause in clauses_of(revision)]

    blocking = [problem for found in problems_of(contents) for problem in found if problem.blocking]
    assert blocking == []
    sent = sheet_document(revision)
    jsonschema.validate(sent, json.loads(schema_text()))
    assert [{key: clause[key] for key in clause if key != "id"} for clause in sent["clauses"]] == plain(document)
    assert all(limit_words(content) for content in contents if content.comparator)


def plain(document):
    """The clauses of a file as this project writes quantities."""
    club = factories.club()
    content = read_sheet(json.dumps(document).encode(), club=club)
    revision = create_from_content(club=club, content=content, by=None)
    return [{key: clause[key] for key in clause if key != "id"} for clause in sheet_document(revision)["clauses"]]


# What carries which clause: the table of DEVELOPERS.md.

OF_A_LIMIT = {Comparator.AT_LEAST, Comparator.AT_MOST, Comparator.BETWEEN}
CARRIERS = {
    "only informs": lambda one, content: content.comparator is None,
    "judge decides": lambda one, content: one.comparator is Comparator.JUDGE_DECIDES,
    "yes or no": lambda one, content: one.comparator is Comparator.YES_NO,
    "count": lambda one, content: bool(
        one.comparator and one.comparator.is_numeric and one.characteristic.kind == "count"
    ),
    "at least, at most": lambda one, content: one.comparator in OF_A_LIMIT and not one.other and not is_count(one),
    "equal within a tolerance": lambda one, content: one.comparator is Comparator.EQUAL_WITHIN and not is_count(one),
    "one of a list": lambda one, content: one.comparator is Comparator.ONE_OF and not one.choice_list,
    "one of a shared list": lambda one, content: one.choice_list is not None and not one.choice_list.keyed_by,
    "list keyed by another field": lambda one, content: bool(one.choice_list and one.choice_list.keyed_by),
    "compared with another characteristic": lambda one, content: one.other is not None,
    "worked out, or read off the track": lambda one, content: bool(one.other and one.other.derivation),
    "all of several": lambda one, content: one.comparator is Comparator.ALL_OF,
    "any one of several": lambda one, content: one.comparator is Comparator.ANY_OF,
    "as supplied, with permitted changes": lambda one, content: one.comparator is Comparator.AS_SUPPLIED,
    "limits by condition": lambda one, content: bool(one.rows),
    "applies when, except when": lambda one, content: bool(one.applies_when or one.unless),
    "its own tolerance": lambda one, content: bool(one.allowance),
    "worst of several readings": lambda one, content: one.readings_wanted > 1,
    "other phases than before the race": lambda one, content: bool(set(content.phases) - {"before"}),
}


def is_count(one):
    return one.characteristic is not None and one.characteristic.kind == "count"


def carried(name):
    """By carrier, the numbers of the clauses of a sheet."""
    contents = [content_of(clause) for clause in clauses_of(draft(name))]
    return {
        words: [content.number for content in contents if any(holds(one, content) for one in requirements_in(content))]
        for words, holds in CARRIERS.items()
    }


def test_the_table_for_whoever_carries_on_says_which_kind_carries_which_clause():
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    rows = {}
    for line in text.splitlines():
        cells = [cell.strip() for cell in line.strip().strip("|").split("|")]
        if cells[0] in CARRIERS and len(cells) == len(SHEETS) + 1:
            rows[cells[0]] = [re.findall(r"[0-9]+", cell) for cell in cells[1:]]
    by_sheet = [carried(name) for name in SHEETS]

    assert rows == {words: [found[words] for found in by_sheet] for words in CARRIERS}
    for place, name in enumerate(SHEETS):
        said = {number for cells in rows.values() for number in cells[place]}
        assert said == {case["number"] for case in cases(name)}
