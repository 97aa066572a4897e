from dataclasses import replace

import pytest

from racedesk.rotation.check import find_faults
from racedesk.rotation.draw import draw
from racedesk.rotation.plan import Preset

PLAN = draw(drivers=4, lanes=3, preset=Preset.USUAL, seed=0, by_lot=False)


def codes(heats, plan=PLAN):
    return {fault.code for fault in find_faults(replace(plan, heats=heats))}


def test_a_sound_plan_has_no_faults():
    assert PLAN.heats == ((3, 1, 2), (4, 2, 3), (1, 3, 4), (2, 4, 1))
    assert find_faults(PLAN) == []


@pytest.mark.parametrize(
    ("heats", "expected"),
    [
        (((3, 1, 2), (4, 2, 3), (1, 3, 4), (2, 4, 4)), {"driver_twice_in_heat", "lane_twice", "lane_missing"}),
        (((3, 1, 2), (4, 2, 3), (1, 3, 4), (2, 4, None)), {"lane_missing"}),
        (((3, 1, 2), (4, 2, 3), (1, 3, 4)), {"lane_missing"}),
        (((3, 1, 2), (4, 2, 3), (1, 3, 4), (2, 4, 1), (None, None, None)), {"too_many_heats"}),
        (((3, 1, 2), (4, 2, 3), (1, 3, 4), (2, 4, 1), (2, None, None)), {"too_many_heats", "lane_twice"}),
        (((3, 1, 2), (4, 2, 3), (1, 3, 4), (2, 4, 5)), {"unknown_driver", "lane_missing"}),
        (((3, 1, 2), (4, 2, 3), (1, 3, 4), (2, 4, 0)), {"unknown_driver", "lane_missing"}),
        (((3, 1, 2), (4, 2, 3), (1, 3, 4), (2, 4, 1, None)), {"wrong_width"}),
        (((3, 1, 2), (4, 2, 3), (1, 3, 4), (2, 4)), {"wrong_width", "lane_missing"}),
    ],
)
def test_each_kind_of_fault_is_found(heats, expected):
    assert codes(heats) == expected


def test_a_fault_says_where_it_is():
    faults = find_faults(replace(PLAN, heats=((3, 1, 2), (4, 2, 3), (1, 3, 4), (2, 4, 4))))

    assert [(str(fault), fault.heat, fault.lane, fault.driver) for fault in faults] == [
        ("driver 4 is in heat 4 2 times", 4, None, 4),
        ("driver 1 never drives lane 3", None, 3, 1),
        ("driver 4 drives lane 3 2 times", None, 3, 4),
    ]
