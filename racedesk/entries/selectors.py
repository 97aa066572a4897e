"""Who is entered, who may be, and who is clear to race."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Prefetch, QuerySet
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from inspection.drivers.selectors import drivers_by_letters
from inspection.inspections.selectors import Clearance, Standing, clearances
from inspection.models import Build, Car, Driver, TechOccasion
from racedesk.events.selectors import is_drawn
from racedesk.models import Entry, EntryCar, EntryDriver, Payment, Race
from racedesk.takings.selectors import Account, account_of

RACING = frozenset({Entry.State.ENTERED, Entry.State.CHECKED_IN})


# ---- entries --------------------------------------------------------------------------------------------------------


def loaded(entries: QuerySet) -> QuerySet:
    """Entries with drivers, cars with builds, and payments. 4 queries however many."""
    drivers = EntryDriver.objects.select_related("driver")
    cars = EntryCar.objects.select_related("car", "build")
    payments = Payment.objects.select_related("corrects")
    return entries.select_related("override_by").prefetch_related(
        Prefetch("drivers", queryset=drivers), Prefetch("cars", queryset=cars), Prefetch("payments", queryset=payments)
    )


def entries_of(race: Race) -> QuerySet:
    """All entries of the race in the order in which they came, with all that a list shows. 4 queries."""
    return loaded(Entry.objects.filter(race=race)).order_by("entered_at", "id")


def first_driver(entry: Entry) -> Driver | None:
    """The driver of the entry, the first of a team. No query for a loaded entry."""
    rows = entry.drivers.all()
    return rows[0].driver if rows else None


def first_car(entry: Entry) -> EntryCar | None:
    """The car that races; the spare is another. No query for a loaded entry."""
    return next((row for row in entry.cars.all() if not row.is_spare), None)


def spare_car(entry: Entry) -> EntryCar | None:
    """The spare, if one is entered. No query for a loaded entry."""
    return next((row for row in entry.cars.all() if row.is_spare), None)


def shown_name(entry: Entry) -> str:
    """The name for public pages and paper: the team's, or the drivers' public names. No query for a loaded entry."""
    return entry.team_name or ", ".join(row.driver.shown_name for row in entry.drivers.all())


def are_closed(race: Race, *, now: dt.datetime) -> bool:
    """Whether only the director may admit: after the closing time, or once the heats are drawn. 0 or 1 query."""
    return (race.entries_close_at is not None and race.entries_close_at <= now) or is_drawn(race)


def free_places(race: Race) -> int | None:
    """Places left under the cap; None without one. 1 query."""
    if race.cap is None:
        return None
    return max(0, race.cap - Entry.objects.filter(race=race).racing().count())


# ---- tech -----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class EntryClearance:
    """Whether tech lets an entry race.

    state: clear, not_needed, overridden, failed, not_clear (signed so), build_changed, touched (in impound), open
    (begun, not signed), not_checked or no_car. fails, too_close: the clauses as "5 Rear tire width". card: public id
    of the car's card.
    """

    state: str
    fails: tuple[str, ...] = ()
    too_close: tuple[str, ...] = ()
    card: str = ""

    @property
    def may_race(self) -> bool:
        """Clear, or cleared by the director, or nothing to clear."""
        return self.state in {"clear", "not_needed", "overridden"}

    @property
    def label(self) -> str | Promise:
        """The state for people."""
        return CLEARANCE_LABELS[self.state]


CLEARANCE_LABELS = {
    "clear": _("clear"),
    "not_needed": _("no tech tonight"),
    "overridden": _("races by the director's decision"),
    "failed": _("failed tech"),
    "not_clear": _("signed as not clear"),
    "build_changed": _("changed since it was inspected"),
    "touched": _("touched in impound"),
    "open": _("tech begun, not signed"),
    "not_checked": _("not checked"),
    "no_car": _("no car entered"),
}
_STATE_OF = {Standing.WAITING: "not_checked"}


def clearance_of(entries: Iterable[Entry]) -> dict[int, EntryClearance]:
    """The clearance of each loaded entry, by its id, computed from the inspection of its first car.

    1 query, and at most 4 for each tech occasion among their races.
    """
    entries = list(entries)
    wanted = Race.objects.filter(pk__in={entry.race_id for entry in entries})
    races = {race.pk: race for race in wanted.select_related("tech_occasion__revision")}
    cars: dict[TechOccasion, list[int]] = defaultdict(list)
    for entry in entries:
        race, car = races[entry.race_id], first_car(entry)
        if race.needs_tech and car is not None:
            cars[race.tech_occasion].append(car.car_id)
    found = {occasion.pk: clearances(occasion, ids) for occasion, ids in cars.items()}
    return {
        entry.pk: _clearance(entry, race, found.get(race.tech_occasion_id, {}))
        for entry in entries
        for race in (races[entry.race_id],)
    }


def cars_by_decision(occasion: TechOccasion) -> frozenset[int]:
    """Ids of the cars that race by the director's recorded decision, whatever tech found. 1 query."""
    decided = EntryCar.objects.filter(race__tech_occasion=occasion, entry__override_at__isnull=False, is_spare=False)
    return frozenset(decided.values_list("car_id", flat=True))


