"""Money in and out: lines are added, never changed, and nothing is spent twice."""

from decimal import Decimal

import pytest

from inspection.models import LogEntry
from racedesk.models import Entry, Payment
from racedesk.takings.errors import (
    AlreadyTakenBack,
    AmountNotPositive,
    AmountTooLarge,
    CreditNotThere,
    MoreThanPaid,
)
from racedesk.takings.selectors import account_of, credit_of, takings_of
from racedesk.takings.services import record_payment, take_back_payment
from tests import factories, race_factories

pytestmark = pytest.mark.django_db
Kind = Payment.Kind


def entry(race=None, *, fee="8.00", **fields):
    return race_factories.entry(race or race_factories.race(), fee_due=Decimal(fee), with_car=False, **fields)


def pay(of, amount, kind=Kind.PAID, **more):
    return record_payment(entry=of, kind=kind, amount=Decimal(amount), by=None, **more)


def account(of):
    return account_of(Entry.objects.get(pk=of.pk))


def test_a_fee_is_settled_by_paying_waiving_or_credit():
    race = race_factories.race()
    parts = entry(race)
    pay(parts, "5")
    pay(parts, "3", Kind.WAIVED)

    assert account(parts).owed == 0
    assert account(parts).cash == 5
    assert LogEntry.objects.filter(action="recorded payment").count() == 2


def test_credit_given_one_night_is_used_the_next():
    first = entry()
    pay(first, "8")
    pay(first, "8", Kind.CREDIT_GIVEN, note="meeting stopped, power failed")
    driver, club = first.drivers.get().driver, first.race.event.club
    assert credit_of(club, [driver]) == {driver.pk: 8}
    assert account(first).owed == 0

    second = entry(race_factories.race(race_factories.event(club)), driver=driver)
    pay(second, "8", Kind.CREDIT_USED)

    assert account(second).owed == 0
    assert account(second).cash == 0
    assert credit_of(club, [driver]) == {driver.pk: 0}
    with pytest.raises(CreditNotThere):
        pay(second, "0.01", Kind.CREDIT_USED)


def test_no_more_is_paid_back_than_was_paid():
    one = entry()
    pay(one, "8")
    pay(one, "3", Kind.PAID_BACK)

    with pytest.raises(MoreThanPaid):
        pay(one, "5.01", Kind.PAID_BACK)
    assert account(one).cash == 5
    assert account(one).owed == 3


@pytest.mark.parametrize(
    ("amount", "refusal"),
    [("0", AmountNotPositive), ("-1", AmountNotPositive), ("NaN", AmountNotPositive), ("1000000", AmountTooLarge)],
)
def test_an_amount_that_cannot_be_is_refused(amount, refusal):
    with pytest.raises(refusal):
        pay(entry(), amount)
    assert not Payment.objects.exists()


@pytest.mark.parametrize("kind", [Kind.PAID, Kind.WAIVED, Kind.CREDIT_GIVEN])
def test_a_mistake_is_set_right_by_a_line_the_other_way(kind):
    one = entry()
    line = pay(one, "8", kind)

    back = take_back_payment(payment=line, reason="wrong driver", by=None)

    assert Payment.objects.get(pk=line.pk).amount == 8
    assert (back.kind, back.counted, back.corrects) == (kind, -8, line)
    assert account(one).by_kind[kind] == 0
    assert account(one).owed == 8


def test_a_line_is_taken_back_once_and_the_taking_back_is_final():
    line = pay(entry(), "8")
    back = take_back_payment(payment=line, reason="wrong driver", by=None)

    for again in (line, back):
        with pytest.raises(AlreadyTakenBack):
            take_back_payment(payment=again, reason="again", by=None)


def test_credit_that_was_spent_cannot_be_taken_back():
    one = entry()
    given = pay(one, "8", Kind.CREDIT_GIVEN)
    pay(one, "8", Kind.CREDIT_USED)

    with pytest.raises(CreditNotThere):
        take_back_payment(payment=given, reason="mistake", by=None)


def test_what_was_paid_back_cannot_be_taken_back_once_more():
    one = entry()
    paid = pay(one, "8")
    pay(one, "8", Kind.PAID_BACK)

    with pytest.raises(MoreThanPaid):
        take_back_payment(payment=paid, reason="mistake", by=None)
    assert account(one).cash == 0


def test_a_used_credit_taken_back_is_there_again():
    one = entry()
    pay(one, "8", Kind.CREDIT_GIVEN)
    used = pay(one, "8", Kind.CREDIT_USED)
    take_back_payment(payment=used, reason="paid after all", by=None)

    driver = one.drivers.get().driver
    assert credit_of(one.race.event.club, [driver])[driver.pk] == 8


def test_nothing_is_due_from_who_waits_or_is_out():
    race = race_factories.race()
    states = [Entry.State.WAITING, Entry.State.WITHDRAWN, Entry.State.NO_SHOW]

    assert [account(entry(race, state=state)).due for state in states] == [0, 0, 0]


def test_paid_too_much_is_seen_until_it_is_given_as_credit():
    one = entry()
    pay(one, "10")
    assert account(one).over == 2

    pay(one, "2", Kind.CREDIT_GIVEN)
    assert account(one).over == 0


def test_the_night_adds_up_by_driver_and_in_total():
    race = race_factories.race()
    other = race_factories.race(race.event)
    ada, jun = factories.driver(race.event.club, "Ada Brandt"), factories.driver(race.event.club, "Jun Hara")
    in_two = [entry(race, driver=ada), entry(other, driver=ada, fee="5.00")]
    pay(in_two[0], "13")
    pay(entry(race, driver=jun), "3")
    entry(race, state=Entry.State.WITHDRAWN)

    found = takings_of(race.event)

    rows = {row.driver.name: row for row in found.rows}
    assert rows["Ada Brandt"].races == [race.name, other.name]
    assert (rows["Ada Brandt"].account.due, rows["Ada Brandt"].account.owed) == (13, 0)
    assert rows["Jun Hara"].account.owed == 5
    assert (found.total.cash, found.total.due, found.owed) == (16, 21, 5)


def test_the_takings_run_no_more_queries_with_more_lines(django_assert_num_queries):
    race = race_factories.race()
    for _ in range(12):
        pay(entry(race), "8")

    with django_assert_num_queries(3):
        takings_of(race.event)
