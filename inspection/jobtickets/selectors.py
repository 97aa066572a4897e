"""Read job tickets: what is due, what was used, what it comes to; read only."""

import datetime as dt
import hashlib
import json
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal
from typing import Any

from django.db.models import Case, Count, F, IntegerField, Q, QuerySet, Value, When
from django.utils.translation import gettext_lazy as _

from inspection.models import Club, JobLine, JobTicket, Part
from inspection.parts.selectors import parts_of

OVERDUE, OPEN, DONE, COLLECTED, CALLED_OFF = "overdue", "open", "done", "collected", "called_off"
STATE_WORDS = {
    OVERDUE: _("overdue"),
    OPEN: _("open"),
    DONE: _("done, to be collected"),
    COLLECTED: _("collected"),
    CALLED_OFF: _("called off"),
}
MOST_OFFERED = 400
CENT = Decimal("0.01")


def state_of(ticket: JobTicket, on: dt.date) -> str:
    """One of STATE_WORDS, derived from what was written. No query."""
    if ticket.cancelled_at:
        return CALLED_OFF
    if ticket.collected_at:
        return COLLECTED
    if ticket.done_at:
        return DONE
    return OVERDUE if ticket.promised_on and ticket.promised_on < on else OPEN


def is_closed(ticket: JobTicket) -> bool:
    """Is nothing more written on it: collected or called off? No query."""
    return bool(ticket.cancelled_at or ticket.collected_at)


def jobs_of(club: Club, on: dt.date) -> QuerySet[JobTicket]:
    """The tickets with driver, car and lines: overdue first, then by the day promised, those over last. Two queries."""
    over = Q(cancelled_at__isnull=False) | Q(collected_at__isnull=False)
    rank = Case(
        When(over, then=Value(3)),
        When(done_at__isnull=False, then=Value(2)),
        When(promised_on__lt=on, then=Value(0)),
        default=Value(1),
        output_field=IntegerField(),
    )
    found = JobTicket.objects.of(club).select_related("driver", "car").prefetch_related("lines")
    return found.annotate(rank=rank).order_by("rank", F("promised_on").asc(nulls_last=True), "-number")


def job_loaded(club: Club) -> QuerySet[JobTicket]:
    """Tickets ready to be shown. Two queries when one is read."""
    loaded = JobTicket.objects.of(club).select_related("club", "driver", "car", "opened_by")
    return loaded.prefetch_related("lines__part")


@dataclass(frozen=True, slots=True)
class LineShown:
    """A line of a ticket with what it comes to."""

    line: JobLine
    total: Decimal

    @property
    def stands(self) -> bool:
        return self.line.taken_back_at is None

    @property
    def quantity(self) -> str:
        """2 pieces are "2", an hour and a half "1.5"."""
        return f"{self.line.quantity.normalize():f}"


@dataclass(frozen=True, slots=True)
class Sums:
    """What a ticket comes to; balance below 0 when the deposit was more."""

    total: Decimal
    deposit: Decimal

    @property
    def balance(self) -> Decimal:
        return self.total - self.deposit


def line_total(line: JobLine) -> Decimal:
    """Quantity times price, to the cent. No query."""
    return (line.quantity * line.price).quantize(CENT, rounding=ROUND_HALF_EVEN)


def lines_of(ticket: JobTicket) -> list[LineShown]:
    """All lines in the order written, those taken back too. No query when loaded."""
    return [LineShown(line, line_total(line)) for line in ticket.lines.all()]


def sums_of(ticket: JobTicket) -> Sums:
    """The lines that stand, less the deposit. No query when the lines are loaded."""
    total = sum((line_total(line) for line in ticket.lines.all() if line.taken_back_at is None), Decimal("0.00"))
    return Sums(total=total, deposit=ticket.deposit)


def parts_to_use(club: Club) -> list[Part]:
    """The club's parts that are in use and in stock, to be offered while an article number is typed. Two queries."""
    found = parts_of(club).filter(owner=None, is_active=True, stock__gt=0)
    return list(found.order_by("kind", "name")[:MOST_OFFERED])


def due_counts(club: Club, on: dt.date) -> dict[str, int]:
    """How many tickets are overdue, and how many are open in all. One query."""
    open_ = Q(done_at=None, collected_at=None, cancelled_at=None)
    late = open_ & Q(promised_on__lt=on)
    return JobTicket.objects.of(club).aggregate(overdue=Count("pk", filter=late), open=Count("pk", filter=open_))


_SHOWN = (
    *("customer", "contact", "driver_id", "car_id", "car_words", "work_agreed", "note"),
    "promised_on",
)


def job_version(ticket: JobTicket) -> str:
    """A short mark of what the form showed; it differs once anybody has changed any of it. No query."""
    shown: list[Any] = [*(str(getattr(ticket, name)) for name in _SHOWN), f"{ticket.deposit:.2f}"]
    return hashlib.sha256(json.dumps(shown).encode()).hexdigest()[:16]
