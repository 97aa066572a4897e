"""What the invented club wrote down at the bench: two cars' runs on two lanes, and its own prep sheet."""

import datetime as dt
import random
from decimal import Decimal

from inspection.models import BenchSheet
from inspection.prepsheets.selectors import PrepContent, StepContent, supplied_steps
from inspection.prepsheets.services import create_template
from inspection.runs.services import RunContent, create_run
from inspection.tracks.selectors import current_layout
from racedesk.management.scenario_club import World

# A lot of their own, so that the night does not change with what is told here.
SEED = 20_620
# Car, days ago, lane, laps, usual lap in s, what was changed, note.
RUNS = (
    (33, 64, 3, 12, 9.74, "", "As raced in the third round."),
    (33, 64, 5, 10, 9.86, "", ""),
    (33, 36, 3, 14, 9.61, "Rear tires trued, 20.4 mm", "Holds the bank better."),
    (33, 36, 5, 12, 9.72, "", ""),
    (33, 8, 3, 9, 9.60, "Pinion of 11 teeth", "Hot motor after ten laps: back to 12."),
    (12, 36, 3, 8, 9.95, "", ""),
    (12, 8, 3, 10, 9.93, "Softer rear tires", "No difference that anybody could feel."),
)


def write_bench(world: World) -> None:
    """The prep sheet, then the runs."""
    word_prep_sheet(world)
    write_runs(world)


def write_runs(world: World) -> None:
    """Runs of two cars, with an off here and there, in the order driven."""
    lot = random.Random(SEED)  # noqa: S311  invented laps, no secret
    layout = current_layout(world.track)
    for number, days, lane, laps, usual, changes, note in RUNS:
        day = world.days_ago(days)
        world.go_to(day, "17:40")
        car = world.cars[number]
        content = RunContent(
            run_on=day,
            lap_times=tuple(_lap(usual, lot) for _ in range(laps)),
            layout=layout,
            lane=lane,
            sheet=BenchSheet.objects.filter(car=car, created_at__lte=world.clock.now + dt.timedelta(hours=6)).first(),
            changes=changes,
            note=note,
        )
        create_run(car=car, content=content, by=world.users["inspector"])


def _lap(usual: float, lot: random.Random) -> str:
    """Most laps lie within a tenth; one in twelve has an off."""
    off = lot.uniform(1.5, 4) if lot.random() < 1 / 12 else 0
    return str(Decimal(usual + abs(lot.gauss(0, 0.07)) + off).quantize(Decimal("0.001")))


def word_prep_sheet(world: World) -> None:
    """The club's own wording: the supplied steps, with one of its own before the last."""
    world.go_to(world.days_ago(70), "20:10")
    own = StepContent(
        title="Board of the evening",
        text="Write the weight and {tire_diameter} of rear tire beside the car's number on the board.",
        checks=("On the board",),
    )
    steps = (*supplied_steps()[:-1], own, supplied_steps()[-1])
    create_template(
        club=world.club, content=PrepContent(name="Quarry prep sheet", steps=steps), by=world.users["inspector"]
    )