def _clearance(entry: Entry, race: Race, found: Mapping[int, Clearance]) -> EntryClearance:
    if not race.needs_tech:
        return EntryClearance("not_needed")
    car = first_car(entry)
    seen = found[car.car_id] if car is not None else None
    if entry.override_at is not None and not (seen and seen.is_clear):
        state = "overridden"
    elif seen is None:
        state = "no_car"
    else:
        state = _STATE_OF.get(seen.state, str(seen.state))
    if seen is None:
        return EntryClearance(state)
    return EntryClearance(state, seen.fails, seen.too_close, seen.inspection_public_id)


@dataclass(frozen=True, slots=True)
class Unready:
    """An entry that the draw leaves out, and why. code: waiting, not_checked_in, or a state of EntryClearance."""

    entry: Entry
    code: str
    why: str | Promise


def _split(race: Race) -> tuple[list[Entry], list[Unready]]:
    rows = [entry for entry in entries_of(race) if entry.state in RACING or entry.state == Entry.State.WAITING]
    clear = clearance_of(rows)
    ready: list[Entry] = []
    unready: list[Unready] = []
    for entry in rows:
        clearance = clear[entry.pk]
        if entry.state == Entry.State.WAITING:
            unready.append(Unready(entry, "waiting", _("on the waiting list")))
        elif entry.state != Entry.State.CHECKED_IN:
            unready.append(Unready(entry, "not_checked_in", _("not checked in")))
        elif not clearance.may_race:
            unready.append(Unready(entry, clearance.state, clearance.label))
        else:
            ready.append(entry)
    return ready, unready


def ready_entries(race: Race) -> list[Entry]:
    """Those the draw takes: checked in, and clear at tech, overridden, or in a race without tech. Constant queries."""
    return _split(race)[0]


def unready_entries(race: Race) -> list[Unready]:
    """Those the draw leaves out although they have not withdrawn, each with why. Constant queries."""
    return _split(race)[1]


# ---- the list -------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class EntryLine:
    """One line of the entry list. place: from 1 among those who race, then those who wait; None for who is out.

    name: the public name, or the driver's own for the desk. clearance, account: for the desk alone.
    """

    place: int | None
    entry: Entry
    name: str
    car_number: int | None
    car_name: str
    state: str
    clearance: EntryClearance | None = None
    account: Account | None = None

    @property
    def is_out(self) -> bool:
        """Withdrawn, or did not come."""
        return self.entry.state in {Entry.State.WITHDRAWN, Entry.State.NO_SHOW}


def entry_lines(race: Race, *, for_desk: bool = False) -> list[EntryLine]:
    """The entry list: who races, then who waits, then who is out. Constant queries."""
    order = {Entry.State.WAITING: 1, Entry.State.WITHDRAWN: 2, Entry.State.NO_SHOW: 2}
    entries = sorted(entries_of(race), key=lambda entry: order.get(entry.state, 0))
    clear = clearance_of(entries) if for_desk else {}
    lines = []
    for place, entry in enumerate(entries, start=1):
        car = first_car(entry)
        lines.append(
            EntryLine(
                place=place if order.get(entry.state) != 2 else None,
                entry=entry,
                name=str(entry) if for_desk else shown_name(entry),
                car_number=car.car.number if car else None,
                car_name=car.car.name if car else "",
                state=entry.get_state_display(),
                clearance=clear.get(entry.pk),
                account=account_of(entry) if for_desk else None,
            )
        )
    return lines


