"""The page of the day, for the director at the table and for whoever helps."""

import pytest
import time_machine
from django.urls import reverse

from inspection.models import Role
from racedesk.models import Entry
from tests import factories, race_factories
from tests.racedesk.raceday import nights
from tests.racedesk.raceday.nights import at

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _evening():
    with time_machine.travel(at(19, 18), tick=False):
        yield


@pytest.fixture
def event():
    return nights.event()


def address(event, name="event-day"):
    return reverse(name, args=[event.club.slug, event.public_id])


def signed_in(client, event, role=Role.RACE_DIRECTOR):
    who = factories.member(event.club, role)
    client.force_login(who)
    return who


def test_shows_where_the_night_stands_in_the_clubs_own_time(client, event):
    race = nights.race_with_tech(event, 4)
    who = signed_in(client, event)
    for entry in race.entries.all()[:2]:
        nights.inspect(entry, who)
    nights.inspect(race.entries.all()[2], who, weight="82.2 g", sign=False)

    page = client.get(address(event)).content.decode()

    assert "<h1>Tech closes in 7 minutes</h1>" in page
    assert page.count("button primary") == 1
    assert reverse("draw-create", args=[event.club.slug, race.public_id]) in page
    assert "hall closes 23:00" in page
    assert "forecast as of 19:18" in page
    assert page.index("Needs attention") < page.index("Timetable")
    assert "Weight 82.2 g" in page
    assert '<svg class="timeline"' in page


def test_warns_before_power_and_defers_to_local_codes(client, event):
    signed_in(client, event)

    page = client.get(address(event)).content.decode()

    assert "A hard-wired power-off" in page
    assert "Hands clear of the track" in page
    assert "Local codes and the makers&#x27; instructions" in page or "Local codes and the makers' instructions" in page


@pytest.mark.parametrize("role", [Role.OWNER, Role.RACE_DIRECTOR, Role.TECH_INSPECTOR, Role.ENTRY_DESK])
def test_is_open_to_all_staff(client, event, role):
    signed_in(client, event, role)

    assert client.get(address(event)).status_code == 200
    assert client.get(address(event, "event-day-part")).status_code == 200


def test_is_closed_to_drivers_and_to_the_public(client, event):
    assert client.get(address(event)).status_code == 302
    signed_in(client, event, Role.DRIVER)

    assert client.get(address(event)).status_code == 403
    assert client.get(address(event, "event-day-part")).status_code == 403


def test_knows_no_night_of_another_club(client, event):
    other = nights.event(factories.club())
    signed_in(client, other)

    wrong = reverse("event-day", args=[other.club.slug, event.public_id])

    assert client.get(wrong).status_code == 404
    assert client.get(address(event)).status_code == 404


def test_offers_nobody_what_he_may_not_do(client, event):
    race = nights.race_with_tech(event, 2)
    race.entries.update(fee_due=5)
    signed_in(client, event, Role.TECH_INSPECTOR)

    page = client.get(address(event, "event-day-part")).content.decode()

    assert "Unpaid" in page
    assert reverse("takings", args=[event.club.slug, event.public_id]) not in page
    assert reverse("occasion-detail", args=[event.club.slug, race.tech_occasion.public_id]) in page


def test_escapes_what_people_typed(client, event):
    race = nights.race(event, name="<script>alert(1)</script>")
    race_factories.entry(race, factories.driver(event.club, "<b>Eve</b>"), state=Entry.State.ENTERED, with_car=False)
    signed_in(client, event)

    page = client.get(address(event)).content.decode()

    assert "<script>alert" not in page
    assert "<b>Eve" not in page
    assert "&lt;b&gt;Eve&lt;/b&gt;" in page


def test_the_part_is_sent_again_only_when_it_changed(client, event):
    race = nights.race(event, 3)
    signed_in(client, event)
    first = client.get(address(event, "event-day-part"))

    same = client.get(address(event, "event-day-part"), headers={"if-none-match": first["ETag"]})
    race.entries.update(fee_due=5)
    changed = client.get(address(event, "event-day-part"), headers={"if-none-match": first["ETag"]})

    assert "<html" not in first.content.decode()
    assert (same.status_code, same.content) == (304, b"")
    assert changed.status_code == 200
    assert "no-cache" in first["Cache-Control"]


def queries_of_a_day(client, entries, django_assert_max_num_queries):
    event = nights.event(factories.club())
    tech = nights.race_with_tech(event, entries)
    plain = nights.race(event, name="Saloon", position=2)
    nights.enter(plain, entries)
    race_factories.drawn(plain)
    who = signed_in(client, event)
    nights.inspect(tech.entries.first(), who, weight="82.2 g", looks=None, sign=False)
    with django_assert_max_num_queries(60) as captured:
        assert client.get(address(event)).status_code == 200
    return len(captured)


def test_forty_entries_cost_no_more_queries_than_two(client, django_assert_max_num_queries):
    two = queries_of_a_day(client, 2, django_assert_max_num_queries)
    forty = queries_of_a_day(client, 40, django_assert_max_num_queries)

    assert forty == two


def test_the_tech_line_of_a_race_keeps_the_words_of_the_night(client, event):
    race = nights.race_with_tech(event, 2)
    signed_in(client, event, Role.TECH_INSPECTOR)

    page = client.get(reverse("occasion-detail", args=[event.club.slug, race.tech_occasion.public_id])).content.decode()

    assert f'href="{address(event)}"' in page
    assert reverse("heat-list", args=[event.club.slug, race.public_id]) in page
