"""`manage.py verdict`: a car judged by a file, without a club and without a database."""

import io
import json
import sys
from pathlib import Path

import jsonschema
import pytest
from django.core.management import call_command

from inspection.conformity.assess import Reason, RuleStyle, Statement, Zone
from inspection.conformity.conditions import Lacking
from inspection.conformity.results import Note
from inspection.conformity.verdicts import Outcome

ROOT = Path(__file__).resolve().parents[4]
EXAMPLE = ROOT / "fixtures" / "verdict" / "stamped-steel.json"


def example() -> dict:
    return json.loads(EXAMPLE.read_text(encoding="utf-8"))


def run(*arguments, document=None, folder=None):
    """What the command printed, what it said on the error channel, and what it ended with."""
    if document is not None:
        file = folder / "car.json"
        file.write_text(document if isinstance(document, str) else json.dumps(document), encoding="utf-8")
        arguments = (str(file), *arguments)
    out, err = io.StringIO(), io.StringIO()
    with pytest.raises(SystemExit) as ended:
        call_command("verdict", *arguments, stdout=out, stderr=err)
    return out.getvalue(), err.getvalue(), ended.value.code


def findings(document, folder):
    out, _, code = run("--json", document=document, folder=folder)
    found = json.loads(out)
    jsonschema.Draft202012Validator(schema("findings")).validate(found)
    return {one["number"]: one for one in found["clauses"]}, code


def schema(*of) -> dict:
    out = io.StringIO()
    call_command("verdict", "--schema", *of, stdout=out)
    return json.loads(out.getvalue())


def test_the_schema_is_a_schema_and_the_example_written_by_hand_keeps_to_it():
    jsonschema.Draft202012Validator.check_schema(schema())
    jsonschema.Draft202012Validator.check_schema(schema("findings"))
    jsonschema.Draft202012Validator(schema()).validate(example())


def test_the_example_clears_and_each_clause_says_why():
    out, err, code = run(str(EXAMPLE), "--json")
    found = json.loads(out)
    assert (err, code, found["passes"], found["rule_sheet"]) == ("", 0, True, "Stamped steel, invented")
    clauses = {one["number"]: one for one in found["clauses"]}
    assert {number: one["outcome"] for number, one in clauses.items()} == {
        **dict.fromkeys(("1.1", "1.2", "2.1", "2.2", "3.1", "4.1", "4.2", "4.3"), "pass"),
        "5.1": "not_applicable",
    }
    # 82.53 mm against 3.25 in, which is 82.55 mm and never 82.5; u2 = 0.01^2/12 + 0.03^2/3 + 0.004^2
    wide = clauses["1.1"]
    assert wide["margin"] == {
        "words": "0.02 mm to spare",
        "other": "0.001 in to spare",
        "exact": "1/50",
        "unit": "mm",
    }
    assert wide["limits"] == {"upper": "3.250 in (82.55 mm)"}
    assert (wide["too_close"], wide["expanded_uncertainty"]) == (True, "0.037 mm")
    assert wide["settled_by"] == [{"gauge": "Micrometer", "readings": 1}]
    # 3.42 ohm at 26 °C is 3.42 / (1 + 0.00393 * 6) at 20 °C
    assert (clauses["3.1"]["reading"], clauses["3.1"]["notes"]) == ("3.34 Ω", ["referred_to_20"])
    assert clauses["2.2"]["go_no_go"] == {"gauge": "Block .060", "goes": True}
    assert clauses["4.3"]["ruling"]["judge"] == "B. Sample"
    assert clauses["1.2"]["limits"] == {"upper": "3.249 in (82.53 mm)"}


def test_the_words_of_the_findings_schema_are_those_of_the_engine():
    fields = schema("findings")["$defs"]["finding"]["properties"]
    for name, words in [
        ("outcome", Outcome), ("zone", Zone), ("statement", Statement), ("rule", RuleStyle),
    ]:  # fmt: skip
        assert set(fields[name]["enum"]) == set(words)
    assert set(fields["reasons"]["items"]["enum"]) == set(Reason)
    assert set(fields["notes"]["items"]["enum"]) == set(Note)
    assert set(fields["missing"]["items"]["properties"]["lacking"]["enum"]) == set(Lacking)


def test_the_method_of_comparing_is_named():
    """R09: ASTM E29 1.3: a reference to the practice is valid only when the choice of method is indicated."""
    out, _, _ = run(str(EXAMPLE), "--json")
    assert json.loads(out)["method"].startswith("absolute method of ASTM E29")


