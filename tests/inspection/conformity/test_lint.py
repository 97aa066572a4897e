"""What is wrong with a sheet of rules as data: how rules are put together, what they name, when they hold."""

from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest

from inspection.conformity.assess import BENEFIT_OF_DOUBT, CERTAIN_PASS, SIMPLE_ACCEPTANCE, DecisionRule, RuleStyle
from inspection.conformity.clauses import Clause, ListEntry, ToleranceStyle
from inspection.conformity.lint import find_problems
from inspection.conformity.parse import NamedList, parse_clause, with_rules
from inspection.conformity.problems import PROBLEMS, WARNINGS, ProblemCode
from inspection.conformity.subjects import CharacteristicKind, Derivation, DerivationForm, Subject
from inspection.conformity.uncertainty import GaugeSpec
from inspection.units import Kind, as_unit, parse_quantity

K = CharacteristicKind
CODE = ProblemCode


def subject(code: str, kind: CharacteristicKind, form: DerivationForm | None = None, *of: str) -> Subject:
    unit = {K.LENGTH: "mm", K.MASS: "g"}.get(kind)
    return Subject(
        code=code,
        name=code,
        kind=kind,
        measuring_point="as drawn",
        unit=as_unit(unit, kind.quantity_kind) if unit else None,
        derivation=Derivation(form, of) if form else None,
    )


REGISTER = {
    one.code: one
    for one in [
        subject("width", K.LENGTH), subject("rear-width", K.LENGTH), subject("height", K.LENGTH),
        subject("weight", K.MASS), subject("speed", K.ROTATION_SPEED), subject("teeth", K.COUNT),
        subject("motor", K.CHOICE), subject("body", K.CHOICE), subject("windows", K.YES_NO), subject("open", K.YES_NO),
        subject("egg", K.LENGTH, DerivationForm.SUM, "hen", "width"),
        subject("hen", K.LENGTH, DerivationForm.SUM, "egg", "width"),
        subject("gap", K.LENGTH, DerivationForm.DIFFERENCE, "rear-width", "width"),
    ]
}  # fmt: skip
LISTS = {
    "widths": NamedList(keyed_by="body", entries=(ListEntry(value="63 mm", key="A"), ListEntry(value="64", key="B"))),
    "words": NamedList(entries=(ListEntry(value="wide"),)),
    "lost key": NamedList(keyed_by="halo", entries=(ListEntry(value="63 mm", key="A"),)),
}
CALIPER = GaugeSpec(kind=Kind.LENGTH, resolution=Fraction("0.01"), max_permissible_error=Fraction("0.02"))
WIDTH = {"characteristic": "width", "comparator": "at_most", "upper": "63 mm"}
MOTOR = {"characteristic": "motor", "comparator": "one_of", "choices": ["Long can", "Short can"]}
WINDOWS = {"characteristic": "windows", "comparator": "yes_no"}


def asks(about: str, op: str, *values: str, name: str = "") -> dict[str, Any]:
    return {"about": about, "is": op} | ({"name": name} if name else {}) | ({"values": list(values)} if values else {})


HALL = asks("track", "one_of", "Hall")
OPEN = asks("characteristic", "yes", name="open")
CLOSED = asks("characteristic", "no", name="open")


def clauses(*rules: dict[str, Any]) -> list[Clause]:
    return [
        parse_clause({"number": str(place), "text": "As said.", **rule}, REGISTER, lists=LISTS, gauges={"c": CALIPER})
        for place, rule in enumerate(rules, start=1)
    ]


def codes(*rules: dict[str, Any], **more: Any) -> list[ProblemCode]:
    return [problem.code for problem in find_problems(clauses(*rules), register=REGISTER, **more)]


