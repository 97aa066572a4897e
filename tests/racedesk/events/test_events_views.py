"""The pages of nights and races."""

import datetime as dt

import pytest
from django.urls import reverse

from inspection.models import Role
from racedesk.models import Event, Race
from tests import factories, race_factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def club():
    return factories.club(time_zone="Europe/Vienna")


@pytest.fixture
def director(client, club):
    who = factories.member(club, Role.RACE_DIRECTOR)
    client.force_login(who)
    return who


def night(layout, **changed):
    return {"name": "Friday", "date": "2026-11-27", "track": layout.track.pk, "doors_at": "18:00"} | changed


def race_form(**changed):
    return {
        "name": "Saloon",
        "needs_tech": "no",
        "fee": "7,50",
        "heat_length_s": "3:00",
        "changeover_s": "1:15",
        "countdown_s": "5",
        "lap_method": "carried",
        "tie_rule": "best_lane",
    } | changed


def test_everybody_reads_the_nights_and_their_races(client, club):
    event = race_factories.event(club, name="Round 5")
    race_factories.race(event, name="Saloon 24")

    listed = client.get(reverse("event-list", args=[club.slug]))
    page = client.get(reverse("event-detail", args=[club.slug, event.public_id]))

    assert "Round 5" in listed.content.decode()
    assert "Saloon 24" in page.content.decode()
    assert "no tech tonight" in page.content.decode()
    assert "takings" not in page.content.decode()


def test_a_night_is_planned_with_times_of_the_club_that_roll_over(client, club, director):
    layout = factories.track_layout(club)

    answer = client.post(
        reverse("event-create", args=[club.slug]), night(layout, racing_at="19:30", hall_closes_at="00:30")
    )

    event = Event.objects.of(club).get()
    assert answer.url == reverse("race-create", args=[club.slug, event.public_id])
    assert event.doors_at == dt.datetime(2026, 11, 27, 17, tzinfo=dt.UTC)
    assert event.hall_closes_at == dt.datetime(2026, 11, 27, 23, 30, tzinfo=dt.UTC)


def test_times_in_the_wrong_order_are_refused_and_kept(client, club, director):
    layout = factories.track_layout(club)

    answer = client.post(
        reverse("event-create", args=[club.slug]), night(layout, tech_opens_at="18:30", tech_closes_at="17:30")
    )

    assert answer.status_code == 422
    assert "before the time above" in answer.content.decode()
    assert "17:30" in answer.content.decode()
    assert not Event.objects.of(club).exists()


def test_a_race_is_added_and_changed(client, club, director):
    event = race_factories.event(club)

    client.post(
        reverse("race-create", args=[club.slug, event.public_id]), race_form(entries_close_at="19:15", cap="12")
    )
    race = Race.objects.get(event=event)
    assert (race.fee, race.cap, race.heat_length_s) == (7.5, 12, 180)
    assert race.entries_close_at == dt.datetime(2026, 11, 27, 18, 15, tzinfo=dt.UTC)

    address = reverse("race-edit", args=[club.slug, race.public_id])
    opened = client.get(address).context["form"]
    shown = {name: opened[name].value() for name in opened.fields}
    shown = {name: "" if value is None else value for name, value in shown.items()}
    client.post(address, shown | {"heat_length_s": "2:00"})
    race.refresh_from_db()
    assert race.heat_length_s == 120
    assert race.entries_close_at == dt.datetime(2026, 11, 27, 18, 15, tzinfo=dt.UTC)


def test_the_name_of_the_class_is_the_name_of_the_race_when_none_is_typed(client, club, director):
    event = race_factories.event(club)
    racing_class = factories.racing_class(club, "Wood 32")

    client.post(
        reverse("race-create", args=[club.slug, event.public_id]), race_form(name="", racing_class=racing_class.pk)
    )

    assert Race.objects.get(event=event).name == "Wood 32"


def test_the_second_to_save_a_race_is_told_and_loses_nothing(client, club, director):
    race = race_factories.race(race_factories.event(club), name="Saloon")
    address = reverse("race-edit", args=[club.slug, race.public_id])
    opened = client.get(address).context["form"]["version"].value()
    client.post(address, race_form(cap="10", version=opened))

    second = client.post(address, race_form(cap="14", version=opened))

    assert second.status_code == 409
    assert 'value="14"' in second.content.decode()
    assert "since you opened it" in second.content.decode()
    race.refresh_from_db()
    assert race.cap == 10
    client.post(address, race_form(cap="14", version=second.context["form"]["version"].value()))
    race.refresh_from_db()
    assert race.cap == 14


def test_the_desk_does_not_plan(client, club):
    client.force_login(factories.member(club, Role.ENTRY_DESK))
    event = race_factories.event(club)

    assert client.get(reverse("event-create", args=[club.slug])).status_code == 403
    assert client.get(reverse("race-create", args=[club.slug, event.public_id])).status_code == 403


def test_a_night_of_another_club_is_not_found(client, club, director):
    other = race_factories.event()

    assert client.get(reverse("event-edit", args=[club.slug, other.public_id])).status_code == 404
    assert client.get(reverse("event-detail", args=[club.slug, other.public_id])).status_code == 404


def test_what_is_typed_never_becomes_markup(client, club, director):
    layout = factories.track_layout(club)
    script = "<script>alert(1)</script>"

    client.post(reverse("event-create", args=[club.slug]), night(layout, name=script, note=script))

    event = Event.objects.of(club).get()
    race_factories.race(event, name=script)
    for address in (
        reverse("event-list", args=[club.slug]),
        reverse("event-detail", args=[club.slug, event.public_id]),
    ):
        text = client.get(address).content.decode()
        assert script not in text
        assert "&lt;script&gt;alert" in text


def test_nights_go_out_as_files(client, club):
    race_factories.race(race_factories.event(club, name="=HYPERLINK(1)"), name="Saloon")

    text = client.get(reverse("event-list", args=[club.slug]), {"export": "csv"}).content.decode("utf-8-sig")

    assert "'=HYPERLINK(1)" in text
    assert "Saloon" in text


@pytest.mark.parametrize("when", ["upcoming", "past"])
def test_the_list_of_nights_runs_no_more_queries_with_more_nights(client, club, when, django_assert_max_num_queries):
    layout = factories.track_layout(club)
    day = dt.date(2090, 1, 1) if when == "upcoming" else dt.date(2020, 1, 1)

    def nights(count):
        for _ in range(count):
            race_factories.race(race_factories.event(club, track_layout=layout, date=day))

    nights(2)
    with django_assert_max_num_queries(9):
        client.get(reverse("event-list", args=[club.slug]))
    nights(60)
    with django_assert_max_num_queries(9):
        client.get(reverse("event-list", args=[club.slug]))
