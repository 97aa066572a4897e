"""What the invented club knows of its gauges: studies done and begun, and tonight's checks before the cars."""

import datetime as dt
import random
from collections.abc import Mapping
from typing import Any

from inspection.calibrations.services import record_check
from inspection.gauges.selectors import read_typed
from inspection.gaugestudy.order import Place
from inspection.models import Gauge
from inspection.studies.selectors import StudyContent, order_of
from inspection.studies.services import record_reading, start_study
from inspection.units import Kind
from racedesk.management.scenario_club import World, invented

# A lot of their own, so that the night does not change with what is told here.
SEED = 20_619


def study_gauges(world: World) -> None:
    """A study in the inspectors' hands and one against a check block, both finished; a third is half done."""
    lot = random.Random(SEED)  # noqa: S311  invented readings, no secret
    by = world.users["inspector"]
    for number, row in enumerate(invented("gauges")["studies"]):
        world.go_to(world.days_ago(row["days_ago"]), "18:05")
        gauge = Gauge.objects.of(world.club).select_related("club").get(name=row["gauge"])
        content = StudyContent(
            kind=row["kind"],
            name=row["name"],
            parts=tuple(row["parts"]),
            inspectors=tuple(row["inspectors"]),
            trials=row["trials"],
            reference=row.get("reference", ""),
            tolerance=row.get("tolerance", ""),
        )
        study = start_study(gauge=gauge, content=content, seed=SEED + number, by=by)
        order = order_of(study)
        for place in order[: row.get("readings", len(order))]:
            world.clock.forward(25)
            text = _reading(row, place, lot)
            record_reading(study=study, place=place, reading=read_typed(text, kind=Kind(gauge.measures)), by=by)


def _reading(row: Mapping[str, Any], place: Place, lot: random.Random) -> str:
    """The part's size, the inspector's own hand, and chance, to a hundredth."""
    size = row["sizes"][place.part] + row["hands"][place.inspector] + lot.gauss(0, row["spread"])
    return f"{size:.2f} {row['unit']}"


def check_gauges(world: World, *, at: dt.datetime) -> None:
    """The check block and the check weight, a few minutes before the first car."""
    world.clock.set(at)
    for row in invented("gauges")["checks"]:
        gauge = Gauge.objects.of(world.club).get(name=row["gauge"])
        nominal, reading = (read_typed(row[name], kind=Kind(gauge.measures)) for name in ("nominal", "reading"))
        record_check(gauge=gauge, nominal=nominal, reading=reading, by=world.users["inspector"])
        world.clock.forward(40)
