from itertools import combinations

import pytest

from racedesk.rotation.blocks import block_merit
from racedesk.rotation.cyclic import best_even_block


def of_all(drivers, lanes):
    """Every block at the bound, by trying them all."""
    blocks = ((0, *others) for others in combinations(range(1, drivers), lanes - 1))
    return [block for block in blocks if block_merit(block, drivers=drivers).excess == 0]


@pytest.mark.parametrize("lanes", [2, 3, 4, 5])
def test_up_to_thirteen_drivers_the_block_is_the_best_of_all_there_are(lanes):
    for drivers in range(lanes + 1, 14):
        block, is_complete = best_even_block(drivers=drivers, lanes=lanes, nodes=100_000)
        every = of_all(drivers, lanes)

        assert is_complete
        assert (block is None) == (not every)
        if block is not None:
            best = min(block_merit(one, drivers=drivers).rank(rest=False) for one in every)
            assert block_merit(block, drivers=drivers).rank(rest=False) == best
            assert block[0] == 0
            assert tuple(sorted(set(block))) == block


@pytest.mark.parametrize(("drivers", "lanes"), [(16, 6), (14, 7), (20, 5), (16, 10)])
def test_sizes_without_a_cyclic_block_at_the_bound_have_none(drivers, lanes):
    # A complete enumeration made elsewhere; for (16, 6, 2) and (16, 10, 6) the tables of difference sets agree.
    assert best_even_block(drivers=drivers, lanes=lanes, nodes=1_000_000) == (None, True)


def test_a_budget_that_runs_out_is_told():
    block, is_complete = best_even_block(drivers=40, lanes=8, nodes=50)

    assert block is None
    assert not is_complete
