from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from racedesk.rotation.balance import balance
from racedesk.rotation.check import find_faults
from racedesk.rotation.draw import draw
from racedesk.rotation.errors import DrawError
from racedesk.rotation.plan import Preset
from racedesk.rotation.rounds import repeated


@settings(max_examples=40, deadline=None)
@given(drivers=st.integers(2, 20), lanes=st.integers(1, 8), rounds=st.integers(1, 4), preset=st.sampled_from(Preset))
def test_everybody_drives_every_lane_once_a_round(drivers, lanes, rounds, preset):
    plan = draw(drivers=drivers, lanes=lanes, rounds=rounds, preset=preset, seed=drivers)

    heats = max(drivers, lanes)
    assert len(plan.heats) == heats * rounds
    for first in range(0, len(plan.heats), heats):
        for column in zip(*plan.heats[first : first + heats], strict=True):
            assert sorted(driver for driver in column if driver) == list(range(1, drivers + 1))
    assert find_faults(plan) == []


@pytest.mark.parametrize(("drivers", "lanes"), [(14, 6), (24, 8), (9, 4), (30, 5)])
def test_over_two_rounds_meetings_are_more_even_than_twice_the_same(drivers, lanes):
    mixed = balance(draw(drivers=drivers, lanes=lanes, rounds=2, seed=1))
    once = draw(drivers=drivers, lanes=lanes, seed=1, by_lot=False)
    twice = Counter(times for row in balance(once).meetings for times in row)

    assert mixed.sum_of_squares < sum(4 * times**2 * pairs for times, pairs in twice.items()) // 2
    assert 100 * mixed.excess <= 3 * mixed.bound


def test_the_queue_and_the_waits_of_rest_go_on_through_the_rounds():
    for preset in (Preset.USUAL, Preset.REST):
        plan = draw(drivers=14, lanes=6, rounds=3, preset=preset, seed=7)
        assert plan.heats == plan.heats[:14] * 3
    assert balance(plan).back_to_back == 0


def test_where_all_drive_in_every_heat_rounds_are_alike():
    assert repeated([[0, 1, None], [None, 0, 1]], drivers=2, rounds=2, mixes=True) == [
        [0, 1, None], [None, 0, 1], [0, 1, None], [None, 0, 1],
    ]  # fmt: skip


def test_the_seed_does_not_change_the_balance_of_rounds():
    reports = [balance(draw(drivers=11, lanes=4, rounds=2, seed=seed)) for seed in (1, 2, 3)]

    assert len({report.pairs_by_meetings for report in reports}) == 1
    assert len({report.meetings for report in reports}) == 3


@settings(max_examples=40)
@given(data=st.data(), drivers=st.integers(2, 20), lanes=st.integers(2, 8), preset=st.sampled_from(Preset))
def test_lanes_left_empty_by_choice_stay_empty_and_the_others_are_a_rotation(data, drivers, lanes, preset):
    empty = data.draw(st.sets(st.integers(1, lanes), max_size=lanes - 1))
    plan = draw(drivers=drivers, lanes=lanes, preset=preset, empty=empty, seed=3)

    assert len(plan.heats) == max(drivers, lanes - len(empty))
    for lane, column in enumerate(zip(*plan.heats, strict=True), start=1):
        there = sorted(driver for driver in column if driver)
        assert there == ([] if lane in empty else list(range(1, drivers + 1)))
    assert find_faults(plan) == []
    assert plan.empty == tuple(sorted(empty))


def test_with_a_lane_empty_a_club_keeps_its_order_of_the_others():
    plan = draw(drivers=8, lanes=6, preset=Preset.USUAL, empty=(5,), seed=0, by_lot=False)

    assert plan.lane_order == (1, 3, 5, 6, 4, 2)
    assert plan.heats[0] == (5, 1, 4, 2, None, 3)
    assert plan.heats[1] == (6, 2, 5, 3, None, 4)


def test_a_fault_is_found_where_rounds_partial_lanes_or_empty_lanes_are_not_kept():
    whole = draw(drivers=5, lanes=3, seed=1)
    assert {f.code for f in find_faults(replace(whole, rounds=2))} == {"lane_missing"}
    assert {f.code for f in find_faults(replace(whole, empty=(2,)))} == {"not_empty"}
    fewer = draw(drivers=5, lanes=3, lanes_each=2, seed=1)
    assert {f.code for f in find_faults(replace(fewer, lanes_each=1))} == {"uneven_runs", "too_many_heats"}
    assert find_faults(fewer) == []


@pytest.mark.parametrize(
    ("asked", "code"),
    [
        ({"rounds": 0}, "bad_rounds"),
        ({"rounds": 21}, "bad_rounds"),
        ({"lanes_each": 0}, "bad_lanes_each"),
        ({"lanes_each": 5}, "bad_lanes_each"),
        ({"lanes_each": 4, "empty": (1,)}, "bad_lanes_each"),
        ({"empty": (5,)}, "bad_empty"),
        ({"empty": (1, 2, 3, 4)}, "bad_empty"),
    ],
)
def test_rounds_and_lanes_that_cannot_be_are_refused_with_their_code(asked, code):
    with pytest.raises(DrawError) as refusal:
        draw(**({"drivers": 6, "lanes": 4, "seed": 1} | asked))

    assert refusal.value.code == code
