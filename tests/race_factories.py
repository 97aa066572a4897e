"""Builders of small invented race nights for tests; beside tests/factories.py, which knows no race."""

import datetime as dt
import itertools
from typing import Any

from django.utils import timezone

from inspection.models import Club, Driver, User
from racedesk.models import Draw, Entry, EntryCar, EntryDriver, Event, Heat, Race
from tests import factories

_counter = itertools.count(1)

# Half past seven in the evening in Vienna.
RACING_AT = dt.datetime(2026, 11, 27, 18, 30, tzinfo=dt.UTC)


def event(of: Club | None = None, *, lanes: int = 6, posts: int = 4, divisor: int = 20, **fields: Any) -> Event:
    of = of or factories.club()
    fields.setdefault("track_layout", None)
    layout = fields.pop("track_layout") or factories.track_layout(of, lanes=lanes, posts=posts, divisor=divisor)
    values = {"name": f"Night {next(_counter)}", "date": dt.date(2026, 11, 27), "racing_at": RACING_AT}
    return Event.objects.create(club=of, track_layout=layout, **(values | fields))


def race(of: Event | None = None, *, lanes: int = 6, divisor: int = 20, posts: int = 4, **fields: Any) -> Race:
    """A race without tech unless asked for."""
    of = of or event(lanes=lanes, divisor=divisor, posts=posts)
    values: dict[str, Any] = {"name": f"Race {next(_counter)}", "needs_tech": False}
    return Race.objects.create(event=of, **(values | fields))


def race_with_tech(of: Event | None = None, **fields: Any) -> Race:
    of = of or event()
    occasion = factories.occasion(of.club)
    values = {"needs_tech": True, "tech_occasion": occasion, "rule_revision": occasion.revision}
    return race(of, **(values | fields))


def entry(
    of: Race, driver: Driver | None = None, *, state: str = Entry.State.CHECKED_IN, with_car: bool = True, **fields: Any
) -> Entry:
    club = of.event.club
    driver = driver or factories.driver(club)
    made = Entry.objects.create(race=of, state=state, **fields)
    EntryDriver.objects.create(entry=made, race=of, driver=driver)
    if with_car:
        car = factories.car(club, driver)
        EntryCar.objects.create(entry=made, race=of, car=car, build=factories.build(car))
    return made


def entries(
    of: Race, count: int, *, state: str = Entry.State.CHECKED_IN, with_car: bool = True, **fields: Any
) -> list[Entry]:
    """So many checked-in entries, in order of entering; each as `entry` makes it, but a table at a time."""
    start = timezone.now()
    drivers = factories.drivers(of.event.club, count)
    made = Entry.objects.bulk_create(
        Entry(race=of, state=state, **({"entered_at": start + dt.timedelta(seconds=n)} | fields)) for n in range(count)
    )
    EntryDriver.objects.bulk_create(
        EntryDriver(entry=each, race=of, driver=driver) for each, driver in zip(made, drivers, strict=True)
    )
    if with_car:
        builds = factories.builds(of.event.club, drivers)
        EntryCar.objects.bulk_create(
            EntryCar(entry=each, race=of, car=build.car, build=build) for each, build in zip(made, builds, strict=True)
        )
    return made


def drawn_race(*, drivers: int = 8, by: User | None = None, **fields: Any) -> Race:
    """A race with its heats drawn."""
    made = race(**fields)
    entries(made, drivers)
    drawn(made, by=by)
    return made


def drawn(of: Race, *, by: User | None = None, preset: str = Draw.Preset.OPPONENTS, seed: int = 4471) -> Draw:
    from racedesk.heats.services import draw_heats, rotation_stage  # noqa: PLC0415

    return draw_heats(stage=rotation_stage(race=of), preset=preset, seed=seed, by=by)


def driven(heat: Heat, *, text: str = "20", by: User | None = None) -> None:
    """A heat with the laps of all its lanes typed, whatever the clock says."""
    from racedesk.racecontrol.services import enter_heat_laps  # noqa: PLC0415

    typed = dict.fromkeys(heat.lanes.values_list("lane__number", flat=True), text)
    enter_heat_laps(heat=heat, typed=typed, confirmed=True, by=by)
