"""The page where a draw is chosen, who may be let into it, and the page of a draw."""

import re

import pytest
from django.urls import reverse

from inspection.models import LogEntry, Role
from racedesk.heats.selectors import heats_of
from racedesk.models import Draw, Entry
from racedesk.racecontrol.services import start_heat
from tests import factories, race_factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def race():
    race = race_factories.race()
    race_factories.entries(race, 8)
    return race


@pytest.fixture
def director(race, client):
    who = factories.member(race.event.club, Role.RACE_DIRECTOR)
    client.force_login(who)
    return who


def page_of(race, query="?seed=4471"):
    return reverse("draw-create", args=[race.event.club.slug, race.public_id]) + query


def post(client, race, **fields):
    return client.post(page_of(race, ""), {"preset": "opponents", "seed": 4471, "replaces": 0} | fields)


def test_three_presets_stand_side_by_side_with_their_balance(client, race, director):
    page = client.get(page_of(race)).content.decode()
    assert [word for word in ("Usual order", "Opponents", "Rest") if f"Use {word}, print the heat sheets" in page] == [
        "Usual order",
        "Opponents",
        "Rest",
    ]
    assert page.count("A pair meets") >= 3
    assert page.count('class="matrix"') == 3
    assert "Seed 4471" in page


def test_without_a_seed_the_page_takes_one_and_shows_it(client, race, director):
    answer = client.get(page_of(race, ""))
    assert answer.status_code == 302
    assert re.search(r"\?seed=\d{4}$", answer.url)


def test_a_seed_that_is_none_does_no_harm(client, race, director):
    assert client.get(page_of(race, "?seed=abc&preset=best")).status_code == 200


def test_using_a_draw_makes_the_heats_and_goes_on_to_printing(client, race, director):
    answer = post(client, race, preset="rest")
    made = Draw.objects.get(stage__race=race)
    assert answer.url == reverse("draw-detail", args=[race.event.club.slug, made.public_id])
    assert (made.preset, made.seed, made.drawn_by) == ("rest", 4471, director)
    page = client.get(answer.url).content.decode()
    assert reverse("heat-print", args=[race.event.club.slug, made.public_id, "wall"]) in page


def first_heat_shown(page):
    found = re.search(r'section for-opponents">.*?heat-number">1</th>(.*?)</tr>', page, re.DOTALL)
    return re.findall(r"<td>([^<]+)</td>", found[1])


def first_heat_drawn(race):
    return [each.seat.entry.drivers.get().driver.name for each in heats_of(race)[0].lanes.all()]


def test_what_the_page_showed_is_what_is_drawn(client, race, director):
    shown = first_heat_shown(client.get(page_of(race)).content.decode())
    post(client, race)
    assert first_heat_drawn(race) == shown


def test_it_is_so_again_when_somebody_entered_long_ago_comes_late(client, race, director):
    first = race.entries.first()
    type(first).objects.filter(pk=first.pk).update(state=Entry.State.ENTERED)
    post(client, race)
    type(first).objects.filter(pk=first.pk).update(state=Entry.State.CHECKED_IN)
    shown = first_heat_shown(client.get(page_of(race)).content.decode())
    post(client, race, replaces=1, reason="came late")
    assert first_heat_drawn(race) == shown
    assert first.seats.get().number == 8


def test_the_second_of_two_people_is_told_and_nothing_is_drawn_over(client, race, director):
    post(client, race)
    answer = post(client, race, reason="mine")
    assert answer.status_code == 409
    assert "Somebody has drawn these heats" in answer.content.decode()
    assert Draw.objects.filter(stage__race=race).count() == 1


def test_drawing_again_asks_for_a_reason_and_keeps_what_was_typed(client, race, director):
    post(client, race)
    assert post(client, race, replaces=1, reason="  ").status_code == 409
    answer = post(client, race, replaces=1, reason="one came late")
    assert answer.status_code == 302
    assert list(Draw.objects.filter(stage__race=race).values_list("number", "reason")) == [
        (2, "one came late"),
        (1, ""),
    ]


