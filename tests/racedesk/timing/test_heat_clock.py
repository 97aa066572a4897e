"""The heat clock holds together whatever happens, and time held never counts."""

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from racedesk.timing import heat_clock
from racedesk.timing.errors import ClockError
from racedesk.timing.events import (
    LANE_KINDS,
    PAYLOADS,
    Countdown,
    EventKind,
    HeatEvent,
    Nothing,
    Reason,
    TrackCallFacts,
    TypedLaps,
)
from racedesk.timing.heat_clock import (
    ClockSettings,
    Phase,
    allowed,
    apply,
    elapsed_ms,
    ends_at_ms,
    held_ms,
    is_power_off_warning,
    lanes_without_laps,
    left_ms,
    new_state,
    next_at_ms,
    phase_at,
    replay,
)
from racedesk.timing.laps import LapCount

T0 = 1_700_000_000_000
THREE_MINUTES = ClockSettings(heat_length_ms=180_000, lanes=frozenset({1, 2, 3}), divisor=20)


class Heat:
    """A heat told as a story: heat.at(seconds).does(kind)."""

    def __init__(self, race=THREE_MINUTES):
        self.race = race
        self.events = []
        self.state = new_state(race)
        self.now = T0

    def at(self, seconds):
        self.now = T0 + int(seconds * 1000)
        return self

    def does(self, kind, *, lane=None, **facts):
        if kind in {EventKind.LAPS_ENTERED, EventKind.LAPS_CORRECTED}:
            facts.setdefault("laps", LapCount(18, 9, 20))
            if kind is EventKind.LAPS_CORRECTED:
                facts.setdefault("reason", "counter missed one")
        if kind in {EventKind.VOID, EventKind.LANE_OUT}:
            facts.setdefault("reason", "braid came up")
        event = HeatEvent(self.state.number + 1, kind, self.now, lane, PAYLOADS[kind](**facts))
        self.state = apply(self.state, event)
        self.events.append(event)
        return self

    def refuses(self, kind, **facts):
        before = self.state
        with pytest.raises(ClockError) as refused:
            self.does(kind, **facts)
        assert self.state == before
        return refused.value.code

    @property
    def phase(self):
        return phase_at(self.state, self.now)

    @property
    def left(self):
        return left_ms(self.state, self.now)


def green_heat():
    """Green at second 3."""
    return Heat().does(EventKind.READY).does(EventKind.START)


def ended_heat():
    return green_heat().at(183)


# --- the ordinary night ----------------------------------------------------------------------------------


def test_a_heat_goes_from_waiting_to_ended_without_a_call():
    heat = Heat()
    assert (heat.phase, heat.left) == (Phase.WAITING, 180_000)
    heat.does(EventKind.READY)
    assert heat.phase is Phase.READY
    heat.does(EventKind.START)
    assert (heat.phase, heat.left) == (Phase.COUNTDOWN, 180_000)
    assert (heat.at(2.999).phase, heat.left) == (Phase.COUNTDOWN, 180_000)
    assert (heat.at(3).phase, heat.left) == (Phase.RUNNING, 180_000)
    assert (heat.at(100).phase, heat.left) == (Phase.RUNNING, 83_000)
    assert (heat.at(182.999).phase, heat.left) == (Phase.RUNNING, 1)
    assert (heat.at(183).phase, heat.left) == (Phase.ENDED, 0)
    assert (heat.at(9_999).phase, heat.left) == (Phase.ENDED, 0)


def test_the_page_can_be_told_when_the_power_goes_off():
    heat = green_heat()
    assert ends_at_ms(heat.state) == T0 + 183_000
    assert ends_at_ms(heat.at(20).does(EventKind.CALL_TRACK).state) is None
    assert ends_at_ms(heat.at(40).does(EventKind.RESUME).state) == T0 + 43_000 + 163_000


def test_the_countdown_can_be_given_with_the_event():
    heat = Heat().does(EventKind.READY).does(EventKind.START, countdown_ms=0)
    assert heat.phase is Phase.RUNNING


def test_the_warning_is_on_for_the_last_seconds_under_green_only():
    heat = green_heat()
    assert not is_power_off_warning(heat.at(172.999).state, heat.now)
    assert is_power_off_warning(heat.at(173).state, heat.now)
    assert is_power_off_warning(heat.at(182.999).state, heat.now)
    assert not is_power_off_warning(heat.at(183).state, heat.now)
    heat = green_heat().at(175).does(EventKind.CALL_TRACK)
    assert not is_power_off_warning(heat.at(176).state, heat.now)


