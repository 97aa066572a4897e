"""Partial rotations: everybody drives some of the lanes, in the fewest heats, for a night that is short.

Who is in which heat is settled first, lanes afterwards: drivers and heats as a bipartite graph need no more lanes
than the fullest heat or the busiest driver has runs (König 1916), and two lanes of an edge coloring can always be
made to differ by no more than one run, by exchanging them along a path that begins and ends with the fuller one.
"""

from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise
from typing import Final

from racedesk.rotation.balance import least_sum_of_squares
from racedesk.rotation.chance import Chance
from racedesk.rotation.coloring import color_edges
from racedesk.rotation.plan import Preset
from racedesk.rotation.seating import in_good_order

PARTIAL_STEPS: Final = 60_000
_STAGES: Final = 32
_HOT: Final = 20_000
_COLD: Final = 200
"""The chance, in 65536ths, that a rise of the sum of squares by two is accepted, at first and at the end."""
_ORDER_STEPS: Final = 1_500
_LONGER: Final = 1
"""In the rest preset a gap may be so many heats longer than in the queue."""

Groups = list[list[int]]


def partial_rotation(
    *, drivers: int, lanes: int, lanes_each: int, preset: Preset, steps: int | None = None
) -> list[list[int | None]]:
    """Heats by lane, drivers from 0, None for an empty lane: everybody in `lanes_each` heats, each on another lane.

    There are max(lanes_each, drivers * lanes_each / lanes rounded up) heats of sizes within one, and every lane is
    driven on equally often within one. The usual preset takes the next drivers of the queue for each heat, so
    that waits are as equal as can be; opponents starts from there and spreads meetings; rest spreads them as far
    as no new back-to-back run and no gap more than one heat longer comes of it.
    steps: exchanges of two drivers tried, 60,000 unless given. Needs drivers >= 2, 1 <= lanes_each <= lanes.
    """
    rows = _partial(drivers, lanes, lanes_each, preset, PARTIAL_STEPS if steps is None else steps)
    return [list(row) for row in rows]


@lru_cache(maxsize=128)
def _partial(
    drivers: int, lanes: int, lanes_each: int, preset: Preset, steps: int
) -> tuple[tuple[int | None, ...], ...]:
    groups = _queue(drivers, lanes, lanes_each)
    if preset is not Preset.USUAL and len(groups) > 1 and len(groups[0]) < drivers:
        groups = _evened(groups, drivers, rest=preset is Preset.REST, steps=steps)
        if preset is Preset.OPPONENTS:
            groups = [list(heat) for heat in in_good_order(groups, steps=_ORDER_STEPS)]
    return tuple(tuple(row) for row in _with_lanes(groups, lanes))


