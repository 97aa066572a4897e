from collections import Counter
from dataclasses import replace
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from racedesk.rotation import redraw as redraws
from racedesk.rotation.draw import draw
from racedesk.rotation.errors import RedrawError
from racedesk.rotation.redraw import State, redraw


@st.composite
def nights(ask, *, wishes=False):
    """Any sequence of heats run, withdrawals, joins, lanes out and back, and heats to be run again."""
    drivers, lanes = ask(st.integers(2, 12)), ask(st.integers(1, 5))
    rounds = ask(st.sampled_from([1, 1, 2]))
    plan = draw(drivers=drivers, lanes=lanes, seed=ask(st.integers(0, 99)), steps=200, rounds=rounds)
    over = ask(st.integers(0, len(plan.heats)))
    joined = tuple(range(drivers + 1, drivers + 1 + ask(st.integers(0, 3))))
    everyone = (*range(1, drivers + 1), *joined)
    some = st.sets(st.sampled_from(everyone), max_size=3).map(tuple)
    lane = st.integers(1, lanes)
    kept = {}
    if wishes:
        heat = st.integers(1, len(plan.heats) + 3)
        pairs = st.tuples(st.sampled_from(everyone), st.sampled_from(everyone)).filter(lambda pair: pair[0] != pair[1])
        named = st.dictionaries(st.sampled_from(everyone), heat, max_size=2).map(lambda found: tuple(found.items()))
        kept = {
            "lanes_back": tuple(ask(st.dictionaries(lane, heat, max_size=1)).items()),
            "not_before": ask(named),
            "not_after": ask(named),
            "apart": tuple(ask(st.lists(pairs, max_size=2))),
            "rest": ask(st.booleans()),
        }
    return State(
        lanes=lanes,
        drivers=everyone,
        run=plan.heats[:over],
        again=tuple(ask(st.sets(st.integers(1, over), max_size=2))) if over else (),
        withdrawn=ask(some),
        excused=tuple(ask(st.sets(st.tuples(st.sampled_from(everyone), lane), max_size=3))),
        lanes_out=tuple(ask(st.sets(lane, max_size=1))),
        planned=plan.heats[over:],
        rounds=rounds,
        **kept,
    )


def recount(state, result):
    """Every rule that holds whatever happens, counted without the code under test."""
    going_on = set(state.drivers) - set(state.withdrawn)
    done = [
        (driver, lane)
        for number, heat in enumerate(state.run, start=1)
        if number not in state.again
        for lane, driver in enumerate(heat, start=1)
        if driver is not None
    ]
    to_come = []
    for heat in result.heats:
        here = [driver for driver in heat if driver is not None]
        assert len(heat) == state.lanes
        assert len(set(here)) == len(here)
        to_come += [(driver, lane) for lane, driver in enumerate(heat, start=1) if driver is not None]
    assert {driver for driver, _ in to_come} <= going_on
    assert not {lane for _, lane in to_come} & set(state.lanes_out)
    wanted = Counter({(driver, lane): state.rounds for driver in going_on for lane in range(1, state.lanes + 1)})
    # What is driven or let off is taken from it once each; what is left comes, or is owed.
    assert Counter(to_come) + Counter(result.owed) == wanted - Counter(done) - Counter(state.excused)
    busiest = [sum(driver == one for driver, _ in to_come) for one in going_on]
    busiest += [sum(lane == one for _, lane in to_come) for one in range(1, state.lanes + 1)]
    assert result.fewest == max(busiest, default=0)


@settings(max_examples=150, deadline=None)
@given(state=nights(), steps=st.sampled_from([0, 300]))
def test_whatever_happens_the_rules_hold_and_no_plan_has_fewer_heats(state, steps):
    result = redraw(state, seed=3, steps=steps)

    recount(state, result)
    assert len(result.heats) == result.fewest
    assert {lane for _, lane in result.owed} <= set(state.lanes_out)


