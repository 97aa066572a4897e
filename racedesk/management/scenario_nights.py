"""The nights of the demo: planned, entered, drawn, run heat by heat, published; all of it through the services."""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from inspection.models import Car, Driver
from racedesk.checkin.services import check_in
from racedesk.entries.selectors import first_car, first_driver, loaded
from racedesk.entries.services import enter_driver
from racedesk.events.services import EventContent, RaceContent, create_event, create_race
from racedesk.heats.selectors import heats_of
from racedesk.heats.services import draw_heats, rotation_stage
from racedesk.management.scenario_club import World, invented
from racedesk.models import Draw, Entry, Event, Heat, LaneAssignment, Payment, Race
from racedesk.racecontrol.services import append_event, enter_heat_laps
from racedesk.takings.services import record_payment
from racedesk.timing.events import EventKind

SECTIONS = 20
LANE_MEAN_M = 32.8
# All lanes of a figure of eight are as long, but their curves differ: each is driven as though it were so long.
DRIVEN_AS_M = {1: 32.41, 2: 32.66, 3: 32.78, 4: 32.79, 5: 32.97, 6: 33.24}
FEE, JUNIOR_FEE = Decimal("8.00"), Decimal("4.00")


@dataclass(frozen=True, slots=True, kw_only=True)
class Times:
    """When what happens on a night."""

    doors: dt.datetime
    tech: dt.datetime
    tech_closes: dt.datetime
    racing: dt.datetime
    hall_closes: dt.datetime


@dataclass(slots=True, kw_only=True)
class HeatStory:
    """What happens in the heats of a race beyond driving.

    pace: laps in proportion to the grand tourers'. calls: by heat number, when the track is called (seconds of green),
    for how long, where, and by whom. out_from: by driver, the heat from which the car is out, and why. missed: by heat
    and lane, a lap that the counter missed. form: by driver, how tonight compares with other nights, in laps.
    """

    pace: float = 1.0
    whole_laps: bool = False
    calls: Mapping[int, tuple[int, int, str, str]] = field(default_factory=dict)
    out_from: Mapping[str, tuple[int, str]] = field(default_factory=dict)
    missed: Sequence[tuple[int, int]] = ()
    form: dict[str, float] = field(default_factory=dict)


# ---- planning and entering ------------------------------------------------------------------------------------------


def evening(world: World, day: dt.date) -> Times:
    """The usual times of the club."""
    return Times(
        doors=world.at(day, "18:00"),
        tech=world.at(day, "18:30"),
        tech_closes=world.at(day, "19:30"),
        racing=world.at(day, "19:45"),
        hall_closes=world.at(day, "23:00"),
    )


def plan_night(world: World, *, name: str, day: dt.date, times: Times, note: str = "") -> Event:
    """A night in the calendar."""
    content = EventContent(
        name=name,
        date=day,
        track=world.track,
        doors_at=times.doors,
        tech_opens_at=times.tech,
        tech_closes_at=times.tech_closes,
        racing_at=times.racing,
        hall_closes_at=times.hall_closes,
        note=note,
    )
    return create_event(club=world.club, content=content, by=world.users["director"])


def plan_race(world: World, event: Event, code: str, times: Times, **fields: object) -> Race:
    """A race of one of the club's classes, with tech unless told otherwise."""
    values: dict[str, object] = {
        "name": world.classes[code].name,
        "racing_class": world.classes[code],
        "rule_sheet": world.sheets[code],
        "entries_close_at": times.tech_closes,
        "fee": FEE,
        "junior_fee": JUNIOR_FEE,
    }
    content = RaceContent(**(values | fields))
    return create_race(event=event, content=content, by=world.users["director"])


def cars_of(world: World, code: str) -> dict[str, Car]:
    """The cars of a class by the name of their owner."""
    key = {"gt": "grand_touring", "steel": "steel_chassis"}[code]
    return {row["owner"]: world.cars[row["number"]] for row in invented("cars")[key]}


def enter(world: World, race: Race, names: Sequence[str], cars: Mapping[str, Car], *, first: dt.datetime) -> None:
    """Enter these drivers one after the other over the days before the night."""
    world.clock.set(first)
    for name in names:
        world.clock.forward(world.chance.randint(900, 22_000))
        _sleep_at_night(world)
        enter_driver(
            race=race,
            driver=world.drivers[name],
            car=cars.get(name),
            by=world.users["desk"],
            now=world.clock.now,
        )


def _sleep_at_night(world: World) -> None:
    """Nobody enters between eleven and seven."""
    late = world.chance.randint(5, 90)  # drawn every time, so that a change of the clocks changes no later chance
    here = world.clock.now.astimezone(world.zone)
    if not 7 <= here.hour < 23:
        morning = here.date() + dt.timedelta(days=1 if here.hour >= 23 else 0)
        world.clock.set(world.at(morning, "07:00") + dt.timedelta(minutes=late))


