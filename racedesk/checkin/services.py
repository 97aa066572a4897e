"""Check drivers in, take entries out, put them back, and decide about their cars."""

import datetime as dt

from django.db import transaction
from django.utils import timezone

from inspection.clubs.services import write_log
from inspection.models import Car, User
from racedesk.checkin.errors import NoTechTonight, NotInThisState, ReasonNeeded
from racedesk.entries.errors import CarAlreadyEntered
from racedesk.entries.selectors import RACING, free_places, latest_builds
from racedesk.entries.services import (
    NewCar,
    NewEntry,
    hold_race,
    make_car,
    move_up_waiting,
    refuse_strangers,
    set_state,
)
from racedesk.models import Entry, EntryCar, EntryDriver

State = Entry.State


def _held(entry: Entry) -> Entry:
    """The entry as it stands, its race held."""
    hold_race(entry.race)
    return Entry.objects.select_related("race__event__club").get(pk=entry.pk)


def _refuse_unless(entry: Entry, *states: str) -> None:
    if entry.state not in states:
        raise NotInThisState(entry=entry, state=entry.get_state_display())


@transaction.atomic
def check_in(*, entry: Entry, by: User | None) -> Entry:
    """The driver is here. Doing it twice changes nothing. Refused: not_in_this_state (waiting, withdrawn, absent)."""
    entry = _held(entry)
    if entry.state == State.CHECKED_IN:
        return entry
    _refuse_unless(entry, State.ENTERED)
    return set_state(entry, State.CHECKED_IN, "checked in", by)


@transaction.atomic
def withdraw(*, entry: Entry, reason: str, by: User | None) -> Entry:
    """Take an entry out; what it has driven stays. The next on the waiting list moves up.

    Refused: reason_needed, not_in_this_state (already out).
    """
    entry = _held(entry)
    if not reason.strip():
        raise ReasonNeeded
    _refuse_unless(entry, State.ENTERED, State.CHECKED_IN, State.WAITING)
    set_state(entry, State.WITHDRAWN, "withdrew entry", by, reason.strip())
    move_up_waiting(race=entry.race, by=by)
    return entry


@transaction.atomic
def mark_no_show(*, entry: Entry, by: User | None) -> Entry:
    """The driver did not come. The next on the waiting list moves up. Refused: not_in_this_state."""
    entry = _held(entry)
    _refuse_unless(entry, State.ENTERED, State.WAITING)
    set_state(entry, State.NO_SHOW, "marked as not come", by)
    move_up_waiting(race=entry.race, by=by)
    return entry


@transaction.atomic
def put_back(*, entry: Entry, by: User | None) -> Entry:
    """Undo the last step: checked in, withdrawn or not come becomes entered, or waiting when the race is full.

    Refused: not_in_this_state (entered or waiting: there is nothing to undo).
    """
    entry = _held(entry)
    _refuse_unless(entry, State.CHECKED_IN, State.WITHDRAWN, State.NO_SHOW)
    free = free_places(entry.race)
    had_place = entry.state in RACING
    state = State.ENTERED if had_place or free is None or free > 0 else State.WAITING
    return set_state(entry, state, "put entry back", by, reason="")


@transaction.atomic
def override_tech(*, entry: Entry, reason: str, by: User, now: dt.datetime | None = None) -> Entry:
    """Let an entry race although tech has not cleared its car: the director's decision, recorded with its reason.

    Refused: reason_needed, no_tech_tonight, not_in_this_state (out or waiting).
    """
    entry = _held(entry)
    if not reason.strip():
        raise ReasonNeeded
    if not entry.race.needs_tech:
        raise NoTechTonight(race=entry.race.name)
    _refuse_unless(entry, State.ENTERED, State.CHECKED_IN)
    entry.override_reason, entry.override_by, entry.override_at = reason.strip()[:300], by, now or timezone.now()
    entry.save(update_fields=["override_reason", "override_by", "override_at"])
    write_log(
        club=entry.race.event.club,
        action="overrode tech",
        subject=entry,
        by=by,
        reason=reason.strip(),
        race=entry.race.name,
    )
    return entry


@transaction.atomic
def change_car(*, entry: Entry, car: Car | NewCar | None, spare: Car | None, by: User | None) -> Entry:
    """Enter another car or spare, each with its latest build. A decision to override tech was for the old car and goes.

    Refused: car_already_entered, car_number_taken, not_of_this_club, not_in_this_state (out).
    """
    entry = _held(entry)
    _refuse_unless(entry, State.ENTERED, State.CHECKED_IN, State.WAITING)
    driver = EntryDriver.objects.filter(entry=entry).select_related("driver").order_by("position", "id")[0].driver
    if isinstance(car, NewCar):
        car = make_car(entry.race, driver, car, by)
    chosen = [found for found in (car, spare) if found is not None]
    refuse_strangers(entry.race.event.club, [NewEntry(driver=driver, car=car, spare=spare)])
    for found in chosen:
        other = EntryCar.objects.filter(race=entry.race, car=found).exclude(entry=entry).select_related("entry").first()
        if other is not None or chosen.count(found) > 1:
            raise CarAlreadyEntered(car=found, race=entry.race.name, who=other.entry if other else entry)
    before = entry.cars.filter(is_spare=False).values_list("car_id", flat=True).first()
    entry.cars.all().delete()
    builds = latest_builds(chosen)
    for found, is_spare in ((car, False), (spare, True)):
        if found is not None:
            EntryCar.objects.create(
                entry=entry, race=entry.race, car=found, build=builds.get(found.pk), is_spare=is_spare
            )
    if entry.override_at is not None and before != (car.pk if car else None):
        entry.override_reason, entry.override_by, entry.override_at = "", None, None
        entry.save(update_fields=["override_reason", "override_by", "override_at"])
    write_log(
        club=entry.race.event.club,
        action="changed car of entry",
        subject=entry,
        by=by,
        car=str(car or ""),
        spare=str(spare or ""),
    )
    return entry
