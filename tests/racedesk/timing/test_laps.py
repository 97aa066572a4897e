"""Part laps as people write them.

The notations and the usual divisions (20 and 100 sections a lap) are common practice of the trade.
"""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from racedesk.timing.errors import LapsError
from racedesk.timing.laps import LapCount, LapMethod, add_lanes, echo, format_laps, parse_laps

DIVISORS = st.sampled_from([1, 2, 3, 4, 5, 8, 10, 12, 20, 25, 50, 100])


def counts(divisors=DIVISORS):
    return divisors.flatmap(
        lambda divisor: st.builds(LapCount, st.integers(0, 2000), st.integers(0, divisor - 1), st.just(divisor))
    )


def read(text, *, divisor=20, method=LapMethod.LANE_BY_LANE, is_last_lane=False, decimal_mark="."):
    return parse_laps(text, divisor=divisor, method=method, is_last_lane=is_last_lane, decimal_mark=decimal_mark)


def parts(count):
    return count.laps, count.sections, count.divisor


def refusal(text, **how):
    with pytest.raises(LapsError) as refused:
        read(text, **how)
    return refused.value


@pytest.mark.parametrize(
    ("text", "laps", "sections"),
    [
        ("18", 18, 0),
        ("0", 0, 0),
        (" 018 ", 18, 0),
        ("18 laps", 18, 0),
        ("1 lap", 1, 0),
        ("18.45", 18, 9),
        ("18,45", 18, 9),
        ("18.5", 18, 10),
        ("18.05", 18, 1),
        ("18.00", 18, 0),
        (".45", 0, 9),
        ("18.45 laps", 18, 9),
        ("18 + 9/20", 18, 9),
        ("18+9/20", 18, 9),
        ("18 9/20", 18, 9),
        ("18 laps + 9/20", 18, 9),
        ("18 laps and 9/20", 18, 9),
        ("18 laps 9", 18, 9),
        ("18 LAPS 9", 18, 9),
        ("18laps9", 18, 9),
        ("18 laps, 9", 18, 9),
        ("18 laps and 9 sections", 18, 9),
        ("18 laps and 9 of 20 sections", 18, 9),
        ("1 lap 1 section", 1, 1),
        ("18/9", 18, 9),
        ("18 / 9", 18, 9),
        ("18\u00a0laps\t9", 18, 9),
        ("0 + 9/20", 0, 9),
    ],
)
def test_each_way_of_writing_laps_is_read(text, laps, sections):
    assert parts(read(text)) == (laps, sections, 20)


def test_hundredths_are_sections_on_a_track_of_a_hundred_sections():
    assert parts(read("14.55", divisor=100)) == (14, 55, 100)
    assert parts(read("18.47", divisor=100)) == (18, 47, 100)


def test_eighths_may_be_written_to_three_digits_with_the_clubs_own_mark():
    assert parts(read("18.125", divisor=8)) == (18, 1, 8)
    assert parts(read("18,125", divisor=8, decimal_mark=",")) == (18, 1, 8)


def test_three_digits_after_the_other_mark_might_be_thousands():
    assert refusal("18,125", divisor=8).code == "ambiguous_mark"
    assert refusal("1.250", divisor=4, decimal_mark=",").code == "ambiguous_mark"


def test_a_part_that_the_track_cannot_hold_is_refused_with_its_neighbors_named():
    refused = refusal("18.47")
    assert refused.code == "part_not_on_track"
    assert [parts(count) for count in refused.params["nearest"]] == [(18, 9, 20), (18, 10, 20)]
    assert "18.45 or 18.50" in str(refused)


def test_the_neighbor_above_the_last_section_is_the_next_lap():
    assert [parts(count) for count in refusal("18.97").params["nearest"]] == [(18, 19, 20), (19, 0, 20)]


def test_a_third_of_a_lap_is_never_taken_from_hundredths():
    refused = refusal("18.33", divisor=3)
    assert refused.code == "part_not_on_track"
    assert "18 + 0/3 or 18 + 1/3" in str(refused)


