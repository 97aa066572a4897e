"""Enter many at once: from typed names, from last time, from a file."""

import datetime as dt
import itertools
from collections.abc import Mapping, Sequence

from django.db import transaction
from django.utils.translation import gettext as _

from inspection.clubs.services import hold_club, write_log
from inspection.drivers.services import DriverContent, create_driver
from inspection.models import Car, Club, Driver, DriverSpelling, Track, User, name_key
from racedesk.entries.services import NewEntry, club_time, enter_all, hold_race, log_entered
from racedesk.entrylists.errors import (
    AlreadyImported,
    ChoiceMissing,
    NameTwice,
    NameUnreadable,
    NothingTicked,
    RowsRefused,
    TooFewNames,
)
from racedesk.entrylists.selectors import ImportLine, TypedRow, plan_import, typed_rows
from racedesk.events.services import EventContent, RaceContent, create_event, create_race
from racedesk.models import Entry, EntryImport, Payment, Race

State = Entry.State


@transaction.atomic
def repeat_entries(
    *,
    race: Race,
    drivers: Sequence[tuple[Driver, Car | None]],
    by: User | None,
    now: dt.datetime,
    late_reason: str = "",
) -> list[Entry]:
    """Enter those who raced last time, all or none. Refused: nothing_ticked, and as `enter_all`."""
    if not drivers:
        raise NothingTicked
    race = hold_race(race)
    new = [NewEntry(driver=driver, car=car) for driver, car in drivers]
    entries = enter_all(race=race, new=new, by=by, now=now, late_reason=late_reason)
    log_entered(race, entries, by)
    return entries


# ---- typed names -----------------------------------------------------------------------------------------------------


def _refuse_bad_names(names: Sequence[str]) -> None:
    unreadable = [name for name in names if not name_key(name) or len(name) > 120]
    if unreadable:
        raise NameUnreadable(names=", ".join(name[:40] for name in unreadable))
    if len(names) < 2:
        raise TooFewNames
    keys = [name_key(name) for name in names]
    twice = [name for place, name in enumerate(names) if keys[place] in keys[:place]]
    if twice:
        raise NameTwice(names=", ".join(twice))


@transaction.atomic
def start_quick_race(
    *, club: Club, names: Sequence[str], track: Track, heat_length_s: int, by: User | None, now: dt.datetime
) -> Race:
    """A night from typed names alone: tonight, one race without tech, cars or rules, everybody checked in.

    A name is a known driver's when it is an accepted spelling; else the driver is new.
    Refused: name_unreadable, too_few_names, name_twice (also two spellings of one driver), track_without_layout.
    """
    names = [" ".join(name.split()) for name in names if name.strip()]
    _refuse_bad_names(names)
    known = _by_spelling(club, names)
    drivers = [known[name_key(name)] for name in names if name_key(name) in known]
    twice = {driver.name for driver in drivers if drivers.count(driver) > 1}
    if twice:
        raise NameTwice(names=", ".join(sorted(twice)))
    drivers = [
        known.get(name_key(name)) or create_driver(club=club, content=DriverContent(name=name), by=by) for name in names
    ]
    today = club_time(club, now).date()
    event = create_event(club=club, content=EventContent(name=_("Race night"), date=today, track=track), by=by)
    content = RaceContent(name=_("Race"), needs_tech=False, heat_length_s=heat_length_s)
    race = create_race(event=event, content=content, by=by)
    entries = enter_all(race=race, new=[NewEntry(driver=driver) for driver in drivers], by=by, now=now)
    Entry.objects.filter(race=race).update(state=State.CHECKED_IN)
    write_log(club=club, action="entered and checked in typed names", subject=race, by=by, entries=len(entries))
    return race


def _by_spelling(club: Club, names: Sequence[str]) -> dict[str, Driver]:
    keys = [name_key(name) for name in names]
    rows = DriverSpelling.objects.filter(club=club, key__in=keys).select_related("driver")
    return {row.key: row.driver for row in rows}


# ---- files ----------------------------------------------------------------------------------------------------------


@transaction.atomic
def keep_import(*, race: Race, file_name: str, rows: Sequence[TypedRow], by: User | None) -> EntryImport:
    """Keep the rows of a file until somebody confirms them. Enters nobody."""
    kept = [{"row": row.row, "name": row.name, "typed": row.typed} for row in rows]
    made = EntryImport.objects.create(race=race, file_name=file_name[:200], rows=kept, read_by=by)
    write_log(club=race.event.club, action="read file of entries", subject=made, by=by, rows=len(kept))
    return made


