"""Found a club, change what it has set, give a role, and write the log."""

import hashlib
from dataclasses import dataclass, fields
from datetime import time
from typing import Any

from django.db import models, transaction
from django.utils.translation import gettext as _

from inspection.clubs.errors import ClubChangedMeanwhile
from inspection.models import Club, LogEntry, Membership, Role, User


@dataclass(frozen=True, slots=True, kw_only=True)
class ClubContent:
    """What the form of a club holds."""

    name: str
    time_zone: str = "UTC"
    units: str = Club.Units.METRIC
    decimal_mark: str = Club.DecimalMark.POINT
    paper: str = Club.Paper.A4
    currency: str = "EUR"
    hall_closes_at: time | None = None


_FIELDS = tuple(field.name for field in fields(ClubContent))


def club_version(club: Club) -> str:
    """A short mark of what the form showed; it differs once anybody has changed one of its fields."""
    shown = "\x1f".join(str(getattr(club, field)) for field in _FIELDS)
    return hashlib.sha256(shown.encode()).hexdigest()[:16]


def write_log(
    *, club: Club, action: str, subject: models.Model, by: User | None, reason: str = "", **detail: Any
) -> LogEntry:
    """Add one line to the club's log. Called by services, inside their transaction.

    action: past tense in plain words, such as "published rule sheet". detail: JSON values.
    """
    return LogEntry.objects.create(
        club=club,
        by=by,
        action=action,
        subject_type=type(subject).__name__,
        subject_id=str(getattr(subject, "public_id", subject.pk)),
        summary=str(subject)[:300],
        reason=reason[:500],
        detail=detail,
    )


def hold_club(club: Club) -> None:
    """Take turns, until the transaction ends, with whoever else gives out a name or a number of this club.

    What else a service holds it holds first, in the order night, race, heat or entry: nobody waits in a ring.
    """
    Club.objects.select_for_update(no_key=True).only("pk").get(pk=club.pk)


@transaction.atomic
def create_club(*, slug: str, content: ClubContent, is_invented: bool = False, by: User | None) -> Club:
    """A new club. The form has checked the short name; the database holds it unique and not reserved."""
    values = {field: getattr(content, field) for field in _FIELDS}
    club = Club.objects.create(slug=slug, is_invented=is_invented, **values)
    write_log(club=club, action="founded club", subject=club, by=by)
    return club


@transaction.atomic
def change_club(*, club: Club, content: ClubContent, version: str, by: User | None) -> Club:
    """Save the form of a club. Refuses when somebody saved meanwhile (ClubChangedMeanwhile)."""
    hold_club(club)
    current = Club.objects.get(pk=club.pk)
    if version != club_version(current):
        raise ClubChangedMeanwhile(who=_last_to_change(current))
    for field in _FIELDS:
        setattr(current, field, getattr(content, field))
    current.save()
    write_log(club=current, action="changed club", subject=current, by=by)
    return current


def _last_to_change(club: Club) -> str:
    rows = LogEntry.objects.filter(club=club, subject_type="Club", action="changed club").select_related("by")
    last = rows.first()
    return str(last.by) if last and last.by else _("Somebody")


@transaction.atomic
def grant_role(*, club: Club, user: User, role: Role, by: User | None) -> Membership:
    """Give a role; giving it twice changes nothing."""
    membership, is_new = Membership.objects.get_or_create(club=club, user=user, role=role)
    if is_new:
        write_log(club=club, action="gave role", subject=user, by=by, role=str(role))
    return membership
