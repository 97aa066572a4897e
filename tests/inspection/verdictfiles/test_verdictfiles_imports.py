"""A car judged by a file alone comes out as on the card: the six rule sheets of fixtures/rules with all their cars.

No database: each test would fail if it were asked.
"""

import functools
import itertools
import json
from pathlib import Path

import jsonschema
import pytest

from inspection.conformity.subjects import TRACK_VALUES
from inspection.units import Kind
from inspection.verdictfiles.documents import findings_document, findings_lines
from inspection.verdictfiles.errors import UnreadableCase
from inspection.verdictfiles.imports import read_case
from inspection.verdictfiles.selectors import findings_schema_text, judge_case, schema_text

RULES = Path(__file__).parents[3] / "fixtures" / "rules"
SHEETS = sorted(path.stem for path in RULES.glob("*.json"))
NAMES = {"racing_class": "class"}
WANTED = {"passes": "pass", "fails": "fail", "does_not_apply": "not_applicable"}


@functools.cache
def sheet(name):
    return json.loads((RULES / f"{name}.json").read_text(encoding="utf-8"))


def case_file(name, car, more=()):
    """The document of a car of the fixtures."""
    occasion = {NAMES.get(key, key): value for key, value in car.get("facts", {}).items()}
    if "track_values" in occasion:
        occasion["track_values"] = {key: size(key, value) for key, value in occasion["track_values"].items()}
    readings, rulings = [], []
    for code, values in car["found"].items():
        several = values if isinstance(values, list) else [values]
        if kinds(name)[code] in {"choice", "text"}:
            readings.append({"characteristic": code, "answers": several})
        elif kinds(name)[code] == "yes_no":
            readings.append({"characteristic": code, "answer": several == ["yes"]})
        else:
            readings += [{"characteristic": code, "reading": value} for value in several]
    for number, passes in car.get("rulings", {}).items():
        rulings.append({"clause": number, "passes": passes, "judge": "A. Judge", "reason": "looked at it"})
    document = {"document": "car-to-judge", "version": 1, "rule_sheet": sheet(name), "occasion": occasion}
    if more:
        document["rule_sheet"] = sheet(name) | {"clauses": [*sheet(name)["clauses"], *more]}
    return document | {"readings": readings, "rulings": rulings}


def size(name, value):
    unit = {Kind.LENGTH: "mm", Kind.VOLTAGE: "V", Kind.CURRENT: "A"}[TRACK_VALUES[name]]
    return f"{value} {unit}"


@functools.cache
def kinds(name):
    built_in = json.loads(
        (RULES.parents[1] / "inspection" / "gauges" / "data" / "register.json").read_text(encoding="utf-8")
    )
    described = [*built_in["characteristics"], *sheet(name)["characteristics"]]
    return {one["code"]: one["kind"] for one in described}


def cars(name):
    for case in json.loads((RULES / "cases" / f"{name}.json").read_text(encoding="utf-8")):
        for key, wanted in WANTED.items():
            if case.get(key):
                more = [case["with_clause"]] if "with_clause" in case and key != "does_not_apply" else []
                yield case["number"], case_file(name, case[key], more), wanted
        for key, wanted in (("also_passes", "pass"), ("also_fails", "fail")):
            for car in case.get(key, []):
                yield case["number"], case_file(name, car), wanted


@pytest.mark.parametrize("name", SHEETS)
def test_a_car_of_the_fixtures_comes_out_as_on_the_card(name):
    """Every third of them: that each clause decides both ways is held with the sheets themselves."""
    schema = jsonschema.Draft202012Validator(json.loads(findings_schema_text()))
    wrong, judged = {}, 0
    for number, document, wanted in itertools.islice(cars(name), 0, None, 3):
        case = read_case(json.dumps(document).encode())
        findings = findings_document(case, judge_case(case))
        schema.validate(findings)
        outcomes = {one["number"]: one["outcome"] for one in findings["clauses"]}
        judged += 1
        if outcomes.get(number) != wanted:
            wrong[number, str(document["readings"])] = (outcomes.get(number), wanted)
    assert judged > 5
    assert wrong == {}


@pytest.mark.parametrize("name", SHEETS)
def test_a_car_of_the_fixtures_keeps_to_the_schema_and_reads_as_text(name):
    number, document, _ = next(iter(cars(name)))
    jsonschema.Draft202012Validator(json.loads(schema_text())).validate(document)
    case = read_case(json.dumps(document).encode())
    lines = list(findings_lines(case, judge_case(case)))
    assert lines[0].startswith(sheet(name)["name"])
    assert any(line.startswith(f"{number} ") for line in lines)


def test_null_is_as_if_left_out():
    name = SHEETS[0]
    _, document, _ = next(iter(cars(name)))
    document = document | {"occasion": None, "build": None, "gauges": None, "go_no_go": None}
    assert read_case(json.dumps(document).encode()).facts.date is None


def test_a_rule_sheet_of_another_version_is_no_rule_sheet():
    document = case_file(SHEETS[0], {"found": {}})
    document["rule_sheet"] = document["rule_sheet"] | {"version": 9}
    with pytest.raises(UnreadableCase) as refused:
        read_case(json.dumps(document).encode())
    assert "version" in refused.value.problems[0]