def _row_numbers(lines: Sequence[ImportLine]) -> str:
    shown = ", ".join(str(line.row) for line in lines[:20])
    return shown if len(lines) <= 20 else _("%(rows)s and %(more)s more") % {"rows": shown, "more": len(lines) - 20}


@transaction.atomic
def enter_import(
    *,
    entry_import: EntryImport,
    choices: Mapping[int, str],
    by: User | None,
    now: dt.datetime,
    late_reason: str = "",
) -> list[Entry]:
    """Enter the rows of a kept file, all of them or none; choices as for `plan_import`.

    New drivers and cars are made; a spelling somebody has said to be a driver's is remembered. Constant queries a
    thousand rows. Refused: already_imported, rows_refused, choice_missing, and as `enter_all`.
    """
    race = hold_race(entry_import.race)
    kept = EntryImport.objects.get(pk=entry_import.pk)  # held by its race
    if kept.entered_at is not None:
        raise AlreadyImported(name=kept.file_name)
    hold_club(race.event.club)
    lines = plan_import(race, typed_rows(kept), choices)
    wrong = [line for line in lines if line.outcome == "error"]
    if wrong:
        rows = "; ".join(f"{line.row}: {', '.join(line.errors)}" for line in wrong[:20])
        raise RowsRefused(count=len(wrong), rows=rows + ("; …" if len(wrong) > 20 else ""))
    undecided = [line for line in lines if line.outcome == "choose"]
    if undecided:
        raise ChoiceMissing(rows=_row_numbers(undecided))
    chosen = [line for line in lines if line.outcome == "enter"]
    if not chosen:
        raise NothingTicked
    spellings = [line.name for line in chosen if line.was_chosen and not line.is_same_key]
    new_drivers = _make_drivers(race.event.club, chosen)
    _make_cars(race, chosen)
    new = [NewEntry(driver=line.driver, car=line.car, fee=line.fee) for line in chosen]
    entries = enter_all(race=race, new=new, by=by, now=now, late_reason=late_reason)
    Payment.objects.bulk_create(
        Payment(
            event=race.event, driver=line.driver, entry=entry, kind=Payment.Kind.PAID, amount=line.paid, at=now, by=by
        )
        for line, entry in zip(chosen, entries, strict=True)
        if line.paid > 0
    )
    kept.entered_at = now
    kept.save(update_fields=["entered_at"])
    write_log(
        club=race.event.club,
        action="entered drivers from file",
        subject=kept,
        by=by,
        reason=late_reason,
        race=race.name,
        entries=len(entries),
        new_drivers=new_drivers,
        spellings=spellings[:100],
    )
    return entries


def _make_drivers(club: Club, lines: Sequence[ImportLine]) -> int:
    """Make the drivers who are new, and remember accepted spellings; the number of new ones."""
    new = [line for line in lines if line.driver is None]
    new_rows = {line.row for line in new}
    made = Driver.objects.bulk_create(
        Driver(club=club, name=line.name, is_junior=line.is_junior, grade=line.grade, contact=line.contact)
        for line in new
    )
    for line, driver in zip(new, made, strict=True):
        line.driver = driver
    DriverSpelling.objects.bulk_create(
        (
            DriverSpelling(club=club, driver=line.driver, key=name_key(line.name)[:120])
            for line in lines
            if line.row in new_rows or line.was_chosen
        ),
        ignore_conflicts=True,
    )
    return len(new)


def _make_cars(race: Race, lines: Sequence[ImportLine]) -> None:
    """Make the cars that are new; one without a number gets the next free one."""
    club = race.event.club
    new = [line for line in lines if line.has_new_car]
    taken = set(Car.objects.of(club).values_list("number", flat=True)) | {line.new_car_number for line in new}
    free = (number for number in itertools.count(1) if number not in taken)
    cars = []
    for line in new:
        number = line.new_car_number or next(free)
        name = line.new_car_name or _("Car %(number)s") % {"number": number}
        cars.append(Car(club=club, number=number, name=name, owner=line.driver, racing_class=race.racing_class))
    for line, car in zip(new, Car.objects.bulk_create(cars), strict=True):
        line.car = car
