"""What is prepared once a sheet gives what the sheet would work out the long way."""

import random
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inspection.conformity.assess import BENEFIT_OF_DOUBT, CERTAIN_PASS, SIMPLE_ACCEPTANCE
from inspection.conformity.clauses import (
    Allowance,
    Clause,
    Comparator,
    Counts,
    LimitRow,
    ListEntry,
    Reference,
    ToleranceStyle,
)
from inspection.conformity.errors import RuleCode, RuleError
from inspection.conformity.observations import Observation, Reading, measured, said
from inspection.conformity.parse import parse_condition
from inspection.conformity.plain import SheetRules, prepare
from inspection.conformity.sheet import Sheet, judge_sheet
from inspection.conformity.subjects import CharacteristicKind, Subject
from inspection.conformity.verdicts import Outcome, Ruling
from inspection.units import Kind, Quantity, base_unit, make_quantity
from tests.benchmarks import verdicts

REGISTER = {
    "width": Subject(code="width", name="Width", kind=CharacteristicKind.LENGTH),
    "raced": Subject(code="raced", name="Raced", kind=CharacteristicKind.YES_NO),
}
# Always true, so that a clause has to go the long way.
ALWAYS = parse_condition({"about": "phase", "is": "one_of", "values": ["before"]}, REGISTER)


def millimeters(number: int) -> Quantity:
    return make_quantity(Fraction(number, 10), base_unit(Kind.LENGTH))


@st.composite
def clauses(draw: st.DrawFn) -> Clause:
    low, width = draw(st.integers(0, 50)), draw(st.integers(0, 20))
    comparator = draw(st.sampled_from([*Comparator][:4]))
    ends = {
        Comparator.AT_LEAST: {"lower": millimeters(low)},
        Comparator.AT_MOST: {"upper": millimeters(low)},
        Comparator.BETWEEN: {"lower": millimeters(low), "upper": millimeters(low + width)},
        Comparator.EQUAL_WITHIN: {"nominal": millimeters(low), "tolerance": millimeters(width)},
    }[comparator]
    return Clause(
        number="1",
        text="Width.",
        characteristic="Width",
        code="width",
        kind=CharacteristicKind.LENGTH,
        measuring_point="At the hubs.",
        comparator=comparator,
        counts=draw(st.sampled_from(Counts)),
        decision=draw(st.sampled_from([None, SIMPLE_ACCEPTANCE, CERTAIN_PASS])),
        tolerance_style=draw(st.sampled_from([None, *ToleranceStyle])),
        allowance=draw(st.sampled_from([None, Allowance(share=Fraction(1, 10)), Allowance(quantity=millimeters(3))])),
        **ends,
    )


@st.composite
def observations(draw: st.DrawFn) -> Observation | None:
    if draw(st.integers(0, 9)) == 0:
        return draw(st.sampled_from([None, said(answer=True), measured()]))
    reading = st.builds(
        Reading,
        kind=st.sampled_from([Kind.LENGTH, Kind.LENGTH, Kind.LENGTH, Kind.MASS]),
        value=st.integers(0, 80).map(lambda number: Fraction(number, 10)),
        variance=st.sampled_from([Fraction(0), Fraction(1, 100), Fraction(1, 7)]),
        overdue=st.booleans(),
    )
    return measured(*draw(st.lists(reading, min_size=1, max_size=2)))


@settings(max_examples=200)
@given(clauses(), observations(), st.sampled_from([SIMPLE_ACCEPTANCE, BENEFIT_OF_DOUBT]), st.booleans(), st.data())
def test_the_short_way_and_the_long_way_come_to_the_same(clause, observed, decision, allows_overdue, data):
    style = data.draw(st.sampled_from(ToleranceStyle))
    outcomes = []
    for one in (clause, replace(clause, applies_when=ALWAYS)):
        sheet = Sheet(
            clauses=(one,),
            register=REGISTER,
            decision=decision,
            tolerance_style=style,
            tolerances={Kind.LENGTH: millimeters(2)},
            allows_overdue_gauges=allows_overdue,
        )
        (result,) = judge_sheet(sheet, {} if observed is None else {"width": observed})
        outcomes.append(replace(result, clause=clause))
    assert outcomes[0] == outcomes[1]


def test_a_ruling_stands_over_a_plain_reading():
    found = {"width": measured(Reading(Kind.LENGTH, Fraction(99)))}
    sheet = Sheet(clauses=(WIDTH,), register=REGISTER)
    assert judge_sheet(sheet, found)[0].outcome is Outcome.FAIL
    assert judge_sheet(sheet, found, rulings={"1": Ruling(True, "", "worn gauge")})[0].outcome is Outcome.PASS


WIDTH = Clause(
    number="1",
    text="Width.",
    code="width",
    kind=CharacteristicKind.LENGTH,
    measuring_point="At the hubs.",
    comparator=Comparator.AT_MOST,
    upper=millimeters(10),
)
RULES = SheetRules(decision=CERTAIN_PASS, tolerance_style=ToleranceStyle.NONE, tolerances={})


def test_a_clause_with_limits_of_its_own_is_plain():
    plain = prepare(WIDTH, RULES)
    assert (plain.code, plain.limits, plain.rule, plain.notes) == ("width", WIDTH.limits, CERTAIN_PASS, ())
    assert prepare(replace(WIDTH, decision=SIMPLE_ACCEPTANCE), RULES).rule is SIMPLE_ACCEPTANCE


@pytest.mark.parametrize(
    "more",
    [
        {"applies_when": ALWAYS},
        {"unless": ALWAYS},
        {"rows": (LimitRow(when=ALWAYS, upper=millimeters(9)),)},
        {"reference": Reference(code="width")},
        {"list_key": "body"},
        {"entries": (ListEntry(value="9 mm"),)},
        {"readings_wanted": 2},
        {"faults": (RuleError(RuleCode.NOT_TEXT, "upper"),)},
        {"is_struck": True},
        {"comparator": Comparator.YES_NO, "upper": None},
        {"comparator": None},
        {"upper": None},
        {"kind": CharacteristicKind.RESISTANCE, "upper": make_quantity(3, base_unit(Kind.RESISTANCE))},
    ],
    ids=" and ".join,
)
def test_a_clause_that_says_more_goes_the_long_way(more):
    assert prepare(replace(WIDTH, **more), RULES) is None


def test_the_ways_that_the_benchmark_times_come_to_the_same():
    chance = random.Random(11)
    night = verdicts.a_sheet(chance)
    cars = verdicts.some_readings(night, chance)[:10]
    one_at_a_time = verdicts.judge_by_engine(night, cars)
    assert verdicts.judge_by_sheet(night, cars) == one_at_a_time
    assert [margin >= 0 for _, _, _, margin, _ in one_at_a_time] == verdicts.compare_bare(night, cars)
    assert {clears for _, clears, *_ in one_at_a_time} == {True, False}