def test_the_table_reads_as_text():
    out, _, code = run(str(EXAMPLE))
    assert code == 0
    assert "Stamped steel, invented, revision 3 · No. 12, red · A. Sample" in out
    assert "too close, measure again (Micrometer would settle it)" in out
    assert "Every clause clears." in out


@pytest.mark.parametrize(
    ("reading", "outcome"),
    [("82.55 mm", "pass"), ("3.25 in", "pass"), ("82.551 mm", "fail"), ("3 1/4 in", "pass"), ("3.2501 in", "fail")],
)
def test_on_the_limit_passes_and_any_excess_fails_in_either_unit(tmp_path, reading, outcome):
    document = example()
    document["readings"][0]["reading"] = reading
    clauses, code = findings(document, tmp_path)
    assert (clauses["1.1"]["outcome"], code) == (outcome, 0 if outcome == "pass" else 1)


def test_what_was_not_found_is_not_checked_and_does_not_clear(tmp_path):
    document = example()
    document["readings"] = [one for one in document["readings"] if one["characteristic"] != "width-rear"]
    del document["occasion"]["date"], document["occasion"]["junior"], document["rulings"]
    clauses, code = findings(document, tmp_path)
    assert code == 1
    missing = {number: one.get("missing") for number, one in clauses.items()}
    assert missing["1.1"] == [{"lacking": "characteristic", "name": "width-rear"}]
    assert missing["1.2"] == [{"lacking": "characteristic", "name": "width-rear"}]
    assert missing["4.1"] == [{"lacking": "date", "name": ""}]
    assert missing["5.1"] == [{"lacking": "junior", "name": ""}]
    assert clauses["4.3"]["outcome"] == "judge_decides"
    out, _, _ = run(document=document, folder=tmp_path)
    assert "Does not clear: clause 1.1, 1.2, 4.1, 4.3, 5.1." in out


def test_a_gauge_past_its_calibration_warns_or_is_refused_as_the_sheet_says(tmp_path):
    document = example()
    document["gauges"][2]["overdue"] = True
    clauses, code = findings(document, tmp_path)
    assert (clauses["2.1"]["outcome"], clauses["2.1"]["notes"], code) == ("pass", ["gauge_overdue"], 0)
    document["rule_sheet"]["allows_overdue_gauges"] = False
    clauses, code = findings(document, tmp_path)
    assert (clauses["2.1"]["outcome"], code) == ("not_checked", 1)


def test_certain_pass_does_not_clear_what_the_gauge_cannot_decide(tmp_path):
    """u2 of the scale is 0.1^2/12 + 0.2^2/3, so the guard band is 0.197 g."""
    document = example()
    outcomes = {}
    for reading in ("110.2 g", "110.19 g", "109.9 g", "109.8 g"):
        document["readings"][2]["reading"] = reading
        clauses, _ = findings(document, tmp_path)
        outcomes[reading] = (clauses["2.1"]["outcome"], clauses["2.1"]["statement"])
    assert outcomes == {
        "110.2 g": ("pass", "pass"),
        "110.19 g": ("too_close", "conditional_pass"),
        "109.9 g": ("too_close", "conditional_fail"),
        "109.8 g": ("fail", "fail"),
    }


def test_the_whole_car_passes_only_when_every_clause_clears(tmp_path):
    document = example()
    document["readings"][5]["answer"] = False
    out, _, code = run("--json", document=document, folder=tmp_path)
    assert (json.loads(out)["passes"], code) == (False, 1)


def test_a_scale_reads_magnetic_pull_with_its_own_doubt(tmp_path):
    document = example()
    pull = {"code": "pull", "name": "Pull", "kind": "magnetic_pull", "unit": "g"}
    document["rule_sheet"]["characteristics"].append(pull)
    document["rule_sheet"]["clauses"].append(
        {
            "number": "7.1",
            "text": "At most 40 g of pull.",
            "characteristic": "pull",
            "measuring_point": "On the scale.",
            "comparator": "at_most",
            "upper": "40 g",
        }
    )
    document["readings"].append({"characteristic": "pull", "reading": "39.0 g", "gauge": "Scale"})
    clauses, _ = findings(document, tmp_path)
    assert clauses["7.1"]["expanded_uncertainty"] == clauses["2.1"]["expanded_uncertainty"] == "0.24 g"


