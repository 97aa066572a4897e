"""The forecast on the day's page, and what fits before closing time."""

import datetime as dt

import pytest
import time_machine
from django.core.cache import cache
from django.urls import reverse

from inspection.models import Role
from racedesk.outlooks.selectors import fits_before
from racedesk.raceday.selectors import night_of
from tests import factories, race_factories
from tests.racedesk.paces.test_paces import drive, race_of
from tests.racedesk.raceday import nights
from tests.racedesk.raceday.nights import at

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _empty_cache():
    cache.clear()


@pytest.fixture
def event():
    """Six drivers on three lanes from 19:30, heats of 3:00, as yet not drawn; the hall closes at 23:00."""
    event = nights.event(factories.club(), lanes=3)
    race_factories.entries(race_factories.race(event, heat_length_s=180, changeover_s=60), 6)
    return event


def learn_from(event, *, gap_s=120, races=4):
    for weeks in range(1, races + 1):
        drive(race_of(event.club, weeks_ago=weeks, name=f"Past {weeks}"), gap_s=gap_s)


def test_without_a_past_night_it_is_a_plan_and_says_so(event, client):
    night = night_of(event, now=at(19))
    assert night.outlook is None
    assert night.finish == at(19, 30) + dt.timedelta(seconds=6 * 180 + 5 * 60)
    client.force_login(factories.member(event.club, Role.RACE_DIRECTOR))
    with time_machine.travel(at(19), tick=False):
        page = client.get(reverse("event-day", args=[event.club.slug, event.public_id])).content.decode()
    assert "planned finish" in page
    assert "a plan, not a forecast" in page


def test_past_nights_give_a_range_around_their_own_pace(event, client):
    learn_from(event, gap_s=120)
    night = night_of(event, now=at(19))
    as_they_went = at(19, 30) + dt.timedelta(seconds=6 * 180 + 5 * 120)
    assert night.outlook.early < night.outlook.likely < night.outlook.late
    assert abs(night.outlook.likely - as_they_went) < dt.timedelta(minutes=3)
    assert night.finish == night.outlook.likely
    assert night_of(event, now=at(19)).outlook == night.outlook
    client.force_login(factories.member(event.club, Role.RACE_DIRECTOR))
    with time_machine.travel(at(19), tick=False):
        page = client.get(reverse("event-day", args=[event.club.slug, event.public_id])).content.decode()
    assert "forecast finish" in page
    assert "in 8 nights of 10" in page
    assert "4 past races" in page


def test_each_race_to_come_is_told_at_that_pace_beside_what_was_planned(event):
    race_factories.entries(race_factories.race(event, heat_length_s=180, changeover_s=60), 6)
    planned = night_of(event, now=at(19)).spans
    learn_from(event, gap_s=180)

    night = night_of(event, now=at(19))

    first, second = night.spans
    assert first.start == planned[0].start == at(19, 30)
    assert planned[0].end + dt.timedelta(minutes=5) < first.end < second.start
    assert planned[1].start + dt.timedelta(minutes=5) < second.start
    assert second.end == night.finish == night.outlook.likely
    assert [span.planned_end for span in night.spans] == [span.planned_end for span in planned]


def test_it_goes_on_as_the_night_runs_and_the_range_narrows(event):
    learn_from(event)
    race = event.races.get()
    race_factories.drawn(race)
    before = night_of(event, now=at(19, 30)).outlook
    end = drive(race, start=at(19, 30), gap_s=120, only=4)
    after = night_of(event, now=end + dt.timedelta(seconds=30)).outlook
    assert after.late - after.early < before.late - before.early
    assert abs(after.likely - (end + dt.timedelta(seconds=2 * 120 + 2 * 180))) < dt.timedelta(minutes=2)


def test_when_all_is_run_nothing_is_forecast(event):
    learn_from(event, races=2)
    race = event.races.get()
    race_factories.drawn(race)
    end = drive(race, start=at(19, 30))
    night = night_of(event, now=end + dt.timedelta(minutes=5))
    assert (night.outlook, night.is_finished) == (None, True)


def test_past_nights_cost_the_day_two_queries_once_they_were_read(event, django_assert_max_num_queries):
    with django_assert_max_num_queries(40) as without:
        night_of(event, now=at(19))
    learn_from(event)
    night_of(event, now=at(19))
    with django_assert_max_num_queries(40) as read:
        night_of(event, now=at(19))
    assert len(read) <= len(without) + 1


class TestWhatFits:
    def test_a_tight_evening_is_told_what_would_fit(self, event):
        learn_from(event, gap_s=120)
        found = fits_before(event, at(19, 50), now=at(19))
        (race,) = found.races
        assert found.chance < 10
        assert race.fits[0][0].chance == found.chance
        ways = {fit.way: fit for fit, _length in race.fits if fit.fits}
        assert "fewer_lanes" in ways
        assert "as_planned" not in ways
        assert all(fit.late <= at(19, 50) for fit in ways.values())

    def test_other_races_of_the_night_stay_as_planned_beside_the_one_that_is_varied(self, event):
        alone = fits_before(event, at(23), now=at(19)).races[0].fits[0][0]
        race_factories.entries(race_factories.race(event, heat_length_s=300, changeover_s=60, position=2), 4)
        found = fits_before(event, at(23), now=at(19))
        assert len(found.races) == 2
        assert {each.fits[0][0].likely for each in found.races} == {found.outlook.likely}
        assert found.outlook.likely - alone.likely >= dt.timedelta(seconds=4 * 300)

    def test_a_race_under_way_is_told_its_chance_and_has_no_other_ways(self, event):
        race = event.races.get()
        race_factories.drawn(race)
        end = drive(race, start=at(19, 30), only=4)
        found = fits_before(event, at(23), now=end + dt.timedelta(seconds=30))
        assert (found.races, found.chance, found.tonight) == ((), 100, 4)

    def test_nothing_left_or_no_start_known_is_no_answer(self):
        bare = nights.event(factories.club(), lanes=3, racing_at=None)
        assert fits_before(bare, at(23), now=at(19)) is None

    @pytest.mark.parametrize(
        ("typed", "heading"),
        [
            ("", "What fits before 23:00"),
            ("?by=22:15", "What fits before 22:15"),
            ("?by=0:30", "What fits before 00:30"),
        ],
    )
    def test_the_page_takes_another_closing_time(self, event, client, typed, heading):
        client.force_login(factories.member(event.club, Role.RACE_DIRECTOR))
        with time_machine.travel(at(19), tick=False):
            page = client.get(reverse("event-fits", args=[event.club.slug, event.public_id]) + typed)
        assert heading in page.content.decode()
        assert "This is a plan, not a forecast" in page.content.decode()

    def test_what_is_no_time_is_told_and_nothing_is_made_up(self, event, client):
        client.force_login(factories.member(event.club, Role.RACE_DIRECTOR))
        page = client.get(reverse("event-fits", args=[event.club.slug, event.public_id]) + "?by=later")
        assert page.status_code == 200
        assert "Give the time to end by" in page.content.decode()
        assert "Enter a valid time" in page.content.decode()


def test_heats_longer_than_any_night_are_planned_and_not_forecast():
    event = nights.event(factories.club(), lanes=3)
    race_factories.entries(race_factories.race(event, heat_length_s=13 * 3600), 3)
    night = night_of(event, now=at(19))
    assert night.outlook is None
    assert night.finish > at(23)
    assert fits_before(event, at(23), now=at(19)) is None
