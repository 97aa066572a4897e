"""Open job tickets, write lines on them, take lines back, and say what became of the work."""

import datetime as dt
from dataclasses import dataclass, fields
from decimal import Decimal

from django.db import transaction
from django.db.models import Max
from django.utils import timezone
from django.utils.translation import gettext as _

from inspection.clubs.services import hold_club, write_log
from inspection.gauges.selectors import last_editor_of
from inspection.jobtickets.errors import JobChangedMeanwhile, JobClosed, LineTakenBack, NothingOnLine, StrangerInJob
from inspection.jobtickets.selectors import (
    CALLED_OFF,
    COLLECTED,
    DONE,
    OPEN,
    STATE_WORDS,
    is_closed,
    job_version,
    state_of,
)
from inspection.models import Car, Club, Driver, JobLine, JobTicket, Part, User
from inspection.parts.services import add_stock, use_stock


@dataclass(frozen=True, slots=True, kw_only=True)
class JobContent:
    """What the form of a ticket holds."""

    customer: str
    work_agreed: str
    contact: str = ""
    driver: Driver | None = None
    car: Car | None = None
    car_words: str = ""
    promised_on: dt.date | None = None
    deposit: Decimal = Decimal(0)
    note: str = ""


_FIELDS = tuple(field.name for field in fields(JobContent))


@transaction.atomic
def open_job(*, club: Club, content: JobContent, by: User | None) -> JobTicket:
    """A new ticket with the club's next number. Refused: stranger_in_job."""
    ticket = JobTicket(club=club, opened_by=by)
    _fill(ticket, content)
    hold_club(club)
    ticket.number = (JobTicket.objects.of(club).aggregate(last=Max("number"))["last"] or 0) + 1
    ticket.save()
    _log(ticket, "opened job ticket", by)
    return ticket


@transaction.atomic
def change_job(*, ticket: JobTicket, content: JobContent, version: str, by: User | None) -> JobTicket:
    """Save the form of a ticket. Refused: job_closed, stranger_in_job, and JobChangedMeanwhile for who is second."""
    current = _open(ticket)
    if version != job_version(current):
        raise JobChangedMeanwhile(who=last_editor_of(current.club, current))
    _fill(current, content)
    current.save()
    _log(current, "changed job ticket", by)
    return current


def _fill(ticket: JobTicket, content: JobContent) -> None:
    for row in (content.driver, content.car):
        if row is not None and row.club_id != ticket.club_id:
            raise StrangerInJob(name=row)
    for name in _FIELDS:
        setattr(ticket, name, getattr(content, name))


def _open(ticket: JobTicket) -> JobTicket:
    """The ticket, held; refused when it is over."""
    current = JobTicket.objects.hold(ticket.pk, "club")
    if is_closed(current):
        state = STATE_WORDS[state_of(current, timezone.localdate())]
        raise JobClosed(number=current.number, state=state)
    return current


def _log(ticket: JobTicket, action: str, by: User | None, reason: str = "") -> None:
    write_log(club=ticket.club, action=action, subject=ticket, by=by, reason=reason)


# Lines.


@transaction.atomic
def use_part(
    *, ticket: JobTicket, part: Part, quantity: Decimal, price: Decimal | None = None, by: User | None
) -> JobLine:
    """A part on a ticket: its stock falls here and now. price: each; None for the part's own of this day.

    Refused: job_closed, stranger_in_job, nothing_on_line, not_in_stock; then nothing is written and none is used.
    """
    current = _open(ticket)
    if part.club_id != current.club_id:
        raise StrangerInJob(name=part)
    if quantity <= 0 or quantity != int(quantity):
        raise NothingOnLine
    used = use_stock(part=part, quantity=int(quantity), reason=_reason(current), by=by)
    each = (used.price or Decimal(0)) if price is None else price
    return JobLine.objects.create(ticket=current, part=used, text=used.name, quantity=quantity, price=each, by=by)


@transaction.atomic
def add_labor(*, ticket: JobTicket, text: str, quantity: Decimal, price: Decimal, by: User | None) -> JobLine:
    """Labor, or anything else that is no part of the register. Refused: job_closed, nothing_on_line."""
    current = _open(ticket)
    if quantity <= 0 or not text.strip():
        raise NothingOnLine
    _log(current, "wrote on job ticket", by, reason=text)
    return JobLine.objects.create(ticket=current, text=text[:200], quantity=quantity, price=price, by=by)


@transaction.atomic
def take_back_line(*, line: JobLine, by: User | None) -> JobLine:
    """A line counts no longer; its part is in stock again. Refused: job_closed (collected), line_taken_back."""
    ticket = JobTicket.objects.hold(line.ticket_id, "club")
    if ticket.collected_at:
        raise JobClosed(number=ticket.number, state=STATE_WORDS[COLLECTED])
    current = JobLine.objects.hold(line.pk, "part")
    if current.taken_back_at is not None:
        raise LineTakenBack(what=current.text)
    current.taken_back_at = timezone.now()
    current.save(update_fields=["taken_back_at"])
    if current.part is not None:
        reason = _("taken back from ticket {number}").format(number=ticket.number)
        add_stock(part=current.part, quantity=int(current.quantity), reason=reason, by=by)
    _log(ticket, "took back from job ticket", by, reason=current.text)
    return current


def _reason(ticket: JobTicket) -> str:
    return _("ticket {number}").format(number=ticket.number)


# What became of it.


@transaction.atomic
def set_state(*, ticket: JobTicket, state: str, by: User | None) -> JobTicket:
    """The work is done, collected or called off, or the ticket is open again. state: DONE, COLLECTED, CALLED_OFF, OPEN.

    What is called off keeps its lines until they are taken back. Refused: job_closed, except for opening again.
    """
    current = JobTicket.objects.hold(ticket.pk, "club") if state == OPEN else _open(ticket)
    now = timezone.now()
    if state == OPEN:
        current.done_at = current.collected_at = current.cancelled_at = None
    elif state == DONE:
        current.done_at = now
    elif state == COLLECTED:
        current.done_at, current.collected_at = current.done_at or now, now
    elif state == CALLED_OFF:
        current.cancelled_at = now
    else:
        raise ValueError(state)
    current.save(update_fields=["done_at", "collected_at", "cancelled_at"])
    _log(current, f"set job ticket to {state.replace('_', ' ')}", by)
    return current