def test_a_track_without_sections_takes_no_part():
    refused = refusal("18.45", divisor=1)
    assert refused.code == "part_not_on_track"
    assert "18 or 19" in str(refused)


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", "empty"),
        ("   ", "empty"),
        ("-1", "negative"),
        ("\u221218.45", "negative"),
        ("- 3", "negative"),
        ("nan", "not_a_number"),
        ("NaN", "not_a_number"),
        ("inf", "not_a_number"),
        ("-inf", "not_a_number"),
        ("1e3", "not_a_number"),
        ("1e999", "not_a_number"),
        ("1.5E-2", "not_a_number"),
        ("+18", "not_understood"),
        ("18.", "not_understood"),
        ("18.4.5", "not_understood"),
        ("1,234.5", "not_understood"),
        ("18 + 9", "not_understood"),
        ("18 9", "not_understood"),
        ("eighteen", "not_understood"),
        ("18 laps 9 of", "not_understood"),
        ("18/9/20", "not_understood"),
        ("0x12", "not_understood"),
        ("\u0661\u0668", "not_understood"),
        ("=18", "not_understood"),
        ("<b>18</b>", "not_understood"),
        ("18\x00", "not_understood"),
        ("100000", "absurd"),
        ("9" * 5000, "absurd"),
        ("18/20", "section_too_big"),
        ("9/20", "section_too_big"),
        ("18 laps 20", "section_too_big"),
        ("18 + 20/20", "section_too_big"),
        ("18 + 9/10", "other_division"),
        ("18 + 9/0", "other_division"),
        ("18 laps and 9 of 100 sections", "other_division"),
    ],
)
def test_what_is_no_lap_count_is_refused_with_its_code(text, code):
    assert refusal(text).code == code


@pytest.mark.parametrize("method", [LapMethod.WHOLE_LAPS, LapMethod.COMPLETED])
@pytest.mark.parametrize("is_last_lane", [False, True])
def test_a_race_of_whole_laps_refuses_a_part_on_any_lane(method, is_last_lane):
    assert refusal("18.45", method=method, is_last_lane=is_last_lane).code == "part_not_counted"
    assert parts(read("18", method=method, is_last_lane=is_last_lane)) == (18, 0, 20)
    assert parts(read("18.00", method=method, is_last_lane=is_last_lane)) == (18, 0, 20)


def test_a_carried_part_is_read_only_after_the_last_lane():
    assert refusal("18/9", method=LapMethod.CARRIED).code == "part_before_last_lane"
    assert parts(read("18/9", method=LapMethod.CARRIED, is_last_lane=True)) == (18, 9, 20)


@pytest.mark.parametrize("divisor", [0, -20, 1001])
def test_a_track_with_an_impossible_division_is_refused(divisor):
    assert refusal("18", divisor=divisor).code == "bad_divisor"


@given(st.text(max_size=80), DIVISORS, st.sampled_from(LapMethod), st.booleans(), st.sampled_from(".,"))
def test_any_text_gives_a_count_or_a_typed_refusal(text, divisor, method, is_last_lane, mark):
    try:
        count = read(text, divisor=divisor, method=method, is_last_lane=is_last_lane, decimal_mark=mark)
    except LapsError:
        return  # any other exception fails the test
    assert count.divisor == divisor


@given(st.text("0123456789.,/+ -elaps", max_size=20), DIVISORS)
def test_text_of_the_right_letters_gives_a_count_or_a_typed_refusal(text, divisor):
    try:
        count = read(text, divisor=divisor)
    except LapsError:
        return
    assert 0 <= count.sections < divisor


@given(counts(), st.sampled_from(".,"))
def test_what_is_printed_reads_back_as_the_same_two_integers(count, mark):
    text = format_laps(count, decimal_mark=mark)
    assert parts(read(text, divisor=count.divisor, decimal_mark=mark)) == parts(count)


@given(counts())
def test_the_echo_without_its_bracket_reads_back_too(count):
    text = echo(count).split(" (")[0]
    assert parts(read(text, divisor=count.divisor)) == parts(count)


def test_the_echo_says_what_was_understood():
    assert echo(LapCount(18, 9, 20)) == "18 laps and 9 of 20 sections (18.45)"
    assert echo(LapCount(18, 9, 20), decimal_mark=",") == "18 laps and 9 of 20 sections (18,45)"
    assert echo(LapCount(18, 1, 3)) == "18 laps and 1 of 3 sections"
    assert echo(LapCount(18, 0, 20)) == "18 laps"
    assert echo(LapCount(1, 0, 1)) == "1 lap"


