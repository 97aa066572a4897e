from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from racedesk.rotation.balance import balance, least_sum_of_squares
from racedesk.rotation.draw import draw
from racedesk.rotation.plan import Plan, Preset


def plan_of(heats, *, drivers, lanes):
    return Plan(
        drivers=drivers,
        lanes=lanes,
        preset=Preset.USUAL,
        seed=0,
        steps=1,
        lane_order=tuple(range(1, lanes + 1)),
        by_lot=False,
        heats=tuple(heats),
    )


# Four drivers on three lanes, counted by hand.
BY_HAND = plan_of([(1, 2, 3), (2, None, 4), (1, None, None), (4, 1, 2)], drivers=4, lanes=3)


def test_meetings_are_counted_heat_by_heat():
    report = balance(BY_HAND)

    assert report.meetings == ((0, 2, 1, 1), (2, 0, 1, 2), (1, 1, 0, 0), (1, 2, 0, 0))
    assert (report.meetings_min, report.meetings_max) == (0, 2)
    assert report.pairs_by_meetings == ((0, 1), (1, 3), (2, 2))
    assert report.sum_of_squares == 3 * 1 + 2 * 4
    assert report.never_meet == 1
    assert report.never_meeting_pairs() == ((3, 4),)
    assert report.pairs == 6


def test_only_lanes_next_to_each_other_make_neighbors():
    report = balance(BY_HAND)

    assert report.neighbors == ((0, 2, 0, 1), (2, 0, 1, 0), (0, 1, 0, 0), (1, 0, 0, 0))
    assert (report.neighbors_min, report.neighbors_max) == (0, 2)


def test_waits_are_heats_sat_out_between_two_runs():
    report = balance(BY_HAND)

    assert report.waits == ((1, 0), (0, 1), (), (1,))
    assert report.longest_wait == 1
    assert report.back_to_back_each == (1, 1, 0, 0)
    assert report.back_to_back == 2
    assert report.runs_on_end == (2, 2, 1, 1)
    assert report.most_runs_on_end == 2
    assert report.sit_outs == (1, 1, 3, 2)


def test_lanes_are_counted_for_each_driver():
    assert balance(BY_HAND).lane_counts == ((2, 1, 0), (1, 1, 1), (0, 0, 1), (1, 0, 1))


def test_a_driver_who_never_runs_is_counted_too():
    report = balance(plan_of([(1, 2)], drivers=3, lanes=2))

    assert report.runs_on_end == (1, 1, 0)
    assert report.sit_outs == (0, 0, 1)
    assert report.longest_wait == 0


@given(meetings=st.integers(0, 12), pairs=st.integers(1, 4))
def test_no_other_spread_of_the_meetings_has_a_smaller_sum_of_squares(meetings, pairs):
    smallest = min(
        sum(part * part for part in parts)
        for parts in product(range(meetings + 1), repeat=pairs)
        if sum(parts) == meetings
    )

    assert least_sum_of_squares(meetings=meetings, pairs=pairs) == smallest


@pytest.mark.parametrize(
    ("drivers", "lanes", "bound"),
    [(20, 5, 220), (17, 6, 493), (22, 7, 924), (20, 8, 1660), (60, 8, 1680), (23, 10, 4255), (7, 3, 21)],
)
def test_the_bound_is_the_one_of_the_design_literature(drivers, lanes, bound):
    # P q^2 + (v r / 2)(2 q + 1) with k (k - 1) = q (v - 1) + r and P = v (v - 1) / 2.
    q, r = divmod(lanes * (lanes - 1), drivers - 1)
    formula = drivers * (drivers - 1) // 2 * q * q + drivers * r * (2 * q + 1) // 2
    plan = draw(drivers=drivers, lanes=lanes, preset=Preset.USUAL, seed=1)

    assert balance(plan).bound == bound == formula


@given(drivers=st.integers(2, 25), lanes=st.integers(1, 8), seed=st.integers(0, 10**6))
def test_no_plan_is_more_even_than_the_bound(drivers, lanes, seed):
    report = balance(draw(drivers=drivers, lanes=lanes, preset=Preset.USUAL, seed=seed))

    assert report.excess >= 0
    assert report.is_as_even_as_can_be == (report.meetings_max - report.meetings_min <= 1)
    assert sum(times * pairs for times, pairs in report.pairs_by_meetings) * 2 == sum(map(sum, report.meetings))
    assert sum(map(len, report.waits)) == drivers * (lanes - 1)
