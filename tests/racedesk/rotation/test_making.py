from dataclasses import replace

import pytest

from racedesk.rotation import making
from racedesk.rotation.designs import Status, find_design
from racedesk.rotation.making import Search, better_of, make_design


@pytest.mark.parametrize(("drivers", "lanes"), [(6, 6), (7, 3), (9, 4), (12, 5), (14, 6), (13, 4)])
def test_a_cyclic_row_of_the_table_is_made_again_as_it_is_shipped(drivers, lanes):
    shipped = find_design(drivers=drivers, lanes=lanes)

    assert make_design(drivers=drivers, lanes=lanes, known=shipped.made, search=Search()) == shipped


def test_a_row_that_is_not_cyclic_is_made_again_from_its_recipe():
    shipped = find_design(drivers=16, lanes=6)
    assert shipped.made != "search"

    assert make_design(drivers=16, lanes=6, known=shipped.made, search=Search()) == shipped


@pytest.mark.parametrize(("drivers", "lanes", "made"), [(31, 10, "symmetric,3,2"), (23, 10, "thinned,5,300000")])
def test_a_row_that_is_built_is_made_again_as_it_is_shipped(drivers, lanes, made):
    shipped = find_design(drivers=drivers, lanes=lanes)
    heats, how = making._built(drivers, lanes)

    assert shipped.made == how == made
    assert {frozenset(heat) for heat in heats} == {frozenset(heat) for heat in shipped.heats}


def test_without_its_recipe_and_without_walks_such_a_row_is_the_best_cyclic_one():
    made = make_design(drivers=16, lanes=6, search=Search())

    assert (made.excess, made.status, made.made) == (32, Status.OPEN, "search")
    assert better_of(find_design(drivers=16, lanes=6), made) == find_design(drivers=16, lanes=6)


def test_a_short_walk_finds_a_more_even_row_than_any_cyclic_one(monkeypatch):
    for steps in ("_ORDER_STEPS", "_LANE_STEPS", "_LANE_TRIES"):
        monkeypatch.setattr(making, steps, 50)
    made = make_design(drivers=14, lanes=7, search=Search(seeds=1, steps=500))

    assert made.excess < 14
    assert made.made != "search"
    assert all(sorted(lane) == list(range(14)) for lane in zip(*made.heats, strict=True))


def test_the_better_of_two_rows_is_the_more_even_one_and_the_first_where_they_are_alike():
    row = find_design(drivers=16, lanes=6)
    worse = replace(row, reached=row.reached + 2)
    alike = replace(row, made="search")

    assert better_of(None, row) is row
    assert better_of(worse, row) is row
    assert better_of(row, worse) is row
    assert better_of(row, alike) is row
