"""The director's table: presses, the feed that other screens follow, and the board on the wall."""

import json
import time

import pytest
from django.urls import reverse

from inspection.models import Role
from racedesk.clocks.selectors import heat_state
from racedesk.heats.selectors import heats_of
from racedesk.heats.services import draw_heats, rotation_stage
from racedesk.racecontrol.services import append_event, enter_heat_laps, record_who_drove, start_heat
from racedesk.timing.heat_clock import Phase
from tests import factories, race_factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def race():
    return race_factories.drawn_race(countdown_s=3)


@pytest.fixture
def heat(race):
    return heats_of(race)[0]


@pytest.fixture
def director(race, client):
    who = factories.member(race.event.club, Role.RACE_DIRECTOR)
    client.force_login(who)
    return who


def now():
    return time.time_ns() // 1_000_000


def address(heat, name):
    return reverse(name, args=[heat.draw.stage.race.event.club.slug, heat.public_id])


def press(client, heat, kind, **fields):
    return client.post(
        address(heat, "heat-command"),
        {"kind": kind, "client_key": f"k-{kind}"} | fields,
        headers={"accept": "application/json"},
    )


class TestPresses:
    def test_start_opens_the_countdown(self, client, heat, director):
        answer = press(client, heat, "start").json()
        assert answer["error"] == ""
        assert answer["clock"]["phase"] == "countdown"
        assert set(answer["parts"]) == {"call", "bar", "lanes", "side"}
        assert heat.events.filter(kind="start", by=director).count() == 1

    def test_sent_twice_over_a_bad_connection_happen_once(self, client, heat, director):
        for _ in range(2):
            assert press(client, heat, "start").status_code == 200
        assert heat.events.filter(kind="start").count() == 1

    def test_that_do_not_fit_are_answered_in_plain_words(self, client, heat, director):
        answer = press(client, heat, "resume")
        assert answer.status_code == 409
        assert answer.json()["error"] == "That cannot be done now: the heat is waiting."
        assert answer.json()["clock"]["phase"] == "waiting"

    def test_a_late_call_counts_from_when_it_was_pressed(self, client, heat, director):
        start_heat(heat=heat, at_ms=now() - 30_000, by=None)
        press(client, heat, "call_track", age_ms=5_000)
        held_for = now() - heat_state(heat).calls[0].at_ms
        assert 5_000 <= held_for < 15_000

    def test_no_call_reaches_back_before_what_happened_last(self, client, heat, director):
        started = now()
        start_heat(heat=heat, at_ms=started, by=None)
        press(client, heat, "call_track", age_ms=50_000)
        assert heat_state(heat).calls[0].at_ms >= started

    def test_a_late_start_or_resume_begins_when_it_arrives(self, client, heat, director):
        before = now()
        press(client, heat, "start", age_ms=20_000)
        assert heat.events.get(kind="start").at_ms >= before

    def test_work_without_a_script(self, client, heat, director):
        answer = client.post(address(heat, "heat-command"), {"kind": "start"}, follow=True)
        assert answer.redirect_chain == [(address(heat, "heat-run"), 302)]
        assert heat_state(heat).phase is Phase.COUNTDOWN

    def test_without_a_script_a_refusal_is_shown_on_the_page(self, client, heat, director):
        page = client.post(address(heat, "heat-command"), {"kind": "resume"}, follow=True).content.decode()
        assert "the heat is waiting" in page

    def test_take_a_car_out_with_a_reason(self, client, heat, director):
        press(client, heat, "start")
        assert press(client, heat, "lane_out", lane=2).status_code == 409
        assert press(client, heat, "lane_out", lane=2, reason="axle broke", client_key="k2").status_code == 200
        assert heat_state(heat).lanes_out == {2}

    @pytest.mark.parametrize("kind", ["laps_entered", "close", "delete", ""])
    def test_of_other_kinds_are_a_bad_request(self, client, heat, director, kind):
        assert press(client, heat, kind).status_code == 400

    def test_are_the_directors_alone(self, client, heat, race):
        client.force_login(factories.member(race.event.club, Role.TECH_INSPECTOR))
        assert press(client, heat, "start").status_code == 403
        assert not heat.events.exists()