def test_time_that_ran_out_is_written_down_with_the_exact_moment():
    heat = ended_heat().at(190).does(EventKind.LAPS_ENTERED, lane=1)
    assert heat.state.phase is Phase.ENDED
    assert heat.state.ended_at_ms == T0 + 183_000
    assert not heat.state.is_ended_early


def test_the_end_may_still_be_recorded_once_after_time():
    heat = ended_heat().at(185)
    assert EventKind.END in allowed(heat.state, heat.now)
    heat.does(EventKind.END)
    assert (heat.state.ended_at_ms, heat.state.is_ended_early) == (T0 + 183_000, False)
    assert heat.refuses(EventKind.END) == "not_allowed"


def test_the_director_may_end_early_and_the_clock_keeps_what_was_left():
    heat = green_heat().at(63).does(EventKind.END, reason="braid torn on lane 2")
    assert (heat.at(500).phase, heat.left) == (Phase.ENDED, 120_000)
    assert heat.state.is_ended_early
    assert heat.state.end_reason == "braid torn on lane 2"
    assert heat.state.ended_at_ms == T0 + 63_000


# --- track calls -----------------------------------------------------------------------------------------


def test_a_track_call_holds_the_clock_until_green_comes_back():
    heat = green_heat().at(44).does(EventKind.CALL_TRACK, ground="debris", called_by="post 2")
    assert (heat.phase, heat.left) == (Phase.TRACK_CALL, 139_000)
    assert (heat.at(60).phase, heat.left) == (Phase.TRACK_CALL, 139_000)
    heat.at(63).does(EventKind.RESUME)
    assert (heat.at(65.999).phase, heat.left) == (Phase.COUNTDOWN, 139_000)
    assert (heat.at(66).phase, heat.left) == (Phase.RUNNING, 139_000)
    assert heat.at(67).left == 138_000
    call = heat.state.calls[0]
    assert (call.at_ms, call.heat_ms, call.ground, call.called_by) == (T0 + 44_000, 41_000, "debris", "post 2")
    assert call.held_ms(heat.now) == 22_000
    assert held_ms(heat.state, heat.now) == 22_000


def test_an_open_call_grows_and_never_counts():
    heat = green_heat().at(44).does(EventKind.CALL_TRACK)
    assert held_ms(heat.state, T0 + 44_000) == 0
    assert held_ms(heat.state, T0 + 54_000) == 10_000
    assert held_ms(heat.state, T0 + 40_000) == 0
    assert elapsed_ms(heat.state, T0 + 9_999_000) == 41_000


def test_the_track_can_be_called_in_the_countdown_before_anything_was_run():
    heat = green_heat().at(1).does(EventKind.CALL_TRACK)
    assert (heat.at(100).phase, heat.left) == (Phase.TRACK_CALL, 180_000)
    heat.does(EventKind.RESUME)
    assert heat.at(103).phase is Phase.RUNNING
    assert heat.state.first_green_at_ms == T0 + 103_000


def test_a_call_in_the_countdown_after_a_call_holds_no_moment_twice():
    heat = green_heat().at(13).does(EventKind.CALL_TRACK).at(20).does(EventKind.RESUME)
    heat.at(21).does(EventKind.CALL_TRACK).at(30).does(EventKind.RESUME).at(50)
    assert [call.held_ms(heat.now) for call in heat.state.calls] == [8_000, 12_000]
    assert [call.heat_ms for call in heat.state.calls] == [10_000, 10_000]
    assert elapsed_ms(heat.state, heat.now) == 27_000
    assert heat.state.first_green_at_ms == T0 + 3_000


def test_a_call_that_is_over_grows_no_more():
    heat = green_heat().at(13).does(EventKind.CALL_TRACK).at(20).does(EventKind.RESUME)
    assert held_ms(heat.state, T0 + 21_000) == 8_000
    heat.at(60).does(EventKind.CALL_TRACK).at(70).does(EventKind.RESUME).at(90).does(EventKind.END)
    assert [call.held_ms(T0 + 999_000) for call in heat.state.calls] == [10_000, 13_000]


