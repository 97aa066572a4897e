from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from racedesk.rotation.draw import draw
from racedesk.rotation.errors import RedrawError
from racedesk.rotation.redraw import State, redraw
from racedesk.rotation.shorter import what_fits


@st.composite
def nights(draw_from):
    lanes = draw_from(st.integers(2, 8))
    drivers = draw_from(st.integers(3, 20))
    rounds = draw_from(st.sampled_from([1, 1, 2, 3]))
    plan = draw(drivers=drivers, lanes=lanes, seed=draw_from(st.integers(0, 99)), rounds=rounds)
    over = draw_from(st.integers(0, len(plan.heats)))
    gone = draw_from(st.sets(st.integers(1, drivers), max_size=drivers - 2))
    out = draw_from(st.sets(st.integers(1, lanes), max_size=lanes - 1))
    return State(
        lanes=lanes,
        drivers=tuple(range(1, drivers + 1)),
        run=plan.heats[:over],
        withdrawn=tuple(sorted(gone)),
        lanes_out=tuple(sorted(out)),
        excused=tuple(draw_from(st.sets(st.tuples(st.integers(1, drivers), st.integers(1, lanes)), max_size=4))),
        rounds=rounds,
    )


def shortened(state, found):
    return replace(state, excused=(*state.excused, *found.left_out))


@given(nights(), st.integers(0, 25))
def test_what_fits_is_driven_in_no_more_heats_and_shared_out_alike(state, heats):
    found = what_fits(state, heats=heats)
    after = redraw(shortened(state, found))

    assert len(after.heats) <= heats
    driven = Counter(driver for heat in (*state.run, *after.heats) for driver in heat if driver is not None)
    before = Counter(driver for heat in state.run for driver in heat if driver is not None)
    for driver in state.going_on():
        could = before[driver] + sum(one == driver for one, lane in state.missing() if lane not in state.lanes_out)
        assert driven[driver] == max(before[driver], min(could, found.runs_each))


@given(nights(), st.integers(0, 24))
def test_more_heats_never_mean_fewer_runs_and_all_the_heats_mean_all_the_runs(state, heats):
    assert what_fits(state, heats=heats).runs_each <= what_fits(state, heats=heats + 1).runs_each
    every = redraw(state)
    whole = what_fits(state, heats=len(every.heats))
    assert whole.left_out == ()


@given(nights(), st.integers(0, 20))
def test_one_run_more_for_everybody_would_not_fit(state, heats):
    found = what_fits(state, heats=heats)
    if not found.left_out:
        return
    more = found.runs_each + 1
    done = {driver: sum(driver in heat for heat in state.run) for driver in state.going_on()}
    left = Counter(driver for driver, lane in state.missing() if lane not in state.lanes_out)
    wanted = {driver: max(0, min(left[driver], more - done[driver])) for driver in done}
    # Hall's condition for lanes and drivers, looked at for all sets of lanes: some set is asked for too often.
    lanes = [lane for lane in range(1, state.lanes + 1) if lane not in state.lanes_out]
    open_to = Counter(state.missing())
    if any(each > heats for each in wanted.values()):
        return
    fits = all(
        sum(
            max(0, wanted[driver] - sum(open_to[driver, lane] for lane in lanes if lane not in chosen))
            for driver in done
        )
        <= heats * len(chosen)
        for chosen in _subsets(lanes)
    )
    assert not fits


def _subsets(lanes):
    for number in range(1, 1 << len(lanes)):
        yield {lane for place, lane in enumerate(lanes) if number >> place & 1}


def test_half_a_rotation_left_and_a_power_cut():
    # 12 drivers on 6 lanes, 4 heats run: 24 of 72 runs are over, two each. Six heats more are 36 runs: three each.
    plan = draw(drivers=12, lanes=6, seed=1)
    state = State(lanes=6, drivers=tuple(range(1, 13)), run=plan.heats[:4])

    found = what_fits(state, heats=6)

    done = Counter(driver for heat in plan.heats[:4] for driver in heat)
    assert found.runs_each == 5
    assert len(found.left_out) == sum(6 - max(done[driver], 5) for driver in range(1, 13))
    assert len(redraw(shortened(state, found)).heats) == 6


def test_two_rounds_and_time_for_one_and_a_half():
    # 6 drivers on 3 lanes, twice: 12 heats, six of them run. Three heats more are nine runs: one each, not two.
    plan = draw(drivers=6, lanes=3, seed=1, rounds=2)
    state = State(lanes=3, drivers=(1, 2, 3, 4, 5, 6), run=plan.heats[:6], rounds=2)

    found = what_fits(state, heats=3)

    assert found.runs_each == 4
    assert len(found.left_out) == 12
    assert len(redraw(shortened(state, found)).heats) <= 3


def test_a_number_of_heats_below_nothing_is_refused():
    with pytest.raises(RedrawError) as refused:
        what_fits(State(lanes=2, drivers=(1, 2)), heats=-1)
    assert refused.value.code == "bad_heats"