@pytest.mark.parametrize(
    ("rule", "expected"),
    [
        (WIDTH, []),
        # parts
        ({"comparator": "any_of"}, [CODE.PARTS_MISSING]),
        ({"comparator": "any_of", "parts": [MOTOR, WIDTH]}, []),
        (WIDTH | {"parts": [MOTOR]}, [CODE.PARTS_NOT_USED]),
        ({"comparator": "any_of", "parts": [MOTOR, {}]}, [CODE.PART_WITHOUT_COMPARATOR]),
        ({"comparator": "all_of", "parts": [MOTOR], "characteristic": "width", "upper": "1 mm"}, [CODE.LIMIT_NOT_USED]),
        (
            {"comparator": "any_of", "parts": [{"characteristic": "width", "comparator": "at_most"}]},
            [CODE.LIMIT_MISSING],
        ),
        ({"comparator": "any_of", "parts": [{"comparator": "yes_no"}]}, [CODE.CHARACTERISTIC_MISSING]),
        ({"comparator": "all_of", "parts": [{"comparator": "any_of"}]}, [CODE.PARTS_MISSING]),
        # comparisons
        ({"characteristic": "width", "comparator": "at_most", "other": "rear-width"}, []),
        ({"characteristic": "width", "comparator": "at_most", "other": "gap"}, []),
        ({"characteristic": "width", "comparator": "equal_within", "other": "rear-width"}, [CODE.LIMIT_MISSING]),
        (WIDTH | {"other": "rear-width"}, [CODE.OTHER_AND_LIMIT]),
        ({"characteristic": "width", "comparator": "at_most", "other": "width"}, [CODE.OTHER_IS_SUBJECT]),
        ({"characteristic": "width", "comparator": "at_most", "other": "weight"}, [CODE.OTHER_OF_WRONG_KIND]),
        (
            {"characteristic": "width", "comparator": "between", "lower": "1 mm", "upper": "2 mm", "other": "height"},
            [CODE.OTHER_NOT_USED],
        ),
        # lists
        ({"characteristic": "width", "comparator": "at_most", "choice_list": "widths"}, []),
        ({"characteristic": "width", "comparator": "at_most", "choice_list": "words"}, [CODE.LIST_SIZE_UNREADABLE]),
        (
            {"characteristic": "width", "comparator": "at_most", "choice_list": "lost key"},
            [CODE.UNKNOWN_CHARACTERISTIC],
        ),
        (WIDTH | {"choices": ["63"]}, [CODE.LIST_NOT_USED]),
        (WINDOWS | {"choices": ["yes"]}, [CODE.LIST_NOT_USED]),
        ({"characteristic": "motor", "comparator": "as_supplied"}, []),
        ({"characteristic": "width", "comparator": "as_supplied"}, [CODE.KIND_DOES_NOT_FIT]),
        ({"characteristic": "motor", "comparator": "as_supplied", "choices": ["a", "A"]}, [CODE.DUPLICATE_CHOICE]),
        (
            {"characteristic": "motor", "comparator": "one_of", "limit_rows": [{"when": HALL, "choices": ["A"]}]},
            [CODE.NO_LIMIT_ELSEWHERE],
        ),
        ({"characteristic": "motor", "comparator": "one_of", "limit_rows": [{"when": HALL}]}, [CODE.CHOICES_MISSING]),
        # rows
        (
            {"characteristic": "width", "comparator": "at_most", "limit_rows": [{"when": HALL, "upper": "1 mm"}]},
            [CODE.NO_LIMIT_ELSEWHERE],
        ),
        ({"characteristic": "width", "comparator": "at_most", "limit_rows": [{"when": {}, "upper": "1 mm"}]}, []),
        (
            {
                "characteristic": "width",
                "comparator": "at_most",
                "applies_when": HALL,
                "limit_rows": [{"when": HALL, "upper": "1 mm"}],
            },
            [],
        ),
        (
            {
                "characteristic": "width",
                "comparator": "at_most",
                "limit_rows": [{"when": OPEN, "upper": "1 mm"}, {"when": CLOSED, "upper": "2 mm"}],
            },
            [],
        ),
        (WIDTH | {"limit_rows": [{"when": HALL, "lower": "1 mm"}]}, [CODE.LIMIT_NOT_USED]),
        (
            {
                "characteristic": "width",
                "comparator": "between",
                "lower": "60 mm",
                "upper": "63 mm",
                "limit_rows": [{"when": HALL, "upper": "59 mm"}],
            },
            [CODE.LOWER_ABOVE_UPPER],
        ),
        # tolerances
        (WIDTH | {"tolerance_style": "in_rule"}, [CODE.ALLOWANCE_MISSING]),
        (WIDTH | {"tolerance_style": "in_rule", "allowance": "1 mm"}, []),
        (WIDTH | {"allowance": "1 mm"}, [CODE.ALLOWANCE_NOT_USED]),
        (WIDTH | {"tolerance_style": "none", "allowance": "1 mm"}, [CODE.ALLOWANCE_NOT_USED]),
        (
            WIDTH | {"tolerance_style": "in_rule", "allowance": "1 mm", "decision_rule": "certain_pass"},
            [CODE.TOLERANCE_AND_GUARD],
        ),
        # names
        (WIDTH | {"applies_when": asks("characteristic", "yes", name="halo")}, [CODE.UNKNOWN_CHARACTERISTIC]),
        (WIDTH | {"unless": asks("restricted", "yes", name="halo")}, [CODE.UNKNOWN_CHARACTERISTIC]),
        (WIDTH | {"applies_when": asks("clause", "passed", name="9")}, [CODE.UNKNOWN_CLAUSE]),
        (
            WIDTH | {"limit_rows": [{"when": asks("clause", "passed", name="9"), "upper": "1 mm"}]},
            [CODE.UNKNOWN_CLAUSE],
        ),
        ({"characteristic": "egg", "comparator": "at_most", "upper": "1 mm"}, [CODE.DERIVATION_BROKEN]),
        # conditions
        (WIDTH | {"applies_when": {"all": [OPEN, CLOSED]}}, [CODE.CONDITION_NEVER_HOLDS]),
        (WIDTH | {"applies_when": HALL, "unless": HALL}, [CODE.CONDITION_NEVER_HOLDS]),
        (WIDTH | {"applies_when": HALL, "unless": OPEN}, []),
        (WIDTH | {"unless": {"any": [OPEN, CLOSED]}}, [CODE.CONDITION_NEVER_HOLDS]),
        (
            WIDTH | {"phases": ["after"], "applies_when": asks("phase", "one_of", "before")},
            [CODE.CONDITION_NEVER_HOLDS],
        ),
        (
            WIDTH | {"limit_rows": [{"when": {}, "upper": "1 mm"}, {"when": HALL, "upper": "2 mm"}]},
            [CODE.ROW_NEVER_REACHED],
        ),
        (
            WIDTH | {"limit_rows": [{"when": HALL, "upper": "1 mm"}, {"when": HALL, "upper": "2 mm"}]},
            [CODE.ROW_NEVER_REACHED],
        ),
        (WIDTH | {"applies_when": OPEN, "limit_rows": [{"when": CLOSED, "upper": "1 mm"}]}, [CODE.ROW_NEVER_REACHED]),
        (
            WIDTH | {"limit_rows": [{"when": asks("phase", "one_of", "after"), "upper": "1 mm"}]},
            [CODE.ROW_NEVER_REACHED],
        ),
        (
            {"comparator": "all_of", "applies_when": OPEN, "parts": [WIDTH | {"applies_when": CLOSED}]},
            [CODE.CONDITION_NEVER_HOLDS],
        ),
        (WIDTH | {"applies_when": asks("clause", "passed", name="1")}, [CODE.CONDITION_CYCLE]),
        # figures
        (WIDTH | {"text": "At most 63 mm (2.48 in)."}, []),
        (WIDTH | {"text": "At most 63 mm (2.5 in)."}, [CODE.ROUNDED_CONVERSION]),
        (WIDTH | {"upper": "3.25 in", "text": "At most 82.5 mm."}, [CODE.ROUNDED_CONVERSION]),
        (WIDTH | {"upper": ".060 in", "limit_rows": [{"when": HALL, "upper": "1.5 mm"}]}, [CODE.ROUNDED_CONVERSION]),
        (
            {"comparator": "all_of", "text": "3.25 in (82.5 mm).", "parts": [WIDTH | {"upper": "3.25 in"}]},
            [CODE.ROUNDED_CONVERSION],
        ),
    ],
)
def test_each_fault_is_named(rule, expected):
    assert codes(rule) == expected