def test_nothing_is_known_of_the_doubt_of_a_gauge_that_only_goes_or_does_not(tmp_path):
    document = example()
    document["gauges"][3] |= {"resolution": "0.01 mm", "max_permissible_error": "0.01 mm"}
    document["readings"][0]["gauge"] = "Block .060"
    clauses, _ = findings(document, tmp_path)
    assert clauses["1.1"]["reasons"] == ["within_limits", "doubt_unknown"]
    assert "expanded_uncertainty" not in clauses["1.1"]


@pytest.mark.parametrize(("occasion", "outcome"), [({}, "fail"), ({"class": "Open"}, "not_applicable")])
def test_the_class_is_the_rule_sheet_s_unless_the_occasion_says_another(tmp_path, occasion, outcome):
    document = example()
    document["occasion"] |= occasion
    document["rule_sheet"]["clauses"][8]["applies_when"] = {
        "about": "class",
        "is": "one_of",
        "values": ["Stamped Steel"],
    }
    clauses, _ = findings(document, tmp_path)
    assert clauses["5.1"]["outcome"] == outcome


def test_what_is_wrong_with_the_rules_themselves_is_told_beside_the_findings(tmp_path):
    assert json.loads(run(str(EXAMPLE), "--json")[0])["problems"] == []
    document = example()
    del document["rule_sheet"]["clauses"][0]["upper"]
    out, _, code = run("--json", document=document, folder=tmp_path)
    found = json.loads(out)
    assert [(one["clause"], one["code"], one["blocking"]) for one in found["problems"]] == [
        ("1.1", "limit_missing", True)
    ]
    assert (found["clauses"][0]["missing"], code) == ([{"lacking": "rule", "name": "1.1"}], 1)
    assert "Rule sheet, clause 1.1: " in run(document=document, folder=tmp_path)[0]


def test_a_judge_stands_over_a_gauge_that_does_not_go(tmp_path):
    document = example()
    document["go_no_go"][0]["goes"] = False
    clauses, code = findings(document, tmp_path)
    assert (clauses["2.2"]["outcome"], code) == ("fail", 1)
    document["rulings"].append({"clause": "2.2", "passes": True, "judge": "B. Sample", "reason": "Burr on the block."})
    clauses, code = findings(document, tmp_path)
    assert (clauses["2.2"]["outcome"], code) == ("pass", 0)


def test_all_that_is_wrong_is_said_at_once_and_where(tmp_path):
    document = example()
    document["colour"] = "red"
    document["occasion"]["date"] = "2 May"
    document["occasion"]["rain"] = True
    document["gauges"][0]["resolution"] = "0.01 g"
    document["gauges"][1]["max_error"] = "1 mm"
    document["readings"][0]["reading"] = "wide"
    document["readings"][1]["gauge"] = "Ruler"
    document["readings"][2]["answer"] = True
    document["readings"][5]["characteristic"] = "window"
    document["rulings"][0]["clause"] = "9.9"
    document["rulings"].append({"clause": "4.3", "passes": True})
    out, err, code = run(document=document, folder=tmp_path)
    assert (out, code) == ("", 2)
    places = [
        "The file has “colour”",
        "occasion has a date",
        "occasion has “rain”",
        "gauges[0].resolution cannot be read",
        "gauges[1] has “max_error”",
        "readings[0].reading cannot be read",
        "readings[1] names the gauge “Ruler”",
        "readings[2] needs a characteristic and one of",
        "readings[5] speaks of “window”",
        "rulings[0] speaks of clause 9.9",
        "rulings[1] lacks judge, reason",
    ]
    assert [place for place in places if place not in err] == []
    assert len(err.splitlines()) == len(places) + 1


def test_what_is_wrong_with_the_rule_sheet_is_said_as_where_one_comes_in(tmp_path):
    document = example()
    document["rule_sheet"]["clauses"][0]["uper"] = "3.25 in"
    document["rule_sheet"]["clauses"][1]["other"] = "width-middle"
    document["readings"][0]["reading"] = "82.53 furlong"
    _, err, code = run(document=document, folder=tmp_path)
    assert code == 2
    assert "rule_sheet: Clause 1.1 has “uper”, which is not known here." in err
    assert "rule_sheet: Clause 1.2 speaks of “width-middle”, which is described nowhere." in err


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "not a JSON file"),
        ("{", "not a JSON file"),
        ("[]", "not a car to be judged"),
        ('{"document": "rule-sheet", "version": 1}', "not a car to be judged"),
        ('{"document": "car-to-judge", "version": 7}', "version 7"),
        ('{"document": "car-to-judge", "version": 1}', "has no rule_sheet"),
        ('{"document": "car-to-judge", "version": 1, "rule_sheet": {}}', "is not a rule sheet"),
        ('{"document": "car-to-judge", "version": 1, "version": 1}', "not a JSON file"),
        ('{"document": "car-to-judge", "version": 1, "rule_sheet": NaN}', "not a JSON file"),
    ],
)
def test_what_is_no_such_file_ends_with_2(tmp_path, text, said):
    out, err, code = run(document=text, folder=tmp_path)
    assert (out, code) == ("", 2)
    assert said in err


