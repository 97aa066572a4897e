"""Found a club, give and take roles, and write the log."""

from typing import Any

from django.db import models, transaction

from inspection.models import Club, LogEntry, Membership, Role, User


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


@transaction.atomic
def grant_role(*, club: Club, user: User, role: Role, by: User | None) -> Membership:
    """Give a role; giving it twice changes nothing."""
    membership, is_new = Membership.objects.get_or_create(club=club, user=user, role=role)
    if is_new:
        write_log(club=club, action="gave role", subject=user, by=by, role=str(role))
    return membership
