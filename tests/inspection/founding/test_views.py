"""The first page of an installation: there only while no club is, and only with the code."""

import pytest
from django.urls import reverse

from inspection.founding.services import first_run_code
from inspection.models import Characteristic, Club, Gauge, Membership, TrackLayout
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def own_data_folder(settings, tmp_path):
    settings.DATA_DIR = tmp_path


def filled(**changes):
    return {
        "code": first_run_code(),
        "name": "Söller Hall Club",
        "slug": "soller",
        "time_zone": "Europe/Vienna",
        "units": "mm",
        "decimal_mark": ".",
        "paper": "A4",
        "currency": "EUR",
        "track_name": "Main track",
        "lane_names": "White, Red, Lagoon",
        "username": "noor",
        "person": "Noor",
        "password": "a lane of her own",
    } | changes


def test_the_front_page_leads_there_while_no_club_is(client):
    assert client.get("/").url == reverse("first-run")
    assert client.get(reverse("first-run")).status_code == 200


def test_it_is_gone_once_a_club_stands(client):
    factories.club()

    assert client.get(reverse("first-run")).status_code == 404
    assert client.post(reverse("first-run"), filled(code="whatever")).status_code == 404


def test_founding_makes_the_club_its_director_its_track_and_its_gauges(client):
    response = client.post(reverse("first-run"), filled())

    club = Club.objects.get()
    assert response.url == reverse("home")  # which shows the new club what to do next
    assert (club.name, club.time_zone) == ("Söller Hall Club", "Europe/Vienna")
    assert set(Membership.objects.values_list("user__username", "role")) == {
        ("noor", "owner"),
        ("noor", "race_director"),
    }
    layout = TrackLayout.objects.of(club).get()
    assert [(lane.number, lane.name, lane.color) for lane in layout.lanes.all()] == [
        (1, "White", "#ffffff"),
        (2, "Red", "#c8202f"),
        (3, "Lagoon", "#1d55b5"),
    ]
    assert Gauge.objects.of(club).exists()
    assert Characteristic.objects.of(club).exists()


def test_who_founds_the_club_is_signed_in_at_once(client):
    page = client.post(reverse("first-run"), filled(), follow=True)

    assert page.status_code == 200
    assert page.context["user"].username == "noor"


def test_a_wrong_code_founds_nothing_and_keeps_what_was_typed(client):
    first_run_code()

    response = client.post(reverse("first-run"), filled(code="bcdfghjkmnpq"))

    assert response.status_code == 422
    assert response.context["form"].errors["code"]
    assert "Söller Hall Club" in response.content.decode()
    assert not Club.objects.exists()


@pytest.mark.parametrize("slug", ["static", "Sign-In", "two words"])
def test_a_short_name_that_stands_for_another_page_is_refused(client, slug):
    response = client.post(reverse("first-run"), filled(slug=slug))

    assert response.context["form"].errors["slug"]
    assert not Club.objects.exists()


@pytest.mark.parametrize("lanes", ["", "Red, red", ", ".join(f"L{n}" for n in range(20)), "x" * 31])
def test_lanes_that_no_track_has_are_refused(client, lanes):
    response = client.post(reverse("first-run"), filled(lane_names=lanes))

    assert response.context["form"].errors["lane_names"]
    assert not Club.objects.exists()


def test_a_password_that_is_too_short_is_refused(client):
    response = client.post(reverse("first-run"), filled(password="short"))

    assert response.context["form"].errors["password"]
    assert not Club.objects.exists()