def test_ending_during_a_call_stops_the_call():
    heat = green_heat().at(13).does(EventKind.CALL_TRACK).at(20).does(EventKind.END)
    assert held_ms(heat.state, T0 + 999_000) == 7_000
    assert left_ms(heat.state, T0 + 999_000) == 170_000


def test_the_track_cannot_be_called_once_time_is_up():
    assert ended_heat().refuses(EventKind.CALL_TRACK) == "not_allowed"


# --- laps ------------------------------------------------------------------------------------------------


def test_a_heat_closes_when_every_lane_has_laps_or_is_out():
    heat = ended_heat()
    assert lanes_without_laps(heat.state) == (1, 2, 3)
    heat.does(EventKind.LAPS_ENTERED, lane=3).does(EventKind.LAPS_ENTERED, lane=1, text="18.45")
    assert heat.refuses(EventKind.CLOSE) == "lanes_without_laps"
    heat.does(EventKind.LANE_OUT, lane=2, reason="gear stripped").does(EventKind.CLOSE)
    assert heat.phase is Phase.CLOSED
    assert [laps.lane for laps in heat.state.laps] == [1, 3]
    assert heat.state.laps_on(1).text == "18.45"
    assert heat.state.laps_on(2) is None


def test_typed_laps_change_only_by_a_correction_with_a_reason():
    heat = ended_heat().does(EventKind.LAPS_ENTERED, lane=1)
    assert heat.refuses(EventKind.LAPS_ENTERED, lane=1) == "laps_already_entered"
    assert heat.refuses(EventKind.LAPS_CORRECTED, lane=1, reason=" ") == "reason_missing"
    heat.does(EventKind.LAPS_CORRECTED, lane=1, laps=LapCount(19, 9, 20), reason="one missed")
    typed = heat.state.laps_on(1)
    assert (str(typed.laps), typed.corrections, typed.reason) == ("19.45", 1, "one missed")
    heat.does(EventKind.LAPS_CORRECTED, lane=1, laps=LapCount(18, 9, 20), reason="it was not")
    assert heat.state.laps_on(1).corrections == 2


def test_laps_of_a_closed_heat_can_be_corrected_and_it_stays_closed():
    heat = ended_heat()
    for lane in (1, 2, 3):
        heat.does(EventKind.LAPS_ENTERED, lane=lane)
    heat.does(EventKind.CLOSE).does(EventKind.LAPS_CORRECTED, lane=2, laps=LapCount(7, 0, 20))
    assert heat.phase is Phase.CLOSED
    assert heat.state.laps_on(2).laps.laps == 7


def test_laps_of_a_lane_that_was_out_can_still_be_typed_after_closing():
    heat = ended_heat()
    for lane in (1, 2, 3):
        heat.does(EventKind.LANE_OUT, lane=lane)
    heat.does(EventKind.CLOSE).does(EventKind.LAPS_ENTERED, lane=2)
    assert heat.phase is Phase.CLOSED


@pytest.mark.parametrize(
    ("kind", "facts", "code"),
    [
        (EventKind.LAPS_CORRECTED, {"lane": 1}, "no_laps_to_correct"),
        (EventKind.LAPS_ENTERED, {"lane": 9}, "lane_unknown"),
        (EventKind.LAPS_ENTERED, {"lane": None}, "lane_missing"),
        (EventKind.LAPS_ENTERED, {"lane": 1, "laps": LapCount(18, 4, 10)}, "divisor_mismatch"),
        (EventKind.LANE_BACK, {"lane": 1}, "lane_not_out"),
        (EventKind.CLOSE, {}, "lanes_without_laps"),
        (EventKind.END, {"lane": 1}, "lane_not_expected"),
        (EventKind.VOID, {"reason": ""}, "reason_missing"),
        (EventKind.START, {}, "not_allowed"),
        (EventKind.RESUME, {"countdown_ms": -1}, "bad_countdown"),
    ],
)
def test_an_event_that_does_not_fit_an_ended_heat_is_refused(kind, facts, code):
    assert ended_heat().refuses(kind, **facts) == code


def test_laps_are_not_typed_while_the_clock_runs():
    assert green_heat().at(30).refuses(EventKind.LAPS_ENTERED, lane=1) == "not_allowed"


