"""The club's page, its settings and its log, as people see them."""

import re

import pytest
from django.test import Client
from django.urls import NoReverseMatch, reverse

from inspection.clubs.services import write_log
from inspection.models import Role
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def club():
    return factories.club(slug="quarry", name="Quarry Hall", is_invented=True)


@pytest.fixture
def owner(club, client):
    who = factories.member(club)
    client.force_login(who)
    return who


def page(client, name, *args, **query):
    return client.get(reverse(name, args=["quarry", *args]), query)


def front(club):
    try:
        return reverse("club-home", args=[club.slug])
    except NoReverseMatch:
        return reverse("club-detail", args=[club.slug])


def test_the_front_page_leads_to_the_only_club(client, club):
    assert client.get("/").url == front(club)


def test_the_front_page_lists_several_clubs(client, club):
    factories.club(name="Other Hall")

    text = client.get("/").content.decode()

    assert "Quarry Hall" in text
    assert "Other Hall" in text


def test_the_running_head_names_the_club_and_that_it_is_invented(client, owner):
    head = page(client, "club-detail").content.decode().split("<main")[0]

    assert "Quarry Hall" in head
    assert "invented" in head
    assert re.search(r'href="/quarry/club/" aria-current="page"', head)


def test_the_club_page_shows_settings_and_members(client, owner):
    text = page(client, "club-detail").content.decode()

    assert "Europe/Vienna" in text
    assert owner.username in text
    assert "Owner" in text


def test_who_is_in_no_club_learns_nothing(client, club):
    client.force_login(factories.user())

    assert page(client, "club-detail").status_code == 404


@pytest.mark.parametrize("name", ["club-edit", "member-list", "member-add", "log-list"])
def test_the_entry_desk_sees_the_club_but_does_not_manage_it(client, club, name):
    client.force_login(factories.member(club, Role.ENTRY_DESK))

    response = page(client, name)

    assert page(client, "club-detail").status_code == 200
    assert response.status_code == 403
    assert "another role" in response.content.decode()


SETTINGS = {
    "name": "Quarry Hall",
    "time_zone": "Europe/Vienna",
    "units": "in",
    "decimal_mark": ",",
    "paper": "Letter",
    "currency": "USD",
    "hall_closes_at": "23:00",
}


def version_shown(client):
    return re.search(r'name="version" value="(\w+)"', page(client, "club-edit").content.decode())[1]


def test_settings_are_changed_from_the_page(client, club, owner):
    address = reverse("club-edit", args=["quarry"])

    response = client.post(address, SETTINGS | {"version": version_shown(client)})

    club.refresh_from_db()
    assert response.url == reverse("club-detail", args=["quarry"])
    assert (club.units, club.decimal_mark, club.paper, club.currency) == ("in", ",", "Letter", "USD")


def test_settings_opened_before_somebody_else_saved_keep_what_was_typed(client, club, owner):
    opened = version_shown(client)
    address = reverse("club-edit", args=["quarry"])
    client.post(address, SETTINGS | {"version": opened})

    response = client.post(address, SETTINGS | {"version": opened, "name": "Typed meanwhile"})

    club.refresh_from_db()
    assert response.status_code == 409
    assert "has changed this since you opened it" in response.content.decode()
    assert "Typed meanwhile" in response.content.decode()
    assert club.name == "Quarry Hall"


@pytest.mark.parametrize(("field", "value"), [("currency", "euro"), ("time_zone", "Mars/Crater"), ("name", "")])
def test_settings_that_cannot_be_are_refused(client, owner, field, value):
    data = SETTINGS | {"version": version_shown(client), field: value}

    response = client.post(reverse("club-edit", args=["quarry"]), data)

    assert response.context["form"].errors[field]


def filled_log(club, by):
    write_log(club=club, action="published rule sheet", subject=club, by=by, reason="new motor")
    write_log(club=club, action="corrected lap", subject=club, by=None, reason="=HYPERLINK(1)")
    write_log(club=factories.club(), action="secret of others", subject=club, by=by)


def test_the_log_shows_this_clubs_lines_newest_first(client, club, owner):
    filled_log(club, owner)

    text = page(client, "log-list").content.decode()

    assert text.index("corrected lap") < text.index("published rule sheet")
    assert "secret of others" not in text
    assert "the system" in text


def test_the_log_is_narrowed_by_words(client, club, owner):
    filled_log(club, owner)

    text = page(client, "log-list", words=f"motor {owner.username}").content.decode()

    assert "published rule sheet" in text
    assert "corrected lap" not in text


def test_the_log_leaves_as_a_file_that_no_spreadsheet_runs(client, club, owner):
    filled_log(club, owner)

    response = page(client, "log-list", export="csv")

    text = response.content.decode("utf-8-sig")
    assert response.headers["Content-Type"].startswith("text/csv")
    assert "published rule sheet" in text
    assert "'=HYPERLINK(1)" in text


def test_the_log_page_asks_the_same_number_of_questions_however_long_it_is(
    client, club, owner, django_assert_max_num_queries
):
    for number in range(200):
        write_log(club=club, action=f"did {number}", subject=club, by=owner)

    with django_assert_max_num_queries(8):
        text = page(client, "log-list").content.decode()

    assert text.count("<tr") == 51
    assert 'aria-current="page">1<' in text


@pytest.mark.parametrize("address", ["/quarry/nothing/here/", "/nosuch/club/"])
def test_a_page_that_is_not_there_says_what_to_do(client, club, settings, address):
    response = client.get(address)

    if response.status_code == 302:  # a club page asks for signing in before it tells
        client.force_login(factories.user())
        response = client.get(address)
    assert response.status_code == 404
    assert "no such page here" in response.content.decode()


def test_a_page_sent_without_its_mark_says_what_to_do():
    response = Client(enforce_csrf_checks=True).post(reverse("sign-in"), {"username": "a", "password": "b"})

    assert response.status_code == 403
    assert "too old to be sent" in response.content.decode()
