import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from racedesk.rotation.balance import balance
from racedesk.rotation.blocks import usual_steps
from racedesk.rotation.check import find_faults
from racedesk.rotation.draw import LARGEST_SEED, draw
from racedesk.rotation.errors import DrawError
from racedesk.rotation.order import odd_up_even_down
from racedesk.rotation.plan import Preset

SEEDS = st.integers(0, LARGEST_SEED)


def recount(plan):
    """Is this a rotation? Counted without the code under test."""
    everyone = set(range(1, plan.drivers + 1))
    assert len(plan.heats) == max(plan.drivers, plan.lanes)
    for row in plan.heats:
        assert len(row) == plan.lanes
        driving = [driver for driver in row if driver is not None]
        assert len(set(driving)) == len(driving)
    for column in zip(*plan.heats, strict=True):
        assert sorted(driver for driver in column if driver is not None) == sorted(everyone)


@pytest.mark.parametrize("preset", Preset)
def test_all_sizes_from_2_to_60_drivers_on_2_to_10_lanes_are_rotations(preset):
    for lanes in range(2, 11):
        for drivers in range(2, 61):
            plan = draw(drivers=drivers, lanes=lanes, preset=preset, seed=drivers)
            recount(plan)
            assert find_faults(plan) == []


@settings(max_examples=60)
@given(drivers=st.integers(2, 120), lanes=st.integers(1, 32), preset=st.sampled_from(Preset), seed=SEEDS)
def test_any_size_is_a_rotation(drivers, lanes, preset, seed):
    plan = draw(drivers=drivers, lanes=lanes, preset=preset, seed=seed, steps=500)

    recount(plan)
    assert find_faults(plan) == []


@given(data=st.data(), drivers=st.integers(2, 30), lanes=st.integers(2, 10), seed=SEEDS, by_lot=st.booleans())
def test_a_club_with_its_own_lane_order_gets_that_order(data, drivers, lanes, seed, by_lot):
    order = tuple(data.draw(st.permutations(range(1, lanes + 1))))
    plan = draw(drivers=drivers, lanes=lanes, preset=Preset.USUAL, seed=seed, lane_order=order, by_lot=by_lot)

    recount(plan)
    follows = {order[i]: order[(i + 1) % lanes] for i in range(lanes)}
    for before, after in zip(plan.heats, plan.heats[1:], strict=False):
        for lane, driver in enumerate(before, start=1):
            if driver is not None and driver in after:
                assert after.index(driver) + 1 == follows[lane]


@given(drivers=st.integers(3, 40), lanes=st.integers(1, 10), seed=SEEDS)
def test_in_the_usual_queue_one_comes_in_and_one_goes_out(drivers, lanes, seed):
    lanes = min(lanes, drivers - 1)
    plan = draw(drivers=drivers, lanes=lanes, preset=Preset.USUAL, seed=seed)

    for heat in range(1, drivers):
        came = plan.drivers_in(heat) - plan.drivers_in(heat - 1)
        assert len(came) == 1
        assert plan.heats[heat].index(*came) == plan.lane_order[0] - 1


def test_without_a_lot_the_first_drivers_of_the_list_begin_and_the_next_one_comes_in():
    plan = draw(drivers=8, lanes=6, preset=Preset.USUAL, seed=0, by_lot=False)

    assert plan.lane_order == (1, 3, 5, 6, 4, 2)
    assert plan.heats[0] == (6, 1, 5, 2, 4, 3)
    assert plan.heats[1] == (7, 2, 6, 3, 5, 4)
    assert plan.heats[2] == (8, 3, 7, 4, 6, 5)
    assert plan.heats[3] == (1, 4, 8, 5, 7, 6)


def test_without_a_lot_a_group_that_fits_the_track_begins_in_lane_order():
    plan = draw(drivers=3, lanes=4, preset=Preset.USUAL, seed=0, by_lot=False)

    assert plan.heats == ((1, None, 2, 3), (None, 3, 1, 2), (3, 2, None, 1), (2, 1, 3, None))


@pytest.mark.parametrize("preset", Preset)
@pytest.mark.parametrize("lanes", range(2, 11))
def test_drivers_who_fit_the_track_are_side_by_side_exactly_twice(lanes, preset):
    # E. J. Williams 1949: the zig-zag square puts every pair side by side exactly twice.
    for drivers in range(2, lanes + 1):
        report = balance(draw(drivers=drivers, lanes=lanes, preset=preset, seed=11))

        assert (report.neighbors_min, report.neighbors_max) == (2, 2)
        assert (report.meetings_min, report.meetings_max) == (lanes, lanes)
        assert report.is_as_even_as_can_be


@pytest.mark.parametrize(
    ("drivers", "lanes", "meetings", "back_to_back"),
    # Symmetric designs: any two heats share as many drivers as any pair has meetings, so the back-to-back runs
    # of all but the first heat cannot be fewer in any order.
    [(7, 3, 1, 6), (13, 4, 1, 12), (21, 5, 1, 20), (7, 4, 2, 12), (11, 5, 2, 20), (11, 6, 3, 30), (13, 9, 6, 72)],
)
def test_where_a_symmetric_design_exists_every_pair_meets_equally_often(drivers, lanes, meetings, back_to_back):
    report = balance(draw(drivers=drivers, lanes=lanes, seed=5))

    assert (report.meetings_min, report.meetings_max) == (meetings, meetings)
    assert report.sum_of_squares == report.bound == drivers * (drivers - 1) // 2 * meetings**2
    assert report.back_to_back == back_to_back


