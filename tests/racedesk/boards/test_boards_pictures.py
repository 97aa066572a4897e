"""The bar of a heat's time is to scale."""

import pytest

from racedesk.boards.pictures import WIDTH, clock_words, time_bar
from racedesk.timing.heat_clock import ClockSettings, EventKind, HeatEvent, replay


def state_of(*events, length_ms=180_000):
    settings = ClockSettings(heat_length_ms=length_ms, lanes=frozenset({1}), divisor=20, countdown_ms=0)
    numbered = [HeatEvent(number, kind, at_ms) for number, (kind, at_ms) in enumerate(events, start=1)]
    return replay(numbered, settings)


def test_half_of_the_time_is_half_of_the_bar():
    state = state_of((EventKind.READY, 0), (EventKind.START, 0))
    assert time_bar(state, 90_000).gone == WIDTH / 2
    assert time_bar(state, 999_000).gone == WIDTH


def test_a_call_stands_where_the_clock_was_held():
    state = state_of(
        (EventKind.READY, 0), (EventKind.START, 0), (EventKind.CALL_TRACK, 45_000), (EventKind.RESUME, 67_000)
    )
    bar = time_bar(state, 100_000)
    assert bar.marks[0].x == WIDTH / 4
    assert bar.marks[0].at == "0:45"
    assert bar.marks[0].held == "0:25"  # 22 s and the three of the countdown back to green


def test_a_call_that_lasts_has_no_length_yet():
    state = state_of((EventKind.READY, 0), (EventKind.START, 0), (EventKind.CALL_TRACK, 45_000))
    assert time_bar(state, 60_000).marks[0].held == ""


@pytest.mark.parametrize("length_s", [1, 20, 60, 120, 150, 180, 300, 480, 2400, 14_400])
def test_the_scale_has_few_labels_and_ends_with_the_heats_length(length_s):
    ticks = time_bar(state_of(length_ms=length_s * 1000), 0).ticks
    assert 2 <= len(ticks) <= 8
    assert ticks[0].label == "0:00"
    assert ticks[-1].label == clock_words(length_s * 1000)
    assert [tick.x for tick in ticks] == sorted(tick.x for tick in ticks)