@dataclass(frozen=True, slots=True)
class DeskCounts:
    """How the desk stands. free: places under the cap, None without one. owed: in the club's currency."""

    racing: int
    checked_in: int
    waiting: int
    free: int | None
    owed: Decimal


def desk_counts(race: Race, lines: Sequence[EntryLine]) -> DeskCounts:
    """Counted from the lines; no query."""
    states = [line.entry.state for line in lines]
    racing = sum(state in RACING for state in states)
    return DeskCounts(
        racing=racing,
        checked_in=states.count(Entry.State.CHECKED_IN),
        waiting=states.count(Entry.State.WAITING),
        free=None if race.cap is None else max(0, race.cap - racing),
        owed=sum((line.account.owed for line in lines if line.account), Decimal(0)),
    )


# ---- who may be entered ---------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Candidate:
    """A driver the desk may mean, with the car to enter: last time's, else the only one of the class.

    entered: the state of the entry he already has in this race; entry_id: its public id.
    """

    driver: Driver
    car: Car | None
    car_is_last: bool
    entered: str | Promise = ""
    entry_id: str = ""


def _last_cars(race: Race, drivers: Sequence[Driver]) -> dict[int, Car]:
    """The car each driver last raced in this class, by driver id. 1 query."""
    rows = (
        EntryCar.objects.filter(entry__drivers__driver__in=drivers, is_spare=False, car__is_active=True)
        .filter(race__event__club=race.event.club, race__racing_class=race.racing_class)
        .exclude(race=race)
        .order_by("race__event__date", "pk")
        .select_related("car")
        .prefetch_related("entry__drivers")
    )
    last: dict[int, Car] = {}
    for row in rows:
        for drives in row.entry.drivers.all():
            last[drives.driver_id] = row.car
    return last


def _only_cars(race: Race, drivers: Sequence[Driver]) -> dict[int, Car]:
    """The car of each driver who owns just one of this class, by driver id. 1 query."""
    owned: dict[int, list[Car]] = defaultdict(list)
    cars = Car.objects.filter(owner__in=drivers, is_active=True)
    for car in cars.filter(racing_class=race.racing_class) if race.racing_class_id else cars.none():
        owned[car.owner_id].append(car)
    return {pk: cars[0] for pk, cars in owned.items() if len(cars) == 1}


def cars_to_enter(race: Race, drivers: Sequence[Driver]) -> dict[int, tuple[Car, bool]]:
    """The car to enter each driver with and whether it is last time's; none that is in the race already. 3 queries."""
    taken = set(EntryCar.objects.filter(race=race).values_list("car_id", flat=True))
    last, only = _last_cars(race, drivers), _only_cars(race, drivers)
    chosen = {}
    for driver in drivers:
        car = last.get(driver.pk) or only.get(driver.pk)
        if car is not None and car.pk not in taken:
            chosen[driver.pk] = (car, driver.pk in last)
    return chosen


def candidates(race: Race, letters: str) -> list[Candidate]:
    """Drivers whose name has a word that begins with these letters: who raced this class before comes first.

    6 queries however many are found.
    """
    drivers = drivers_by_letters(race.event.club, letters)
    if not drivers:
        return []
    cars = cars_to_enter(race, drivers)
    entries = {row.driver_id: row.entry for row in EntryDriver.objects.filter(race=race).select_related("entry")}
    found = [
        Candidate(driver, *cars.get(driver.pk, (None, False)), entry.get_state_display(), entry.public_id)
        if (entry := entries.get(driver.pk))
        else Candidate(driver, *cars.get(driver.pk, (None, False)))
        for driver in drivers
    ]
    return sorted(found, key=lambda candidate: (bool(candidate.entered), not candidate.car_is_last))


def entered_states(race: Race) -> dict[int, str]:
    """The state of each driver's entry in this race, in words, by driver id. 1 query."""
    rows = EntryDriver.objects.filter(race=race).select_related("entry")
    return {row.driver_id: row.entry.get_state_display() for row in rows}


def latest_builds(cars: Iterable[Car]) -> dict[int, Build]:
    """The latest build of each car, by car id. 1 query."""
    latest: dict[int, Build] = {}
    for build in Build.objects.filter(car__in=[car.pk for car in cars]).order_by("car_id", "number"):
        latest[build.car_id] = build
    return latest
