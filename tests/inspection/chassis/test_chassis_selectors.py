"""What follows from the sizes of a chassis."""

from fractions import Fraction

from inspection.chassis.pictures import NUMBERS, PLAN, SHAFTS, SIDE
from inspection.chassis.selectors import GROUPS, SPECS, center_distances, follows_of
from inspection.planning.register import CHASSIS_SIZES
from inspection.units import Kind

PAIR = {
    "pinion": {"teeth": "11", "outside_diameter": "6.5 mm", "module": "0.5 mm"},
    "driven_gear": {"teeth": "35", "outside_diameter": "19.5 mm"},
}


def test_every_size_of_the_register_is_asked_for_once():
    assert sorted(code for group in GROUPS for code in group.codes) == sorted(spec.code for spec in CHASSIS_SIZES)


def test_every_length_is_drawn_once_and_numbered_as_the_form_asks_for_it():
    asked = [code for group in GROUPS for code in group.codes if SPECS[code].kind is Kind.LENGTH]

    assert len(asked) == len(PLAN) + len(SIDE) + len(SHAFTS)
    assert [NUMBERS[code] for code in asked] == list(range(1, len(asked) + 1))


def test_a_distance_is_known_by_each_of_three_ways_and_the_typed_one_counts():
    sizes = {
        "center_distance": "12.1 mm",
        "across_shafts": "14.24 mm",
        "motor_shaft": "2 mm",
        "axle_diameter": "2.38 mm",
    }

    found, wrong = center_distances(sizes, [PAIR])

    assert wrong == []
    assert [one.how for one in found] == ["typed", "across", "pair"]
    assert found[1].mm == Fraction("12.05")
    assert abs(found[2].mm - 12) < Fraction(1, 4)


def test_ways_that_disagree_are_to_be_looked_at_again():
    sizes = {"center_distance": "13 mm", "across_shafts": "14.24 mm", "motor_shaft": "2 mm", "axle_diameter": "2.38 mm"}

    assert [line.is_odd for line in follows_of(sizes, [])] == [False, True]


def test_a_caliper_over_both_shafts_needs_their_diameters_and_more_than_either():
    lacking = center_distances({"across_shafts": "14.24 mm"}, [])
    impossible = center_distances({"across_shafts": "2 mm", "motor_shaft": "2 mm", "axle_diameter": "2.38 mm"}, [])

    assert lacking[0] == impossible[0] == []
    assert "diameters" in lacking[1][0]
    assert len(impossible[1]) == 1


def test_a_pair_that_makes_no_gears_is_said_to_be_wrong():
    found, wrong = center_distances({}, [{"pinion": {"teeth": "11"}, "driven_gear": {"teeth": "35"}}])

    assert found == []
    assert len(wrong) == 1
