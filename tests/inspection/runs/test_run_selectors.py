from fractions import Fraction

import pytest

from inspection.dynamics.runs import compare_runs
from inspection.runs.errors import LapNotUnderstood, LapsMissing, LapsNotParted, TooManyLaps
from inspection.runs.selectors import (
    MOST_COMPARED,
    MOST_LAPS,
    best_so_far,
    compare_sides,
    line_of,
    ranking_words,
    read_laps,
    runs_of,
    side_of,
)
from tests import factories


@pytest.mark.parametrize(
    ("text", "mark", "laps"),
    [
        ("6.132 6.098 6.21", ".", ("6.132", "6.098", "6.21")),
        ("6.132\n6.098\r\n\n6.21\n", ".", ("6.132", "6.098", "6.21")),
        ("6,132 6,098; 6,21", ",", ("6.132", "6.098", "6.21")),
        ("6,132; 6,098;6,21", ".", ("6.132", "6.098", "6.21")),
        ("6.132, 6.098, 6.21", ".", ("6.132", "6.098", "6.21")),
        ("6.132,6.098,6.21", ",", ("6.132", "6.098", "6.21")),
        ("6.132\t6.098", ",", ("6.132", "6.098")),
        ("12, 11, 12", ".", ("12", "11", "12")),
        ("1:02.35", ".", ("62.35",)),
        ("06.10", ".", ("6.10",)),
    ],
)
def test_laps_are_read_as_people_have_them(text, mark, laps):
    assert read_laps(text, decimal_mark=mark) == laps


@pytest.mark.parametrize(
    ("text", "place", "odd"),
    [
        ("6.132 6.o98 6.21", 2, "6.o98"),
        ("6.132 0 6.21", 2, "0"),
        ("-6.1", 1, "-6.1"),
        ("6.1 6.2 4000", 3, "4000"),
        ("6.1.2", 1, "6.1.2"),
        ("1:2.3", 1, "1:2.3"),
        ("6.13 ٣", 2, "٣"),
    ],
)
def test_what_is_no_time_is_refused_with_its_place(text, place, odd):
    with pytest.raises(LapNotUnderstood) as refused:
        read_laps(text)

    assert (refused.value.params["place"], refused.value.params["text"]) == (place, odd)


def test_the_refusal_shows_a_time_in_the_clubs_mark():
    with pytest.raises(LapNotUnderstood) as refused:
        read_laps("x", decimal_mark=",")

    assert str(refused.value) == ("Lap 1, “x”, is no lap time. Type seconds such as 6,132, with a blank between laps.")


def test_commas_that_may_part_laps_or_decimals_are_not_guessed_at():
    with pytest.raises(LapsNotParted):
        read_laps("12,13,12")


def test_no_lap_and_too_many_are_refused():
    with pytest.raises(LapsMissing):
        read_laps(" ; , ")
    with pytest.raises(TooManyLaps):
        read_laps("6.1 " * (MOST_LAPS + 1))


def words(first, second):
    times = [[Fraction(text) for text in laps.split()] for laps in (first, second)]
    return ranking_words(compare_runs(*times), *times)


def test_the_quicker_is_named_with_how_much_a_lap():
    assert words("6.20 6.22 6.19 6.24 6.21", "6.12 6.15 6.10 6.14 6.13") == "B is quicker by 0.05 to 0.12 s a lap."
    assert words("6.12 6.15 6.10 6.14 6.13", "6.20 6.22 6.19 6.24 6.21") == "A is quicker by 0.05 to 0.12 s a lap."


def test_a_difference_of_milliseconds_keeps_its_third_decimal():
    said = words("6.010 6.011 6.012 6.013 6.014", "6.005 6.006 6.007 6.008 6.009")

    assert said == "B is quicker by 0.002 to 0.008 s a lap."


def test_a_few_laps_cannot_tell_and_say_how_many_could():
    assert words("6.20 6.22 6.19", "6.10 6.12 6.09").startswith("So few laps cannot tell them apart: 4 laps of each")


