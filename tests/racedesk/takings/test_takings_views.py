"""The night's takings on the page and as a file."""

from decimal import Decimal

import pytest
from django.urls import reverse

from inspection.models import Role
from racedesk.models import Payment
from tests import factories, race_factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def entry():
    race = race_factories.race(name="Saloon")
    driver = factories.driver(race.event.club, "Ada Brandt")
    return race_factories.entry(race, driver, fee_due=Decimal("7.50"))


@pytest.fixture
def desk(client, entry):
    who = factories.member(entry.race.event.club, Role.ENTRY_DESK, name="desk")
    client.force_login(who)
    return who


def page(name, entry, *given):
    return reverse(name, args=[entry.race.event.club.slug, *(given or [entry.public_id])])


def test_a_payment_is_typed_with_a_comma(client, entry, desk):
    client.post(page("entry-payment", entry), {"kind": "paid", "amount": "7,50"})

    line = Payment.objects.get()
    assert (line.amount, line.by) == (Decimal("7.50"), desk)


def test_what_is_owed_stands_in_the_field(client, entry, desk):
    assert 'value="7.50"' in client.get(page("entry-payment", entry)).content.decode()


def test_a_double_tap_is_written_down_once_and_said(client, entry, desk):
    tap = {"kind": "paid", "amount": "7.50", "version": "7.50/0"}
    client.post(page("entry-payment", entry), tap)

    second = client.post(page("entry-payment", entry), tap)

    assert second.status_code == 409
    assert "0.00 is owed now" in second.content.decode()
    assert Payment.objects.count() == 1
    on_top = tap | {"version": second.context["form"]["version"].value()}
    assert client.post(page("entry-payment", entry), on_top).status_code == 302


def test_a_double_tap_gives_credit_once_though_nothing_less_is_owed(client, entry, desk):
    shown = client.get(page("entry-payment", entry)).context["form"]["version"].value()
    tap = {"kind": "credit_given", "amount": "5", "version": shown}

    answers = [client.post(page("entry-payment", entry), tap).status_code for _ in range(2)]

    assert answers == [302, 409]
    assert Payment.objects.count() == 1


@pytest.mark.parametrize(
    ("typed", "status"),
    [
        ({"kind": "paid", "amount": "1,000"}, 422),
        ({"kind": "paid", "amount": "NaN"}, 422),
        ({"kind": "paid", "amount": ""}, 422),
        ({"kind": "stolen", "amount": "5"}, 422),
        ({"kind": "paid", "amount": "0"}, 409),
        ({"kind": "credit_used", "amount": "5"}, 409),
    ],
)
def test_a_payment_that_cannot_be_is_refused_and_kept_in_the_form(client, entry, desk, typed, status):
    answer = client.post(page("entry-payment", entry), typed)

    assert answer.status_code == status
    assert f'value="{typed["amount"]}"' in answer.content.decode() or not typed["amount"]
    assert not Payment.objects.exists()


def test_a_mistake_is_taken_back_and_both_lines_are_shown(client, entry, desk):
    client.post(page("entry-payment", entry), {"kind": "paid", "amount": "7.50"})
    line = Payment.objects.get()

    client.post(page("payment-take-back", entry, line.pk), {"reason": "wrong driver"})

    shown = client.get(page("takings", entry, entry.race.event.public_id)).content.decode()
    assert "-7.50" in shown
    assert "wrong driver" in shown
    assert client.post(page("payment-take-back", entry, line.pk), {"reason": "again"}).status_code == 409
    assert Payment.objects.count() == 2


def test_the_takings_go_out_by_driver_and_by_line(client, entry, desk):
    client.post(page("entry-payment", entry), {"kind": "paid", "amount": "5", "note": "=1+1"})
    address = page("takings", entry, entry.race.event.public_id)

    by_driver = client.get(address, {"export": "csv"}).content.decode("utf-8-sig")
    lines = client.get(address, {"export": "csv", "list": "lines"}).content.decode("utf-8-sig")

    assert "Ada Brandt,Saloon,7.50,5.00,0.00,0.00,0.00,0.00,2.50" in by_driver
    assert "paid,5.00,'=1+1,desk" in lines


def test_the_takings_are_not_public(client, entry):
    address = page("takings", entry, entry.race.event.public_id)
    assert client.get(address).status_code == 302

    client.force_login(factories.member(entry.race.event.club, Role.TECH_INSPECTOR))
    assert client.get(address).status_code == 403


def test_a_line_of_another_club_is_not_found(client, entry, desk):
    other = race_factories.entry(race_factories.race())
    line = Payment.objects.create(
        event=other.race.event, driver=other.drivers.get().driver, entry=other, kind="paid", amount=5
    )

    assert client.get(page("payment-take-back", entry, line.pk)).status_code == 404


def test_the_takings_page_runs_no_more_queries_with_more_lines(client, entry, desk, django_assert_max_num_queries):
    address = page("takings", entry, entry.race.event.public_id)

    def lines(count):
        for _ in range(count):
            made = race_factories.entry(entry.race)
            Payment.objects.create(
                event=entry.race.event, driver=made.drivers.get().driver, entry=made, kind="paid", amount=5, by=desk
            )

    lines(2)
    client.get(address)
    with django_assert_max_num_queries(16) as few:
        client.get(address)
    lines(40)
    with django_assert_max_num_queries(len(few)):
        client.get(address)
