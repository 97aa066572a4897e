"""What every answer says to the browser, whatever the page; and what it never says."""

import pytest
from django.conf import settings
from django.test import Client
from django.urls import reverse

from inspection.models import Role
from tests import factories
from tests.addresses import url_of

pytestmark = pytest.mark.django_db

PAGES = ["club-home", "heat-board", "car-list", "clause-create", "entry-list", "heat-run", "result-detail"]


@pytest.mark.parametrize("name", PAGES)
def test_no_page_may_run_what_does_not_come_from_our_own_files(client, club, name):
    client.force_login(factories.member(club, Role.OWNER))

    headers = client.get(url_of(name, club)).headers

    policy = headers["Content-Security-Policy"]
    assert "default-src 'self'" in policy
    assert "object-src 'none'" in policy
    assert "frame-ancestors 'none'" in policy
    assert "form-action 'self'" in policy
    assert "unsafe" not in policy
    assert "http" not in policy
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["X-Frame-Options"] == "DENY"
    assert headers["Referrer-Policy"] == "same-origin"


def test_cookies_of_a_signed_in_person_are_kept_from_scripts_and_from_other_sites(client, club):
    who = factories.member(club)
    client.post(reverse("sign-in"), {"username": who.username, "password": "correct horse 42"})

    session = client.cookies[settings.SESSION_COOKIE_NAME]
    assert session["httponly"]
    assert session["samesite"] == "Lax"


@pytest.mark.parametrize("target", ["https://elsewhere.example/", "//elsewhere.example/", "javascript:alert(1)"])
def test_signing_in_never_leads_to_another_site(client, club, target):
    who = factories.member(club)

    response = client.post(
        reverse("sign-in"), {"username": who.username, "password": "correct horse 42", "next": target}
    )

    assert response["Location"] == "/"


def test_a_bug_tells_a_visitor_nothing_of_itself(club, monkeypatch):
    def break_down(*_args, **_kwargs):
        raise ValueError("secret-detail of the inside")

    monkeypatch.setattr("racedesk.visitors.views.front_of", break_down)
    client = Client(raise_request_exception=False)

    response = client.get(reverse("club-home", args=[club.slug]))

    assert response.status_code == 500
    page = response.content.decode()
    assert "Something went wrong on our side" in page
    assert "secret-detail" not in page
    assert "Traceback" not in page
