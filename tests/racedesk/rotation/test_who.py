"""Wishes: drivers change places and nothing else does; what is said to be met is counted again from the heats."""

from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from racedesk.rotation.balance import balance
from racedesk.rotation.draw import draw
from racedesk.rotation.errors import DrawError
from racedesk.rotation.plan import Plan, Preset
from racedesk.rotation.who import Granted, Kind, Seeding, Wish, grant

STEPS = 1_500


@st.composite
def plans_and_wishes(some):
    drivers, lanes = some(st.integers(2, 16)), some(st.integers(2, 6))
    plan = draw(drivers=drivers, lanes=lanes, preset=some(st.sampled_from(Preset)), seed=some(st.integers(0, 99)))
    most = {Kind.APART: drivers, Kind.FIRST_LANE: lanes}
    wishes = []
    for _ in range(some(st.integers(0, 5))):
        kind, driver = some(st.sampled_from(Kind)), some(st.integers(1, drivers))
        value = some(st.integers(1, most.get(kind, len(plan.heats))))
        if kind is not Kind.APART or value != driver:
            wishes.append(Wish(kind, driver, value, is_hard=some(st.booleans())))
    return plan, wishes


def is_kept(plan: Plan, wish: Wish) -> bool:
    heats = [(number, row) for number, row in enumerate(plan.heats, start=1) if wish.driver in row]
    if wish.kind is Kind.NOT_BEFORE:
        return heats[0][0] >= wish.value
    if wish.kind is Kind.NOT_AFTER:
        return heats[-1][0] <= wish.value
    if wish.kind is Kind.APART:
        return all(wish.value not in row for _number, row in heats)
    return heats[0][1].index(wish.driver) == wish.value - 1


def spread_of(plan: Plan, order: list[int]) -> int:
    rank = {driver: place for place, driver in enumerate(order)}
    return sum(
        abs(rank[a] - rank[b])
        for row in plan.heats
        for a, b in combinations([driver for driver in row if driver is not None], 2)
    )


@settings(max_examples=40, deadline=None)
@given(plans_and_wishes())
def test_drivers_only_change_places_and_what_is_met_is_told_truly(given_):
    plan, wishes = given_
    found = grant(plan, wishes, steps=STEPS)
    assert sorted(found.moved) == list(range(1, plan.drivers + 1))
    assert found.plan.heats == tuple(
        tuple(None if driver is None else found.moved[driver - 1] for driver in row) for row in plan.heats
    )
    assert found.are_met == tuple(is_kept(found.plan, wish) for wish in wishes)
    before, after = balance(plan), balance(found.plan)
    assert before.pairs_by_meetings == after.pairs_by_meetings
    assert before.back_to_back == after.back_to_back
    assert sorted(before.waits) == sorted(after.waits)


@settings(max_examples=40, deadline=None)
@given(plans_and_wishes())
def test_no_search_ends_worse_than_it_began_and_the_same_again_gives_the_same(given_):
    plan, wishes = given_

    def worth(found: Granted) -> tuple[int, int]:
        by_hard = {True: 0, False: 0}
        for wish, missed in zip(wishes, found.misses, strict=True):
            by_hard[wish.is_hard] += missed
        return by_hard[True], by_hard[False]

    found = grant(plan, wishes, steps=STEPS)
    assert worth(found) <= worth(grant(plan, wishes, steps=0))
    assert found == grant(plan, wishes, steps=STEPS)


@settings(max_examples=30, deadline=None)
@given(plans_and_wishes(), st.randoms(use_true_random=False), st.sampled_from(Seeding))
def test_seeding_brings_ranks_nearer_or_farther_and_counts_them_truly(given_, lot, seeding):
    plan, _wishes = given_
    order = list(range(1, plan.drivers + 1))
    lot.shuffle(order)
    found = grant(plan, [], order=order, seeding=seeding, steps=400)
    assert found.spread == spread_of(found.plan, order)
    before = spread_of(plan, order)
    assert found.spread <= before if seeding is Seeding.APART else found.spread >= before


def test_of_24_drivers_on_8_lanes_six_wishes_are_met():
    plan = draw(drivers=24, lanes=8, preset=Preset.USUAL, seed=4471)
    wishes = [
        Wish(Kind.NOT_BEFORE, 3, 6),
        Wish(Kind.NOT_AFTER, 17, 18),
        Wish(Kind.APART, 1, 2),
        Wish(Kind.APART, 9, 10),
        Wish(Kind.FIRST_LANE, 5, 4),
        Wish(Kind.FIRST_LANE, 6, 1, is_hard=False),
    ]
    assert all(grant(plan, wishes).are_met)
    assert not all(grant(plan, wishes, steps=0).are_met)


def test_the_hard_one_of_two_that_exclude_each_other_is_met():
    plan = draw(drivers=12, lanes=4, preset=Preset.OPPONENTS, seed=1)
    first, last = Wish(Kind.FIRST_LANE, 1, 1, is_hard=False), Wish(Kind.FIRST_LANE, 1, 3)
    assert grant(plan, [first, last]).are_met == (False, True)


def test_what_no_places_can_grant_is_said_to_be_missed():
    plan = draw(drivers=4, lanes=4, seed=1)
    found = grant(plan, [Wish(Kind.APART, 1, 2), Wish(Kind.NOT_BEFORE, 3, 3)])
    assert found.misses == (4, 2)


def test_a_heat_after_the_last_is_a_wish_too():
    plan = draw(drivers=8, lanes=4, seed=1)
    assert grant(plan, [Wish(Kind.NOT_BEFORE, 3, 99), Wish(Kind.NOT_AFTER, 3, 99)]).misses == (4, 0)


@pytest.mark.parametrize(
    ("wish", "more"),
    [
        (Wish(Kind.NOT_BEFORE, 0, 1), {}),
        (Wish(Kind.NOT_BEFORE, 9, 1), {}),
        (Wish(Kind.NOT_AFTER, 1, 0), {}),
        (Wish(Kind.FIRST_LANE, 1, 5), {}),
        (Wish(Kind.APART, 1, 1), {}),
        (Wish(Kind.APART, 1, 2), {"seeding": Seeding.MIXED}),
        (Wish(Kind.APART, 1, 2), {"order": [1, 2, 3]}),
    ],
)
def test_what_is_no_wish_is_refused(wish, more):
    plan = draw(drivers=8, lanes=4, seed=1)
    with pytest.raises(DrawError) as caught:
        grant(plan, [wish], **more)
    assert caught.value.code == "bad_wish"


def test_a_search_of_less_than_no_steps_is_refused():
    with pytest.raises(DrawError) as caught:
        grant(draw(drivers=8, lanes=4, seed=1), [], steps=-1)
    assert caught.value.code == "bad_steps"
