"""Every address tried by everybody: signed out, from another club, without the permission, with it."""

import pytest
from django.db import transaction
from django.test import Client
from django.urls import reverse

from inspection.clubs.access import PERMISSIONS
from inspection.models import Club, Role
from tests import factories
from tests.addresses import ADDRESSES, MEMBER, OUTSIDE_CLUBS, PUBLIC, names_of_all, url_of

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("undrawn_paper")]

DENIED, HIDDEN = 403, 404


@pytest.fixture
def _django_db_helper(taken_back):
    """Instead of pytest-django's own: the club is made once for the module."""


@pytest.fixture
def club(kept_club):
    return Club.objects.get(pk=kept_club.pk)


def answer(client, name, club):
    url = url_of(name, club)
    return client.post(url) if ADDRESSES[name].posts else client.get(url)


def test_the_table_names_every_address_and_no_other():
    assert sorted({*ADDRESSES, *OUTSIDE_CLUBS}) == sorted(set(names_of_all()))


def test_every_permission_is_asked_for_somewhere():
    assert {address.who for address in ADDRESSES.values()} >= set(PERMISSIONS)


def test_the_public_reads_public_pages_and_signs_in_for_the_rest(client, club):
    wrong = {}
    for name, address in ADDRESSES.items():
        response = answer(client, name, club)
        if address.who == PUBLIC:
            as_it_should = response.status_code == address.status
        else:
            as_it_should = response.status_code == 302 and response["Location"].startswith("/sign-in/")
        if not as_it_should:
            wrong[name] = response.status_code

    assert wrong == {}


def test_who_belongs_to_another_club_does_not_learn_what_this_one_has(client, club):
    client.force_login(factories.member(factories.club(), Role.OWNER))

    wrong = {
        name: response.status_code
        for name, address in ADDRESSES.items()
        if (response := answer(client, name, club)).status_code != (address.status if address.who == PUBLIC else HIDDEN)
    }

    assert wrong == {}


@pytest.mark.parametrize("role", Role.values)
def test_a_role_may_do_what_the_table_of_roles_gives_it_and_nothing_else(client, club, role):
    client.force_login(factories.member(club, Role(role)))

    wrong = {}
    for name, address in ADDRESSES.items():
        may = address.who in {PUBLIC, MEMBER} or role in PERMISSIONS[address.who]
        if may and address.posts:
            continue  # what a post without content does is its own page's test; below: it is not denied
        status = answer(client, name, club).status_code
        if (may and status != address.status) or (not may and status != DENIED):
            wrong[name] = status

    assert wrong == {}


def test_an_owner_may_post_wherever_there_is_something_to_post(client, club):
    client.force_login(factories.member(club, Role.OWNER))

    wrong = {}
    for name, address in ADDRESSES.items():
        if address.posts:
            with transaction.atomic():
                status = answer(client, name, club).status_code
                transaction.set_rollback(True)
            if status not in {200, 302, 303, 400, 409, 422}:
                wrong[name] = status

    assert wrong == {}


def test_nothing_that_changes_things_answers_to_a_link(client, club):
    client.force_login(factories.member(club, Role.OWNER))

    wrong = {
        name: response.status_code
        for name, address in ADDRESSES.items()
        if address.posts and (response := client.get(url_of(name, club))).status_code != 405
    }

    assert wrong == {}


@pytest.mark.parametrize(("name", "who"), OUTSIDE_CLUBS.items())
def test_addresses_outside_clubs_ask_for_signing_in_where_they_should(client, club, name, who):
    response = client.post(reverse(name)) if name == "sign-out" else client.get(reverse(name))

    asks = response.status_code == 302 and response["Location"].startswith("/sign-in/")
    assert asks == (who == MEMBER)


def test_every_form_carries_its_token(club):
    """CSRF everywhere: a post without the token is refused, whoever sends it."""
    client = Client(enforce_csrf_checks=True)
    client.force_login(factories.member(club, Role.OWNER))

    wrong = {
        name: response.status_code
        for name, address in ADDRESSES.items()
        if address.posts and (response := client.post(url_of(name, club))).status_code != DENIED
    }

    assert wrong == {}
