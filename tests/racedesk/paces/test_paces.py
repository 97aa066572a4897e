"""How past nights went, as their heat events tell."""

import datetime as dt

import pytest
from django.core.cache import cache

from racedesk.clocks.selectors import heat_states
from racedesk.heats.selectors import heats_of
from racedesk.models import Race
from racedesk.paces import selectors
from racedesk.paces.selectors import known_of, past_nights
from racedesk.racecontrol.services import append_event, enter_heat_laps, start_heat
from tests import factories, race_factories
from tests.racedesk.raceday import nights

pytestmark = pytest.mark.django_db

WEEK = dt.timedelta(days=7)
LENGTH_S = 180


@pytest.fixture(autouse=True)
def _empty_cache():
    cache.clear()


@pytest.fixture
def club():
    return factories.club()


def race_of(club, *, weeks_ago=1, drivers=3, event=None, **fields) -> Race:
    event = event or nights.event(club, lanes=3, date=nights.DAY - weeks_ago * WEEK)
    made = race_factories.race(event, heat_length_s=LENGTH_S, countdown_s=0, **fields)
    race_factories.entries(made, drivers)
    race_factories.drawn(made)
    return made


def drive(race, *, gap_s=90, calls_s=(), start=None, only=None) -> dt.datetime:
    """Run the heats one after the other with so long between them and these calls in each; when the last ended."""
    at = start or dt.datetime.combine(race.event.date, dt.time(18, 30), dt.UTC)
    for heat in heats_of(race)[:only]:
        start_heat(heat=heat, at_ms=nights.ms(at), by=None)
        for call_s in calls_s:
            called = at + dt.timedelta(seconds=20)
            append_event(heat=heat, kind="call_track", at_ms=nights.ms(called), by=None)
            append_event(heat=heat, kind="resume", at_ms=nights.ms(called + dt.timedelta(seconds=call_s)), by=None)
            at += dt.timedelta(seconds=call_s)
        at += dt.timedelta(seconds=LENGTH_S)
        typed = dict.fromkeys(heat.lanes.values_list("lane__number", flat=True), "20.00")
        enter_heat_laps(heat=heat, typed=typed, confirmed=True, at_ms=nights.ms(at + dt.timedelta(seconds=20)), by=None)
        at += dt.timedelta(seconds=gap_s)
    return at - dt.timedelta(seconds=gap_s)


def tonight(club):
    return nights.event(club, lanes=3, name="Tonight")


def test_a_past_night_is_its_heats_with_lengths_calls_and_change_overs(club):
    drive(race_of(club), gap_s=90, calls_s=(30,))

    (night,) = past_nights(tonight(club))
    assert [heat.length_s for heat in night.heats] == [LENGTH_S] * 3
    assert [heat.calls_s for heat in night.heats] == [(30,)] * 3
    assert [heat.changeover_s for heat in night.heats] == [90, 90, None]


def test_heats_without_a_clock_of_ours_tell_nothing(club):
    race = race_of(club)
    for heat in heats_of(race):
        typed = dict.fromkeys(heat.lanes.values_list("lane__number", flat=True), "20.00")
        enter_heat_laps(heat=heat, typed=typed, confirmed=True, at_ms=nights.ms(nights.at(20)), by=None)

    assert past_nights(tonight(club)) == []


def test_only_this_clubs_earlier_nights_count_and_only_the_latest_of_them(club, monkeypatch):
    monkeypatch.setattr(selectors, "MOST_NIGHTS", 2)
    drive(race_of(factories.club()))
    drive(race_of(club, weeks_ago=-1))
    for weeks in range(1, 4):
        drive(race_of(club, weeks_ago=weeks, drivers=2, name=f"R{weeks}"), gap_s=60 + weeks, only=2)

    gaps = [night.heats[0].changeover_s for night in past_nights(tonight(club))]
    assert gaps == [60 + weeks for weeks in (1, 2)]


def test_two_races_of_a_night_are_two_and_nothing_lies_between_them(club):
    first = race_of(club)
    second = race_of(club, event=first.event)
    end = drive(first, gap_s=60)
    drive(second, gap_s=100, start=end + dt.timedelta(minutes=20))

    seen = past_nights(tonight(club))
    assert [[heat.changeover_s for heat in night.heats] for night in seen] == [[60, 60, None], [100, 100, None]]


def test_a_call_that_somebody_left_open_over_night_is_no_call(club):
    drive(race_of(club), calls_s=(9 * 3600,))

    assert past_nights(tonight(club)) == []


def test_a_night_is_read_once_and_again_when_a_heat_of_it_is_corrected(club, django_assert_num_queries):
    race = race_of(club)
    drive(race)
    event = tonight(club)
    with django_assert_num_queries(5):
        first = past_nights(event)
    with django_assert_num_queries(2):
        assert past_nights(event) == first
    drive(race_of(club, weeks_ago=2))
    with django_assert_num_queries(5):
        assert len(past_nights(event)) == 2


def test_queries_do_not_grow_with_the_nights(club, django_assert_num_queries):
    for weeks in range(1, 5):
        drive(race_of(club, weeks_ago=weeks, name=f"R{weeks}"))
    event = tonight(club)
    with django_assert_num_queries(5):
        assert len(past_nights(event)) == 4


def test_tonight_counts_up_to_the_heat_that_is_over(club):
    event = tonight(club)
    race = race_of(club, event=event, drivers=5)
    end = drive(race, only=3, gap_s=45)
    heats = heats_of(race)
    start_heat(heat=heats[3], at_ms=nights.ms(end + dt.timedelta(seconds=45)), by=None)
    driven = [(race.pk, state) for state in heat_states(heats).values()]

    known = known_of(event, race, driven, at_ms=nights.ms(end + dt.timedelta(seconds=60)))
    assert (known.nights, known.tonight, known.is_plan) == (0, 3, False)
    fewer = known_of(event, race, driven, at_ms=nights.ms(end - dt.timedelta(seconds=60)))
    assert (fewer.tonight, fewer.is_plan) == (2, True)