def test_a_circle_through_several_clauses_is_told_at_each():
    found = codes(
        WIDTH | {"applies_when": asks("clause", "passed", name="2")},
        WINDOWS | {"limit_rows": [], "unless": asks("clause", "failed", name="1")},
        MOTOR | {"applies_when": asks("clause", "passed", name="2")},
    )
    assert found == [CODE.CONDITION_CYCLE] * 2


def test_a_part_is_told_by_its_number_and_the_place_of_its_clause():
    rule = {"comparator": "any_of", "parts": [MOTOR, {"characteristic": "width", "comparator": "at_most"}]}
    (problem,) = find_problems(clauses(WINDOWS, rule), register=REGISTER)
    assert (problem.clause_number, problem.index, problem.blocking) == ("2/2", 1, True)


def test_a_rule_that_cannot_be_read_blocks_and_says_where():
    stored = with_rules(clauses(WIDTH)[0], {"unless": {"about": "weather"}}, REGISTER)
    (problem,) = find_problems([stored])
    assert (problem.code, problem.blocking) == (CODE.RULE_UNREADABLE, True)
    assert problem.message.startswith("“unless.about” cannot be read: “weather” is not one of")


def test_names_are_looked_up_only_in_a_register():
    rule = clauses(WIDTH | {"applies_when": asks("characteristic", "yes", name="halo")})
    assert find_problems(rule) == []


