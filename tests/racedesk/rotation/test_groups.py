from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from racedesk.rotation.draw import draw
from racedesk.rotation.errors import DrawError
from racedesk.rotation.groups import Split, draw_groups, group_sizes, split, top_races_last
from racedesk.rotation.plan import Preset

FIELDS = st.integers(2, 60)
MOST = st.integers(3, 11)


@given(FIELDS, MOST)
def test_groups_are_as_few_and_as_even_as_can_be_and_the_slow_ones_short_first(drivers, most):
    sizes = group_sizes(drivers, most=most)

    assert sum(sizes) == drivers
    assert max(sizes) <= most
    assert (len(sizes) - 1) * most < drivers
    assert max(sizes) - min(sizes) <= 1
    assert all(faster >= slower for faster, slower in pairwise(sizes))


def test_sizes_as_clubs_write_them():
    # "Never more than lanes + 1, as even as possible, slow groups short first": common practice, no source.
    assert group_sizes(14, most=5) == (5, 5, 4)
    assert group_sizes(10, most=5) == (5, 5)
    assert group_sizes(11, most=5) == (4, 4, 3)
    assert group_sizes(5, most=5) == (5,)


@pytest.mark.parametrize(
    ("drivers", "most", "code"), [(1, 5, "too_few_drivers"), (5, 1, "bad_groups"), (3, 2, "bad_groups")]
)
def test_a_field_that_makes_no_groups_is_refused(drivers, most, code):
    with pytest.raises(DrawError) as refused:
        group_sizes(drivers, most=most)
    assert refused.value.code == code


@given(FIELDS, MOST, st.sampled_from(Split), st.integers(0, 10**6))
def test_everybody_is_in_one_group(drivers, most, how, seed):
    sizes = group_sizes(drivers, most=most)
    order = list(range(drivers, 0, -1))
    groups = split(order, sizes=sizes, how=how, seed=seed)

    assert tuple(len(group) for group in groups) == sizes
    assert sorted(driver for group in groups for driver in group) == list(range(1, drivers + 1))
    assert groups == split(order, sizes=sizes, how=how, seed=seed)


@given(FIELDS, MOST, st.integers(0, 10**6))
def test_apart_keeps_the_order_and_a_lot_asks_for_no_order(drivers, most, seed):
    sizes = group_sizes(drivers, most=most)
    order = list(range(drivers, 0, -1))

    assert [who for group in split(order, sizes=sizes, how=Split.APART, seed=seed) for who in group] == order
    assert split(order, sizes=sizes, how=Split.LOT, seed=seed) == split(
        order[::-1], sizes=sizes, how=Split.LOT, seed=seed
    )


@given(st.integers(1, 6), st.integers(2, 8))
def test_mixed_groups_of_one_size_are_nearly_of_one_strength(count, size):
    drivers = count * size
    groups = split(range(1, drivers + 1), sizes=[size] * count, how=Split.MIXED, seed=1)

    # Two passes to and fro give every group the same; one left over differs by the number of groups at most.
    strengths = [sum(group) for group in groups]
    assert max(strengths) - min(strengths) <= (count - 1 if size % 2 else 0)
    assert [group[0] for group in groups] == list(range(1, count + 1))


def test_a_split_that_does_not_fill_its_groups_is_refused():
    for order, sizes in (([1, 2, 3], [2]), ([1, 1, 2, 3], [2, 2]), ([1, 2, 3], [2, 1]), ([], [])):
        with pytest.raises(DrawError) as refused:
            split(order, sizes=sizes, how=Split.APART, seed=1)
        assert refused.value.code == "bad_groups"


@given(st.integers(2, 30), MOST, st.integers(2, 8), st.sampled_from(Preset), st.booleans(), st.integers(0, 10**6))
def test_each_group_is_a_rotation_of_its_own_and_groups_follow_each_other(drivers, most, lanes, preset, top_last, seed):
    groups = split(range(1, drivers + 1), sizes=group_sizes(drivers, most=most), how=Split.APART, seed=seed)
    made = draw_groups(groups, lanes=lanes, preset=preset, seed=seed, top_last=top_last, steps=200)

    assert made.groups == (groups[::-1] if top_last else groups)
    ends = (*made.first_heats[1:], len(made.plan.heats) + 1)
    for group, first, end in zip(made.groups, made.first_heats, ends, strict=True):
        heats = made.plan.heats[first - 1 : end - 1]
        assert len(heats) == max(len(group), lanes)
        for driver in group:
            assert sorted(heat.index(driver) for heat in heats if driver in heat) == list(range(lanes))
        assert {who for heat in heats for who in heat if who is not None} == set(group)
    for own, balance in zip(made.own_plans(), made.balances(), strict=True):
        assert (own.drivers, balance.heats) == (balance.drivers, len(own.heats))


def test_one_group_is_the_rotation_itself():
    whole = draw(drivers=9, lanes=4, preset=Preset.OPPONENTS, seed=5)
    made = draw_groups((tuple(range(1, 10)),), lanes=4, preset=Preset.OPPONENTS, seed=5)

    assert made.plan == whole
    assert made.first_heats == (1,)


@pytest.mark.parametrize("groups", [(), ((1, 2), (2, 3)), ((1, 2), (4, 5)), ((1, 2), (3,))])
def test_groups_that_are_no_split_are_refused(groups):
    with pytest.raises(DrawError) as refused:
        draw_groups(groups, lanes=4, preset=Preset.USUAL, seed=1)
    assert refused.value.code == "bad_groups"


def test_the_top_group_races_last_in_even_months():
    # Trade's habit: "top group last in even months, first in odd months"; common practice, no source.
    assert [top_races_last(month) for month in (1, 2, 11, 12)] == [False, True, False, True]
