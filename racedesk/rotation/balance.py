"""How fair a plan is, counted from its heats alone."""

from collections import Counter
from dataclasses import dataclass
from itertools import combinations, pairwise

from racedesk.rotation.plan import Plan


@dataclass(frozen=True, slots=True)
class Balance:
    """The figures of a plan. Tuples by driver begin with driver 1; a pair is two different drivers.

    meetings, neighbors: square tables by driver: how often two are in the same heat, and how often in lanes
        next to each other. The diagonal is 0.
    pairs_by_meetings: (times, how many pairs meet that many times), fewest times first.
    sum_of_squares: of the meetings, over all pairs: the smaller, the more even.
    bound: no plan with heats of the same sizes has a smaller sum of squares (see `least_sum_of_squares`).
    never_meet: how many pairs are never in a heat together.
    waits: by driver, the heats sat out between one run and the next, in order; 0 is back to back. The time
        before the first run and after the last is no wait.
    longest_wait: the largest of them (0 where nobody waits).
    back_to_back: how often a driver runs in two heats on end, all drivers together; a run of three counts two.
    runs_on_end: by driver, the most heats driven without a break.
    lane_counts: by driver, then by lane, how many heats there.
    sit_outs: by driver, the heats not driven.
    """

    drivers: int
    lanes: int
    heats: int
    meetings: tuple[tuple[int, ...], ...]
    meetings_min: int
    meetings_max: int
    pairs_by_meetings: tuple[tuple[int, int], ...]
    sum_of_squares: int
    bound: int
    never_meet: int
    neighbors: tuple[tuple[int, ...], ...]
    neighbors_min: int
    neighbors_max: int
    waits: tuple[tuple[int, ...], ...]
    longest_wait: int
    back_to_back: int
    back_to_back_each: tuple[int, ...]
    runs_on_end: tuple[int, ...]
    lane_counts: tuple[tuple[int, ...], ...]
    sit_outs: tuple[int, ...]

    @property
    def pairs(self) -> int:
        """How many pairs of drivers there are."""
        return self.drivers * (self.drivers - 1) // 2

    @property
    def excess(self) -> int:
        """How far the sum of squares lies above the bound."""
        return self.sum_of_squares - self.bound

    @property
    def is_as_even_as_can_be(self) -> bool:
        """Is the bound met, so that no draw can spread the meetings more evenly?"""
        return self.excess == 0

    @property
    def most_runs_on_end(self) -> int:
        """The most heats that anybody drives without a break."""
        return max(self.runs_on_end)

    def never_meeting_pairs(self) -> tuple[tuple[int, int], ...]:
        """The pairs that are never in a heat together, by number."""
        return tuple((a, b) for a, b in combinations(range(1, self.drivers + 1), 2) if self.meetings[a - 1][b - 1] == 0)


def least_sum_of_squares(*, meetings: int, pairs: int) -> int:
    """The floor/ceil bound: the least sum of squares of `pairs` whole numbers that add up to `meetings`.

    It is reached exactly when each is the mean rounded down or up, by convexity (the designs that do so are
    the regular-graph designs of John and Mitchell, "Optimal incomplete block designs", 1977).
    pairs: 1 or more.
    """
    floor, above = divmod(meetings, pairs)
    return (pairs - above) * floor**2 + above * (floor + 1) ** 2


def balance(plan: Plan) -> Balance:
    """Count a plan: meetings, waits, back to backs, neighbors, lanes and sit-outs, all from its heats."""
    numbers = range(plan.drivers)
    meetings = [[0] * plan.drivers for _ in numbers]
    neighbors = [[0] * plan.drivers for _ in numbers]
    lane_counts = [[0] * plan.lanes for _ in numbers]
    runs: list[list[int]] = [[] for _ in numbers]
    for heat, row in enumerate(plan.heats):
        places = [(lane, driver - 1) for lane, driver in enumerate(row) if driver is not None]
        for lane, driver in places:
            lane_counts[driver][lane] += 1
            runs[driver].append(heat)
        for (lane_a, a), (lane_b, b) in combinations(places, 2):
            meetings[a][b] += 1
            meetings[b][a] += 1
            if lane_b - lane_a == 1:
                neighbors[a][b] += 1
                neighbors[b][a] += 1

    met = [meetings[a][b] for a, b in combinations(numbers, 2)]
    beside = [neighbors[a][b] for a, b in combinations(numbers, 2)]
    waits = tuple(tuple(later - earlier - 1 for earlier, later in pairwise(own)) for own in runs)
    back_to_back_each = tuple(own.count(0) for own in waits)
    return Balance(
        drivers=plan.drivers,
        lanes=plan.lanes,
        heats=len(plan.heats),
        meetings=tuple(tuple(row) for row in meetings),
        meetings_min=min(met),
        meetings_max=max(met),
        pairs_by_meetings=tuple(sorted(Counter(met).items())),
        sum_of_squares=sum(times**2 for times in met),
        bound=least_sum_of_squares(meetings=sum(met), pairs=len(met)),
        never_meet=met.count(0),
        neighbors=tuple(tuple(row) for row in neighbors),
        neighbors_min=min(beside),
        neighbors_max=max(beside),
        waits=waits,
        longest_wait=max((wait for own in waits for wait in own), default=0),
        back_to_back=sum(back_to_back_each),
        back_to_back_each=back_to_back_each,
        runs_on_end=tuple(_most_on_end(own) for own in runs),
        lane_counts=tuple(tuple(row) for row in lane_counts),
        sit_outs=tuple(len(plan.heats) - len(own) for own in runs),
    )


def _most_on_end(heats: list[int]) -> int:
    most = current = 1 if heats else 0
    for earlier, later in pairwise(heats):
        current = current + 1 if later == earlier + 1 else 1
        most = max(most, current)
    return most