class TestContradictions:
    @pytest.mark.parametrize(
        ("one", "other"),
        [
            (WIDTH, {"characteristic": "width", "comparator": "at_least", "lower": "63.01 mm"}),
            (WIDTH, {"characteristic": "width", "comparator": "between", "lower": "2.5 in", "upper": "3 in"}),
            (MOTOR, {"characteristic": "motor", "comparator": "one_of", "choices": ["Sealed"]}),
            (WINDOWS, WINDOWS | {"expected_answer": False}),
            (
                WIDTH,
                {
                    "comparator": "all_of",
                    "parts": [MOTOR, WIDTH | {"comparator": "at_least", "upper": "", "lower": "70 mm"}],
                },
            ),
            (
                WIDTH,
                {
                    "characteristic": "width",
                    "comparator": "at_least",
                    "lower": "60 mm",
                    "limit_rows": [{"when": HALL, "lower": "64 mm"}],
                },
            ),
        ],
    )
    def test_what_nothing_can_meet_at_once_is_told_at_the_later_clause(self, one, other):
        (problem,) = find_problems(clauses(one, other), register=REGISTER)
        assert (problem.code, problem.index, problem.blocking) == (CODE.CONTRADICTION, 1, True)
        assert "clause 1" in problem.message

    @pytest.mark.parametrize(
        ("one", "other"),
        [
            (WIDTH, {"characteristic": "width", "comparator": "at_least", "lower": "63 mm"}),
            (WIDTH, {"characteristic": "rear-width", "comparator": "at_least", "lower": "64 mm"}),
            (
                WIDTH | {"applies_when": OPEN},
                {"characteristic": "width", "comparator": "at_least", "lower": "64 mm", "applies_when": CLOSED},
            ),
            (
                WIDTH | {"unless": HALL},
                {"characteristic": "width", "comparator": "at_least", "lower": "64 mm", "applies_when": HALL},
            ),
            (WIDTH, {"characteristic": "width", "comparator": "at_least", "lower": "64 mm", "phases": ["after"]}),
            (MOTOR, {"characteristic": "motor", "comparator": "one_of", "choices": ["Sealed", "SHORT can"]}),
            (
                WIDTH,
                {
                    "comparator": "any_of",
                    "parts": [MOTOR, WIDTH | {"comparator": "at_least", "upper": "", "lower": "70 mm"}],
                },
            ),
            (
                WIDTH,
                {
                    "characteristic": "width",
                    "comparator": "at_least",
                    "lower": "70 mm",
                    "limit_rows": [{"when": {}, "lower": "60 mm"}],
                },
            ),
        ],
    )
    def test_what_can_be_met_is_no_contradiction(self, one, other):
        assert codes(one, other) == []

    def test_a_class_sheet_against_its_general_sheet(self):
        parent = clauses(WIDTH, WINDOWS)
        child = clauses(WINDOWS, WINDOWS, {"characteristic": "width", "comparator": "at_least", "lower": "64 mm"})[2:]
        (problem,) = find_problems(child, register=REGISTER, parent=parent)
        assert (problem.code, problem.clause_number, problem.index) == (CODE.CONTRADICTION, "3", 0)
        assert problem.params["other"] == "1"

    def test_told_at_the_class_sheet_wherever_its_number_stands(self):
        parent = clauses(WINDOWS, WIDTH)[1:]
        child = clauses({"characteristic": "width", "comparator": "at_least", "lower": "64 mm"})
        (problem,) = find_problems(child, register=REGISTER, parent=parent)
        assert (problem.code, problem.clause_number, problem.params["other"]) == (CODE.CONTRADICTION, "1", "2")

    def test_not_when_the_class_sheet_overrides_or_strikes_the_clause(self):
        parent = clauses(WIDTH)
        wide = {"characteristic": "width", "comparator": "at_least", "lower": "64 mm"}
        assert find_problems(clauses(wide), register=REGISTER, parent=parent) == []
        struck = clauses({"is_struck": True, "text": ""}, wide)
        assert find_problems(struck, register=REGISTER, parent=parent) == []

    def test_limits_in_two_clauses_that_are_meant_to_be_one(self):
        (problem,) = find_problems(clauses(WIDTH | {"upper": "3.25 in"}, WIDTH | {"upper": "82.5 mm"}))
        assert (problem.code, problem.index, problem.blocking) == (CODE.ROUNDED_CONVERSION, 1, False)
        assert problem.message == (
            "3.25 in and 82.5 mm are not the same: 3.25 in is 82.55 mm. Print the exact figure, or one of them only."
        )


