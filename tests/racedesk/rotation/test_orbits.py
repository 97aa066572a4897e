from collections import Counter
from itertools import combinations

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from racedesk.rotation.designs import find_design
from racedesk.rotation.orbits import Recipe, can_turn, walk


def squares(heats):
    return sum(times**2 for times in Counter(pair for h in heats for pair in combinations(sorted(h), 2)).values())


@settings(max_examples=60, deadline=None)
@given(
    drivers=st.integers(4, 24),
    lanes=st.integers(2, 8),
    order=st.integers(1, 12),
    fixed=st.integers(0, 1),
    seed=st.integers(0, 99),
)
def test_whatever_the_symmetry_heats_are_full_everybody_has_as_many_and_turned_heats_are_heats(
    drivers, lanes, order, fixed, seed
):
    assume(lanes < drivers and order < drivers - fixed)
    assume(can_turn(drivers=drivers, lanes=lanes, order=order, fixed=fixed))
    recipe = Recipe(order=order, fixed=fixed, hot=30_000, cold=3_000, steps=150, seed=seed)
    heats, excess = walk(recipe, drivers=drivers, lanes=lanes)

    assert len(heats) == drivers
    assert all(len(set(heat)) == lanes for heat in heats)
    assert set(Counter(driver for heat in heats for driver in heat).values()) == {lanes}
    q, r = divmod(lanes * (lanes - 1), drivers - 1)
    assert squares(heats) - excess == drivers * (drivers - 1) // 2 * q * q + drivers * r * (2 * q + 1) // 2

    def turned(driver):
        still = driver >= drivers - fixed
        return driver if still else driver // order * order + (driver + 1 - driver // order * order) % order

    assert Counter(tuple(sorted(map(turned, heat))) for heat in heats) == Counter(heats)
    assert walk(recipe, drivers=drivers, lanes=lanes) == (heats, excess)


def test_a_walk_under_a_symmetry_of_eight_finds_sixteen_drivers_who_meet_twice_each():
    # The (16, 6, 2) design: it exists, but no cyclic one does (CRC Handbook of Combinatorial Designs).
    heats, excess = walk(Recipe.read(find_design(drivers=16, lanes=6).made), drivers=16, lanes=6)

    assert excess == 0
    assert set(Counter(pair for heat in heats for pair in combinations(heat, 2)).values()) == {2}


@settings(max_examples=25, deadline=None)
@given(more=st.integers(-3, 3), seed=st.integers(0, 50))
def test_a_walk_may_start_from_a_rotation_with_more_or_fewer_drivers(more, seed):
    source = tuple(tuple(sorted((number + heat) % 13 for number in (0, 1, 3, 9))) for heat in range(13))
    drivers = 13 + more
    recipe = Recipe(1, 0, 500, 100, 200, seed, source=13)
    heats, _ = walk(recipe, drivers=drivers, lanes=4, source=source)

    assert all(len(set(heat)) == 4 for heat in heats)
    assert Counter(driver for heat in heats for driver in heat) == dict.fromkeys(range(drivers), 4)


@pytest.mark.parametrize(
    ("drivers", "lanes", "order", "fixed", "fits"),
    [
        (16, 6, 8, 0, True), (16, 6, 5, 1, True), (16, 6, 3, 1, True), (16, 6, 15, 1, False), (16, 6, 7, 0, False),
        (16, 6, 1, 0, True), (16, 6, 1, 1, False), (16, 6, 8, 2, False), (16, 6, 0, 0, False),
    ],
)  # fmt: skip
def test_a_symmetry_fits_where_its_circles_do(drivers, lanes, order, fixed, fits):
    assert can_turn(drivers=drivers, lanes=lanes, order=order, fixed=fixed) is fits


def test_a_walk_that_cannot_be_is_refused():
    with pytest.raises(ValueError, match="no symmetry of order 7"):
        walk(Recipe(7, 0, 1, 1, 1, 1), drivers=16, lanes=6)
    with pytest.raises(ValueError, match="needs the heats"):
        walk(Recipe(1, 0, 1, 1, 1, 1, source=13), drivers=16, lanes=6)


def test_a_recipe_is_read_as_it_was_written():
    recipe = Recipe(8, 0, 45_000, 6_000, 1_000_000, 3, 0)

    assert Recipe.read(recipe.written()) == recipe
    with pytest.raises(ValueError, match="invalid literal"):
        Recipe.read("search")
