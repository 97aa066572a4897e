from collections import Counter

from hypothesis import given
from hypothesis import strategies as st

from racedesk.rotation.designs import find_design
from racedesk.rotation.seating import excess_of
from racedesk.rotation.thinning import thinned


@given(st.integers(5, 16), st.integers(3, 6), st.integers(0, 10_000), st.integers(0, 400))
def test_each_heat_lets_one_go_and_everybody_goes_once(drivers, lanes, seed, steps):
    lanes = min(lanes, drivers)
    heats = find_design(drivers=drivers, lanes=lanes).heats
    left = thinned(heats, drivers=drivers, seed=seed, steps=steps)

    gone = [set(heat) - set(rest) for heat, rest in zip(heats, left, strict=True)]
    assert all(len(each) == 1 for each in gone)
    assert Counter(driver for each in gone for driver in each) == Counter(range(drivers))
    assert left == thinned(heats, drivers=drivers, seed=seed, steps=steps)


@given(st.integers(0, 1_000))
def test_no_walk_ends_less_even_than_it_began(seed):
    heats = find_design(drivers=13, lanes=4).heats
    begun = excess_of(thinned(heats, drivers=13, seed=seed, steps=0), drivers=13)

    assert excess_of(thinned(heats, drivers=13, seed=seed, steps=300), drivers=13) <= begun