def test_a_heat_timed_with_another_clock_takes_laps_while_it_waits():
    heat = Heat().at(600).does(EventKind.LAPS_ENTERED, lane=1)
    assert (heat.phase, heat.left) == (Phase.ENDED, 0)
    assert heat.state.is_timed_elsewhere
    assert EventKind.END not in allowed(heat.state, heat.now)


def test_a_lane_can_come_back():
    heat = green_heat().does(EventKind.LANE_OUT, lane=2)
    assert heat.refuses(EventKind.LANE_OUT, lane=2) == "lane_already_out"
    assert heat.does(EventKind.LANE_BACK, lane=2).state.lanes_out == frozenset()


# --- voiding ---------------------------------------------------------------------------------------------


def test_a_voided_heat_starts_afresh_and_remembers_why():
    heat = ended_heat().does(EventKind.LAPS_ENTERED, lane=1).does(EventKind.VOID, reason="power fault")
    assert (heat.phase, heat.left, heat.state.laps, heat.state.run) == (Phase.WAITING, 180_000, (), 2)
    assert [(void.run, void.reason) for void in heat.state.voided] == [(1, "power fault")]
    assert heat.state.number == 4
    heat.does(EventKind.READY).does(EventKind.START)
    assert heat.at(186).phase is Phase.RUNNING
    assert heat.at(187).does(EventKind.CALL_TRACK).does(EventKind.VOID).state.run == 3


def test_a_heat_under_power_is_not_voided_before_the_power_is_off():
    assert green_heat().at(30).refuses(EventKind.VOID) == "not_allowed"


def test_cars_that_were_not_ready_after_all_stand_down():
    assert Heat().does(EventKind.READY).does(EventKind.STAND_DOWN).phase is Phase.WAITING


# --- order of events -------------------------------------------------------------------------------------


def test_event_numbers_run_without_gaps():
    for number in (0, 2, -1):
        with pytest.raises(ClockError) as refused:
            apply(new_state(THREE_MINUTES), HeatEvent(number, EventKind.READY, T0))
        assert refused.value.code == "number_gap"


def test_time_does_not_go_back_but_a_clock_set_back_is_survived():
    heat = green_heat().at(30).does(EventKind.CALL_TRACK)
    heat.at(29)
    assert heat.refuses(EventKind.RESUME) == "time_goes_back"
    heat.now = next_at_ms(heat.state, heat.now)
    assert heat.does(EventKind.RESUME).at(33).phase is Phase.RUNNING


@pytest.mark.parametrize(
    "wrong",
    [
        {"heat_length_ms": 0},
        {"heat_length_ms": -1},
        {"lanes": frozenset()},
        {"divisor": 0},
        {"countdown_ms": -1},
        {"resume_countdown_ms": -1},
        {"power_off_warning_ms": -1},
    ],
)
def test_settings_that_cannot_be_are_refused(wrong):
    good = {"heat_length_ms": 1, "lanes": frozenset({1}), "divisor": 1}
    with pytest.raises(ClockError) as refused:
        ClockSettings(**(good | wrong))
    assert refused.value.code == "bad_settings"


def test_every_kind_of_event_has_a_payload_and_a_step():
    assert set(PAYLOADS) == set(EventKind) == set(heat_clock._STEPS)
    assert set(heat_clock._BY_PHASE) == set(Phase)


# --- properties ------------------------------------------------------------------------------------------


def facts_for(kind, rng, state):
    lane = None
    if kind in LANE_KINDS:
        typed = {laps.lane for laps in state.laps}
        lanes = {
            EventKind.LANE_OUT: state.settings.lanes - state.lanes_out,
            EventKind.LANE_BACK: state.lanes_out,
            EventKind.LAPS_ENTERED: state.settings.lanes - typed,
            EventKind.LAPS_CORRECTED: typed,
        }[kind]
        lane = rng.choice(sorted(lanes))
    payload = {
        Countdown: lambda: Countdown(rng.choice([None, 0, 1, 2_500])),
        TrackCallFacts: lambda: TrackCallFacts("debris"),
        Reason: lambda: Reason("because"),
        TypedLaps: lambda: TypedLaps(LapCount(rng.randrange(30), rng.randrange(20), 20), "t", "because"),
    }.get(PAYLOADS[kind], PAYLOADS[kind])()
    return lane, payload


