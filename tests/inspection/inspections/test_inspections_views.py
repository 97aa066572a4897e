"""The tech line's pages: a tech day without a race, and one step from a number to the card."""

import datetime as dt

import pytest
from django.urls import reverse

from inspection.inspections import services
from inspection.models import Inspection, Role, TechOccasion
from tests import factories
from tests.inspection.inspections import worlds

pytestmark = pytest.mark.django_db


@pytest.fixture
def club():
    return factories.club()


@pytest.fixture
def inspector(club, client):
    who = factories.member(club, Role.TECH_INSPECTOR)
    client.force_login(who)
    return who


@pytest.fixture
def occasion(club):
    return worlds.occasion(club, worlds.WIDTH)


def line(occasion):
    return reverse("occasion-detail", args=[occasion.club.slug, occasion.public_id])


def test_a_driver_finds_nobody_by_letters(client, club, occasion):
    factories.car(club, factories.driver(club, "Real Name", public_name="Comet"), number=31)
    client.force_login(factories.member(club, Role.DRIVER))
    assert "Real Name" not in client.get(f"{line(occasion)}?car=Real").content.decode()

    client.force_login(factories.member(club, Role.TECH_INSPECTOR))
    assert "Real Name" in client.get(f"{line(occasion)}?car=Real").content.decode()


def type_in(client, occasion, text, **more):
    address = reverse("inspection-open", args=[occasion.club.slug, occasion.public_id])
    return client.post(address, {"car": text, "phase": "before"} | more)


def test_a_number_and_enter_open_the_card(client, club, inspector, occasion):
    car = factories.car(club, number=27)
    response = type_in(client, occasion, "27")
    card = Inspection.objects.get()
    assert (card.car, card.opened_by) == (car, inspector)
    assert response.url == reverse("inspection-detail", args=[club.slug, card.public_id])


def test_the_same_number_again_opens_the_same_card(client, club, inspector, occasion):
    factories.car(club, number=27)
    assert type_in(client, occasion, "27").url == type_in(client, occasion, "27").url
    assert Inspection.objects.count() == 1


def test_letters_of_a_driver_with_two_cars_show_both_one_tap_each(client, club, inspector, occasion):
    mo = factories.driver(club, "Mo Fairweather")
    for number in (27, 28):
        factories.car(club, owner=mo, number=number)
    page = client.get(type_in(client, occasion, "fai").url).content.decode()
    assert "Which car?" in page
    assert all(f'name="car" value="{number}"' in page for number in (27, 28))
    assert not Inspection.objects.exists()


def test_a_number_that_no_car_has_is_said(client, club, inspector, occasion):
    page = client.get(type_in(client, occasion, "99").url).content.decode()
    assert "No car has the number" in page


def test_the_phase_goes_with_the_card(client, club, inspector, occasion):
    factories.car(club, number=27)
    type_in(client, occasion, "27", phase="after")
    assert Inspection.objects.get().phase == "after"
    type_in(client, occasion, "27", phase="nonsense")
    assert set(Inspection.objects.values_list("phase", flat=True)) == {"after", "before"}


def test_a_failed_car_stands_first_with_what_failed(client, club, inspector, occasion):
    card = services.open_inspection(occasion=occasion, car=factories.car(club), by=inspector)
    services.record_measurement(inspection=card, clause=worlds.clauses_of(occasion)[0], text="65", by=inspector)
    page = client.get(line(occasion)).content.decode()
    assert "Needs attention" in page
    assert "1 Overall width" in page


def test_an_empty_line_says_what_to_do(client, inspector, occasion):
    assert "Type a car" in client.get(line(occasion)).content.decode()


def test_a_tech_day_is_opened_by_a_published_revision(client, club, inspector):
    revision = factories.published_sheet(club)
    data = {"name": "Tech day", "date": "2026-11-20", "revision": revision.pk}
    response = client.post(reverse("occasion-create", args=[club.slug]), data)
    day = TechOccasion.objects.get()
    assert (day.name, day.date, day.revision) == ("Tech day", dt.date(2026, 11, 20), revision)
    assert response.url == line(day)


def test_a_tech_day_cannot_be_opened_by_the_sheet_of_another_club(client, club, inspector):
    factories.published_sheet(club)
    foreign = factories.published_sheet(factories.club())
    data = {"name": "Tech day", "date": "2026-11-20", "revision": foreign.pk}
    response = client.post(reverse("occasion-create", args=[club.slug]), data)
    assert response.status_code == 422
    assert not TechOccasion.objects.exists()


def test_without_a_published_sheet_the_page_says_what_to_do(client, club, inspector):
    page = client.get(reverse("occasion-create", args=[club.slug])).content.decode()
    assert "this club has none yet" in page


def test_tech_days_are_listed_and_exported(client, club, inspector, occasion):
    address = reverse("occasion-list", args=[club.slug])
    assert occasion.name in client.get(address).content.decode()
    exported = client.get(address, {"export": "csv"})
    assert exported.headers["Content-Type"].startswith("text/csv")
    assert occasion.name in exported.content.decode("utf-8-sig")


def test_a_driver_sees_the_line_and_opens_no_card(client, club, occasion):
    factories.car(club, number=27)
    client.force_login(factories.member(club, Role.DRIVER))
    assert client.get(line(occasion)).status_code == 200
    assert type_in(client, occasion, "27").status_code == 403
