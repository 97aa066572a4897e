import pytest

from racedesk.rotation.draw import draw
from racedesk.rotation.plan import Preset
from racedesk.rotation.recount import recount

FANO = ((1, 2, 4), (2, 3, 5), (3, 4, 6), (4, 5, 7), (5, 6, 1), (6, 7, 2), (7, 1, 3))


def test_the_seven_heats_of_the_projective_plane_are_counted_by_hand():
    found = recount(FANO, drivers=7, lanes=3)

    assert found.problems == ()
    assert (found.meetings_min, found.meetings_max, found.sum_of_squares, found.bound) == (1, 1, 21, 21)
    # Base block 0 1 3: gaps of 1, 2 and 4 heats, so 6 runs on end and three heats waited at most.
    assert (found.back_to_back, found.longest_wait) == (6, 3)
    # One seat apart are the differences 1 and 2 of three: fourteen pairs of twenty-one are once side by side.
    assert (found.neighbors_min, found.neighbors_max) == (0, 1)


@pytest.mark.parametrize(("drivers", "lanes", "bound"), [(13, 4, 78), (24, 8, 1704), (5, 8, 640), (10, 10, 4500)])
def test_the_bound_is_that_of_the_formula(drivers, lanes, bound):
    # P q^2 + (v r / 2)(2 q + 1); with no more drivers than lanes every pair meets in each of k heats: P k^2.
    assert recount(draw(drivers=drivers, lanes=lanes, seed=1).heats, drivers=drivers, lanes=lanes).bound == bound


@pytest.mark.parametrize(
    "heats",
    [
        FANO[:6],
        (*FANO[:6], (7, 1, 1)),
        (*FANO[:6], (7, 1, 8)),
        (*FANO[:6], (7, 1, 0)),
        (*FANO[:6], (7, 1, None)),
        (*FANO[:6], (1, 7, 3)),
        (*FANO[:6], (7, 1)),
        (*FANO, (None, None, None)),
    ],
)
def test_what_is_no_rotation_has_a_problem(heats):
    assert recount(heats, drivers=7, lanes=3).problems


def test_the_usual_queue_is_counted_with_its_pairs_that_never_meet():
    found = recount(draw(drivers=24, lanes=8, preset=Preset.USUAL, seed=1).heats, drivers=24, lanes=8)

    assert found.problems == ()
    # A pair at a distance of 8 to 16 in the queue never meets: 24 * 9 / 2 of them, less the middle counted twice.
    assert found.never_meet == 24 * 9 // 2
    assert (found.back_to_back, found.longest_wait, found.neighbors_max) == (161, 16, 1)