ANY_PAYLOAD = {
    Nothing: Nothing(),
    Countdown: Countdown(),
    TrackCallFacts: TrackCallFacts(),
    Reason: Reason("because"),
    TypedLaps: TypedLaps(LapCount(1, 0, 20), "1", "because"),
}


@st.composite
def nights(draw):
    """A heat of any allowed events, at any times."""
    rng = random.Random(draw(st.integers(0, 2**32)))
    race = ClockSettings(
        heat_length_ms=draw(st.integers(1, 20_000)),
        lanes=frozenset({1, 2}),
        divisor=20,
        countdown_ms=draw(st.integers(0, 3_000)),
        resume_countdown_ms=draw(st.integers(0, 3_000)),
    )
    state, events, now = new_state(race), [], T0
    for wait in draw(st.lists(st.integers(0, 4_000), max_size=40)):
        now += wait
        kinds = sorted(allowed(state, now))
        if not kinds:
            break
        kind = rng.choice(kinds)
        lane, payload = facts_for(kind, rng, state)
        events.append(HeatEvent(len(events) + 1, kind, now, lane, payload))
        state = apply(state, events[-1])  # what is allowed is never refused
    return race, tuple(events)


@given(nights(), st.integers(-5_000, 60_000))
def test_left_time_is_never_negative_and_never_more_than_the_heat(night, later_ms):
    race, events = night
    state = new_state(race)
    for event in events:
        state = apply(state, event)
        for now in (event.at_ms, event.at_ms + later_ms):
            assert 0 <= left_ms(state, now) <= race.heat_length_ms
            assert held_ms(state, now) >= 0


@given(nights())
def test_a_replay_gives_the_same_state(night):
    race, events = night
    assert replay(events, race) == replay(list(events), race)
    half = len(events) // 2
    state = replay(events[:half], race)
    for event in events[half:]:
        state = apply(state, event)
    assert state == replay(events, race)


@given(nights())
def test_left_time_never_grows_within_a_run(night):
    race, events = night
    state, run, left = new_state(race), 1, race.heat_length_ms
    for event in events:
        state = apply(state, event)
        now_left = left_ms(state, event.at_ms)
        if state.run == run:
            assert now_left <= left
        run, left = state.run, now_left


def green_time_by_hand(race, events, until_ms):
    """An independent account, millisecond by millisecond, of the time run under green in the last run."""
    green_from, green_ms, is_over = None, 0, False
    times = [event.at_ms for event in events[1:]] + [until_ms] * bool(events)
    for event, next_ms in zip(events, times, strict=True):
        if event.kind is EventKind.VOID:
            green_from, green_ms, is_over = None, 0, False
        elif event.kind is EventKind.START:
            wait = event.payload.countdown_ms
            green_from = event.at_ms + (race.countdown_ms if wait is None else wait)
        elif event.kind is EventKind.RESUME:
            wait = event.payload.countdown_ms
            green_from = event.at_ms + (race.resume_countdown_ms if wait is None else wait)
        elif event.kind in {EventKind.CALL_TRACK, EventKind.END}:
            green_from = None
            is_over = is_over or event.kind is EventKind.END
        if green_from is not None and not is_over:
            green_ms += sum(1 for ms in range(event.at_ms, next_ms) if ms >= green_from)
    return min(green_ms, race.heat_length_ms)


@settings(max_examples=30, deadline=None)
@given(nights(), st.integers(0, 5_000))
def test_only_time_under_green_counts(night, later_ms):
    race, events = night
    until_ms = (events[-1].at_ms if events else T0) + later_ms
    expected = green_time_by_hand(race, events, until_ms)
    assert elapsed_ms(replay(events, race), until_ms) == expected


@given(nights(), st.sampled_from(EventKind), st.integers(0, 10_000))
def test_what_is_not_allowed_is_refused_and_changes_nothing(night, kind, wait_ms):
    race, events = night
    state = replay(events, race)
    now = (events[-1].at_ms if events else T0) + wait_ms
    lanes = sorted(race.lanes) if kind in LANE_KINDS else [None]
    refusals = []
    for lane in lanes:
        event = HeatEvent(len(events) + 1, kind, now, lane, ANY_PAYLOAD[PAYLOADS[kind]])
        try:
            apply(state, event)
        except ClockError as refused:
            refusals.append(refused.code)
    assert (kind in allowed(state, now)) == (len(refusals) < len(lanes))
    assert state == replay(events, race)
