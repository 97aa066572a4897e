"""Enter drivers, check them in, take them out, and put them back."""

import datetime as dt
import zoneinfo
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.db import transaction
from django.utils import formats
from django.utils.translation import gettext as _

from inspection.cars.selectors import next_free_number
from inspection.cars.services import CarContent, create_car
from inspection.clubs.services import hold_club, write_log
from inspection.drivers.services import DriverContent, create_driver
from inspection.models import Build, Car, Club, Driver, User
from racedesk.entries.errors import (
    AlreadyEntered,
    CarAlreadyEntered,
    EntriesClosed,
    EntriesClosedByDraw,
    NotOfThisClub,
)
from racedesk.entries.selectors import are_closed, free_places, latest_builds
from racedesk.events.selectors import is_drawn
from racedesk.models import Entry, EntryCar, EntryDriver, Race

State = Entry.State


@dataclass(frozen=True, slots=True, kw_only=True)
class NewEntry:
    """One entry to make. build: the car's latest when not given. fee: the race's own when not given."""

    driver: Driver
    car: Car | None = None
    build: Build | None = None
    spare: Car | None = None
    fee: Decimal | None = None


@dataclass(frozen=True, slots=True)
class NewCar:
    """A car the desk has not seen before. number: the next free one when not given."""

    number: int | None
    name: str


def club_time(club: Club, at: dt.datetime) -> dt.datetime:
    """A moment on the club's own clock."""
    return at.astimezone(zoneinfo.ZoneInfo(club.time_zone))


def hold_race(race: Race) -> Race:
    """The race as it stands, held so that two desks cannot give away the same place."""
    return Race.objects.hold(race.pk, "event__club", "event__track_layout")


def _refuse_when_closed(race: Race, *, now: dt.datetime, late_reason: str) -> bool:
    """Whether these entries are late; refuses late ones without a reason."""
    if not are_closed(race, now=now):
        return False
    if not late_reason:
        if race.entries_close_at is None or race.entries_close_at > now:
            raise EntriesClosedByDraw
        at = club_time(race.event.club, race.entries_close_at)
        raise EntriesClosed(
            at=formats.date_format(at, "H:i") if at.date() == race.event.date else formats.date_format(at, "j N, H:i")
        )
    return True


def _refuse_doubles(race: Race, new: Sequence[NewEntry]) -> None:
    """No driver and no car twice, in the race or among the new. 2 queries, and 1 more to say who."""
    entered = set(EntryDriver.objects.filter(race=race).values_list("driver_id", flat=True))
    cars = set(EntryCar.objects.filter(race=race).values_list("car_id", flat=True))
    for entry in new:
        if entry.driver.pk in entered:
            row = EntryDriver.objects.filter(race=race, driver=entry.driver).select_related("entry").first()
            state = row.entry.get_state_display() if row else _("twice in this list")
            raise AlreadyEntered(driver=entry.driver, race=race.name, state=state)
        entered.add(entry.driver.pk)
        for car in (entry.car, entry.spare):
            if car is None:
                continue
            if car.pk in cars:
                row = EntryCar.objects.filter(race=race, car=car).select_related("entry").first()
                raise CarAlreadyEntered(car=car, race=race.name, who=row.entry if row else _("another in this list"))
            cars.add(car.pk)


def refuse_strangers(club: Club, new: Sequence[NewEntry]) -> None:
    """Refuses (NotOfThisClub) drivers and cars of another club."""
    for entry in new:
        for what in (entry.driver, entry.car, entry.spare):
            if what is not None and what.club_id != club.pk:
                raise NotOfThisClub(what=what)


def fee_for(race: Race, driver: Driver) -> Decimal:
    """The race's fee for this driver, in the club's currency."""
    return race.junior_fee if driver.is_junior and race.junior_fee is not None else race.fee


