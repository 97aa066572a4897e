import random
from dataclasses import replace
from statistics import fmean, median, pvariance

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from racedesk.forecast.errors import ForecastError
from racedesk.forecast.pace import Lot, learn
from racedesk.forecast.seen import SeenHeat, SeenNight, Settings
from tests.racedesk.forecast.clubs import invent_club, past_nights

RACE = Settings(heat_length_s=180, changeover_s=60)


def night(*changeovers, calls=()):
    return SeenNight(tuple(SeenHeat(180, tuple(calls), changeover) for changeover in changeovers))


def delays(pace, *, changeovers=20, minutes=60.0, **more):
    return sorted(pace.delay(Lot(seed), changeovers=changeovers, minutes=minutes, **more) for seed in range(200))


def test_with_no_night_seen_the_settings_speak_and_it_is_called_a_guess():
    pace = learn(past=(), settings=RACE)

    assert pace.is_guess
    assert (pace.nights, pace.heats) == (0, 0)
    assert 0.7 * 20 * 60 < median(delays(pace, minutes=0)) < 1.3 * 20 * 60


def test_what_was_seen_overrules_what_is_planned():
    pace = learn(past=[night(*[120] * 10)] * 10, settings=RACE)

    assert not pace.is_guess
    assert (pace.nights, pace.heats) == (10, 100)
    assert 0.9 * 20 * 120 < median(delays(pace, minutes=0)) < 1.1 * 20 * 120


def test_tonight_weighs_the_more_the_more_of_it_is_seen():
    past = [night(*[time] * 12) for time in (60, 80, 100, 120, 140, 160)]
    usual, some, much = (
        median(delays(learn(past=past, tonight=night(*[180] * heats).heats, settings=RACE), minutes=0))
        for heats in (0, 1, 20)
    )

    assert usual < some < much
    assert 0.9 * 20 * 180 < much < 1.1 * 20 * 180


def test_a_club_with_even_nights_has_a_narrower_range_than_one_that_never_saw_two_alike():
    even = delays(learn(past=[night(*[time] * 12) for time in (98, 100, 102) * 4], settings=RACE), minutes=0)
    uneven = delays(learn(past=[night(*[time] * 12) for time in (50, 100, 200) * 4], settings=RACE), minutes=0)

    assert 2 * (even[180] - even[20]) < uneven[180] - uneven[20]


def test_one_repair_of_half_an_hour_does_not_slow_every_change_over():
    past = [night(*[60] * 12) for _ in range(10)]
    broken = [*past[:9], night(*[60] * 11, 1_800)]
    pace, after = learn(past=past, settings=RACE), learn(past=broken, settings=RACE)

    assert (after.changeover.mean, after.changeover.spread2) == (pace.changeover.mean, pace.changeover.spread2)
    assert after.stops == pace.stops + 1
    assert 1_800 in after.stops_s
    assert median(delays(after, minutes=0)) < 1.05 * median(delays(pace, minutes=0))


def test_calls_are_foreseen_by_the_minutes_raced_and_as_long_as_those_seen():
    # Two calls of 40 s in each heat of three minutes, 20 heats of it to come: 40 calls, 1,600 s.
    pace = learn(past=[night(*[60] * 12, calls=(40, 40))] * 10, settings=RACE)
    without = learn(past=[night(*[60] * 12)] * 10, settings=RACE)

    assert 1_300 < median(delays(pace)) - median(delays(pace, minutes=0)) < 1_900
    assert median(delays(without)) - median(delays(without, minutes=0)) < 100


def test_a_change_over_that_has_begun_is_partly_over():
    pace = learn(past=[night(*[120] * 10)] * 10, settings=RACE)
    fresh, spent, long_since = (median(delays(pace, changeovers=1, minutes=0, spent_s=s)) for s in (0, 60, 5_000))

    assert 40 < fresh - spent < 80
    assert 0 <= long_since < 60


def test_nights_without_heats_teach_nothing():
    assert learn(past=[SeenNight(())] * 5, settings=RACE) == learn(past=(), settings=RACE)


@settings(max_examples=50, deadline=None)
@given(
    heats=st.lists(
        st.builds(
            SeenHeat,
            st.integers(1, 43_200),
            st.lists(st.integers(0, 43_200), max_size=4).map(tuple),
            st.none() | st.integers(0, 43_200),
        ),
        max_size=8,
    ),
    nights=st.integers(0, 3),
    seed=st.integers(0, 2**63),
    left=st.integers(0, 200),
)
def test_whatever_was_seen_a_delay_is_a_time(heats, nights, seed, left):
    pace = learn(past=[SeenNight(tuple(heats))] * nights, tonight=heats[:2], settings=RACE)
    delay = pace.delay(Lot(seed), changeovers=left, minutes=left * 3)

    assert 0 <= delay < float("inf")
    assert delay == pace.delay(Lot(seed), changeovers=left, minutes=left * 3)


@pytest.mark.parametrize(
    "wrong",
    [
        {"settings": replace(RACE, heat_length_s=0)},
        {"settings": replace(RACE, changeover_s=-1)},
        {"past": [SeenNight((SeenHeat(0),))]},
        {"past": [SeenNight((SeenHeat(60, (-1,)),))]},
        {"tonight": (SeenHeat(60, (), 43_201),)},
    ],
)
def test_times_that_cannot_be_are_refused(wrong):
    with pytest.raises(ForecastError) as refusal:
        learn(**({"past": (), "settings": RACE} | wrong))

    assert refusal.value.code == "bad_time"


def test_the_lot_has_the_means_and_spreads_it_says():
    lot = Lot(7)
    normal = [lot.normal() for _ in range(4_000)]
    squared = [lot.chi_squared(20) for _ in range(4_000)]
    few, many = [lot.poisson(3.5) for _ in range(4_000)], [lot.poisson(100) for _ in range(4_000)]

    assert (abs(fmean(normal)) < 0.05, 0.9 < pvariance(normal) < 1.1) == (True, True)
    assert (19.5 < fmean(squared) < 20.5, 36 < pvariance(squared) < 44) == (True, True)
    assert (3.4 < fmean(few) < 3.6, 3.2 < pvariance(few) < 3.8) == (True, True)
    assert (99 < fmean(many) < 101, 92 < pvariance(many) < 108) == (True, True)


def test_a_club_is_learned_the_same_every_time():
    club = invent_club(random.Random(1))
    past = past_nights(club, 5, random.Random(2))

    assert learn(past=past, settings=club.settings) == learn(past=list(past), settings=club.settings)
