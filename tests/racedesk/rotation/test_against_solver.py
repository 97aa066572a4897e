"""Small draws and re-draws against what a general-purpose solver proves about them."""

import pytest

from racedesk.rotation.draw import draw
from racedesk.rotation.redraw import State, redraw
from tests.rotation_solver import astray, nearest, solve


def empty(drivers, lanes):
    return State(lanes=lanes, drivers=tuple(range(1, drivers + 1)))


def night(drivers, lanes, over, joined=0, **more):
    plan = draw(drivers=drivers, lanes=lanes, seed=1, by_lot=False)
    return State(lanes=lanes, drivers=tuple(range(1, drivers + joined + 1)), run=plan.heats[:over], **more)


@pytest.mark.parametrize(
    ("drivers", "lanes"), [(3, 3), (4, 3), (5, 3), (6, 3), (7, 3), (5, 4), (6, 4), (7, 4), (8, 3), (9, 3), (9, 4)]
)
def test_no_draw_of_the_size_has_pairs_meet_more_evenly(drivers, lanes):
    plan = draw(drivers=drivers, lanes=lanes, seed=1)
    near = lanes * (lanes - 1) // (drivers - 1)

    proven = solve(empty(drivers, lanes), len(plan.heats), near=near)

    assert proven.cost == proven.bound
    assert astray(empty(drivers, lanes), plan.heats, near) == proven.cost


@pytest.mark.parametrize(
    "state",
    [
        night(6, 3, 2, withdrawn=(2,)),
        night(6, 3, 2, joined=1),
        night(7, 3, 3, lanes_out=(2,)),
        night(8, 3, 4, withdrawn=(1, 5), joined=1),
        night(7, 4, 3, again=(2,)),
        night(6, 4, 3, withdrawn=(6,), lanes_out=(4,)),
    ],
    ids=["withdrawn", "joined", "lane out", "two go and one comes", "a heat again", "one goes and a lane is out"],
)
def test_no_redraw_is_shorter_or_has_pairs_meet_more_evenly(state):
    again = redraw(state, steps=60_000)
    near = nearest(again)

    proven = solve(state, len(again.heats), near=near)

    assert proven.cost == proven.bound
    assert again.deviation == astray(state, again.heats, near) == proven.cost
    assert solve(state, len(again.heats) - 1, near=near).is_impossible


def test_the_solver_itself_sees_a_pair_that_meets_too_often():
    # Two drivers on two lanes meet in both heats; wished is no meeting or one.
    assert solve(empty(2, 2), 2, near=0).cost == 1