def enter_all(
    *, race: Race, new: Sequence[NewEntry], by: User | None, now: dt.datetime, late_reason: str = ""
) -> list[Entry]:
    """Make many entries, all or none, in the order given; those beyond the cap wait. The caller writes the log.

    Must run inside a transaction, with the race locked. Constant queries.
    Refused: entries_closed, entries_closed_by_draw, already_entered, car_already_entered, not_of_this_club.
    """
    is_late = _refuse_when_closed(race, now=now, late_reason=late_reason)
    refuse_strangers(race.event.club, new)
    _refuse_doubles(race, new)
    free = free_places(race)
    builds = latest_builds([car for entry in new for car in (entry.car, entry.spare) if car is not None])
    entries = Entry.objects.bulk_create(
        Entry(
            race=race,
            state=State.ENTERED if free is None or place < free else State.WAITING,
            entered_at=now,
            entered_by=by,
            is_late=is_late,
            late_reason=late_reason[:300] if is_late else "",
            fee_due=entry.fee if entry.fee is not None else fee_for(race, entry.driver),
        )
        for place, entry in enumerate(new)
    )
    pairs = list(zip(entries, new, strict=True))
    EntryDriver.objects.bulk_create(EntryDriver(entry=made, race=race, driver=entry.driver) for made, entry in pairs)
    EntryCar.objects.bulk_create(
        EntryCar(
            entry=made,
            race=race,
            car=car,
            build=(entry.build if not is_spare else None) or builds.get(car.pk),
            is_spare=is_spare,
        )
        for made, entry in pairs
        for car, is_spare in ((entry.car, False), (entry.spare, True))
        if car is not None
    )
    return entries


def log_entered(race: Race, entries: Sequence[Entry], by: User | None) -> None:
    """A line of the log for each new entry."""
    for entry in entries:
        action = "put on waiting list" if entry.state == State.WAITING else "entered"
        write_log(club=race.event.club, action=action, subject=entry, by=by, reason=entry.late_reason, race=race.name)


@transaction.atomic
def enter_driver(
    *,
    race: Race,
    driver: Driver,
    car: Car | None = None,
    build: Build | None = None,
    spare: Car | None = None,
    by: User | None,
    now: dt.datetime,
    late_reason: str = "",
) -> Entry:
    """Enter one driver; he waits when the race is full. Refused: as `enter_all`.

    late_reason: only from somebody who may admit late; the caller has checked that.
    """
    race = hold_race(race)
    move_up_waiting(race=race, by=by)
    new = NewEntry(driver=driver, car=car, build=build, spare=spare)
    entries = enter_all(race=race, new=[new], by=by, now=now, late_reason=late_reason)
    log_entered(race, entries, by)
    return entries[0]


@transaction.atomic
def enter_newcomer(
    *,
    race: Race,
    driver: Driver | DriverContent,
    car: Car | NewCar | None,
    spare: Car | None = None,
    by: User | None,
    now: dt.datetime,
    late_reason: str = "",
) -> Entry:
    """Enter a driver or a car that the club has not seen before, or both: all of it or nothing.

    Refused: as `enter_driver`, as `create_driver`, car_number_taken.
    """
    race = hold_race(race)
    if isinstance(driver, DriverContent):
        driver = create_driver(club=race.event.club, content=driver, by=by)
    if isinstance(car, NewCar):
        car = make_car(race, driver, car, by)
    return enter_driver(race=race, driver=driver, car=car, spare=spare, by=by, now=now, late_reason=late_reason)


def make_car(race: Race, owner: Driver, car: NewCar, by: User | None) -> Car:
    """A car the club does not know yet, of the race's class. Refused: car_number_taken (of the car register)."""
    club = race.event.club
    hold_club(club)
    number = car.number if car.number is not None else next_free_number(club)
    name = car.name.strip() or _("Car %(number)s") % {"number": number}
    content = CarContent(number=number, name=name, owner=owner, racing_class=race.racing_class)
    return create_car(club=club, content=content, by=by)


def set_state(entry: Entry, state: str, action: str, by: User | None, reason: str = "") -> Entry:
    """Give a held entry its state, and the log its line."""
    entry.state = state
    entry.state_reason = reason[:300]
    entry.save(update_fields=["state", "state_reason"])
    write_log(club=entry.race.event.club, action=action, subject=entry, by=by, reason=reason, race=entry.race.name)
    return entry


@transaction.atomic
def move_up_waiting(*, race: Race, by: User | None) -> list[Entry]:
    """Give free places to those who have waited longest. Does nothing once the heats are drawn."""
    race = hold_race(race)
    free = free_places(race)
    waiting = Entry.objects.filter(race=race, state=State.WAITING).select_related("race__event__club")
    waiting = list(waiting.order_by("entered_at", "id")[: free if free is not None else None])
    if not waiting or is_drawn(race):
        return []
    return [set_state(entry, State.ENTERED, "moved up from waiting list", by) for entry in waiting]
