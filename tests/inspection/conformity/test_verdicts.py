"""From what was found to what people are told."""

from dataclasses import replace
from fractions import Fraction

import pytest

from inspection.conformity.assess import (
    BENEFIT_OF_DOUBT,
    CERTAIN_PASS,
    SIMPLE_ACCEPTANCE,
    Measurement,
    assess,
    make_limits,
    make_measurement,
)
from inspection.conformity.clauses import CharacteristicKind, Clause, Comparator
from inspection.conformity.errors import MESSAGES, ConformityCode, ConformityError
from inspection.conformity.uncertainty import GaugeSpec
from inspection.conformity.verdicts import (
    JUDGE_DECIDES,
    NOT_CHECKED,
    Outcome,
    Ruling,
    Verdict,
    answer_choice,
    answer_yes_no,
    judge_clause,
    verdict,
)
from inspection.units import Kind, Quantity, parse_quantity


def length(text: str) -> Quantity:
    return parse_quantity(text, Kind.LENGTH, default_unit="mm")


CALIPER = GaugeSpec(kind=Kind.LENGTH, resolution=Fraction("0.01"), max_permissible_error=Fraction("0.02"))
WIDTH = Clause(
    number="3.1",
    text="The car is at most 65 mm wide.",
    characteristic="width over the tires",
    kind=CharacteristicKind.LENGTH,
    measuring_point="rear tires, at the widest place",
    comparator=Comparator.AT_MOST,
    upper=length("65 mm"),
)
MOTOR = Clause(
    number="3.3",
    text="One of the listed motors.",
    characteristic="motor",
    kind=CharacteristicKind.CHOICE,
    comparator=Comparator.ONE_OF,
    choices=("Long can", "Short can"),
)
WINDOWS = Clause(
    number="3.4",
    text="The windows are clear.",
    characteristic="windows clear",
    kind=CharacteristicKind.YES_NO,
    comparator=Comparator.YES_NO,
    expected_answer=True,
)
SPIRIT = Clause(number="3.5", text="In the spirit of the class.", comparator=Comparator.JUDGE_DECIDES)


def reading(text: str) -> Measurement:
    return make_measurement(length(text), CALIPER)


class TestReadings:
    @pytest.mark.parametrize(
        ("rule", "text", "outcome", "clears", "too_close"),
        [
            (SIMPLE_ACCEPTANCE, "64.90", Outcome.PASS, True, False),
            (SIMPLE_ACCEPTANCE, "64.99", Outcome.PASS, True, True),
            (SIMPLE_ACCEPTANCE, "65.00", Outcome.PASS, True, True),
            (SIMPLE_ACCEPTANCE, "65.01", Outcome.FAIL, False, True),
            (SIMPLE_ACCEPTANCE, "65.10", Outcome.FAIL, False, False),
            (BENEFIT_OF_DOUBT, "64.90", Outcome.PASS, True, False),
            (BENEFIT_OF_DOUBT, "65.01", Outcome.TOO_CLOSE, True, True),
            (BENEFIT_OF_DOUBT, "65.10", Outcome.FAIL, False, False),
            (CERTAIN_PASS, "64.90", Outcome.PASS, True, False),
            (CERTAIN_PASS, "64.99", Outcome.TOO_CLOSE, False, True),
            (CERTAIN_PASS, "65.10", Outcome.FAIL, False, False),
        ],
    )
    def test_the_result_and_too_close_are_both_kept(self, rule, text, outcome, clears, too_close):
        found = judge_clause(WIDTH, reading(text), rule)
        assert (found.outcome, found.clears, found.too_close) == (outcome, clears, too_close)
        assert found.assessment == assess(reading(text), WIDTH.limits, rule)

    def test_simple_acceptance_by_the_named_gauge_is_the_default(self):
        assert judge_clause(WIDTH, reading("65.00")).assessment.rule == SIMPLE_ACCEPTANCE


