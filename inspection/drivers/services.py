"""Enter drivers, change them, accept spellings, link them to the people who sign in."""

import hashlib
from dataclasses import dataclass

from django.db import transaction
from django.utils.translation import gettext as _

from inspection.clubs.services import hold_club, write_log
from inspection.drivers.errors import (
    DriverChangedMeanwhile,
    LastSpelling,
    NameMissing,
    SpellingTaken,
    UserLinkedAlready,
    UserNotMember,
)
from inspection.models import Club, Driver, DriverSpelling, LogEntry, Membership, User, name_key


@dataclass(frozen=True, slots=True, kw_only=True)
class DriverContent:
    """What the form of a driver holds."""

    name: str
    public_name: str = ""
    grade: str = ""
    is_junior: bool = False
    contact: str = ""
    note: str = ""
    is_active: bool = True


_FIELDS = ("name", "public_name", "grade", "is_junior", "contact", "note", "is_active")


def driver_version(driver: Driver) -> str:
    """A short mark of what the form showed; it differs once anybody has changed one of its fields."""
    shown = "\x1f".join(str(getattr(driver, field)) for field in _FIELDS)
    return hashlib.sha256(shown.encode()).hexdigest()[:16]


@transaction.atomic
def create_driver(*, club: Club, content: DriverContent, by: User | None) -> Driver:
    """A new driver, the name as the first accepted spelling.

    Refuses a name without a letter (NameMissing) and a spelling that is another driver's (SpellingTaken).
    """
    _check_name(club, content.name, driver=None)
    driver = Driver.objects.create(club=club, **{field: getattr(content, field) for field in _FIELDS})
    DriverSpelling.objects.create(club=club, driver=driver, key=name_key(content.name))
    write_log(club=club, action="entered driver", subject=driver, by=by)
    return driver


@transaction.atomic
def change_driver(*, driver: Driver, content: DriverContent, version: str, by: User | None) -> Driver:
    """Save the form of a driver; the old spelling stays accepted.

    Refuses when somebody saved meanwhile (DriverChangedMeanwhile), and a name as `create_driver` does.
    """
    current = Driver.objects.hold(driver.pk, "club")
    if version != driver_version(current):
        raise DriverChangedMeanwhile(who=_last_to_change(current))
    _check_name(current.club, content.name, driver=current)
    for field in _FIELDS:
        setattr(current, field, getattr(content, field))
    current.save()
    DriverSpelling.objects.get_or_create(club=current.club, key=name_key(content.name), defaults={"driver": current})
    write_log(club=current.club, action="changed driver", subject=current, by=by)
    return current


@transaction.atomic
def accept_spelling(*, driver: Driver, name: str, by: User | None) -> DriverSpelling:
    """Take a spelling as this driver's from now on; accepting it twice changes nothing.

    Refuses a spelling without a letter (NameMissing) or of another driver (SpellingTaken).
    """
    _check_name(driver.club, name, driver=driver)
    spelling, is_new = DriverSpelling.objects.get_or_create(
        club=driver.club, key=name_key(name), defaults={"driver": driver}
    )
    if is_new:
        write_log(club=driver.club, action="accepted spelling", subject=driver, by=by, spelling=name)
    return spelling


@transaction.atomic
def drop_spelling(*, spelling: DriverSpelling, by: User | None) -> None:
    """A spelling is no longer this driver's. Refuses for the driver's own name (LastSpelling)."""
    driver = spelling.driver
    if spelling.key == name_key(driver.name):
        raise LastSpelling
    spelling.delete()
    write_log(club=driver.club, action="dropped spelling", subject=driver, by=by, spelling=spelling.key)


@transaction.atomic
def link_user(*, driver: Driver, user: User | None, by: User | None) -> Driver:
    """Say who signs in as this driver; None undoes the link.

    Refuses a user who holds no role in the club (UserNotMember) or is another driver (UserLinkedAlready).
    """
    hold_club(driver.club)
    if user is not None:
        if not Membership.objects.filter(club=driver.club, user=user).exists():
            raise UserNotMember(user=user)
        other = Driver.objects.of(driver.club).filter(user=user).exclude(pk=driver.pk).first()
        if other is not None:
            raise UserLinkedAlready(user=user, other=other)
    driver.user = user
    driver.save(update_fields=["user"])
    action = "linked driver to user" if user else "unlinked driver from user"
    write_log(club=driver.club, action=action, subject=driver, by=by, user=str(user or ""))
    return driver


def _check_name(club: Club, name: str, *, driver: Driver | None) -> None:
    key = name_key(name)
    if not key:
        raise NameMissing
    hold_club(club)
    taken = DriverSpelling.objects.filter(club=club, key=key).select_related("driver").first()
    if taken is not None and (driver is None or taken.driver_id != driver.pk):
        raise SpellingTaken(name=name.strip(), other=taken.driver)


def _last_to_change(driver: Driver) -> str:
    last = (
        LogEntry.objects.filter(club=driver.club, subject_type="Driver", subject_id=driver.public_id)
        .select_related("by")
        .first()
    )
    return str(last.by) if last and last.by else _("Somebody")