@settings(max_examples=150, deadline=None)
@given(state=nights(wishes=True), steps=st.sampled_from([0, 300]))
def test_wishes_that_must_be_met_are_met(state, steps):
    result = redraw(state, seed=3, steps=steps)

    recount(state, result)
    assert len(result.heats) >= result.fewest
    heats = dict(enumerate(result.heats, start=len(state.run) + 1))
    opens, begins, ends = dict(state.lanes_back), dict(state.not_before), dict(state.not_after)
    before = set(state.run[-1]) if state.run else set()
    for number, heat in heats.items():
        here = set(heat) - {None}
        for lane, driver in enumerate(heat, start=1):
            if driver is not None:
                assert number >= max(opens.get(lane, 0), begins.get(driver, 0))
                assert number <= ends.get(driver, number)
        assert not any({one, other} <= here for one, other in state.apart)
        if state.rest:
            assert not here & before
        before = here


@settings(max_examples=30, deadline=None)
@given(state=nights(), seed=st.integers(0, 2**63 - 1))
def test_the_search_never_makes_meetings_less_even_and_gives_the_same_again(state, seed):
    first = redraw(state)
    better = redraw(state, seed=seed, steps=600)

    assert better == redraw(state, seed=seed, steps=600)
    assert len(better.heats) == len(first.heats)


def night(size, lanes, over, **more):
    plan = draw(drivers=size, lanes=lanes, seed=1, by_lot=False)
    more = {"drivers": tuple(range(1, size + 1))} | more
    return State(lanes=lanes, run=plan.heats[:over], planned=plan.heats[over:], **more)


def test_one_of_17_withdraws_on_8_lanes_after_5_heats_and_nearly_every_pair_still_meets_3_or_4_times():
    result = redraw(night(17, 8, 5, withdrawn=(3,)), seed=1, steps=60_000)

    assert len(result.heats) == result.fewest == 12
    assert result.deviation <= 4


def test_a_late_joiner_gets_all_lanes_and_everybody_meets_everybody_once():
    result = redraw(night(12, 4, 4, drivers=tuple(range(1, 14))), seed=1, steps=60_000)

    assert len(result.heats) == result.fewest == 9
    assert result.meetings == ((1, 78),)
    assert sorted(heat.index(13) for heat in result.heats if 13 in heat) == [0, 1, 2, 3]


def test_what_a_lane_out_costs_is_listed_as_owed():
    state = night(17, 8, 5, lanes_out=(3,))
    result = redraw(state)

    had_it = {heat[2] for heat in state.run}
    assert result.owed == tuple((driver, 3) for driver in range(1, 18) if driver not in had_it)
    assert len(result.heats) == 12


def test_a_heat_run_again_owes_its_runs_again():
    state = night(6, 4, 2, again=(2,))
    result = redraw(state)

    again = {(driver, lane) for lane, driver in enumerate(state.run[1], start=1)}
    planned = {(driver, lane) for heat in result.heats for lane, driver in enumerate(heat, start=1)}
    assert again <= planned


def test_what_changes_for_whom_is_told_in_heats_of_the_night():
    state = night(6, 3, 2, withdrawn=(1,))
    result = redraw(state)
    told = {change.driver: change for change in result.changes}

    assert told[1].after == ()
    for driver in range(2, 7):
        after = tuple((n, h.index(driver) + 1) for n, h in enumerate(result.heats, start=3) if driver in h)
        before = tuple((n, h.index(driver) + 1) for n, h in enumerate(state.planned, start=3) if driver in h)
        assert (driver in told) == (before != after)
        if driver in told:
            assert (told[driver].before, told[driver].after) == (before, after)


def test_progress_is_told_up_to_the_end():
    told = []
    redraw(night(9, 4, 2, withdrawn=(3,)), steps=960, progress=lambda done, of: told.append((done, of)))

    assert told[-1] == (960, 960)
    assert all(a <= b for (a, _), (b, _) in combinations(told, 2))


