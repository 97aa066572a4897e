"""Who owes what, and what is in the box."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from decimal import Decimal

from django.db.models import Prefetch

from inspection.models import Club, Driver
from racedesk.models import Entry, EntryDriver, Event, Payment

ZERO = Decimal(0)
RACING = frozenset({Entry.State.ENTERED, Entry.State.CHECKED_IN})
Kind = Payment.Kind


def _first_driver(entry: Entry) -> Driver | None:
    rows = entry.drivers.all()
    return rows[0].driver if rows else None


@dataclass(slots=True)
class Account:
    """What is due for one entry or one driver, and what has been done about it; all in the club's currency."""

    due: Decimal = ZERO
    by_kind: dict[str, Decimal] = field(default_factory=lambda: dict.fromkeys(Kind.values, ZERO))
    lines: int = 0

    def add(self, payment: Payment) -> None:
        """Count a line; one that takes another back counts the other way."""
        self.by_kind[payment.kind] += payment.counted
        self.lines += 1

    @property
    def version(self) -> str:
        """What a page sends back of the account it showed; another one after every line and every change of the fee."""
        return f"{self.owed:.2f}/{self.lines}"

    @property
    def paid(self) -> Decimal:
        return self.by_kind[Kind.PAID]

    @property
    def paid_back(self) -> Decimal:
        return self.by_kind[Kind.PAID_BACK]

    @property
    def waived(self) -> Decimal:
        return self.by_kind[Kind.WAIVED]

    @property
    def credit_used(self) -> Decimal:
        return self.by_kind[Kind.CREDIT_USED]

    @property
    def credit_given(self) -> Decimal:
        return self.by_kind[Kind.CREDIT_GIVEN]

    @property
    def settled(self) -> Decimal:
        """Paid, waived or from credit, less what was paid back. Credit given is for another night."""
        return self.paid + self.waived + self.credit_used - self.paid_back

    @property
    def owed(self) -> Decimal:
        """Still to be paid; zero when more was paid than due."""
        return max(ZERO, self.due - self.settled)

    @property
    def over(self) -> Decimal:
        """Paid beyond what is due and not given as credit."""
        return max(ZERO, self.settled - self.due - self.credit_given)

    @property
    def cash(self) -> Decimal:
        """Money in the box: paid less paid back."""
        return self.paid - self.paid_back


def account_of(entry: Entry) -> Account:
    """The account of one loaded entry; nothing is due from who waits, withdrew or did not come. No query."""
    account = Account(due=entry.fee_due if entry.state in RACING else ZERO)
    for payment in entry.payments.all():
        account.add(payment)
    return account


def credit_of(club: Club, drivers: Iterable[Driver]) -> dict[int, Decimal]:
    """The credit each of these drivers has with the club, by driver id; all nights counted. 1 query."""
    credit = {driver.pk: ZERO for driver in drivers}
    lines = Payment.objects.of(club).filter(driver__in=credit.keys(), kind__in=[Kind.CREDIT_GIVEN, Kind.CREDIT_USED])
    for payment in lines:
        credit[payment.driver_id] += payment.counted if payment.kind == Kind.CREDIT_GIVEN else -payment.counted
    return credit


@dataclass(slots=True)
class DriverTakings:
    """One driver's account of a night."""

    driver: Driver
    races: list[str]
    account: Account


@dataclass(frozen=True, slots=True)
class Takings:
    """The night's takings: a row a driver by name, every line in order, and the totals."""

    rows: list[DriverTakings]
    lines: list[Payment]
    total: Account

    @property
    def owed(self) -> Decimal:
        """All that is still to be paid; what one overpaid does not settle another's fee."""
        return sum((row.account.owed for row in self.rows), ZERO)


def takings_of(event: Event) -> Takings:
    """Who owed and paid what at a night. 3 queries however many."""
    paying = Entry.objects.filter(race__event=event).select_related("race").order_by("race__position", "entered_at")
    drivers = Prefetch("drivers", queryset=EntryDriver.objects.select_related("driver"))
    lines = list(
        Payment.objects.filter(event=event).select_related("driver", "by", "corrects", "corrected_by", "entry__race")
    )
    rows: dict[int, DriverTakings] = {}
    for entry in paying.prefetch_related(drivers):
        driver = _first_driver(entry)
        if driver is None:
            continue
        row = rows.setdefault(driver.pk, DriverTakings(driver, [], Account()))
        if entry.state in RACING:
            row.account.due += entry.fee_due
            row.races.append(entry.race.name)
    total = Account()
    for line in lines:
        rows.setdefault(line.driver_id, DriverTakings(line.driver, [], Account())).account.add(line)
        total.add(line)
    total.due = sum((row.account.due for row in rows.values()), ZERO)
    ordered = sorted(rows.values(), key=lambda row: (row.driver.name.casefold(), row.driver.pk))
    return Takings(ordered, lines, total)
