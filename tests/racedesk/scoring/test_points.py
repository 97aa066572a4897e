"""Points tables and the formula as trade practice has them; low points from RRS Appendix A, A4 and A7."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from racedesk.scoring.errors import ScoringError
from racedesk.scoring.points import (
    TABLES,
    Extra,
    Placed,
    PlaceTable,
    SharedPlaces,
    award_points,
    format_points,
    round_points,
    table_of,
)


def points(places, table="steep", **how):
    placed = [Placed(number, place) for number, place in enumerate(places)]
    return [str(award.points) for award in award_points(placed, table=TABLES[table], **how)]


def whole(places, table="steep", **how):
    return [int(Decimal(text)) for text in points(places, table, **how)]


def test_the_formula_for_a_field_of_four():
    # Trade practice: ((N - place) / N) x 10 + 1 for N = 4 gives 8.50 6.00 3.50 1.00.
    assert points([1, 2, 3, 4], "by_field") == ["8.50", "6.00", "3.50", "1.00"]


def test_the_formula_for_three_is_rounded_half_up_to_the_stated_decimals():
    assert points([1, 2, 3], "by_field") == ["7.67", "4.33", "1.00"]
    assert points([1, 2, 3], "by_field", decimals=0) == ["8", "4", "1"]


@pytest.mark.parametrize(
    ("table", "expected"),
    [
        ("steep", [25, 18, 15, 12, 10, 8, 6, 4, 2, 1, 0, 0]),
        ("steep_to_12th", [25, 20, 18, 15, 12, 10, 8, 6, 5, 3, 2, 1]),
        ("first_six", [9, 6, 4, 3, 2, 1, 0, 0, 0, 0, 0, 0]),
        ("flat", [25, 22, 20, 18, 16, 15, 14, 13, 12, 11, 10, 9]),
        ("floor", [15, 14, 13, 12, 11, 10, 9, 8, 7, 6, 6, 6]),
        ("low", [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12]),
    ],
)
def test_the_tables_in_common_use(table, expected):
    assert whole(range(1, 13), table) == expected


def test_the_flat_table_ends_with_a_point_for_twentieth():
    assert whole(range(1, 22), "flat")[18:] == [2, 1, 0]


def test_those_who_share_a_place_share_its_points_or_each_get_them():
    assert points([1, 2, 2, 4]) == ["25.00", "16.50", "16.50", "12.00"]
    assert points([1, 1, 1, 4]) == ["19.33", "19.33", "19.33", "12.00"]
    assert points([1, 2, 2, 4], shared=SharedPlaces.EACH) == ["25.00", "18.00", "18.00", "12.00"]


def test_places_shared_at_the_end_of_the_table_reach_beyond_it():
    assert points([1, 2, 2], table="first_six") == ["9.00", "5.00", "5.00"]
    awards = award_points([Placed("a", 1), Placed("b", 1)], table=table_of(5, beyond=2))
    assert [award.points for award in awards] == [Decimal("3.5")] * 2


def test_without_a_place_there_are_no_points_unless_stated():
    assert points([1, None]) == ["25.00", "0.00"]
    assert points([1, None], unplaced=Decimal("0.5")) == ["25.00", "0.50"]


def test_under_low_points_no_place_costs_one_more_than_the_entries():
    assert whole([1, 2, None, None], "low") == [1, 2, 5, 5]
    assert points([1, 2, 2], "low") == ["1.00", "2.50", "2.50"]


def test_half_points_for_a_withdrawal():
    awards = award_points([Placed("a", 1), Placed("b", 2, Decimal("0.5"))], table=TABLES["steep"])
    assert [award.points for award in awards] == [25, 9]


def test_extras_are_plain_additions_listed_apart():
    awards = award_points(
        [Placed("a", 1), Placed("b", None)],
        table=TABLES["steep"],
        extras={"a": [Extra("pole", Decimal(1))], "b": [Extra("fastest_lap", Decimal(1)), Extra("late", Decimal(-3))]},
    )
    assert [(award.place_points, award.points) for award in awards] == [(25, 26), (0, -2)]
    assert [extra.code for extra in awards[1].extras] == ["fastest_lap", "late"]


def test_nobody_gets_nothing():
    assert award_points([], table=TABLES["by_field"]) == ()


@pytest.mark.parametrize("places", [[2], [1, 3], [1, 1, 2], [0, 1], [-1], [1, 2, 2, 3]])
def test_places_that_no_classification_gives_are_refused(places):
    with pytest.raises(ScoringError) as refused:
        points(places)
    assert refused.value.code == "bad_place"


@pytest.mark.parametrize(
    ("placed", "how", "code"),
    [
        ([Placed("a", 1), Placed("a", 2)], {}, "duplicate_key"),
        ([Placed("a", 1)], {"extras": {"b": [Extra("pole", Decimal(1))]}}, "unknown_key"),
        ([Placed("a", 1)], {"decimals": 7}, "bad_decimals"),
        ([Placed("a", 1)], {"unplaced": Decimal("NaN")}, "bad_points"),
        ([Placed("a", 1, Decimal("Infinity"))], {}, "bad_points"),
        ([Placed("a", 1)], {"extras": {"a": [Extra("pole", Decimal("NaN"))]}}, "bad_points"),
    ],
)
def test_an_award_that_cannot_be_is_refused(placed, how, code):
    with pytest.raises(ScoringError) as refused:
        award_points(placed, table=TABLES["steep"], **how)
    assert refused.value.code == code


def test_a_table_with_a_number_that_is_none_is_refused():
    with pytest.raises(ScoringError) as refused:
        PlaceTable((Decimal("NaN"),))
    assert refused.value.code == "bad_points"


@st.composite
def shared_places(draw):
    places, place = [], 1
    for size in draw(st.lists(st.integers(1, 4), max_size=6)):
        places += [place] * size
        place += size
    return places


@given(shared_places(), st.sampled_from(["steep", "flat", "floor", "low", "first_six"]))
def test_averaging_hands_out_what_the_table_holds(places, table):
    exact = sum(TABLES[table].points_for(place, len(places)) for place in range(1, len(places) + 1))
    awarded = sum(Fraction(Decimal(text)) for text in points(places, table, decimals=6))
    assert abs(awarded - exact) <= Fraction(len(places), 2 * 10**6)


@given(st.fractions(-1000, 1000), st.integers(0, 6))
def test_rounding_is_to_the_nearest_and_half_away_from_zero(value, decimals):
    rounded = Fraction(round_points(value, decimals))
    half = Fraction(1, 2 * 10**decimals)
    assert abs(rounded - value) <= half
    if abs(rounded - value) == half:
        assert abs(rounded) > abs(value)


def test_points_are_shown_without_idle_zeros():
    shown = [format_points(Decimal(text)) for text in ("25.00", "8.50", "19.33", "0", "100", "0.00", "-2.50")]
    assert shown == ["25", "8.5", "19.33", "0", "100", "0", "-2.5"]
