"""How far a race is, without a query a race."""

import datetime as dt

import pytest

from racedesk.events.selectors import past_events, race_status, races_of, upcoming_events, usual_track
from racedesk.models import Entry, HeatEvent, ResultSheet
from tests import factories, race_factories

pytestmark = pytest.mark.django_db
NOW = dt.datetime(2026, 11, 27, 19, tzinfo=dt.UTC)


def happened(heat, *kinds):
    number = heat.events.count()
    for kind in kinds:
        number += 1
        HeatEvent.objects.create(heat=heat, number=number, kind=kind, at_ms=number)


def status(race):
    return race_status(race, now=NOW).code


def test_a_race_goes_from_open_to_published():
    race = race_factories.race(entries_close_at=NOW + dt.timedelta(minutes=1))
    assert status(race) == "open"

    race.entries_close_at = NOW
    race.save()
    assert status(race) == "closed"

    race_factories.entries(race, 3)
    draw = race_factories.drawn(race)
    assert status(race) == "drawn"

    first, *others = draw.heats.all()
    happened(first, "ready", "start", "end", "close")
    assert status(race) == "running"

    for heat in others:
        happened(heat, "ready", "start", "end", "close")
    assert status(race) == "run"

    ResultSheet.objects.create(race=race, number=1, tie_rule=race.tie_rule)
    assert status(race) == "published"


def test_a_heat_declared_void_counts_as_not_run():
    race = race_factories.drawn_race(drivers=2, lanes=2)
    heats = list(race.stages.get().draws.get().heats.all())
    for heat in heats:
        happened(heat, "ready", "start", "end", "close")
    happened(heats[0], "void")
    assert status(race) == "running"

    happened(heats[0], "ready", "start", "end", "close")
    assert status(race) == "run"


def test_counts_do_not_multiply_one_another():
    race = race_factories.drawn_race(drivers=5, lanes=4)
    race_factories.entry(race, state=Entry.State.WAITING)
    race_factories.entry(race, state=Entry.State.WITHDRAWN)

    loaded = races_of(race.event)[0]

    assert (loaded.entries_racing, loaded.entries_checked_in, loaded.entries_waiting) == (5, 5, 1)
    assert loaded.heats_drawn == race.stages.get().draws.get().heats.count()
    assert loaded.heats_run == 0


def test_the_races_of_a_night_take_one_query_however_many(django_assert_num_queries):
    event = race_factories.event()
    for _ in range(7):
        race_factories.race(event)

    with django_assert_num_queries(1):
        assert {race_status(race).code for race in races_of(event)} == {"open"}


def test_nights_are_split_at_today():
    club = factories.club()
    layout = factories.track_layout(club)
    today = dt.date(2026, 11, 27)
    dates = [today + dt.timedelta(days=days) for days in (-14, -7, 0, 7)]
    for date in dates:
        race_factories.event(club, track_layout=layout, date=date)
    race_factories.event(date=today)

    assert [event.date for event in upcoming_events(club, today=today)] == dates[2:]
    assert [event.date for event in past_events(club, today=today)] == [dates[1], dates[0]]


def test_the_usual_track_is_that_of_the_latest_night():
    club = factories.club()
    factories.track_layout(club)
    layout = factories.track_layout(club)
    race_factories.event(club, track_layout=layout)

    assert usual_track(club) == layout.track