def _queue(drivers: int, lanes: int, lanes_each: int) -> Groups:
    """The next drivers of the queue in each heat, which goes around lanes_each times."""
    heats = max(lanes_each, -(-drivers * lanes_each // lanes))
    size, above = divmod(drivers * lanes_each, heats)
    groups, first = [], 0
    for heat in range(heats):
        last = first + size + ((heat + 1) * above // heats - heat * above // heats)
        groups.append([number % drivers for number in range(first, last)])
        first = last
    return groups


def _evened(groups: Groups, drivers: int, *, rest: bool, steps: int) -> Groups:
    """Exchange two drivers of two heats at a time, by annealing on the sum of squared meetings."""
    walk = _Walk(groups, drivers, rest=rest)
    best, best_cost, cost = [list(group) for group in groups], 0, 0
    times = [walk.met[a][b] for a in range(drivers) for b in range(a)]
    target = least_sum_of_squares(meetings=sum(times), pairs=len(times)) - sum(each * each for each in times)
    span = max(steps // _STAGES, 1)
    limit = _HOT
    for step in range(steps):
        if best_cost <= target:
            break
        if step % span == 0:
            limit = _HOT - (_HOT - _COLD) * min(step // span, _STAGES - 1) // (_STAGES - 1)
        cost += walk.step(limit)
        if cost < best_cost:
            best, best_cost = [list(group) for group in walk.groups], cost
    return best


class _Walk:
    def __init__(self, groups: Groups, drivers: int, *, rest: bool) -> None:
        self.groups = [list(group) for group in groups]
        self.members = [set(group) for group in groups]
        self.chance = Chance(drivers * 1_000 + len(groups))
        self.rest = rest
        gaps = (later - earlier for d in range(drivers) for earlier, later in pairwise(_own(groups, d)))
        self.longest = max(gaps, default=0) + _LONGER
        self.met = [[0] * drivers for _ in range(drivers)]
        for group in groups:
            for a in group:
                for b in group:
                    self.met[a][b] += a != b

    def step(self, limit: int) -> int:
        """Try one exchange; by how much the sum of squares rises."""
        groups, chance = self.groups, self.chance
        one, other = chance.below(len(groups)), chance.below(len(groups) - 1)
        other += other >= one
        i, j = chance.below(len(groups[one])), chance.below(len(groups[other]))
        a, b = groups[one][i], groups[other][j]
        here, there = self.members[one], self.members[other]
        if a in there or b in here:
            return 0
        of_a, of_b = self.met[a], self.met[b]
        rise = 2 * (
            sum([of_a[z] - of_b[z] + 1 for z in there if z != b and z not in here])
            - sum([of_a[z] - of_b[z] - 1 for z in here if z != a and z not in there])
        )
        if rise > 0 and not _is_accepted(rise, limit, chance):
            return 0
        if self.rest and not (
            _rests(groups, a, one, other, self.longest) and _rests(groups, b, other, one, self.longest)
        ):
            return 0
        groups[one][i], groups[other][j] = b, a
        self._change(here, a, b)
        self._change(there, b, a)
        return rise

    def _change(self, members: set[int], out: int, into: int) -> None:
        members.remove(out)
        for z in members:
            for who, by in ((out, -1), (into, 1)):
                self.met[who][z] += by
                self.met[z][who] += by
        members.add(into)


def _is_accepted(rise: int, limit: int, chance: Chance) -> bool:
    """By lot: `limit` of 65536 for a rise by two, that to the power of half the rise for more."""
    allowed = 1 << 32
    for _ in range(rise // 2):
        allowed = (allowed * limit) >> 16
        if not allowed:
            return False
    return chance.word() >> 32 < allowed


def _own(groups: Sequence[Sequence[int]], driver: int) -> list[int]:
    return [heat for heat, group in enumerate(groups) if driver in group]


def _rests(groups: Groups, driver: int, leaves: int, comes: int, longest: int) -> bool:
    """Would a driver who changes heats run on end no more often than now, and wait hardly longer than in the queue?"""
    before = _own(groups, driver)
    after = sorted({*before, comes} - {leaves})
    gaps = [later - earlier for earlier, later in pairwise(after)]
    on_end = sum(later - earlier == 1 for earlier, later in pairwise(before))
    return gaps.count(1) <= on_end and max(gaps, default=0) <= longest


def _with_lanes(groups: Groups, lanes: int) -> list[list[int | None]]:
    edges = [(driver, heat) for heat, group in enumerate(groups) for driver in group]
    runs: list[set[tuple[int, int]]] = [set() for _ in range(lanes)]
    for edge, color in zip(edges, color_edges(edges), strict=True):
        runs[color].add(edge)
    while True:
        fullest, emptiest = max(runs, key=len), min(runs, key=len)
        if len(fullest) - len(emptiest) <= 1:
            break
        path = _path(fullest, emptiest)
        fullest ^= path
        emptiest ^= path
    rows: list[list[int | None]] = [[None] * lanes for _ in groups]
    for lane, own in enumerate(runs):
        for driver, heat in own:
            rows[heat][lane] = driver
    return rows


def _path(more: set[tuple[int, int]], fewer: set[tuple[int, int]]) -> set[tuple[int, int]]:
    """A path of runs on two lanes in turn, with one run more on the fuller lane: there is one, as it has more."""
    at_driver = [{driver: (driver, heat) for driver, heat in lane} for lane in (more, fewer)]
    at_heat = [{heat: (driver, heat) for driver, heat in lane} for lane in (more, fewer)]
    left = set(more)
    while left:
        start = min(left)
        path = {start}
        ends_full = 0
        for way in (True, False):
            edge, lane, goes_by_heat = start, 0, way
            while True:
                lane = 1 - lane
                found = at_heat[lane].get(edge[1]) if goes_by_heat else at_driver[lane].get(edge[0])
                if found is None:
                    ends_full += lane
                    break
                if found in path:
                    break
                path.add(found)
                edge, goes_by_heat = found, not goes_by_heat
        if ends_full == 2:
            return path
        left -= path
    raise AssertionError("the fuller of two lanes has a path of its own")