def test_fourteen_drivers_on_six_lanes_by_preset():
    usual, opponents, rest = (balance(draw(drivers=14, lanes=6, preset=preset, seed=4471)) for preset in Preset)

    assert usual.pairs_by_meetings == ((0, 21), (1, 14), (2, 14), (3, 14), (4, 14), (5, 14))
    assert (usual.longest_wait, usual.most_runs_on_end) == (8, 6)
    assert (min(usual.back_to_back_each), max(usual.back_to_back_each)) == (4, 5)
    assert opponents.pairs_by_meetings == ((2, 63), (3, 28))
    assert opponents.is_as_even_as_can_be
    assert (opponents.longest_wait, opponents.most_runs_on_end) == (3, 2)
    assert (min(opponents.back_to_back_each), max(opponents.back_to_back_each)) == (1, 2)
    assert rest.pairs_by_meetings == ((0, 14), (2, 35), (3, 28), (4, 14))
    assert (rest.back_to_back, rest.longest_wait) == (0, 2)


def test_with_24_drivers_on_8_lanes_the_usual_queue_keeps_39_percent_of_the_pairs_apart():
    usual = balance(draw(drivers=24, lanes=8, preset=Preset.USUAL, seed=1))
    opponents = balance(draw(drivers=24, lanes=8, seed=1))

    assert round(100 * usual.never_meet / usual.pairs, 1) == 39.1
    assert (usual.longest_wait, usual.back_to_back) == (16, 161)
    assert (opponents.meetings_min, opponents.meetings_max, opponents.never_meet) == (2, 3, 0)
    assert (opponents.longest_wait, opponents.back_to_back) == (4, 46)


@pytest.mark.parametrize(
    ("drivers", "lanes", "most"),
    [
        (7, 3, 1), (8, 4, 1), (12, 4, 1), (13, 4, 1), (10, 6, 2), (16, 8, 1),
        (21, 5, 1), (24, 8, 1), (30, 8, 1), (40, 8, 1), (57, 8, 1), (60, 8, 1),
    ],
)  # fmt: skip
def test_neighbors_change_as_evenly_as_can_be(drivers, lanes, most):
    # The mean is 2 (k - 1) / (v - 1) times side by side; nothing is more even than its floor and ceiling.
    report = balance(draw(drivers=drivers, lanes=lanes, seed=1))

    assert (report.neighbors_min, report.neighbors_max) == (most - 1, most)


@given(drivers=st.integers(2, 16), lanes=st.integers(1, 8), preset=st.sampled_from(Preset), seed=SEEDS)
def test_the_same_seed_gives_the_same_draw_and_the_seed_never_changes_its_balance(drivers, lanes, preset, seed):
    plan = draw(drivers=drivers, lanes=lanes, preset=preset, seed=seed, steps=2_000)
    again = draw(drivers=drivers, lanes=lanes, preset=preset, seed=seed, steps=2_000)
    other = draw(drivers=drivers, lanes=lanes, preset=preset, seed=LARGEST_SEED - seed, steps=2_000)

    assert plan == again
    assert balance(plan).pairs_by_meetings == balance(other).pairs_by_meetings
    assert balance(plan).back_to_back == balance(other).back_to_back


def test_different_seeds_give_different_draws():
    plans = {draw(drivers=14, lanes=6, seed=seed).heats for seed in range(50)}

    assert len(plans) == 50


def test_each_driver_begins_in_each_place_about_equally_often():
    first_lane = [draw(drivers=4, lanes=2, seed=seed).heats[0][0] for seed in range(400)]

    assert all(70 < first_lane.count(driver) < 130 for driver in range(1, 5))


def test_a_printed_draw_can_be_made_again_for_ever():
    assert draw(drivers=7, lanes=3, seed=4471).heats == (
        (1, 7, 3),
        (7, 6, 5),
        (6, 3, 2),
        (3, 5, 4),
        (5, 2, 1),
        (2, 4, 7),
        (4, 1, 6),
    )


def test_a_plan_keeps_what_it_was_made_from():
    plan = draw(drivers=9, lanes=4, preset=Preset.REST, seed=3)

    assert (plan.seed, plan.preset, plan.steps) == (3, Preset.REST, usual_steps(drivers=9))
    assert plan.lane_order == odd_up_even_down(4)
    assert plan.by_lot is True


def test_a_plan_tells_who_drives_and_who_sits_out():
    plan = draw(drivers=4, lanes=3, preset=Preset.USUAL, seed=0, by_lot=False)

    assert plan.drivers_in(0) == {1, 2, 3}
    assert plan.sitting_out(0) == (4,)


@pytest.mark.parametrize(
    ("asked", "code"),
    [
        ({"drivers": 1}, "too_few_drivers"),
        ({"drivers": 0}, "too_few_drivers"),
        ({"drivers": -5}, "too_few_drivers"),
        ({"drivers": 501}, "too_many_drivers"),
        ({"lanes": 0}, "too_few_lanes"),
        ({"lanes": -1}, "too_few_lanes"),
        ({"lanes": 33}, "too_many_lanes"),
        ({"lane_order": [1, 2, 3]}, "bad_lane_order"),
        ({"lane_order": [1, 2, 3, 3], "preset": Preset.REST}, "bad_lane_order"),
        ({"seed": -1}, "bad_seed"),
        ({"seed": 2**63}, "bad_seed"),
        ({"steps": 0}, "bad_steps"),
    ],
)
def test_a_draw_that_cannot_be_made_is_refused_with_its_code(asked, code):
    with pytest.raises(DrawError) as refusal:
        draw(**({"drivers": 6, "lanes": 4, "seed": 1} | asked))

    assert refusal.value.code == code
    assert refusal.value.message.endswith(".")
