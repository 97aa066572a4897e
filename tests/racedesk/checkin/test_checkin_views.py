"""What can be done with one entry, from its row and from its page."""

import pytest
from django.urls import reverse

from inspection.models import Role
from racedesk.models import Entry
from tests import factories, race_factories

pytestmark = pytest.mark.django_db
State = Entry.State


@pytest.fixture
def entry():
    return race_factories.entry(race_factories.race_with_tech(), state=State.ENTERED)


def sign_in(client, entry, role=Role.ENTRY_DESK):
    client.force_login(factories.member(entry.race.event.club, role))


def page(name, entry):
    return reverse(name, args=[entry.race.event.club.slug, entry.public_id])


def stands(entry):
    entry.refresh_from_db()
    return entry.state


def test_one_tap_checks_in_and_comes_back_to_the_row(client, entry):
    sign_in(client, entry)

    answer = client.post(page("entry-check-in", entry))

    assert stands(entry) == State.CHECKED_IN
    assert answer.url.endswith(f"/entries/#entry-{entry.public_id}")


def test_not_come_and_put_back(client, entry):
    sign_in(client, entry)

    client.post(page("entry-no-show", entry))
    assert stands(entry) == State.NO_SHOW
    client.post(page("entry-put-back", entry))
    assert stands(entry) == State.ENTERED


def test_what_changes_something_is_not_done_by_a_link(client, entry):
    sign_in(client, entry)

    for name in ("entry-check-in", "entry-no-show", "entry-put-back"):
        assert client.get(page(name, entry)).status_code == 405
    assert stands(entry) == State.ENTERED


def test_a_withdrawal_asks_for_the_reason(client, entry):
    sign_in(client, entry)

    assert client.post(page("entry-withdraw", entry), {"reason": " "}).status_code == 422
    client.post(page("entry-withdraw", entry), {"reason": "motor burnt out"})

    assert stands(entry) == State.WITHDRAWN
    assert entry.state_reason == "motor burnt out"


def test_only_the_director_overrides_tech(client, entry):
    sign_in(client, entry)
    assert client.post(page("entry-override", entry), {"reason": "why not"}).status_code == 403

    sign_in(client, entry, Role.RACE_DIRECTOR)
    client.post(page("entry-override", entry), {"reason": "scale battery is flat"})

    entry.refresh_from_db()
    assert entry.override_reason == "scale battery is flat"


def test_the_car_is_changed_on_its_own_page(client, entry):
    sign_in(client, entry)
    car = factories.car(entry.race.event.club)

    client.post(page("entry-car", entry), {"car": car.public_id})

    assert entry.cars.get().car == car


def test_an_entry_of_another_club_is_not_found(client, entry):
    sign_in(client, entry)
    other = race_factories.entry(race_factories.race())

    address = reverse("entry-detail", args=[entry.race.event.club.slug, other.public_id])
    assert client.get(address).status_code == 404
    assert client.get(page("entry-detail", entry)).status_code == 200