def test_a_long_search_starts_anew_and_takes_the_best_of_its_starts(monkeypatch):
    monkeypatch.setattr(redraws, "STEPS_A_START", 500)
    told = []
    state = night(9, 4, 2, withdrawn=(3,))
    best = redraw(state, seed=5, steps=1_700, progress=lambda done, of: told.append((done, of)))

    starts = [redraw(state, seed=seed, steps=steps) for seed, steps in ((5, 567), (6, 567), (7, 566))]
    wanted = min(starts, key=lambda plan: (plan.deviation, plan.back_to_back))
    assert best.heats == wanted.heats
    assert (best.seed, best.steps) == (5, 1_700)
    assert told == sorted(told)
    assert told[-1] == (1_700, 1_700)


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"lanes": 0}, "bad_lanes"),
        ({"drivers": (1, 1, 2)}, "bad_drivers"),
        ({"drivers": (0, 1)}, "bad_drivers"),
        ({"run": ((1, 1),)}, "bad_heat"),
        ({"run": ((1,),)}, "bad_heat"),
        ({"run": ((1, 2), (1, None))}, "run_twice"),
        ({"withdrawn": (9,)}, "unknown_driver"),
        ({"lanes_out": (3,)}, "unknown_lane"),
        ({"again": (1,)}, "unknown_heat"),
        ({"apart": ((1, 1),)}, "bad_pair"),
    ],
)
def test_a_night_that_cannot_be_is_refused_with_its_code(change, code):
    with pytest.raises(RedrawError) as refusal:
        redraw(State(**({"lanes": 2, "drivers": (1, 2, 3)} | change)))

    assert refusal.value.code == code


def test_a_search_takes_no_fewer_than_no_steps():
    with pytest.raises(RedrawError, match="fewer than 0") as refusal:
        redraw(night(4, 2, 0), steps=-1)

    assert refusal.value.code == "bad_steps"


@settings(max_examples=40, deadline=None)
@given(data=st.data(), drivers=st.integers(2, 10), lanes=st.integers(1, 5))
def test_through_a_whole_night_of_changes_everybody_gets_every_lane_once_or_is_owed_it(data, drivers, lanes):
    """Heats run one after the other; between them things happen, and what is left is drawn again each time."""
    plan = draw(drivers=drivers, lanes=lanes, seed=1)
    state = State(lanes=lanes, drivers=tuple(range(1, drivers + 1)), planned=plan.heats)
    for _ in range(data.draw(st.integers(1, 8))):
        state = after(state, data)
        frozen = state.run
        result = redraw(state, seed=2, steps=60)
        recount(state, result)
        assert len(result.heats) == result.fewest
        assert {lane for _, lane in result.owed} <= set(state.lanes_out)
        state = replace(state, planned=result.heats)
        assert state.run == frozen

    # To the end: all that is planned is run.
    over = replace(state, run=(*state.run, *state.planned), planned=())
    counted = [
        (driver, lane)
        for number, heat in enumerate(over.run, start=1)
        if number not in over.again
        for lane, driver in enumerate(heat, start=1)
        if driver in over.going_on()
    ]
    assert len(set(counted)) == len(counted)
    assert redraw(over).heats == ()
    assert {*counted, *redraw(over).owed} == {(d, lane) for d in over.going_on() for lane in range(1, lanes + 1)}


def after(state, data):
    """The night after one thing that happened: heats run, or somebody left, came, a lane went or came back."""
    number = len(state.run)
    many = data.draw(st.integers(0, len(state.planned)))
    changes = {
        "run": {"run": (*state.run, *state.planned[:many]), "planned": state.planned[many:]},
        "withdraw": {"withdrawn": (*state.withdrawn, data.draw(st.sampled_from(state.drivers)))},
        "join": {"drivers": (*state.drivers, max(state.drivers) + 1)},
        "lane_out": {"lanes_out": (*state.lanes_out, data.draw(st.integers(1, state.lanes)))},
        "lane_in": {"lanes_out": state.lanes_out[:-1]},
        "again": {"again": tuple({*state.again, data.draw(st.integers(1, number))}) if number else ()},
    }
    return replace(state, **changes[data.draw(st.sampled_from(list(changes)))])
