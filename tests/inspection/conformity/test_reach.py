"""Conditions that can never hold."""

import datetime as dt
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inspection.conformity.conditions import About, AllOf, AnyOf, Op, Term, Truth, evaluate
from inspection.conformity.facts import Facts, ask_facts, ask_quantity
from inspection.conformity.parse import parse_condition
from inspection.conformity.reach import ALWAYS, NEVER, can_hold, opposite
from inspection.conformity.subjects import CharacteristicKind, Subject
from inspection.units import Kind, as_unit

REGISTER = {
    "height": Subject(code="height", name="height", kind=CharacteristicKind.LENGTH, unit=as_unit("mm", Kind.LENGTH)),
    "motor": Subject(code="motor", name="motor", kind=CharacteristicKind.CHOICE),
}


def term(about: str, op: str, *values: str, name: str = ""):
    data = {"about": about, "is": op} | ({"name": name} if name else {}) | ({"values": list(values)} if values else {})
    return parse_condition(data, REGISTER)


def height(op: str, *values: str):
    return term("characteristic", op, *values, name="height")


def motor(op: str, *values: str):
    return term("characteristic", op, *values, name="motor")


@pytest.mark.parametrize(
    "together",
    [
        [height("below", "40 mm"), height("at_least", "40 mm")],
        [height("at_most", "40 mm"), height("above", "40 mm")],
        [height("between", "10", "20"), height("above", "1 in")],
        [height("between", "30", "20")],
        [height("one_of", "40"), height("none_of", "40 mm", "41 mm")],
        [height("one_of", "40", "41"), height("below", "40")],
        [motor("one_of", "A"), motor("none_of", "a", "b")],
        [motor("one_of", "A"), motor("one_of", "B")],
        [term("junior", "yes"), term("junior", "no")],
        [term("flag", "yes", name="wet"), term("flag", "no", name="WET")],
        [term("clause", "passed", name="3"), term("clause", "failed", name="3")],
        [term("date", "below", "2026-03-01"), term("date", "at_least", "2026-03-01")],
        [term("scale", "one_of", "1:24"), term("scale", "none_of", "1:24", "1:32")],
        [AnyOf((height("below", "10"), height("above", "20"))), height("between", "12", "18")],
        [NEVER],
    ],
)
def test_contradictions(together):
    assert not can_hold(together)
    assert not can_hold([AllOf(tuple(together))])


@pytest.mark.parametrize(
    "together",
    [
        [],
        [ALWAYS],
        [height("at_most", "40 mm"), height("at_least", "40 mm")],
        [height("above", "40 mm"), height("below", "40.001 mm")],
        [height("none_of", "40"), height("between", "40", "41")],
        [motor("one_of", "A", "B"), motor("none_of", "B")],
        [term("flag", "yes", name="wet"), term("flag", "no", name="cold")],
        [term("date", "above", "2026-02-28"), term("date", "below", "2026-03-02")],
        [AnyOf((height("below", "10"), height("above", "20"))), height("between", "12", "28")],
        [term("scale", "one_of", "1:24"), term("grade", "one_of", "1:32")],
    ],
)
def test_what_can_hold(together):
    assert can_hold(together)


def test_days_have_nothing_between_them_but_lengths_do():
    assert not can_hold([term("date", "above", "2026-02-28"), term("date", "below", "2026-03-01")])
    assert can_hold([height("above", "1"), height("below", "2")])


@pytest.mark.parametrize("day", ["0001-01-01", "9999-12-31"])
def test_the_first_and_the_last_day_there_are(day):
    assert can_hold([term("date", "at_least", day), term("date", "at_most", day)])


def test_a_clause_that_has_not_passed_need_not_have_failed():
    assert can_hold([opposite(term("clause", "passed", name="3")), opposite(term("clause", "failed", name="3"))])


def test_what_is_too_long_to_follow_is_taken_for_possible():
    many = [AnyOf(tuple(height("below", str(size)) for size in range(1, 9))) for _ in range(5)]
    assert can_hold([*many, term("junior", "yes"), term("junior", "no")])


SIZES = st.integers(0, 4).map(str)
TERMS = st.one_of(
    st.builds(height, st.sampled_from(["at_least", "at_most", "below", "above", "one_of", "none_of"]), SIZES),
    st.builds(lambda low, high: height("between", low, high), SIZES, SIZES),
    st.builds(lambda op: term("junior", op), st.sampled_from(["yes", "no"])),
    st.builds(
        lambda op, scale: term("scale", op, scale), st.sampled_from(["one_of", "none_of"]), st.sampled_from("ab")
    ),
)
TREES = st.recursive(
    TERMS,
    lambda inner: (
        st.lists(inner, min_size=1, max_size=3)
        .map(tuple)
        .flatmap(lambda parts: st.sampled_from([AllOf(parts), AnyOf(parts)]))
    ),
    max_leaves=6,
)
NIGHTS = [
    (Fraction(half, 2), Facts(junior=junior, scale=scale, date=dt.date(2026, 1, 1)))
    for half in range(-1, 10)
    for junior in (True, False)
    for scale in ("a", "b", "c")
]


def truth(condition, size, facts) -> bool:
    def ask(one: Term):
        return ask_quantity(one, Kind.LENGTH, size) if one.about is About.CHARACTERISTIC else ask_facts(one, facts)

    found = evaluate(condition, ask).truth
    assert found is not Truth.UNKNOWN
    return found is Truth.YES


@settings(deadline=None)
@given(TREES)
def test_it_can_hold_exactly_when_some_night_makes_it_hold(condition):
    """Tried out: every half millimeter, junior or not, three scales."""
    assert can_hold([condition]) is any(truth(condition, *night) for night in NIGHTS)


@settings(deadline=None)
@given(TREES)
def test_the_opposite_holds_exactly_when_the_condition_does_not(condition):
    against = opposite(condition)
    assert all(truth(condition, *night) is not truth(against, *night) for night in NIGHTS)


def test_every_operator_but_a_clauses_has_an_opposite():
    assert all(
        opposite(Term(About.FLAG, op, "x")) != ALWAYS for op in Op if op not in {Op.PASSED, Op.FAILED, Op.BETWEEN}
    )
