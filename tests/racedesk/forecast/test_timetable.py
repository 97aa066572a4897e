"""Running times of rotations as trade practice has them."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from racedesk.forecast.errors import ForecastError
from racedesk.forecast.timetable import count_segments, finish, heat_starts, running_time

EIGHT = datetime(2025, 11, 25, 20, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    ("drivers", "lanes", "heat_min", "changeover_min", "minutes"),
    [(18, 4, "2", "1", "53"), (12, 6, "3", "1", "47"), (20, 8, "3", "1.5", "88.5")],
)
def test_the_three_examples_of_the_trade(drivers, lanes, heat_min, changeover_min, minutes):
    heats = count_segments(drivers=drivers, lanes=lanes)
    lengths = {"heat_length_s": Decimal(heat_min) * 60, "changeover_s": Decimal(changeover_min) * 60}
    assert running_time(heats=heats, **lengths) == timedelta(minutes=float(minutes))
    assert finish(start=EIGHT, heats=heats, **lengths) == EIGHT + timedelta(minutes=float(minutes))


def test_fewer_drivers_than_lanes_still_run_once_for_each_lane():
    assert count_segments(drivers=3, lanes=6) == 6
    assert count_segments(drivers=0, lanes=6) == 0


def test_heats_begin_one_heat_and_one_changeover_apart():
    starts = heat_starts(start=EIGHT, heats=3, heat_length_s=180, changeover_s=90)
    assert [f"{start:%H:%M:%S}" for start in starts] == ["20:00:00", "20:04:30", "20:09:00"]


def test_no_heats_end_at_once():
    assert heat_starts(start=EIGHT, heats=0, heat_length_s=180, changeover_s=90) == ()
    assert finish(start=EIGHT, heats=0, heat_length_s=180, changeover_s=90) == EIGHT


def test_one_heat_has_no_changeover():
    assert running_time(heats=1, heat_length_s=180, changeover_s=90) == timedelta(seconds=180)


def test_a_night_over_the_change_of_the_clocks_loses_no_hour():
    zone = ZoneInfo("Europe/London")
    start = datetime(2025, 10, 26, 0, 30, tzinfo=zone)  # the clocks go back at 02:00
    end = finish(start=start, heats=1, heat_length_s=3 * 3600, changeover_s=0)
    assert f"{end:%H:%M %Z}" == "02:30 GMT"
    assert end - start.astimezone(UTC) == timedelta(hours=3)


@pytest.mark.parametrize(
    ("wrong", "code"),
    [
        ({"heats": -1}, "bad_count"),
        ({"heats": 10_001}, "bad_count"),
        ({"heat_length_s": -1}, "bad_time"),
        ({"heat_length_s": Decimal("NaN")}, "bad_time"),
        ({"changeover_s": Decimal("Infinity")}, "bad_time"),
        ({"changeover_s": 8 * 24 * 3600}, "bad_time"),
        ({"start": EIGHT.replace(tzinfo=None)}, "needs_time_zone"),
        ({"start": datetime(9999, 12, 31, 23, 59, tzinfo=UTC)}, "too_late"),
    ],
)
def test_a_timetable_that_cannot_be_is_refused(wrong, code):
    good = {"start": EIGHT, "heats": 2, "heat_length_s": 180, "changeover_s": 60}
    with pytest.raises(ForecastError) as refused:
        finish(**(good | wrong))
    assert refused.value.code == code


@pytest.mark.parametrize("wrong", [{"drivers": -1, "lanes": 4}, {"drivers": 4, "lanes": 0}])
def test_a_rotation_without_lanes_or_with_too_few_drivers_is_refused(wrong):
    with pytest.raises(ForecastError) as refused:
        count_segments(**wrong)
    assert refused.value.code == "bad_count"


@given(st.integers(1, 60), st.integers(1, 3600), st.integers(0, 600))
def test_the_race_ends_when_its_last_heat_does(heats, heat_length_s, changeover_s):
    lengths = {"heats": heats, "heat_length_s": heat_length_s, "changeover_s": changeover_s}
    starts = heat_starts(start=EIGHT, **lengths)
    assert len(starts) == heats
    assert starts[0] == EIGHT
    assert finish(start=EIGHT, **lengths) == starts[-1] + timedelta(seconds=heat_length_s)
