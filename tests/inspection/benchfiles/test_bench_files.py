"""A bench is worked out by a file alone: no database, strict reading, a result in its documented form."""

import copy
import functools
import json
from pathlib import Path

import jsonschema
import pytest

from inspection.benchfiles.documents import result_document, result_lines
from inspection.benchfiles.errors import UnreadableBench
from inspection.benchfiles.imports import read_bench_file
from inspection.benchfiles.selectors import result_schema_text, schema_text, work_out
from inspection.planning.document import DRIVING, KEYS
from inspection.planning.register import CHASSIS_SIZES, MOUNTING_SIZES, PART_SIZES, PLACES, SPACER_PLACES

FILE = Path(__file__).parents[3] / "fixtures" / "bench" / "sidewinder.json"


@functools.cache
def example():
    return json.loads(FILE.read_text(encoding="utf-8"))


def changed(**sections):
    return {**copy.deepcopy(example()), **sections}


def read(document):
    return read_bench_file(json.dumps(document).encode())


@functools.cache
def schema():
    return jsonschema.Draft202012Validator(json.loads(schema_text()))


@functools.cache
def result_schema():
    return jsonschema.Draft202012Validator(json.loads(result_schema_text()))


@functools.cache
def outcome():
    return work_out(read(example()))


def test_the_example_is_of_the_documented_form_and_so_is_what_comes_of_it():
    schema().validate(example())
    result = result_document(outcome())
    result_schema().validate(json.loads(json.dumps(result)))
    assert (result["fits"], result["meshes"], result["legal"], result["good"]) == ("no", "yes", "yes", False)
    assert result["ratio"] == "37/11"


def test_the_tire_that_rubs_has_its_four_cures_with_amounts_and_what_the_rules_say_of_each():
    result = result_document(outcome())
    rubs = next(one for one in result["fit"] if one["code"] == "tire_to_pinion")
    cures = {one["code"]: (one["amount_mm"], one["works"], one["breaks_clauses"]) for one in rubs["cures"]}
    assert cures == {
        "move_wheel_out": ("4/5", False, ["1"]),
        "push_pinion_on": ("4/5", False, []),
        "shorten_pinion": ("4/5", True, []),
        "round_tire_edge": ("339/100", False, []),
    }


def test_clauses_wear_and_plan_are_told():
    result = result_document(outcome())
    assert [(one["number"], one["outcome"]) for one in result["clauses"]][-2:] == [("5", "pass"), ("6", "not_checked")]
    assert [(one["diameter_mm"], one["clause"]) for one in result["wear"]][:1] == [("199/10", "3")]
    plan = result["plan"]
    assert len(plan["best"]) == 10
    assert plan["nearest_failing"][0]["reasons"]
    off = [abs(one["rollout_mm"] - 19) for one in plan["best"]]
    assert off == sorted(off)


def test_the_text_says_the_same_for_people():
    text = "\n".join(result_lines(outcome()))
    for words in (
        "Gears: Runs.",
        "Shorten the pinion by 0.80 mm: works.",
        "Cutting discs",
        "overall-width",
        "Assumed:",
    ):
        assert words in text


def test_a_bench_without_rules_parts_or_anything_is_no_error():
    bare = {"document": "bench", "version": 1}
    schema().validate(bare)
    done = work_out(read(bare))
    result = result_document(done)
    result_schema().validate(result)
    assert result["legal"] == result["fits"] == "unknown"
    assert result["plan"] is None
    assert list(result_lines(done))


@pytest.mark.parametrize(
    "document",
    [
        {"document": "car", "version": 1},
        {"document": "bench", "version": 2},
        {"document": "bench", "version": 1, "wings": 2},
        {"document": "bench", "version": 1, "parts": {"pinion": {"sizes": {"teeth": "many"}}}},
        {"document": "bench", "version": 1, "rule_sheet": {"document": "rule-sheet", "version": 2}},
        {"document": "bench", "version": 1, "wanted": {"sort": "rollout"}},
    ],
)
def test_what_is_no_bench_is_refused_with_words(document):
    with pytest.raises(UnreadableBench) as refused:
        read(document)
    assert str(refused.value)
    assert refused.value.code == "unreadable_bench"


def test_the_track_of_the_bench_tells_its_values_to_the_rules():
    assert read(example()).facts.track == "Oval"
    assert read(example()).facts.track_values["slot_depth_mm"] == 7
    other = changed(occasion={"track": "Other", "track_values": {"slot_depth_mm": "9 mm"}})
    assert read(other).facts.track_values["slot_depth_mm"] == 9


def test_the_schema_knows_every_size_of_the_register():
    properties = json.loads(schema_text())["properties"]
    assert set(properties["chassis"]["properties"]["sizes"]["properties"]) == {spec.code for spec in CHASSIS_SIZES}
    assert set(properties["mounting"]["properties"]) == {spec.code for spec in MOUNTING_SIZES}
    assert set(properties["parts"]["properties"]) == set(PLACES)
    assert set(properties["spacers"]["properties"]) == set(SPACER_PLACES)
    assert set(properties["driving"]["properties"]) == set(DRIVING)
    assert set(properties) == set(KEYS)
    sizes = json.loads(schema_text())["$defs"]["part"]["properties"]["sizes"]["propertyNames"]["enum"]
    assert set(sizes) == {spec.code for specs in PART_SIZES.values() for spec in specs}


def test_a_size_that_is_unknown_breaks_the_schema_too():
    wrong = changed(mounting={"wing": "2 mm"})
    assert not schema().is_valid(wrong)
    with pytest.raises(UnreadableBench):
        read(wrong)
