"""Conditions have three values, and what is unknown is named."""

import datetime as dt
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspection.conformity.conditions import (
    NO,
    OPERATORS,
    YES,
    About,
    AllOf,
    Answered,
    AnyOf,
    Lacking,
    Missing,
    Op,
    Term,
    Truth,
    answered,
    both,
    evaluate,
    in_list,
    in_order,
    negate,
    simplify,
    terms_of,
    unknown,
)

Y, N, U = Truth.YES, Truth.NO, Truth.UNKNOWN
# Kleene's strong logic, written out.
AND = {
    (Y, Y): Y, (Y, N): N, (Y, U): U,
    (N, Y): N, (N, N): N, (N, U): N,
    (U, Y): U, (U, N): N, (U, U): U,
}  # fmt: skip
OR = {
    (Y, Y): Y, (Y, N): Y, (Y, U): Y,
    (N, Y): Y, (N, N): N, (N, U): U,
    (U, Y): Y, (U, N): U, (U, U): U,
}  # fmt: skip


def flag(name: str) -> Term:
    return Term(About.FLAG, Op.YES, name)


def asker(truths: dict[str, Truth]):
    def ask(term: Term) -> Answered:
        truth = truths[term.name]
        return unknown(Lacking.FLAG, term.name) if truth is U else answered(holds=truth is Y)

    return ask


A, B = flag("a"), flag("b")


class TestTruthTables:
    @pytest.mark.parametrize(("pair", "expected"), AND.items())
    def test_all(self, pair, expected):
        ask = asker(dict(zip("ab", pair, strict=True)))
        assert evaluate(AllOf((A, B)), ask).truth is expected
        assert both(ask(A), ask(B)).truth is expected

    @pytest.mark.parametrize(("pair", "expected"), OR.items())
    def test_any(self, pair, expected):
        assert evaluate(AnyOf((A, B)), asker(dict(zip("ab", pair, strict=True)))).truth is expected

    @pytest.mark.parametrize(("truth", "expected"), [(Y, N), (N, Y), (U, U)])
    def test_not(self, truth, expected):
        assert negate(asker({"a": truth})(A)).truth is expected

    def test_all_of_nothing_is_yes_and_any_of_nothing_is_no(self):
        assert evaluate(AllOf(()), asker({})) == YES
        assert evaluate(AnyOf(()), asker({})) == NO


class TestWhatIsMissing:
    def test_every_unknown_is_named_once_from_the_left(self):
        found = evaluate(AllOf((A, B, A)), asker({"a": U, "b": U}))
        assert found.missing == (Missing(Lacking.FLAG, "a"), Missing(Lacking.FLAG, "b"))

    @pytest.mark.parametrize(("group", "settled"), [(AllOf((A, B)), N), (AnyOf((A, B)), Y)])
    def test_nothing_is_missing_where_the_rest_settles_it(self, group, settled):
        assert evaluate(group, asker({"a": U, "b": settled})).missing == ()


def trees(depth: int):
    terms = st.sampled_from("abcd").map(flag)
    if depth == 0:
        return terms
    inner = st.lists(trees(depth - 1), max_size=3).map(tuple)
    return terms | st.builds(AllOf, inner) | st.builds(AnyOf, inner)


TRUTHS = st.fixed_dictionaries({name: st.sampled_from(Truth) for name in "abcd"})


@given(trees(3), TRUTHS)
def test_finding_out_what_was_missing_never_turns_a_yes_or_a_no(tree, truths):
    before = evaluate(tree, asker(truths))
    for guess in (Y, N):
        after = evaluate(tree, asker({name: guess if truth is U else truth for name, truth in truths.items()}))
        assert after.truth is not U
        if before.truth is not U:
            assert after == before
    assert bool(before.missing) is (before.truth is U)


@given(trees(3), TRUTHS)
def test_a_group_of_one_is_that_one(tree, truths):
    plain = simplify(tree)
    assert evaluate(plain, asker(truths)).truth is evaluate(tree, asker(truths)).truth
    assert list(terms_of(plain)) == list(terms_of(tree))


@pytest.mark.parametrize(
    ("op", "below", "on", "above"),
    [
        (Op.AT_LEAST, False, True, True),
        (Op.ABOVE, False, False, True),
        (Op.AT_MOST, True, True, False),
        (Op.BELOW, True, False, False),
        (Op.ONE_OF, False, True, False),
        (Op.NONE_OF, True, False, True),
    ],
)
def test_an_order_says_what_the_limit_itself_is(op, below, on, above):
    limit = [Fraction("47.5")]
    assert [in_order(Fraction(size), op, limit) for size in ("47.49", "47.5", "47.51")] == [below, on, above]


def test_between_has_both_its_ends():
    days = [dt.date(2026, 3, 1), dt.date(2026, 3, 31)]
    assert in_order(days[0], Op.BETWEEN, days)
    assert in_order(days[1], Op.BETWEEN, days)
    assert not in_order(dt.date(2026, 4, 1), Op.BETWEEN, days)
    assert not in_order(dt.date(2026, 2, 28), Op.BETWEEN, days)


def test_lists_compare_without_case_and_blanks_and_none_of_bars_each_answer():
    assert in_list([" LONG  can"], Op.ONE_OF, ["Long can"])
    assert not in_list(["Long can"], Op.NONE_OF, ["long CAN"])
    assert not in_list(["brass", "board"], Op.NONE_OF, ["board"])
    assert in_list(["brass"], Op.NONE_OF, ["board"])
    assert not in_list([], Op.ONE_OF, ["board"])


def test_something_can_be_asked_about_everything():
    assert set(OPERATORS) == set(About)
    assert all(OPERATORS.values())