class TestTable:
    def page(self, client, heat):
        return client.get(address(heat, "heat-run")).content.decode()

    def test_shows_clock_lanes_drivers_and_what_comes_next(self, client, heat, director):
        page = self.page(client, heat)
        assert "Heat 1 of 8" in page
        assert ">3:00<" in page
        for each in heat.lanes.all():
            assert each.seat.entry.drivers.get().driver.name in page
        assert "Next, heat 2" in page
        assert "It does not cut power" in page

    def test_goes_on_from_the_events_after_a_restart(self, client, heat, director):
        start_heat(heat=heat, at_ms=now() - 63_000, by=None)
        page = self.page(client, heat)
        facts = json.loads(page.split('data-facts="')[1].split('"')[0].replace("&quot;", '"'))
        assert facts["phase"] == "countdown"
        assert 55_000 < now() - facts["green_at_ms"] < 70_000
        assert 'data-phase="running"' in page

    def test_shows_the_call_target_where_the_resume_will_be(self, client, heat, director):
        start_heat(heat=heat, at_ms=now() - 10_000, by=None)
        assert '<form method="post" id="resume"' in self.page(client, heat)
        append_event(heat=heat, kind="call_track", at_ms=now(), by=None)
        page = self.page(client, heat)
        assert 'data-phase="track_call"' in page
        assert 'data-when="track_call">' in page

    def test_of_a_heat_that_is_over_leads_to_the_next(self, client, heat, director, race):
        enter_heat_laps(heat=heat, typed=dict.fromkeys(range(1, 7), "12"), by=None)
        assert f'href="{address(heats_of(race)[1], "heat-run")}"' in self.page(client, heat)

    def test_of_the_last_heat_leads_to_the_results(self, client, director, race):
        for each in heats_of(race):
            enter_heat_laps(heat=each, typed=dict.fromkeys(range(1, 7), "12"), by=None)
        assert "every heat of this race is run" in self.page(client, heats_of(race)[-1])

    def test_of_a_heat_drawn_anew_leads_to_the_new_draw(self, client, heat, director, race):
        draw_heats(stage=rotation_stage(race=race), preset="rest", seed=1, reason="late entry", by=None)
        answer = client.get(address(heat, "heat-run"))
        assert answer.url == reverse("heat-list", args=[race.event.club.slug, race.public_id])

    def test_takes_no_more_queries_with_more_drivers(self, client, django_assert_max_num_queries):
        for drivers in (6, 40):
            race = race_factories.drawn_race(drivers=drivers)
            client.force_login(factories.member(race.event.club, Role.RACE_DIRECTOR))
            with django_assert_max_num_queries(45):
                assert client.get(address(heats_of(race)[0], "heat-run")).status_code == 200


class TestFeed:
    def ask(self, client, heat, held=""):
        return client.get(address(heat, "heat-feed"), headers={"if-none-match": held} if held else {})

    def test_answers_nothing_new_in_few_queries(self, client, heat, director, django_assert_max_num_queries):
        held = self.ask(client, heat)["ETag"]
        with django_assert_max_num_queries(8):
            answer = self.ask(client, heat, held)
        assert answer.status_code == 304
        assert abs(int(answer["Heat-Now-Ms"]) - now()) < 5_000

    def test_shows_what_another_screen_pressed(self, client, heat, director):
        held = self.ask(client, heat)["ETag"]
        start_heat(heat=heat, at_ms=now(), by=None)
        answer = self.ask(client, heat, held)
        assert answer.status_code == 200
        assert answer.json()["clock"]["phase"] == "countdown"

    def test_changes_when_somebody_else_drives(self, client, heat, director, race):
        held = self.ask(client, heat)["ETag"]
        lane = heat.lanes.first().lane
        record_who_drove(heat=heat, lane=lane, driver=factories.driver(race.event.club), reason="x", by=None)
        assert self.ask(client, heat, held).status_code == 200

    def test_knows_its_tag_though_it_was_packed_on_the_way(self, client, heat, director):
        assert self.ask(client, heat, "W/" + self.ask(client, heat)["ETag"]).status_code == 304


class TestWall:
    def wall(self, client, race, name="heat-board"):
        return client.get(reverse(name, args=[race.event.club.slug, race.event.public_id]))

    def test_is_for_everybody(self, client, race, heat):
        page = self.wall(client, race).content.decode()
        assert "Heat 1 of 8" in page
        assert "Next, heat 2" in page

    def test_shows_the_heat_that_runs_whatever_its_race(self, client, race):
        other = race_factories.race(race.event, position=2)
        race_factories.entries(other, 3)
        race_factories.drawn(other)
        start_heat(heat=heats_of(other)[0], at_ms=now(), by=None)
        assert other.name in self.wall(client, race).content.decode()

    def test_shows_laps_as_they_are_typed(self, client, race, heat):
        enter_heat_laps(heat=heat, typed={1: "17.45"}, by=None)
        assert "17.45" in self.wall(client, race).content.decode()

    def test_before_a_draw_says_so(self, client):
        race = race_factories.race()
        assert "not drawn yet" in self.wall(client, race).content.decode()
        assert self.wall(client, race, "heat-board-feed").json()["clock"] is None

    def test_after_the_last_heat_keeps_it_on_the_wall(self, client, race):
        for each in heats_of(race):
            enter_heat_laps(heat=each, typed=dict.fromkeys(range(1, 7), "12"), by=None)
        assert "Heat 8 of 8" in self.wall(client, race).content.decode()

    def test_feed_draws_once_for_all_who_look(self, client, race, heat, django_assert_max_num_queries):
        answer = self.wall(client, race, "heat-board-feed")
        assert "Heat 1 of 8" in answer.json()["parts"]["board"]
        with django_assert_max_num_queries(5):
            assert self.wall(client, race, "heat-board-feed").status_code == 200

    def test_shows_nothing_of_another_club(self, client, race):
        other = factories.club()
        assert client.get(reverse("heat-board", args=[other.slug, race.event.public_id])).status_code == 404