def test_laps_that_lie_across_each_other_say_about_how_many_would_be_enough():
    said = words("6.10 6.20 6.15 6.30 6.12", "6.14 6.25 6.18 6.16 6.33")

    assert said == "They cannot be told apart: about 41 laps of each would be enough."


def test_laps_alike_say_that_more_would_not_help():
    assert "take them as alike" in words("6.10 6.20 6.15 6.30", "6.10 6.20 6.15 6.30")


@pytest.fixture
def car(db):
    return factories.car(factories.club())


@pytest.fixture
def layout(car):
    return factories.track_layout(car.club)


def test_the_best_so_far_is_the_quickest_median_on_each_lane(car, layout):
    factories.run(car, "6.00", "6.50", "6.50", "6.50", track_layout=layout, lane=1)
    steady = factories.run(car, "6.20", "6.20", "6.21", "6.22", track_layout=layout, lane=1)
    factories.run(car, "7.00", "7.00", "7.00", "7.00", track_layout=layout, lane=2)

    first, second = best_so_far(runs_of(car))

    assert (first.lane, first.steady.run, first.quickest.summary.best) == (1, steady, Fraction(6))
    assert second.lane == 2


def test_one_lucky_lap_is_not_the_best_so_far(car, layout):
    factories.run(car, "5.90", track_layout=layout, lane=1)
    steady = factories.run(car, "6.20", "6.20", "6.21", "6.22", track_layout=layout, lane=1)

    (best,) = best_so_far(runs_of(car))

    assert best.steady.run == steady
    assert best.quickest.summary.best == Fraction("5.90")


def test_a_slow_lap_is_marked_and_stays(car):
    line = line_of(factories.run(car, "6.20", "6.22", "6.21", "9.80", "6.19"))

    assert line.slow == (3,)
    assert line.summary.laps == 5
    assert line.laps[3] == (4, Fraction("9.80"), True)


def test_all_runs_of_two_sheets_are_compared_lane_by_lane(car, layout):
    one, two = factories.bench_sheet(car), factories.bench_sheet(car)
    for lane in (1, 2):
        factories.run(car, "6.20", "6.22", "6.19", sheet=one, track_layout=layout, lane=lane)
        factories.run(car, "6.24", "6.21", sheet=one, track_layout=layout, lane=lane)
        factories.run(car, "6.12", "6.15", "6.10", "6.14", "6.13", sheet=two, track_layout=layout, lane=lane)
    factories.run(car, "5.00", "5.00", sheet=two, track_layout=layout, lane=3)

    sides = [side_of(car, f"sheet-{sheet.public_id}", label) for sheet, label in ((one, "A"), (two, "B"))]
    found = compare_sides(*sides)

    assert [(each.lane, each.first.laps, each.second.laps) for each in found] == [(1, 5, 5), (2, 5, 5)]
    assert {each.words for each in found} == {"B is quicker by 0.05 to 0.12 s a lap."}


def test_different_lanes_are_never_compared(car, layout):
    one, two = (factories.run(car, track_layout=layout, lane=lane) for lane in (1, 2))

    assert compare_sides(*[side_of(car, f"run-{run.public_id}", "A") for run in (one, two)]) == []


def test_a_long_run_is_compared_by_its_latest_laps_and_says_so(car, layout):
    slow, quick = ["6.50"] * 5, ["6.10"] * MOST_COMPARED
    one = factories.run(car, *slow, *quick, track_layout=layout, lane=1)
    two = factories.run(car, *quick, track_layout=layout, lane=1)

    (each,) = compare_sides(*[side_of(car, f"run-{run.public_id}", "A") for run in (one, two)])

    assert each.is_cut
    assert each.first.laps == MOST_COMPARED + 5
    assert each.comparison.difference == 0


def test_a_run_of_another_car_is_no_side(car):
    other = factories.run(factories.car(car.club))

    assert side_of(car, f"run-{other.public_id}", "A") is None
    assert side_of(car, "lap-1", "A") is None
