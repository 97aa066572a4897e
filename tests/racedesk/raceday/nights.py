"""A small invented race night, for the tests of the day and of what visitors are shown."""

import datetime as dt

from inspection.inspections.services import open_inspection, record_measurement, record_ruling, sign_card
from inspection.models import Role
from racedesk.heats.selectors import heats_of
from racedesk.models import Entry, Event, Race
from racedesk.racecontrol.services import append_event, enter_heat_laps, start_heat
from tests import factories, race_factories
from tests.inspection.inspections import worlds

# A Friday in Vienna, an hour ahead of UTC.
DAY = dt.date(2026, 11, 27)
NAMES = [
    "Ada Brandt", "Bram de Wit", "Sylvie Arnaud", "Gus Petrakis", "Pia Lindqvist", "Rex Calloway", "Lill Quarrie",
    "Ines Caldera", "Ottoline Marsh", "Mo Fairweather", "Jun Hara", "Ferdinand Ochoa", "Tom Okafor", "Noor Haddad",
]  # fmt: skip


def at(hour: int, minute: int = 0) -> dt.datetime:
    """That time on the day, by the clock in the hall."""
    return dt.datetime(2026, 11, 27, hour - 1, minute, tzinfo=dt.UTC)


def ms(moment: dt.datetime) -> int:
    return int(moment.timestamp() * 1000)


def event(club=None, **fields) -> Event:
    """Doors 18:00, tech 18:30 to 19:25, racing 19:30, the hall closes at 23:00; 6 lanes, 4 posts."""
    times = {
        "doors_at": at(18), "tech_opens_at": at(18, 30), "tech_closes_at": at(19, 25), "racing_at": at(19, 30),
        "hall_closes_at": at(23), "date": DAY, "name": "Round 5",
    }  # fmt: skip
    club = club or factories.club(slug="quarry-hall", name="Quarry Hall Slot Club", is_invented=True)
    return race_factories.event(club, **(times | fields))


def race(of: Event, drivers: int = 0, **fields) -> Race:
    """A race without tech, with so many checked in; names from the list, then made up."""
    made = race_factories.race(of, **({"name": "GT 32"} | fields))
    enter(made, drivers)
    return made


def enter(made: Race, drivers: int, **fields) -> list[Entry]:
    club = made.event.club
    names = [NAMES[n] if n < len(NAMES) else f"Driver {n}" for n in range(drivers)]
    return [
        race_factories.entry(made, factories.driver(club, name), entered_at=at(17) + dt.timedelta(seconds=n), **fields)
        for n, name in enumerate(names)
    ]


def race_with_tech(of: Event, drivers: int = 0, **fields) -> Race:
    """A race whose sheet asks for a width of 64.00 mm at most, a weight of 85 g at least, and a judge."""
    occasion = worlds.occasion(of.club, worlds.WIDTH, worlds.WEIGHT, worlds.LOOKS)
    rules = {"needs_tech": True, "tech_occasion": occasion, "rule_revision": occasion.revision}
    return race(of, drivers, **(rules | fields))


def inspect(entry: Entry, by, *, width="63.40 mm", weight="90 g", looks=True, sign=True):
    """Take an entry's car through tech. looks: the judge's word, None while he has not spoken."""
    occasion = entry.race.tech_occasion
    card = open_inspection(occasion=occasion, car=entry.cars.get().car, by=by)
    clauses = worlds.clauses_of(occasion)
    for clause, text in zip(clauses, (width, weight), strict=False):
        if text:
            gauge = worlds.caliper(occasion.club) if "mm" in text else None
            record_measurement(inspection=card, clause=clause, text=text, gauge=gauge, by=by)
    if looks is not None:
        record_ruling(inspection=card, clause=clauses[2], passes=looks, reason="seen from above", by=by)
    if sign:
        sign_card(inspection=card, not_clear=not (width and weight and looks), by=by)
    return card


def run(heat, start: dt.datetime, *, text="18.45", by=None) -> None:
    """Drive a heat to its end and type every lane."""
    start_heat(heat=heat, at_ms=ms(start), by=by)
    over = ms(start) + (heat.draw.stage.race.countdown_s + heat.draw.stage.race.heat_length_s) * 1000
    typed = {lane.lane.number: text for lane in heat.lanes.select_related("lane")}
    enter_heat_laps(heat=heat, typed=typed, at_ms=over + 20_000, confirmed=True, by=by)


def run_all(made: Race, start: dt.datetime, by=None) -> None:
    for n, heat in enumerate(heats_of(made)):
        run(heat, start + n * dt.timedelta(seconds=made.heat_length_s + made.changeover_s), by=by)


def begin(heat, start: dt.datetime) -> None:
    """Start a heat and leave it running."""
    start_heat(heat=heat, at_ms=ms(start), by=None)


def call_track(heat, moment: dt.datetime) -> None:
    append_event(heat=heat, kind="call_track", at_ms=ms(moment), by=None)


def director(of: Event):
    return factories.member(of.club, Role.RACE_DIRECTOR)
