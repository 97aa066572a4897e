"""Typed laps are read back before they are saved; what was typed is never lost."""

import pytest
from django.urls import reverse

from inspection.models import Role
from racedesk.clocks.selectors import heat_state, is_run
from racedesk.heats.selectors import heats_of
from racedesk.models import Race
from racedesk.racecontrol.services import enter_heat_laps, start_heat
from tests import factories, race_factories

pytestmark = pytest.mark.django_db

T0 = 1_700_000_000_000  # long ago by the clock of any machine that runs this


@pytest.fixture
def race():
    return race_factories.drawn_race()


@pytest.fixture
def heat(race):
    heat = heats_of(race)[0]
    start_heat(heat=heat, at_ms=T0, by=None)
    return heat


@pytest.fixture
def director(race, client):
    who = factories.member(race.event.club, Role.RACE_DIRECTOR)
    client.force_login(who)
    return who


def address(heat, name="heat-laps", query=""):
    return reverse(name, args=[heat.draw.stage.race.event.club.slug, heat.public_id]) + query


def fields(texts, **more):
    return {f"laps-{lane}": text for lane, text in texts.items()} | more


ALL = {1: "17.50", 2: "16", 3: "18 + 9/20", 4: "18 laps 9", 5: "18/9", 6: "15"}


def test_are_read_back_and_not_saved_at_first(client, heat, director):
    page = client.post(address(heat), fields(ALL)).content.decode()
    assert page.count("18 laps and 9 of 20 sections (18.45)") == 3
    assert "17 laps and 10 of 20 sections (17.50)" in page
    assert heat_state(heat).laps == ()


def test_are_saved_by_one_confirm_and_close_the_heat(client, heat, director):
    answer = client.post(address(heat), fields(ALL, is_confirmed="on"))
    assert answer.url == address(heat, "heat-run")
    assert is_run(heat)
    assert {event.by for event in heat.events.filter(kind="laps_entered")} == {director}


def test_that_the_page_read_back_while_typing_are_saved_at_once(client, heat, director):
    echoed = {f"echoed-{lane}": text for lane, text in ALL.items()}
    assert client.post(address(heat), fields(ALL, **echoed)).status_code == 302
    assert is_run(heat)


def test_changed_after_they_were_read_back_are_read_back_again(client, heat, director):
    echoed = {f"echoed-{lane}": text for lane, text in ALL.items()} | {"echoed-2": "14"}
    assert client.post(address(heat), fields(ALL, **echoed)).status_code == 200
    assert heat_state(heat).laps == ()


def test_with_one_that_cannot_be_keep_all_that_was_typed(client, heat, director):
    answer = client.post(address(heat), fields(ALL | {2: "-4", 3: "999"}, is_confirmed="on"))
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "A lap count cannot be below zero." in page
    assert "more than the clock allows" in page
    assert 'value="17.50"' in page
    assert 'value="-4"' in page
    assert heat_state(heat).laps == ()


def test_that_are_unlikely_are_asked_about_even_when_read_back(client, heat, director):
    answer = client.post(address(heat), fields({1: "140"}, **{"echoed-1": "140"}))
    assert answer.status_code == 200
    assert "Was a lap counted twice?" in answer.content.decode()
    assert client.post(address(heat), fields({1: "140"}, is_confirmed="on")).status_code == 302


def test_may_be_typed_for_some_lanes_first(client, heat, director):
    client.post(address(heat), fields({1: "17"}, is_confirmed="on"))
    assert [typed.lane for typed in heat_state(heat).laps] == [1]
    assert not is_run(heat)


def test_with_nothing_typed_save_nothing(client, heat, director):
    assert client.post(address(heat), {"is_confirmed": "on"}).status_code == 200
    assert heat_state(heat).laps == ()


class TestCorrection:
    @pytest.fixture
    def heat(self, heat):
        enter_heat_laps(heat=heat, typed=ALL, by=None)
        return heat

    def test_shows_what_stands_and_reasons_to_choose_from(self, client, heat, director):
        page = client.get(address(heat, query="?lane=1")).content.decode()
        assert 'value="17.50"' in page
        assert "a lap was counted twice" in page
        assert 'name="laps-2"' not in page

    def test_is_saved_with_its_reason(self, client, heat, director):
        typed = fields({1: "16.50"}, **{"echoed-1": "16.50", "reason": "a lap was counted twice"})
        assert client.post(address(heat, query="?lane=1"), typed).status_code == 302
        now = heat_state(heat).laps_on(1)
        assert (str(now.laps), now.reason, now.corrections) == ("16.50", "a lap was counted twice", 1)

    def test_without_a_reason_is_refused_and_keeps_what_was_typed(self, client, heat, director):
        answer = client.post(address(heat, query="?lane=1"), fields({1: "16.50"}, is_confirmed="on"))
        page = answer.content.decode()
        assert answer.status_code == 409
        assert "Say why" in page
        assert 'value="16.50"' in page

    def test_by_a_second_person_with_other_laps_is_not_taken_for_a_first_entry(self, client, heat, director):
        answer = client.post(address(heat), fields(ALL | {4: "12"}, is_confirmed="on"))
        assert answer.status_code == 409
        assert str(heat_state(heat).laps_on(4).laps) == "18.45"


class TestEcho:
    def ask(self, client, heat, **query):
        return client.get(address(heat, "heat-echo"), query)

    def test_says_what_was_understood(self, client, heat, director):
        assert self.ask(client, heat, lane="1", text="18,45").json() == {
            "echo": "18 laps and 9 of 20 sections (18.45)",
            "error": "",
            "question": "",
        }

    def test_says_what_cannot_be(self, client, heat, director):
        assert "nearest are 18.45 or 18.50" in self.ask(client, heat, lane="1", text="18.47").json()["error"]

    @pytest.mark.parametrize("lane", ["", "x", "99", "-1", "²"])
    def test_of_no_lane_is_a_bad_request(self, client, heat, director, lane):
        assert self.ask(client, heat, lane=lane, text="3").status_code == 400

    def test_waits_for_the_last_lane_where_the_part_is_carried(self, client, director, race):
        Race.objects.update(lap_method="carried")
        assert "read once, after" in self.ask(client, heats_of(race)[0], lane="1", text="18.45").json()["error"]


class TestWhoDrove:
    def test_is_written_down_by_a_form(self, client, heat, director, race):
        stand_in = factories.driver(race.event.club, "Stand In")
        lane = heat.lanes.get(lane__number=2).lane
        typed = {"lane": lane.pk, "driver": stand_in.pk, "reason": "called away"}
        assert client.post(address(heat, "heat-drove"), typed).status_code == 302
        assert heat.lanes.get(lane=lane).drove == stand_in
        assert (
            "driven by Stand In"
            in client.get(reverse("heat-list", args=[race.event.club.slug, race.public_id])).content.decode()
        )

    def test_chooses_the_lane_it_was_opened_for(self, client, heat, director):
        lane = heat.lanes.get(lane__number=2).lane
        page = client.get(address(heat, "heat-drove", "?lane=2")).content.decode()
        assert f'<option value="{lane.pk}" selected>' in page


@pytest.mark.parametrize("name", ["heat-laps", "heat-echo", "heat-drove", "heat-run", "heat-feed"])
def test_is_the_race_directors_page(client, heat, name):
    assert client.get(address(heat, name)).status_code == 302
    client.force_login(factories.member(heat.draw.stage.race.event.club, Role.ENTRY_DESK))
    assert client.get(address(heat, name)).status_code == 403
