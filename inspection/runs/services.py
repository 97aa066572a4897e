"""Write down runs of a car, and put them right."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.db import transaction

from inspection.clubs.services import write_log
from inspection.gauges.selectors import last_editor_of
from inspection.models import BenchSheet, Car, Run, TrackLayout, User
from inspection.runs.errors import LaneNotOnTrack, LapsMissing, NotOfThisCar, RunChangedMeanwhile, TooManyLaps
from inspection.runs.selectors import MOST_LAPS, run_version


@dataclass(frozen=True, slots=True, kw_only=True)
class RunContent:
    """A run as its form gives it. lap_times: seconds as texts with a point, in the order driven."""

    run_on: dt.date
    lap_times: tuple[str, ...]
    layout: TrackLayout | None = None
    lane: int | None = None
    sheet: BenchSheet | None = None
    changes: str = ""
    note: str = ""


@transaction.atomic
def create_run(*, car: Car, content: RunContent, by: User | None) -> Run:
    """A run of a car.

    Refuses a lane that the layout has not (LaneNotOnTrack), a bench sheet of another car (NotOfThisCar), no lap
    (LapsMissing) and too many (TooManyLaps).
    """
    _check(car, content)
    run = Run.objects.create(car=car, by=by, **_fields(content))
    write_log(club=car.club, action="wrote down run", subject=run, by=by, laps=len(content.lap_times))
    return run


@transaction.atomic
def record_run(
    *,
    car: Car,
    sheet: BenchSheet | None,
    layout: TrackLayout | None,
    lane: int | None,
    run_on: dt.date,
    lap_times: Sequence[Decimal],
    by: User | None,
) -> Run:
    """Laps that somebody else has counted, such as those of a heat, as a run of the car.

    lap_times: in seconds, in the order driven. Refuses as `create_run`.
    """
    times = tuple(str(time) for time in lap_times)
    content = RunContent(run_on=run_on, lap_times=times, layout=layout, lane=lane, sheet=sheet)
    return create_run(car=car, content=content, by=by)


@transaction.atomic
def change_run(*, run: Run, content: RunContent, version: str, by: User | None) -> Run:
    """Put a run right. version: `run_version` of what the form showed.

    Refuses when somebody saved meanwhile (RunChangedMeanwhile), and as `create_run`.
    """
    run = Run.objects.hold(run.pk, "car__club")
    if version != run_version(run):
        raise RunChangedMeanwhile(who=last_editor_of(run.car.club, run))
    _check(run.car, content)
    before = list(run.lap_times)
    for name, value in _fields(content).items():
        setattr(run, name, value)
    run.save()
    said = {"before": " ".join(before)} if before != run.lap_times else {}
    write_log(club=run.car.club, action="changed run", subject=run, by=by, **said)
    return run


def _fields(content: RunContent) -> dict[str, object]:
    return {
        "run_on": content.run_on,
        "lap_times": list(content.lap_times),
        "track_layout": content.layout,
        "lane": content.lane,
        "sheet": content.sheet,
        "changes": content.changes,
        "note": content.note,
    }


def _check(car: Car, content: RunContent) -> None:
    if not content.lap_times:
        raise LapsMissing
    if len(content.lap_times) > MOST_LAPS:
        raise TooManyLaps(most=MOST_LAPS)
    if content.sheet is not None and content.sheet.car_id != car.pk:
        raise NotOfThisCar(sheet=content.sheet)
    layout = content.layout
    if content.lane is not None and layout is not None and not layout.lanes.filter(number=content.lane).exists():
        raise LaneNotOnTrack(track=layout.track, lane=content.lane)