class TestStriking:
    def test_a_number_that_the_general_sheet_lacks_blocks(self):
        struck = clauses({"is_struck": True, "text": ""})
        (problem,) = find_problems(struck)
        assert (problem.code, problem.blocking) == (CODE.STRIKES_NOTHING, True)
        assert find_problems(struck, parent=clauses(WIDTH)) == []

    def test_conditions_may_ask_inherited_clauses_but_not_struck_ones(self):
        rule = WINDOWS | {"number": "5", "applies_when": asks("clause", "passed", name="1")}
        assert find_problems(clauses(rule), register=REGISTER, parent=clauses(WIDTH)) == []
        struck = clauses({"is_struck": True, "text": ""}, rule)
        (problem,) = find_problems(struck, register=REGISTER, parent=clauses(WIDTH))
        assert (problem.code, problem.params["name"]) == (CODE.UNKNOWN_CLAUSE, "1")

    def test_a_circle_through_an_inherited_clause_is_told(self):
        parent = clauses(WIDTH | {"applies_when": asks("clause", "passed", name="2")})
        child = clauses(WIDTH, WINDOWS | {"applies_when": asks("clause", "passed", name="1")})[1:]
        assert [problem.code for problem in find_problems(child, register=REGISTER, parent=parent)] == [
            CODE.CONDITION_CYCLE
        ]


