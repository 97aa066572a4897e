from collections import Counter
from dataclasses import dataclass, field
from itertools import combinations, pairwise

from hypothesis import given, settings
from hypothesis import strategies as st

from racedesk.rotation.exchange import Exchanger


@dataclass
class Night:
    """A night of which nothing is known but who met before and who cannot be in the first heat."""

    met: list[list[int]]
    last_run: frozenset[int] = frozenset()
    late: frozenset[int] = frozenset()
    is_free: bool = True
    asked: list[int] = field(default_factory=list)

    def are_legal(self, heats):
        self.asked.append(len(heats))
        return self.late.isdisjoint(heats[0])


def night(drivers, **more):
    return Night([[0] * drivers for _ in range(drivers)], **more)


@st.composite
def plans(ask):
    drivers, lanes = ask(st.integers(2, 9)), ask(st.integers(1, 5))
    used = set()
    rows = []
    for _ in range(ask(st.integers(1, 8))):
        row = [-1] * lanes
        for lane in range(lanes):
            driver = ask(st.integers(-1, drivers - 1))
            if driver >= 0 and driver not in row and (driver, lane) not in used:
                row[lane] = driver
                used.add((driver, lane))
        rows.append(row)
    return drivers, rows


def runs(rows):
    return Counter((driver, lane) for row in rows for lane, driver in enumerate(row) if driver >= 0)


@settings(max_examples=60, deadline=None)
@given(plan=plans(), seed=st.integers(0, 99), steps=st.integers(0, 400))
def test_exchanges_keep_every_run_on_its_lane_and_nobody_twice_in_a_heat(plan, seed, steps):
    drivers, rows = plan
    before = [list(row) for row in rows]
    better = Exchanger(rows, rules=night(drivers), seed=seed).run(steps, None)

    assert rows == before
    assert len(better) == len(rows)
    assert runs(better) == runs(rows)
    for row in better:
        here = [driver for driver in row if driver >= 0]
        assert len(set(here)) == len(here)
    assert Exchanger(rows, rules=night(drivers), seed=seed).run(steps, None) == better


@settings(max_examples=40, deadline=None)
@given(plan=plans(), seed=st.integers(0, 99))
def test_a_wish_that_holds_at_first_holds_at_the_end(plan, seed):
    drivers, rows = plan
    late = frozenset(range(drivers)) - set(rows[0])
    better = Exchanger(rows, rules=night(drivers, late=late, is_free=False), seed=seed).run(300, None)

    assert late.isdisjoint(better[0])


def test_two_pairs_who_always_meet_are_mixed():
    rows = [[0, 1], [2, 3], [1, 0], [3, 2]]
    better = Exchanger(rows, rules=night(4), seed=1).run(500, None)

    met = Counter(pair for row in better for pair in combinations(sorted(row), 2))
    assert set(met.values()) == {1}


def test_meetings_before_count():
    rules = night(4)
    for a, b in ((0, 1), (2, 3)):
        rules.met[a][b] = rules.met[b][a] = 1
    better = Exchanger([[0, 1], [2, 3]], rules=rules, seed=1).run(500, None)

    assert all({*row} not in ({0, 1}, {2, 3}) for row in better)


def test_the_order_of_the_heats_keeps_who_has_just_run_from_running_at_once():
    rows = [[0, 1], [2, 3], [4, 5]]
    rules = night(6, last_run=frozenset({0, 1}))
    for a, b in combinations(range(6), 2):
        rules.met[a][b] = rules.met[b][a] = 0 if {a, b} in ({0, 1}, {2, 3}, {4, 5}) else 1
    better = Exchanger(rows, rules=rules, seed=2).run(800, None)

    assert sum(len({*a} & {*b}) for a, b in pairwise([[0, 1], *better])) == 0


def test_one_heat_alone_stays_as_it_is():
    assert Exchanger([[0, -1, 1]], rules=night(2), seed=1).run(100, None) == [[0, -1, 1]]
