"""A director's own order of criteria: never worse by it than what it began with, and still a rotation."""

from dataclasses import replace
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from racedesk.rotation.balance import balance
from racedesk.rotation.check import find_faults
from racedesk.rotation.criteria import Criterion, arranged, counts
from racedesk.rotation.draw import draw
from racedesk.rotation.plan import Preset

ORDERS = st.lists(st.sampled_from(Criterion), min_size=1, max_size=5, unique=True)


def pairs_of(plan):
    return sorted(tuple(sorted(row)) for row in plan.heats)


@settings(max_examples=40)
@given(
    drivers=st.integers(2, 16),
    lanes=st.integers(1, 7),
    preset=st.sampled_from(Preset),
    order=ORDERS,
    seed=st.integers(0, 10**6),
)
def test_it_is_a_rotation_of_the_same_heats_and_no_worse_by_the_order(drivers, lanes, preset, order, seed):
    plan = draw(drivers=drivers, lanes=lanes, preset=preset, seed=seed)

    made = arranged(plan, order, steps=60)

    assert find_faults(made) == []
    assert counts(made.heats, order) <= counts(plan.heats, order)
    if drivers > lanes:
        assert pairs_of(made) == pairs_of(plan)
    else:
        assert made == plan


@settings(max_examples=20)
@given(order=ORDERS, seeds=st.tuples(st.integers(0, 10**6), st.integers(0, 10**6)))
def test_the_lot_changes_who_stands_where_and_nothing_else(order, seeds):
    one, other = (
        counts(arranged(draw(drivers=11, lanes=5, seed=seed), order, steps=80).heats, order) for seed in seeds
    )
    assert one == other


def test_each_criterion_is_what_the_report_counts():
    plan = draw(drivers=14, lanes=6, preset=Preset.USUAL, seed=3)
    report = balance(plan)

    meetings, on_end, wait, beside, moves = counts(plan.heats, Criterion)

    assert meetings == report.sum_of_squares
    assert on_end == report.back_to_back
    assert wait // 1_000_000 == report.longest_wait + 1
    assert beside == sum(report.neighbors[a][b] ** 2 for a, b in combinations(range(14), 2))
    # the odd-up, even-down order never asks for more than two lanes at a time
    assert moves == 0


def test_an_empty_lane_makes_nobody_neighbors():
    assert counts([(1, None, 2), (None, 1, 2)], [Criterion.BESIDE]) == (1,)


def test_what_stands_first_is_served_first():
    plan = draw(drivers=9, lanes=6, preset=Preset.USUAL, seed=8)
    rested = arranged(plan, [Criterion.ON_END, Criterion.WAIT])
    easy = arranged(draw(drivers=9, lanes=6, seed=8), [Criterion.MOVES, Criterion.ON_END])
    # A queue in the lanes' own order: the same two side by side again and again.
    queue = replace(plan, heats=tuple(tuple((heat + lane) % 9 + 1 for lane in range(6)) for heat in range(9)))
    apart = arranged(queue, [Criterion.BESIDE, Criterion.ON_END])

    assert counts(rested.heats, [Criterion.ON_END]) < counts(plan.heats, [Criterion.ON_END])
    assert counts(apart.heats, [Criterion.BESIDE]) < counts(queue.heats, [Criterion.BESIDE])
    assert counts(easy.heats, [Criterion.MOVES]) < counts(draw(drivers=9, lanes=6, seed=8).heats, [Criterion.MOVES])


def test_more_steps_are_never_worse_and_the_same_steps_give_the_same():
    plan = draw(drivers=17, lanes=6, seed=5)
    order = [Criterion.WAIT, Criterion.BESIDE]
    few, many, again = (arranged(plan, order, steps=steps) for steps in (50, 400, 400))
    assert counts(many.heats, order) <= counts(few.heats, order)
    assert many == again


@pytest.mark.parametrize("more", [{"rounds": 2}, {"lanes_each": 2}, {"empty": (2,)}])
def test_what_is_no_whole_rotation_stays_as_it_is(more):
    plan = draw(drivers=9, lanes=4, seed=2, **more)
    assert arranged(plan, list(Criterion)) == plan
