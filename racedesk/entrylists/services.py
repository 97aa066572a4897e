"""Enter many at once: from typed names, from last time, from a file."""

import datetime as dt
from collections.abc import Sequence

from django.db import transaction
from django.utils.translation import gettext as _

from inspection.clubs.services import write_log
from inspection.drivers.services import DriverContent, create_driver
from inspection.models import Car, Club, Driver, DriverSpelling, Track, User, name_key
from racedesk.entries.services import NewEntry, club_time, enter_all, hold_race, log_entered
from racedesk.entrylists.errors import NameTwice, NameUnreadable, NothingTicked, TooFewNames
from racedesk.events.services import EventContent, RaceContent, create_event, create_race
from racedesk.models import Entry, Race

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