def entry_of(race: Race, driver: Driver) -> Entry:
    """The entry of a driver, with its cars and payments."""
    return loaded(Entry.objects.filter(race=race, drivers__driver=driver)).select_related("race__event__club").get()


def arrive(world: World, race: Race, driver: Driver, *, kind: str = Payment.Kind.PAID, note: str = "") -> None:
    """The driver is checked in, and pays what is due in this way."""
    entry = entry_of(race, driver)
    check_in(entry=entry, by=world.users["desk"])
    world.clock.forward(25)
    if entry.fee_due:
        pay(world, race, driver, kind=kind, note=note)


def pay(world: World, race: Race, driver: Driver, *, kind: str = Payment.Kind.PAID, note: str = "") -> Payment:
    """The whole fee, in this way."""
    by = world.users["director" if kind == Payment.Kind.WAIVED else "desk"]
    entry = entry_of(race, driver)
    return record_payment(entry=entry, kind=kind, amount=entry.fee_due, by=by, note=note, now=world.clock.now)


# ---- heats ----------------------------------------------------------------------------------------------------------


def draw(world: World, race: Race, *, preset: str = Draw.Preset.OPPONENTS) -> Draw:
    """Draw the heats from a seed that the scenario's own chance gives."""
    return draw_heats(
        stage=rotation_stage(race=race),
        preset=preset,
        seed=world.chance.randint(1000, 9999),
        by=world.users["director"],
    )


def run_heats(world: World, race: Race, story: HeatStory) -> None:
    """Run every heat of the race, one after the other from now on."""
    paces = {row["name"]: float(row["pace"]) for row in invented("drivers")}
    for name in paces:
        story.form[name] = world.chance.gauss(0, 0.2)
    for heat in heats_of(race):
        lanes = list(heat.lanes.select_related("lane", "seat__entry").prefetch_related("seat__entry__drivers__driver"))
        _run_clock(world, race, heat, lanes, story)
        typed = {}
        for each in lanes:
            name = first_driver(each.seat.entry).name
            if heat.number >= story.out_from.get(name, (999, ""))[0]:
                continue
            typed[each.lane.number] = _laps_text(world, race, each, paces[name] + story.form[name], story)
        enter_heat_laps(heat=heat, typed=typed, at_ms=world.clock.ms, by=world.users["director"])
        world.clock.forward(race.changeover_s - 40)


def _run_clock(world: World, race: Race, heat: Heat, lanes: Sequence[LaneAssignment], story: HeatStory) -> None:
    """Line up, countdown, green, a track call where the story has one, until the time is up and laps are read."""
    by = world.users["director"]
    append_event(heat=heat, kind=EventKind.READY, at_ms=world.clock.ms, by=by)
    for each in lanes:
        from_heat, why = story.out_from.get(first_driver(each.seat.entry).name, (999, ""))
        if heat.number >= from_heat:
            append_event(
                heat=heat, kind=EventKind.LANE_OUT, lane=each.lane, reason=why, at_ms=world.clock.ms, by=by
            )  # fmt: skip
    world.clock.forward(world.chance.uniform(14, 26))
    append_event(heat=heat, kind=EventKind.START, at_ms=world.clock.ms, by=by)
    left = float(race.countdown_s + race.heat_length_s)
    if heat.number in story.calls:
        run, held, ground, called_by = story.calls[heat.number]
        world.clock.forward(race.countdown_s + run)
        detail = {"ground": ground, "called_by": called_by}
        append_event(heat=heat, kind=EventKind.CALL_TRACK, detail=detail, at_ms=world.clock.ms, by=by)
        world.clock.forward(held)
        append_event(heat=heat, kind=EventKind.RESUME, at_ms=world.clock.ms, by=by)
        left -= run
    world.clock.forward(left + 22)


def _laps_text(world: World, race: Race, each: LaneAssignment, pace: float, story: HeatStory) -> str:
    """What this driver's laps on this lane come to, as the director types them."""
    laps = pace * story.pace * race.heat_length_s / 180 * LANE_MEAN_M / DRIVEN_AS_M[each.lane.number]
    laps += world.chance.gauss(0, 0.14)
    if world.chance.random() < 0.06:  # off the track, and a slow walk round to the car
        laps -= world.chance.uniform(0.5, 1.4)
    sections = round(laps * SECTIONS)
    if (each.heat.number, each.lane.number) in story.missed:
        sections -= SECTIONS
    whole, part = divmod(sections, SECTIONS)
    if not race.counts_part_laps:
        return str(whole)
    return f"{whole}.{part * 100 // SECTIONS:02d}"


def racing_cars(race: Race) -> list[tuple[Entry, Car]]:
    """Those who race, each with the first car."""
    entries = loaded(Entry.objects.filter(race=race).racing()).order_by("entered_at", "id")
    return [(entry, found.car) for entry in entries if (found := first_car(entry)) is not None]
