from itertools import pairwise

import pytest

from racedesk.rotation.errors import DrawError
from racedesk.rotation.order import checked_lane_order, odd_up_even_down


@pytest.mark.parametrize(
    ("lanes", "order"),
    [  # orders in common use in clubs
        (1, (1,)),
        (2, (1, 2)),
        (4, (1, 3, 4, 2)),
        (6, (1, 3, 5, 6, 4, 2)),
        (8, (1, 3, 5, 7, 8, 6, 4, 2)),
    ],
)
def test_the_odd_up_even_down_order_is_the_one_clubs_call_aloud(lanes, order):
    assert odd_up_even_down(lanes) == order


@pytest.mark.parametrize("lanes", range(2, 33))
def test_no_move_of_the_odd_up_even_down_order_is_longer_than_two_lanes(lanes):
    order = odd_up_even_down(lanes)

    assert sorted(order) == list(range(1, lanes + 1))
    assert all(abs(a - b) <= 2 for a, b in pairwise((*order, order[0])))


def test_a_club_may_have_its_own_order():
    assert checked_lane_order([1, 2, 3], lanes=3) == (1, 2, 3)


@pytest.mark.parametrize("order", [[], [1, 2], [1, 2, 2], [0, 1, 2], [1, 2, 4], [1, 2, 3, 4]])
def test_an_order_that_does_not_name_each_lane_once_is_refused(order):
    with pytest.raises(DrawError, match="names each lane from 1 to 3 once") as refusal:
        checked_lane_order(order, lanes=3)

    assert refusal.value.code == "bad_lane_order"
    assert refusal.value.params["lanes"] == 3