def test_a_result_sheet_prints_hundredths_or_sections():
    assert format_laps(LapCount(112, 1, 20)) == "112.05"
    assert str(LapCount(112, 0, 20)) == "112.00"
    assert format_laps(LapCount(14, 55, 100)) == "14.55"
    assert format_laps(LapCount(18, 1, 8)) == "18 + 1/8"
    assert format_laps(LapCount(18, 0, 1)) == "18"


@pytest.mark.parametrize(
    ("made", "code"),
    [
        ((-1, 0, 20), "negative"),
        ((1, -1, 20), "negative"),
        ((1, 20, 20), "section_too_big"),
        ((1, 0, 0), "bad_divisor"),
        ((100_000, 0, 20), "absurd"),
    ],
)
def test_a_count_that_cannot_be_is_not_made(made, code):
    with pytest.raises(LapsError) as refused:
        LapCount(*made)
    assert refused.value.code == code


@given(counts(), counts())
def test_counts_compare_by_exact_value(one, other):
    assert (one < other) == (one.as_fraction < other.as_fraction)
    assert (one <= other) == (one.as_fraction <= other.as_fraction)
    assert (one > other) == (one.as_fraction > other.as_fraction)
    assert (one >= other) == (one.as_fraction >= other.as_fraction)
    assert (one == other) == (one.as_fraction == other.as_fraction)


def test_equal_counts_of_two_divisions_are_equal_and_hash_alike():
    assert LapCount(1, 5, 10) == LapCount(1, 10, 20)
    assert len({LapCount(1, 5, 10), LapCount(1, 10, 20)}) == 1
    assert LapCount(1, 0, 10) != 1


@given(counts(st.just(20)), counts(st.just(20)))
def test_counts_of_one_division_add_and_subtract_exactly(one, other):
    assert (one + other).as_fraction == one.as_fraction + other.as_fraction
    assert one + other - other == one


def test_counts_of_two_divisions_do_not_add():
    with pytest.raises(LapsError) as refused:
        LapCount(1, 5, 10) + LapCount(1, 10, 20)
    assert refused.value.code == "divisors_differ"


def test_a_count_cannot_be_taken_from_a_smaller_one():
    with pytest.raises(LapsError) as refused:
        LapCount(1, 5, 20) - LapCount(1, 6, 20)
    assert refused.value.code == "negative"


def test_lane_by_lane_adds_laps_and_parts_of_every_lane():
    # Six lanes of an invented night: 18.80 18.30 18.35 18.30 17.90 17.80 make 109.45.
    typed = ["18.80", "18.30", "18.35", "18.30", "17.90", "17.80"]
    total = add_lanes([read(text) for text in typed], method=LapMethod.LANE_BY_LANE, divisor=20)
    assert parts(total) == (109, 9, 20)


def test_carried_adds_whole_laps_and_the_one_part_of_the_last_lane():
    lanes = [LapCount(18, 0, 20), LapCount(19, 0, 20), LapCount(18, 9, 20)]
    assert parts(add_lanes(lanes, method=LapMethod.CARRIED, divisor=20)) == (55, 9, 20)


def test_carried_refuses_a_part_before_the_last_lane():
    with pytest.raises(LapsError) as refused:
        add_lanes([LapCount(18, 9, 20), LapCount(19, 0, 20)], method=LapMethod.CARRIED, divisor=20)
    assert refused.value.code == "part_before_last_lane"


@pytest.mark.parametrize("method", [LapMethod.WHOLE_LAPS, LapMethod.COMPLETED])
def test_whole_laps_refuse_a_part_when_adding(method):
    with pytest.raises(LapsError) as refused:
        add_lanes([LapCount(18, 9, 20)], method=method, divisor=20)
    assert refused.value.code == "part_not_counted"


def test_no_lanes_add_up_to_nothing():
    assert parts(add_lanes([], method=LapMethod.CARRIED, divisor=20)) == (0, 0, 20)


@given(st.lists(counts(st.just(20)), max_size=8))
def test_the_order_of_lanes_does_not_matter_lane_by_lane(lanes):
    total = add_lanes(lanes, method=LapMethod.LANE_BY_LANE, divisor=20)
    assert total.as_fraction == sum((count.as_fraction for count in lanes), Fraction(0))
