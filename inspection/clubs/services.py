"""Found a club, give and take roles, and write the log."""

import hashlib
import secrets
from collections.abc import Iterable
from dataclasses import dataclass, fields
from datetime import time
from typing import Any

from django.db import IntegrityError, models, transaction
from django.utils.translation import gettext as _

from inspection.clubs.errors import (
    ClubChangedMeanwhile,
    LastOwner,
    MemberOfOtherClubs,
    NobodySignsInAs,
    NoRole,
    SignInNameTaken,
)
from inspection.models import Club, LogEntry, Membership, Role, User
from inspection.models.public import ALPHABET

ONE_TIME_LENGTH = 12  # letters of ALPHABET: about 57 random bits


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
    current = Club.objects.select_for_update().get(pk=club.pk)
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


def one_time_password() -> str:
    """A random password to be read aloud or copied from a screen: no vowels, no look-alikes."""
    return "".join(secrets.choice(ALPHABET) for _ in range(ONE_TIME_LENGTH))


@transaction.atomic
def create_member(
    *, club: Club, username: str, name: str, password: str, roles: Iterable[str], by: User | None
) -> User:
    """A new person who signs in by this name and password, with these roles.

    Refuses a name that somebody signs in by, whatever the case of its letters (SignInNameTaken), and no role (NoRole).
    """
    if User.objects.filter(username__iexact=username).exists():
        raise SignInNameTaken(username=username)
    try:
        with transaction.atomic():
            user = User.objects.create_user(username=username, name=name, password=password)
    except IntegrityError as error:  # two owners added the same name at the same moment
        raise SignInNameTaken(username=username) from error
    write_log(club=club, action="added member", subject=user, by=by, username=username)
    _replace_roles(club, user, roles, by)
    return user


@transaction.atomic
def add_member(*, club: Club, username: str, roles: Iterable[str], by: User | None) -> User:
    """Give roles to somebody who signs in here already, for another club; adds to roles held.

    Refuses an unknown name (NobodySignsInAs) and no role (NoRole).
    """
    user = User.objects.filter(username__iexact=username).first()
    if user is None:
        raise NobodySignsInAs(username=username)
    held = Membership.objects.filter(club=club, user=user).values_list("role", flat=True)
    _replace_roles(club, user, set(held) | set(roles), by)
    return user


@transaction.atomic
def change_member(*, club: Club, user: User, name: str, roles: Iterable[str], by: User | None) -> User:
    """A member's name and roles as they shall be from now on.

    Refuses no role (NoRole) and taking the owner's role from the last owner (LastOwner).
    """
    Club.objects.select_for_update().get(pk=club.pk)
    if name != user.name:
        user.name = name
        user.save(update_fields=["name"])
        write_log(club=club, action="changed member's name", subject=user, by=by)
    _replace_roles(club, user, roles, by)
    return user


@transaction.atomic
def remove_member(*, club: Club, user: User, by: User | None) -> None:
    """Takes all roles; what the person did stays in the log under their name. Refuses the last owner (LastOwner)."""
    Club.objects.select_for_update().get(pk=club.pk)
    _keep_an_owner(club, user)
    Membership.objects.filter(club=club, user=user).delete()
    write_log(club=club, action="removed member", subject=user, by=by)


@transaction.atomic
def reset_password(*, club: Club, user: User, by: User | None) -> str:
    """A new one-time password, which is returned and nowhere kept. Ends the person's open sessions.

    Refuses for somebody who belongs to another club too, or who manages the installation (MemberOfOtherClubs).
    """
    if user.is_superuser or Membership.objects.filter(user=user).exclude(club=club).exists():
        raise MemberOfOtherClubs(user=user)
    password = one_time_password()
    user.set_password(password)
    user.save(update_fields=["password"])
    write_log(club=club, action="gave new password", subject=user, by=by)
    return password


def _replace_roles(club: Club, user: User, roles: Iterable[str], by: User | None) -> None:
    wanted = set(roles)
    if not wanted:
        raise NoRole
    held = set(Membership.objects.filter(club=club, user=user).values_list("role", flat=True))
    if Role.OWNER in held - wanted:
        _keep_an_owner(club, user)
    for role in sorted(wanted - held):
        grant_role(club=club, user=user, role=Role(role), by=by)
    for role in sorted(held - wanted):
        Membership.objects.filter(club=club, user=user, role=role).delete()
        write_log(club=club, action="took role", subject=user, by=by, role=str(role))


def _keep_an_owner(club: Club, user: User) -> None:
    owners = Membership.objects.filter(club=club, role=Role.OWNER, user__is_active=True)
    if owners.filter(user=user).exists() and not owners.exclude(user=user).exists():
        raise LastOwner(user=user)
