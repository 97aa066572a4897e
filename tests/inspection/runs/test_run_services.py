import datetime as dt
from decimal import Decimal

import pytest

from inspection.models import LogEntry, Run
from inspection.runs.errors import LaneNotOnTrack, LapsMissing, NotOfThisCar, RunChangedMeanwhile, TooManyLaps
from inspection.runs.selectors import run_version
from inspection.runs.services import RunContent, change_run, create_run, record_run
from tests import factories

DAY = dt.date(2026, 11, 20)


@pytest.fixture
def car(db):
    return factories.car(factories.club())


@pytest.fixture
def owner(car):
    return factories.member(car.club)


def content(*laps, **fields):
    return RunContent(run_on=DAY, lap_times=laps or ("6.13", "6.10"), **fields)


def test_a_run_is_written_down_with_its_log_line(car, owner):
    run = create_run(car=car, content=content("6.13", changes="other tires"), by=owner)

    assert (run.lap_times, run.changes, run.by) == (["6.13"], "other tires", owner)
    assert LogEntry.objects.filter(action="wrote down run", subject_id=run.public_id).exists()


def test_a_lane_that_the_track_has_not_is_refused(car, owner):
    layout = factories.track_layout(car.club, lanes=2)

    with pytest.raises(LaneNotOnTrack):
        create_run(car=car, content=content(layout=layout, lane=3), by=owner)


def test_a_sheet_of_another_car_is_refused(car, owner):
    with pytest.raises(NotOfThisCar):
        create_run(car=car, content=content(sheet=factories.bench_sheet(factories.car(car.club))), by=owner)


def test_no_lap_and_too_many_are_refused(car, owner):
    with pytest.raises(LapsMissing):
        create_run(car=car, content=RunContent(run_on=DAY, lap_times=()), by=owner)
    with pytest.raises(TooManyLaps):
        create_run(car=car, content=content(*["6.1"] * 501), by=owner)


def test_laps_counted_by_others_become_a_run(car, owner):
    layout, sheet = factories.track_layout(car.club), factories.bench_sheet(car)

    run = record_run(
        car=car, sheet=sheet, layout=layout, lane=2, run_on=DAY, lap_times=[Decimal("6.130"), Decimal("6.09")], by=owner
    )

    assert Run.objects.of(car.club).get() == run
    assert (run.sheet, run.track_layout, run.lane, run.lap_times) == (sheet, layout, 2, ["6.130", "6.09"])


def test_a_run_is_put_right_and_the_log_keeps_what_stood_there(car, owner):
    run = factories.run(car, "6.13", "61.0")

    change_run(run=run, content=content("6.13", "6.10"), version=run_version(run), by=owner)

    run.refresh_from_db()
    assert run.lap_times == ["6.13", "6.10"]
    assert LogEntry.objects.get(action="changed run").detail == {"before": "6.13 61.0"}


def test_who_saves_second_is_told(car, owner):
    run = factories.run(car)
    version = run_version(run)
    change_run(run=run, content=content("6.00"), version=version, by=owner)

    with pytest.raises(RunChangedMeanwhile):
        change_run(run=run, content=content("6.50"), version=version, by=owner)

    run.refresh_from_db()
    assert run.lap_times == ["6.00"]