def test_a_file_that_is_not_there_ends_with_2(tmp_path):
    assert run(str(tmp_path / "none.json"))[2] == 2
    assert run()[2] == 2


def test_a_file_may_come_by_standard_input(monkeypatch):
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(EXAMPLE.read_bytes())))
    assert run("-", "--json")[2] == 0


def _changed(*path, value):
    document = example()
    place = document
    for key in path[:-1]:
        place = place[key]
    place[path[-1]] = value
    return document


@pytest.mark.parametrize(
    "document",
    [
        _changed("extra", value=1),
        _changed("occasion", value=[]),
        _changed("occasion", "phase", value="later"),
        _changed("occasion", "junior", value="no"),
        _changed("occasion", "flags", value=[1]),
        _changed("occasion", "track_values", value={"depth": "9 mm"}),
        _changed("gauges", 0, "measures", value="width"),
        _changed("gauges", 0, "kind", value="caliper"),
        _changed("gauges", 0, "name", value=" "),
        _changed("gauges", 0, "overdue", value=1),
        _changed("build", "car", value=12),
        _changed("build", "declared", value=[{"reading": "1 mm"}]),
        _changed("readings", 0, "reading", value=82.53),
        _changed("readings", 4, "answers", value="Short coupe"),
        _changed("readings", 4, "answers", value=[" "]),
        _changed("go_no_go", 0, "goes", value="yes"),
        _changed("rulings", 0, "reason", value=""),
        _changed("rule_sheet", "clauses", 0, "comparator", value="under"),
        _changed("rule_sheet", "clauses", 0, "upper", value=3.25),
    ],
)
def test_what_the_schema_forbids_is_refused(tmp_path, document):
    assert not jsonschema.Draft202012Validator(schema()).is_valid(document)
    assert run(document=document, folder=tmp_path)[2] == 2


def test_several_readings_track_values_and_declared_words_are_taken_in(tmp_path):
    document = example()
    document["rule_sheet"]["characteristics"] += [
        {"code": "guide", "name": "Guide depth", "kind": "length", "unit": "mm"},
        {
            "code": "slot",
            "name": "Slot depth",
            "kind": "length",
            "unit": "mm",
            "derivation": {"form": "track", "value": "slot_depth_mm"},
        },
    ]
    document["rule_sheet"]["clauses"] += [
        {
            "number": "6.1",
            "text": "The guide is at least 1 mm shallower than the slot.",
            "characteristic": "guide",
            "measuring_point": "Below the rail.",
            "comparator": "at_most",
            "other": "slot",
            "offset": "-1 mm",
            "readings_wanted": 2,
        },
        {
            "number": "6.2",
            "text": "With the long coupe, 120 g.",
            "characteristic": "weight",
            "measuring_point": "On the scale.",
            "comparator": "at_least",
            "lower": "120 g",
            "applies_when": {
                "about": "characteristic",
                "name": "body-model",
                "is": "one_of",
                "values": ["Long coupe"],
            },
        },
    ]
    document["occasion"]["track_values"] = {"slot_depth_mm": "9.5 mm"}
    document["readings"] = [one for one in document["readings"] if one["characteristic"] != "body-model"]
    document["readings"] += [{"characteristic": "guide", "reading": size} for size in ("8.4 mm", "8.51")]
    document["build"]["declared"] = [{"characteristic": "body-model", "answers": ["Long coupe"]}]
    jsonschema.Draft202012Validator(schema()).validate(document)
    clauses, code = findings(document, tmp_path)
    assert code == 1
    assert (clauses["6.1"]["outcome"], clauses["6.1"]["reading"]) == ("fail", "8.51 mm")
    assert clauses["6.1"]["notes"] == ["worst_of_several"]
    assert clauses["6.2"]["outcome"] == "fail"
    assert clauses["4.1"]["outcome"] == "not_checked"  # declared, not found
