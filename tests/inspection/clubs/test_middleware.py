"""A refusal that no view answered is a plain page, never a crash; a bug stays a bug."""

import pytest
from django.db import IntegrityError, OperationalError
from django.http import HttpResponse
from django.test import RequestFactory
from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import Refused
from inspection.clubs.middleware import RefusalMiddleware


class Shut(Refused):
    code = "shut"
    message = _("Entries for <{race}> are shut.")


def answer(error, **headers):
    request = RequestFactory().post("/quarry/entries/", headers=headers)
    return RefusalMiddleware(lambda _request: HttpResponse()).process_exception(request, error)


def test_a_refusal_is_a_page_with_its_sentence():
    response = answer(Shut(race="GT 32"))

    assert response.status_code == 409
    assert "Entries for &lt;GT 32&gt; are shut." in response.content.decode()


def test_it_leads_back_to_the_page_before():
    page = answer(Shut(race="x"), referer="http://testserver/quarry/entries/").content.decode()

    assert 'href="http://testserver/quarry/entries/"' in page


@pytest.mark.parametrize("referer", ["", "https://elsewhere.example/", "javascript:alert(1)"])
def test_it_never_leads_to_another_site(referer):
    page = answer(Shut(race="x"), referer=referer).content.decode()

    assert 'class="button" href="/"' in page
    assert "elsewhere" not in page
    assert "javascript" not in page


@pytest.mark.parametrize(("error", "status"), [(OperationalError("database is locked"), 503), (IntegrityError(), 409)])
def test_what_another_did_at_the_same_moment_is_told_and_tells_nothing_of_the_database(error, status, caplog):
    response = answer(error)

    assert response.status_code == status
    assert "nothing of" in response.content.decode()
    assert "database is locked" not in response.content.decode()
    assert "Not saved" in caplog.text


def test_a_bug_is_left_to_be_a_bug():
    assert answer(ValueError("oops")) is None