class TestGauges:
    """u2 of the caliper is 0.01^2 / 12 + 0.02^2 / 3: 1.65 u is 0.0196 mm, 2 u is 0.0238 mm."""

    def band(self, tolerance: str, **more: Any) -> dict[str, Any]:
        rule = {"characteristic": "width", "comparator": "equal_within", "nominal": "60 mm", "tolerance": tolerance}
        return rule | {"gauge": "c"} | more

    @pytest.mark.parametrize(
        ("tolerance", "decision", "expected"),
        [
            ("0.0195 mm", CERTAIN_PASS, [CODE.GAUGE_CANNOT_DECIDE]),
            ("0.0197 mm", CERTAIN_PASS, []),
            ("0.0195 mm", BENEFIT_OF_DOUBT, [CODE.ALWAYS_TOO_CLOSE]),
            ("0.0237 mm", SIMPLE_ACCEPTANCE, [CODE.ALWAYS_TOO_CLOSE]),
            ("0.0239 mm", SIMPLE_ACCEPTANCE, []),
        ],
    )
    def test_a_band_narrower_than_twice_the_guard_band_can_pass_nothing(self, tolerance, decision, expected):
        assert codes(self.band(tolerance), decision=decision) == expected

    def test_a_band_of_exactly_twice_the_guard_band_passes_its_middle(self):
        known = GaugeSpec(
            kind=Kind.LENGTH,
            resolution=Fraction(0),
            max_permissible_error=Fraction(0),
            repeatability=Fraction("0.01"),
        )
        twice = DecisionRule(RuleStyle.CERTAIN_PASS, Fraction(2))
        for tolerance, expected in (("0.02 mm", []), ("0.0199 mm", [CODE.GAUGE_CANNOT_DECIDE])):
            (clause,) = clauses(self.band(tolerance))
            problems = find_problems([replace(clause, gauge=known)], decision=twice)
            assert [problem.code for problem in problems] == expected
        (clause,) = clauses(self.band("0.02 mm"))
        (problem,) = find_problems([replace(clause, gauge=known)])
        assert problem.code is CODE.ALWAYS_TOO_CLOSE

    def test_a_printed_tolerance_makes_room_and_takes_the_guard_band_away(self):
        rule = self.band("0.01 mm", tolerance_style="in_rule", allowance="0.1 mm")
        assert codes(rule, decision=CERTAIN_PASS) == [CODE.TOLERANCE_AND_GUARD]
        whole = {"tolerance_style": ToleranceStyle.WHOLE_SHEET,
                 "tolerances": {Kind.LENGTH: parse_quantity("0.1 mm", Kind.LENGTH, default_unit=None)}}  # fmt: skip
        assert codes(self.band("0.01 mm"), decision=CERTAIN_PASS, **whole) == [CODE.TOLERANCE_AND_GUARD]

    def test_a_limit_so_near_to_nothing_that_the_gauge_cannot_tell(self):
        overhang = WIDTH | {"upper": "0.015 mm", "gauge": "c"}
        assert codes(overhang, decision=CERTAIN_PASS) == [CODE.GAUGE_CANNOT_DECIDE]
        assert codes(overhang) == [CODE.ALWAYS_TOO_CLOSE]
        assert codes(WIDTH | {"gauge": "c"}, decision=CERTAIN_PASS) == []
        least = {"characteristic": "width", "comparator": "at_least", "lower": "0.001 mm", "gauge": "c"}
        assert codes(least, decision=CERTAIN_PASS) == []

    def test_the_limits_of_a_row_count_too(self):
        rule = {
            "characteristic": "width", "comparator": "between", "lower": "60 mm", "upper": "63 mm", "gauge": "c",
            "limit_rows": [{"when": HALL, "upper": "60.02 mm"}],
        }  # fmt: skip
        assert codes(rule, decision=CERTAIN_PASS) == [CODE.GAUGE_CANNOT_DECIDE]

    def test_a_gauge_of_another_kind(self):
        rule = {"characteristic": "weight", "comparator": "at_least", "lower": "100 g", "gauge": "c"}
        (problem,) = find_problems(clauses(rule))
        assert (problem.code, problem.blocking) == (CODE.GAUGE_OF_WRONG_KIND, True)
        assert problem.message == "The gauge measures a length, but weight is a mass."

    def test_the_figures_are_told(self):
        (problem,) = find_problems(clauses(self.band("0.0195 mm")), decision=CERTAIN_PASS)
        assert problem.params == {"guard": "0.020 mm", "room": "0.039 mm"}


def test_every_problem_has_a_message_and_warnings_are_known_ones():
    assert set(PROBLEMS) == set(ProblemCode)
    assert set(ProblemCode) > WARNINGS
