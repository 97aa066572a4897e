"""Take money and give it back. A line is never changed: a mistake is taken back by another line."""

import datetime as dt
from decimal import Decimal

from django.db import transaction
from django.utils.translation import gettext as _

from inspection.clubs.services import write_log
from inspection.models import Driver, User
from racedesk.models import Entry, EntryDriver, Event, Payment
from racedesk.takings.errors import (
    AlreadyTakenBack,
    AmountNotPositive,
    AmountTooLarge,
    CreditNotThere,
    MoreThanPaid,
    OwedChanged,
)
from racedesk.takings.selectors import Account, Kind, account_of, credit_of

LARGEST = Decimal("999999.99")


@transaction.atomic
def record_payment(
    *,
    entry: Entry,
    kind: str,
    amount: Decimal,
    note: str = "",
    version: str = "",
    by: User | None,
    now: dt.datetime | None = None,
) -> Payment:
    """One line of the night's takings for this entry's first driver. kind: of Payment.Kind; amount above zero.

    version: of the account on the page that sends this, so that a double tap is not written down twice.

    Refused: amount_not_positive, amount_too_large, credit_not_there (using more credit than there is),
    more_than_paid (paying back more than was paid for this entry), owed_changed.
    """
    entry = Entry.objects.hold(entry.pk, "race__event__club")
    event = entry.race.event
    driver = EntryDriver.objects.filter(entry=entry).select_related("driver").order_by("position", "id")[0].driver
    _check_amount(amount)
    account = account_of(entry)
    if version and version != account.version:
        raise OwedChanged(driver=driver, owed=f"{account.owed:.2f}")
    if kind == Kind.PAID_BACK:
        _check_cash(account, driver, amount)
    if kind == Kind.CREDIT_USED:
        _check_credit(event, driver, amount)
    moment = {"at": now} if now is not None else {}
    line = Payment.objects.create(
        event=event, driver=driver, entry=entry, kind=Kind(kind), amount=amount, note=note, by=by, **moment
    )
    write_log(club=event.club, action="recorded payment", subject=line, by=by, kind=str(kind), amount=str(amount))
    return line


def _check_amount(amount: Decimal) -> None:
    if not amount.is_finite() or amount <= 0:
        raise AmountNotPositive
    if amount > LARGEST:
        raise AmountTooLarge(largest=LARGEST)


def _check_cash(account: Account, driver: Driver, amount: Decimal) -> None:
    if account.cash < amount:
        raise MoreThanPaid(driver=driver, paid=f"{account.cash:.2f}", amount=f"{amount:.2f}")


def _check_credit(event: Event, driver: Driver, amount: Decimal) -> None:
    # The driver's row is the lock of his credit: two desks must not spend the same credit.
    Driver.objects.hold(driver.pk)
    credit = credit_of(event.club, [driver])[driver.pk]
    if credit < amount:
        raise CreditNotThere(driver=driver, credit=f"{credit:.2f}", amount=f"{amount:.2f}")


@transaction.atomic
def take_back_payment(*, payment: Payment, reason: str, by: User | None) -> Payment:
    """Set a mistaken line right by one of the same kind and amount that counts the other way.

    Refused: already_taken_back (also for a line that takes another back), credit_not_there (the credit was spent),
    more_than_paid (the money was paid back).
    """
    if payment.entry_id is not None:
        Entry.objects.hold(payment.entry_id)  # as a payment does: what is in the box for it stays put meanwhile
    payment = Payment.objects.hold(payment.pk, "event__club", "driver", "entry")
    if payment.corrects_id is not None or Payment.objects.filter(corrects=payment).exists():
        raise AlreadyTakenBack
    if payment.kind == Kind.CREDIT_GIVEN:
        _check_credit(payment.event, payment.driver, payment.amount)
    if payment.kind == Kind.PAID and payment.entry is not None:
        _check_cash(account_of(payment.entry), payment.driver, payment.amount)
    line = Payment.objects.create(
        event=payment.event,
        driver=payment.driver,
        entry=payment.entry,
        kind=payment.kind,
        amount=payment.amount,
        note=(reason or _("taken back"))[:200],
        by=by,
        corrects=payment,
    )
    write_log(
        club=payment.event.club,
        action="took back payment",
        subject=line,
        by=by,
        reason=reason,
        kind=payment.kind,
        amount=str(payment.amount),
    )
    return line
