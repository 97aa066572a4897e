"""What must be found out before a clause can be decided."""

from typing import Any

import pytest

from inspection.conformity.clauses import ListEntry
from inspection.conformity.inputs import Inputs, circular_clauses, inputs_of
from inspection.conformity.parse import NamedList, parse_clause
from inspection.conformity.subjects import CharacteristicKind, Derivation, DerivationForm, Subject, expand

K = CharacteristicKind


def subject(code: str, kind: CharacteristicKind, form: DerivationForm | None = None, *of: str, track: str = ""):
    return Subject(code=code, name=code, kind=kind, derivation=Derivation(form, of, track) if form else None)


REGISTER = {
    one.code: one
    for one in [
        subject("width", K.LENGTH),
        subject("rear-width", K.LENGTH),
        subject("gear", K.COUNT),
        subject("pinion", K.COUNT),
        subject("tire", K.LENGTH),
        subject("motor", K.CHOICE),
        subject("body", K.CHOICE),
        subject("open", K.YES_NO),
        subject("ratio", K.RATIO, DerivationForm.RATIO, "gear", "pinion"),
        subject("rollout", K.LENGTH, DerivationForm.ROLLOUT, "tire", "pinion", "gear"),
        subject("spacing", K.LENGTH, DerivationForm.TRACK, track="lane_spacing_mm"),
        subject("room", K.LENGTH, DerivationForm.DIFFERENCE, "spacing", "width"),
        subject("egg", K.LENGTH, DerivationForm.SUM, "hen", "width"),
        subject("hen", K.LENGTH, DerivationForm.SUM, "egg", "tire"),
    ]
}
LISTS = {"widths": NamedList(keyed_by="body", entries=(ListEntry(value="63 mm", key="A"),))}
WIDTH = {"characteristic": "width", "comparator": "at_most", "upper": "63 mm"}
OPEN = {"about": "characteristic", "name": "open", "is": "yes"}


def inputs(rule: dict[str, Any]) -> Inputs:
    return inputs_of(parse_clause({"number": "1", "text": "x", **rule}, REGISTER, lists=LISTS), REGISTER)


@pytest.mark.parametrize(
    ("rule", "found", "asked"),
    [
        (WIDTH, ("width",), ()),
        (WIDTH | {"upper": "", "other": "rear-width"}, ("width", "rear-width"), ()),
        (WIDTH | {"upper": "", "other": "spacing"}, ("width",), ()),
        ({"characteristic": "ratio", "comparator": "at_least", "lower": "3"}, ("gear", "pinion"), ()),
        ({"characteristic": "rollout", "comparator": "at_most", "other": "ratio"}, ("tire", "pinion", "gear"), ()),
        ({"characteristic": "room", "comparator": "at_least", "lower": "1 mm"}, ("width",), ()),
        ({"comparator": "any_of", "parts": [WIDTH, {"characteristic": "motor", "comparator": "one_of"}]},
         ("width", "motor"), ()),
        ({"comparator": "judge_decides"}, (), ()),
        (WIDTH | {"applies_when": OPEN}, ("width",), ("open",)),
        (WIDTH | {"unless": {"any": [OPEN, OPEN]}}, ("width",), ("open",)),
        (WIDTH | {"limit_rows": [{"when": OPEN, "upper": "1 mm"}]}, ("width",), ("open",)),
        (WIDTH | {"upper": "", "choice_list": "widths"}, ("width",), ("body",)),
        (WIDTH | {"applies_when": {"about": "characteristic", "name": "ratio", "is": "above", "values": ["3"]}},
         ("width",), ("gear", "pinion")),
        (WIDTH | {"applies_when": {"about": "characteristic", "name": "width", "is": "above", "values": ["3 mm"]}},
         ("width",), ()),
        ({"comparator": "all_of", "parts": [WIDTH | {"applies_when": OPEN}]}, ("width",), ("open",)),
    ],
)  # fmt: skip
def test_what_a_person_finds_and_what_conditions_ask(rule, found, asked):
    assert inputs(rule) == Inputs(found=found, asked=asked)


def test_clauses_that_are_asked_about():
    condition = {"all": [{"about": "clause", "name": "7", "is": "passed"}, {"about": "junior", "is": "yes"}]}
    assert inputs(WIDTH | {"applies_when": condition}).clauses == ("7",)


def test_a_circle_of_derivations_ends_and_an_unknown_code_stands_for_itself():
    assert expand(["egg"], REGISTER) == ("tire", "width")
    assert expand(["halo", "", "width", "halo"], REGISTER) == ("halo", "width")


def test_clauses_that_ask_about_themselves_by_way_of_others():
    def asks(number: str, *others: str):
        condition = {"any": [{"about": "clause", "name": other, "is": "passed"} for other in others]} if others else {}
        return parse_clause({"number": number, "text": "x", **WIDTH, "applies_when": condition}, REGISTER)

    sheet = [
        asks("1", "2"),
        asks("2", "3", "4"),
        asks("3", "1"),
        asks("4"),
        asks("5", "1"),
        asks("6", "6"),
        asks("7", "9"),
    ]
    assert circular_clauses(sheet) == {"1", "2", "3", "6"}