def test_once_a_heat_has_begun_the_draw_stands(client, race, director):
    post(client, race)
    start_heat(heat=heats_of(race)[0], at_ms=1_000, by=None)
    answer = post(client, race, replaces=1, reason="other lanes")
    assert answer.status_code == 409
    assert "Heat 1 has begun" in answer.content.decode()
    assert 'value="other lanes"' in answer.content.decode()


def test_one_driver_alone_is_refused_in_plain_words(client, director, race):
    lonely = race_factories.race(race.event)
    race_factories.entry(lonely)
    page = client.get(page_of(lonely)).content.decode()
    assert "A draw needs at least 2 drivers who are ready." in page
    assert "print the heat sheets" not in page
    answer = post(client, lonely)
    assert answer.status_code == 409
    assert "at least 2 drivers who are ready; there are 1" in answer.content.decode()


class TestWhoIsNotReady:
    @pytest.fixture
    def race(self):
        race = race_factories.race_with_tech()
        race_factories.entry(race)
        race_factories.entry(race, state=Entry.State.ENTERED)
        return race

    def admit(self, client, entry, reason=""):
        address = reverse("draw-override", args=[entry.race.event.club.slug, entry.public_id])
        return client.post(address, {"reason": reason}, follow=True)

    def test_is_listed_with_the_cause(self, client, race, director):
        page = client.get(page_of(race)).content.decode()
        assert "not checked in" in page
        assert "not checked<" in page

    def test_races_by_one_recorded_decision(self, client, race, director):
        entry = race.entries.first()
        self.admit(client, entry, "first night, car looked at by hand")
        entry.refresh_from_db()
        assert (entry.override_by, entry.override_reason) == (director, "first night, car looked at by hand")
        assert LogEntry.objects.filter(action="overrode tech").count() == 1

    def test_without_a_reason_nothing_is_decided(self, client, race, director):
        entry = race.entries.first()
        page = self.admit(client, entry).content.decode()
        entry.refresh_from_db()
        assert entry.override_at is None
        assert "Give the reason" in page

    def test_is_checked_in_and_let_race_in_one_step_or_not_at_all(self, client, race, director):
        entry = race.entries.last()
        self.admit(client, entry)
        entry.refresh_from_db()
        assert entry.state == Entry.State.ENTERED
        self.admit(client, entry, "seen")
        entry.refresh_from_db()
        assert (entry.state, entry.override_reason) == (Entry.State.CHECKED_IN, "seen")

    def test_is_not_for_the_tech_inspector_to_decide(self, client, race):
        client.force_login(factories.member(race.event.club, Role.TECH_INSPECTOR))
        assert self.admit(client, race.entries.first(), "x").status_code == 403


def test_anybody_reads_how_a_draw_was_made(client):
    race = race_factories.drawn_race(drivers=14)
    made = Draw.objects.get(stage__race=race)
    page = client.get(reverse("draw-detail", args=[race.event.club.slug, made.public_id])).content.decode()
    assert "2 or 3 times" in page
    assert "as even as 14 on 6 lanes can be" in page
    assert "4471" in page
    assert re.search(r"63 pairs 2.?, 28 pairs 3", page)


def test_a_junior_appears_by_the_name_the_club_shows(client):
    race = race_factories.race()
    race_factories.entry(race, factories.driver(race.event.club, "Full Name", public_name="Speedy", is_junior=True))
    race_factories.entries(race, 3)
    made = race_factories.drawn(race)
    for address in (
        reverse("draw-detail", args=[race.event.club.slug, made.public_id]),
        reverse("heat-list", args=[race.event.club.slug, race.public_id]),
    ):
        page = client.get(address).content.decode()
        assert "Speedy" in page
        assert "Full Name" not in page


def test_the_draw_page_takes_no_more_queries_with_more_drivers(client, race, director, django_assert_max_num_queries):
    big = race_factories.race(race.event)
    race_factories.entries(big, 40)
    for each in (race, big):
        with django_assert_max_num_queries(40):
            assert client.get(page_of(each)).status_code == 200
