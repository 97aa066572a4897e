from itertools import combinations
from math import comb

import pytest
from hypothesis import given
from hypothesis import strategies as st

from racedesk.rotation.blocks import best_block, block_merit, usual_steps

# Difference sets: every difference occurs equally often. Singer 1938 and Paley; CRC Handbook of
# Combinatorial Designs, tables of difference sets.
DIFFERENCE_SETS = [
    (7, 1, (0, 1, 3)),
    (13, 1, (0, 1, 3, 9)),
    (21, 1, (3, 6, 7, 12, 14)),
    (31, 1, (1, 5, 11, 24, 25, 27)),
    (57, 1, (0, 1, 3, 13, 32, 36, 43, 52)),
    (73, 1, (0, 1, 12, 20, 26, 30, 33, 35, 57)),
    (91, 1, (0, 1, 5, 7, 27, 35, 44, 67, 77, 80)),
    (7, 2, (0, 3, 5, 6)),
    (11, 2, (1, 3, 4, 5, 9)),
]

# Up to 24 drivers these sizes alone cannot meet the bound with a cyclic plan, and this is the least by which
# they miss it: a complete enumeration of cyclic blocks made elsewhere.
CYCLIC_EXCESS = {
    (20, 5): 20,
    (22, 5): 22,
    (16, 6): 32,
    (17, 6): 34,
    (14, 7): 14,
    (22, 7): 44,
    (23, 7): 46,
    (20, 8): 40,
    (16, 10): 32,
    (23, 10): 46,
}


def found(drivers, lanes, *, rest=False, share=1):
    block = best_block(drivers=drivers, lanes=lanes, rest=rest, steps=usual_steps(drivers=drivers) // share)
    return block_merit(block, drivers=drivers)


@pytest.mark.parametrize(("drivers", "each", "block"), DIFFERENCE_SETS)
def test_a_difference_set_of_the_handbook_meets_the_bound(drivers, each, block):
    assert len(block) * (len(block) - 1) == each * (drivers - 1)
    merit = block_merit(block, drivers=drivers)

    assert merit.excess == 0
    assert merit.back_to_back == each


def test_the_merit_of_a_block_is_counted_by_hand():
    # 0 1 3 on a circle of 8: gaps 1, 2, 5; differences 1, 2, 3, 5, 6, 7 once and 4 never; q = 0.
    merit = block_merit((3, 0, 1), drivers=8)

    assert (merit.excess, merit.back_to_back, merit.longest_gap, merit.on_end) == (0, 1, 5, 2)
    assert merit.gap_squares == 1 + 4 + 25
    assert block_merit((0, 1, 2, 3), drivers=8).on_end == 4
    assert block_merit((0, 1, 2, 7), drivers=8).on_end == 4
    assert block_merit((0, 1, 2), drivers=3).on_end == 3


@pytest.mark.parametrize("lanes", range(2, 11))
def test_every_size_up_to_24_drivers_is_as_even_as_a_cyclic_plan_can_be(lanes):
    # A fifth of the usual budget is enough up to 8 lanes.
    share = 5 if lanes <= 8 else 1
    merits = {(drivers, lanes): found(drivers, lanes, share=share) for drivers in range(lanes + 1, 25)}
    reached = {size: merit.excess for size, merit in merits.items() if merit.excess}

    assert reached == {size: excess for size, excess in CYCLIC_EXCESS.items() if size[1] == lanes}


@pytest.mark.parametrize(("drivers", "lanes"), [(31, 6), (57, 8), (48, 7), (37, 9), (42, 10), (50, 10), (52, 10)])
def test_the_hardest_large_sizes_meet_the_bound(drivers, lanes):
    assert found(drivers, lanes).excess == 0


@pytest.mark.parametrize(
    ("drivers", "lanes", "excess", "back_to_back", "longest_gap"),
    [
        (7, 3, 0, 1, 4),
        (8, 4, 0, 1, 3),
        (12, 4, 0, 1, 5),
        (13, 4, 0, 1, 6),
        (10, 6, 0, 3, 3),
        (16, 8, 0, 3, 3),
        (21, 5, 0, 1, 10),
        (24, 8, 0, 2, 5),
        (30, 8, 60, 1, 6),
        (40, 8, 0, 1, 8),
        (57, 8, 0, 1, 16),
        (60, 8, 120, 0, 21),
    ],
)
def test_among_the_most_even_blocks_the_one_with_the_best_waits_is_taken(
    drivers, lanes, excess, back_to_back, longest_gap
):
    merit = found(drivers, lanes)

    assert (merit.excess, merit.back_to_back) == (excess, back_to_back)
    assert merit.longest_gap <= longest_gap


@pytest.mark.parametrize(
    ("drivers", "lanes", "excess"),
    [
        (7, 3, 14),
        (8, 4, 104),
        (12, 4, 24),
        (13, 4, 26),
        (16, 8, 1888),
        (21, 5, 42),
        (24, 8, 144),
        (30, 8, 180),
        (40, 8, 80),
        (57, 8, 228),
        (60, 8, 120),
    ],
)
def test_the_price_of_no_back_to_back_is_the_least_among_cyclic_plans(drivers, lanes, excess):
    merit = found(drivers, lanes, rest=True)

    assert merit.back_to_back == 0
    assert merit.excess == excess


@given(drivers=st.integers(3, 80), lanes=st.integers(2, 20))
def test_rest_has_no_run_on_end_from_twice_the_lanes_on_and_as_few_as_can_be_below(drivers, lanes):
    lanes = min(lanes, drivers - 1)
    block = best_block(drivers=drivers, lanes=lanes, rest=True, steps=1)

    assert block_merit(block, drivers=drivers).back_to_back == max(0, 2 * lanes - drivers)


@pytest.mark.parametrize(("drivers", "lanes"), [(9, 4), (11, 5), (12, 6), (14, 6), (15, 4)])
@pytest.mark.parametrize("rest", [False, True])
def test_small_sizes_are_the_best_of_all_cyclic_blocks(drivers, lanes, rest):
    assert comb(drivers - 1, lanes - 1) < 2_000
    ranks = (
        block_merit((0, *others), drivers=drivers).rank(rest=rest)
        for others in combinations(range(1, drivers), lanes - 1)
    )

    assert found(drivers, lanes, rest=rest).rank(rest=rest) == min(ranks)


@given(drivers=st.integers(2, 60), lanes=st.integers(1, 10), steps=st.integers(1, 3_000), rest=st.booleans())
def test_whatever_the_budget_a_block_has_a_number_of_its_own_for_each_lane(drivers, lanes, steps, rest):
    lanes = min(lanes, drivers - 1)
    block = best_block(drivers=drivers, lanes=lanes, rest=rest, steps=steps)

    assert len(set(block)) == len(block) == lanes
    assert all(0 <= number < drivers for number in block)


def test_the_same_search_gives_the_same_block_when_run_again():
    first = best_block(drivers=29, lanes=6, rest=False, steps=10_000)
    best_block.cache_clear()

    assert best_block(drivers=29, lanes=6, rest=False, steps=10_000) == first