class TestAnswers:
    @pytest.mark.parametrize(
        ("given", "passes"),
        [("Long can", True), ("  long   CAN ", True), ("Slim can", False), ("", False), ("Long", False)],
    )
    def test_a_choice_is_in_the_list_or_not(self, given, passes):
        assert judge_clause(MOTOR, given).outcome is (Outcome.PASS if passes else Outcome.FAIL)
        assert answer_choice(given, MOTOR.choices).passes is passes

    def test_an_empty_entry_of_a_list_allows_nothing(self):
        assert not answer_choice(" ", ("", "Long can")).passes

    @pytest.mark.parametrize("expected", [True, False])
    @pytest.mark.parametrize("given", [True, False])
    def test_a_yes_or_no_passes_when_it_is_the_expected_one(self, given, expected):
        found = judge_clause(replace(WINDOWS, expected_answer=expected), given)
        assert found.outcome is (Outcome.PASS if given is expected else Outcome.FAIL)
        assert found.clears is (given is expected)
        assert answer_yes_no(given=given, expected=expected).given == ("yes" if given else "no")


class TestJudges:
    def test_only_a_judge_can_decide_some_clauses(self):
        assert judge_clause(SPIRIT, None) == JUDGE_DECIDES
        assert judge_clause(replace(WIDTH, comparator=Comparator.JUDGE_DECIDES), reading("60")) == JUDGE_DECIDES
        assert (JUDGE_DECIDES.outcome, JUDGE_DECIDES.clears) == (Outcome.JUDGE_DECIDES, False)

    @pytest.mark.parametrize("clause", [SPIRIT, WIDTH, MOTOR, WINDOWS])
    @pytest.mark.parametrize("passes", [True, False])
    def test_a_ruling_decides_any_clause(self, clause, passes):
        ruling = Ruling(passes=passes, judge="A. Judge", reason="Compared with the model.")
        assert judge_clause(clause, ruling) == Verdict(outcome=Outcome.PASS if passes else Outcome.FAIL, clears=passes)


class TestNotChecked:
    @pytest.mark.parametrize("clause", [WIDTH, MOTOR, WINDOWS])
    def test_what_was_not_found_out_is_never_a_pass(self, clause):
        assert judge_clause(clause, None) == NOT_CHECKED
        assert verdict(None) == NOT_CHECKED
        assert (NOT_CHECKED.outcome, NOT_CHECKED.clears) == (Outcome.NOT_CHECKED, False)


class TestRefusals:
    @pytest.mark.parametrize(
        ("clause", "evidence"),
        [
            (WIDTH, "65"),
            (WIDTH, True),
            (MOTOR, True),
            (MOTOR, reading("65")),
            (WINDOWS, "yes"),
            (WINDOWS, reading("65")),
            (replace(WINDOWS, expected_answer=None), True),
        ],
    )
    def test_evidence_of_another_sort_is_refused(self, clause, evidence):
        with pytest.raises(ConformityError) as refused:
            judge_clause(clause, evidence)
        assert refused.value.code is ConformityCode.WRONG_EVIDENCE
        assert clause.number in str(refused.value)

    @pytest.mark.parametrize("clause", [replace(WIDTH, comparator=None), replace(WIDTH, upper=None)])
    def test_a_clause_without_comparator_or_limit_cannot_be_decided(self, clause):
        with pytest.raises(ConformityError) as refused:
            judge_clause(clause, reading("65"))
        assert refused.value.code is ConformityCode.NOT_MEASURABLE

    def test_a_mass_does_not_answer_a_length(self):
        heavy = make_measurement(parse_quantity("65 g", Kind.MASS, default_unit=None))
        with pytest.raises(ConformityError) as refused:
            judge_clause(WIDTH, heavy)
        assert refused.value.code is ConformityCode.WRONG_KIND

    def test_every_code_has_a_message(self):
        assert set(MESSAGES) == set(ConformityCode)


def test_a_count_is_judged_exactly():
    four = parse_quantity("4", Kind.COUNT, default_unit=None)
    limits = make_limits(lower=four, upper=four)
    for typed, outcome in [("4", Outcome.PASS), ("3", Outcome.FAIL), ("5", Outcome.FAIL)]:
        counted = make_measurement(parse_quantity(typed, Kind.COUNT, default_unit=None))
        found = verdict(assess(counted, limits))
        assert (found.outcome, found.too_close) == (outcome, False)
