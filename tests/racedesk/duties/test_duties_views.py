"""The roster on the screen and on paper, and the taps that change it."""

import pytest
from django.urls import reverse

from inspection.models import Role
from racedesk.duties.selectors import roster_page
from racedesk.heats.selectors import heats_of
from racedesk.models import Entry, MarshalDuty
from tests import factories, race_factories
from tests.racedesk.results.test_results_services import run

pytestmark = pytest.mark.django_db


@pytest.fixture
def race():
    return race_factories.drawn_race(drivers=7, lanes=3, posts=2, missed_duty_laps=3)


@pytest.fixture
def director(race, client):
    who = factories.member(race.event.club, Role.RACE_DIRECTOR)
    client.force_login(who)
    return who


def page(client, race, name="roster-detail", **query):
    return client.get(reverse(name, args=[race.event.club.slug, race.public_id]), query)


def post(client, race, where, key, **fields):
    return client.post(reverse(where, args=[race.event.club.slug, key]), fields, follow=True)


def first_duty(race):
    return MarshalDuty.objects.filter(heat=heats_of(race)[0]).select_related("seat__entry").first()


def test_anybody_reads_the_roster_but_no_reasons_and_no_buttons(client, race):
    entry = race.entries.first()
    type(entry).objects.filter(pk=entry.pk).update(no_duty_reason="broken wrist")
    race.event.track_layout.posts.filter(number=2).update(adults_only=True)
    text = page(client, race).content.decode()

    assert "2 or 3 duties each" in text or "2 duties each" in text
    assert "adults only" in text
    assert "relieves" in text
    assert "does not marshal" in text
    assert "broken wrist" not in text
    assert "duty-missed" not in text
    assert "<form" not in text


def test_page_and_paper_carry_the_caution(client, race):
    for text in (
        page(client, race).content.decode(),
        page(client, race, "roster-print", **{"as": "page"}).content.decode(),
    ):
        assert "eye protection where cars leave the track fast" in text
        assert "ever lean over live lanes" in text


def test_the_paper_names_everybody_on_duty(client, race):
    text = page(client, race, "roster-print", **{"as": "page"}).content.decode()
    for row in roster_page(race).rows:
        for each in row.standing:
            assert each.name in text
    assert page(client, race, "roster-print")["Content-Type"] == "application/pdf"


def test_an_exemption_is_one_form_and_its_reason_shows_to_the_director(client, race, director):
    entry = race.entries.first()
    answer = post(client, race, "entry-exempt", entry.public_id, reason="broken wrist").content.decode()
    assert "broken wrist" in answer
    assert not entry.seats.get().duties.exists()

    post(client, race, "entry-marshal-again", entry.public_id)
    assert entry.seats.get().duties.exists()


def test_without_a_reason_nothing_changes_and_the_page_says_so(client, race, director):
    entry = race.entries.first()
    answer = post(client, race, "entry-exempt", entry.public_id).content.decode()
    assert "Say why" in answer
    assert entry.seats.get().duties.exists()


def test_a_helper_is_named_and_released(client, race, director):
    answer = post(client, race, "helper-create", race.public_id, post=1, name="Mara Lind").content.decode()
    assert answer.count("Mara Lind") >= len(heats_of(race))
    helper = race.helpers.get()
    assert helper.named_by == director

    post(client, race, "helper-release", helper.pk)
    assert not race.helpers.exists()


def test_one_tap_on_the_roster_and_at_the_table(client, race, director):
    run(race)
    duty = first_duty(race)
    answer = post(client, race, "duty-missed", duty.heat.public_id, seat=duty.seat.number, back="roster")
    assert "missed, 3 laps off" in answer.content.decode()
    assert race.penalties.get().by == director

    again = post(client, race, "duty-missed", duty.heat.public_id, seat=duty.seat.number, back="heat")
    text = again.content.decode()
    assert again.redirect_chain[-1][0] == reverse("heat-run", args=[race.event.club.slug, duty.heat.public_id])
    assert "has the penalty for this heat already" in text
    assert "missed, 3 laps off" in text
    assert reverse("penalty-withdraw", args=[race.event.club.slug, race.penalties.get().pk]) in text


def test_the_table_offers_the_tap_for_each_marshal_of_the_heat(client, race, director):
    heat = heats_of(race)[0]
    text = client.get(reverse("heat-run", args=[race.event.club.slug, heat.public_id])).content.decode()
    assert text.count(reverse("duty-missed", args=[race.event.club.slug, heat.public_id])) == 2


def test_before_the_draw_the_page_lists_who_can_be_exempted(client):
    race = race_factories.race(lanes=3, posts=2)
    race_factories.entries(race, 3)
    client.force_login(factories.member(race.event.club, Role.RACE_DIRECTOR))
    text = page(client, race).content.decode()
    assert text.count("/exempt/") == 3
    heats = client.get(reverse("heat-list", args=[race.event.club.slug, race.public_id])).content.decode()
    assert reverse("roster-detail", args=[race.event.club.slug, race.public_id]) in heats


def test_the_tariff_is_the_races_and_the_next_race_starts_from_it(client, race, director):
    text = client.get(reverse("race-create", args=[race.event.club.slug, race.event.public_id])).content.decode()
    field = text[text.index('name="missed_duty_laps"') :][:80]
    assert 'value="3"' in field


def test_where_all_are_exempt_the_page_says_so(client, race):
    race.entries.update(no_duty_reason="injured")

    page = client.get(reverse("roster-detail", args=[race.event.club.slug, race.public_id]))

    assert "all are exempt" in page.content.decode()


def test_who_leaves_after_the_draw_is_named_and_one_tap_makes_the_roster_anew(client, race, director):
    entry = first_duty(race).seat.entry
    assert "still at a post to come" not in page(client, race).content.decode()
    entry.state = Entry.State.WITHDRAWN
    entry.save(update_fields=["state"])
    told = page(client, race).content.decode()
    assert f"Not here any more, and still at a post to come: {entry}" in told

    answer = post(client, race, "roster-anew", race.public_id).content.decode()

    assert "is made anew" in answer
    assert "still at a post to come" not in answer
    assert not MarshalDuty.objects.filter(seat__entry=entry).exists()
    assert MarshalDuty.objects.exists()


def test_duties_that_were_served_before_leaving_stay(client, race, director):
    run(race, only=3)
    served = MarshalDuty.objects.filter(heat__in=heats_of(race)[:3])
    entry = served.first().seat.entry
    before = set(served.values_list("heat__number", "post__number", "seat__number"))
    entry.state = Entry.State.WITHDRAWN
    entry.save(update_fields=["state"])

    post(client, race, "roster-anew", race.public_id)

    assert set(served.values_list("heat__number", "post__number", "seat__number")) == before
    assert not MarshalDuty.objects.filter(heat__in=heats_of(race)[3:], seat__entry=entry).exists()
