from collections import Counter
from itertools import combinations, pairwise

from hypothesis import given, settings
from hypothesis import strategies as st

from racedesk.rotation.seating import beside_squares, excess_of, in_good_order, with_lanes, with_turned_lanes


@st.composite
def bare_heats(ask):
    """The heats of a cyclic rotation in an order and with drivers by lot."""
    drivers = ask(st.integers(3, 14))
    lanes = ask(st.integers(1, drivers - 1))
    block = ask(st.permutations(range(drivers)))[:lanes]
    names = ask(st.permutations(range(drivers)))
    turns = ask(st.permutations(range(drivers)))
    return [tuple(names[(number + turn) % drivers] for number in block) for turn in turns], drivers, lanes


def on_end(heats):
    return sum(len({*a} & {*b}) for a, b in pairwise(heats))


@settings(max_examples=50, deadline=None)
@given(made=bare_heats(), steps=st.integers(0, 300))
def test_a_good_order_has_the_same_heats(made, steps):
    heats, _, _ = made

    assert Counter(in_good_order(heats, steps=steps)) == Counter(heats)


def test_a_good_order_keeps_two_teams_who_take_turns_from_running_on_end():
    heats = [(0, 1), (0, 1), (2, 3), (2, 3), (4, 5), (4, 5)]

    assert on_end(in_good_order(heats, steps=500)) == 0


@settings(max_examples=50, deadline=None)
@given(made=bare_heats(), steps=st.integers(0, 400))
def test_everybody_gets_every_lane_once_in_the_heats_there_are(made, steps):
    heats, drivers, lanes = made
    rows = with_lanes(heats, lanes=lanes, steps=steps)

    assert [sorted(row) for row in rows] == [sorted(heat) for heat in heats]
    assert all(sorted(column) == list(range(drivers)) for column in zip(*rows, strict=True))


@settings(max_examples=30, deadline=None)
@given(circles=st.integers(1, 3), order=st.integers(3, 7), seed=st.randoms(use_true_random=False))
def test_lanes_that_turn_with_the_heats_are_every_lane_once(circles, order, seed):
    # One heat a circle of heats: as many drivers of each circle of drivers in all heats together as lanes.
    lanes = 2
    blocks = []
    for base in range(circles):
        ahead = (base + 1) % circles
        first, second = base * order + seed.randrange(order), ahead * order + seed.randrange(order)
        if first == second:
            second = ahead * order + (second + 1) % order
        blocks.append((first, second))
    heats = [tuple(d // order * order + (d + by) % order for d in block) for block in blocks for by in range(order)]
    if len({frozenset(heat) for heat in heats}) < len(heats):
        return  # two turns of a heat alike: the symmetry is another one
    rows = with_turned_lanes(heats, lanes=lanes, order=order, tries=20)

    assert [sorted(row) for row in rows] == [sorted(heat) for heat in heats]
    assert all(sorted(column) == list(range(circles * order)) for column in zip(*rows, strict=True))


@given(made=bare_heats())
def test_more_steps_never_put_pairs_side_by_side_less_evenly(made):
    heats, _, lanes = made

    assert beside_squares(with_lanes(heats, lanes=lanes, steps=200)) <= beside_squares(
        with_lanes(heats, lanes=lanes, steps=0)
    )


def test_side_by_side_is_counted_by_hand():
    # 0-1 twice in different directions, 1-2 once, 2-0 once.
    assert beside_squares([(0, 1, 2), (1, 0), (2, 0)]) == 4 + 1 + 1


@given(made=bare_heats())
def test_the_excess_is_the_sum_of_squares_above_its_bound(made):
    heats, drivers, _ = made
    met = Counter(pair for heat in heats for pair in combinations(sorted(heat), 2))
    times = [met[pair] for pair in combinations(range(drivers), 2)]
    low, more = divmod(sum(times), len(times))
    least = (len(times) - more) * low**2 + more * (low + 1) ** 2

    assert excess_of(heats, drivers=drivers) == sum(value**2 for value in times) - least
