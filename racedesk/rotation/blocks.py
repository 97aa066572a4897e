"""Search for base blocks: the one set of numbers from which a whole cyclic rotation follows.

A base block of k different numbers modulo v, one a lane, gives v heats: in heat t lane l holds driver
(block[l] + t) modulo v. So every driver drives every lane exactly once, and everything about the plan can be
read off the block: two drivers d apart meet as often as d occurs among the block's differences, and everybody
has the same gaps between runs, those of the block on its circle. Blocks with every difference equally often
are the difference sets of the design literature (CRC Handbook of Combinatorial Designs).

The search runs on a fixed lot of its own, not on the seed of the draw, and its budget is counted in steps (one
step is one number tried in the block), so that a size always gives the same block.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations, pairwise
from math import comb, gcd
from typing import Final

from racedesk.rotation.balance import least_sum_of_squares
from racedesk.rotation.chance import Chance

_FEW_ENOUGH_TO_TRY_ALL: Final = 6_500
_BLOCKS_KEPT: Final = 120
_QUIET_SHARE: Final = 10
"""The search ends early once the bound is met and a tenth of the budget has brought nothing new."""
_LANE_TRIALS: Final = 1_500
_ON_END_PRICE: Final = 1_000_000
"""What a back-to-back run costs the rest preset: more than even meetings can ever gain."""

Block = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class BlockMerit:
    """What a block is worth; smaller is better throughout.

    excess: how far the sum of squared meetings of the plan lies above the floor/ceil bound.
    back_to_back: how many runs follow at once on another, for one driver, once around the circle.
    longest_gap: heats from one run to the next, the most; 1 is back to back.
    on_end: the most heats driven without a break.
    gap_squares: sum of the squared gaps, least where waits are equal.
    """

    excess: int
    back_to_back: int
    longest_gap: int
    on_end: int
    gap_squares: int

    def rank(self, *, rest: bool) -> tuple[int, ...]:
        """The order in which the presets compare blocks: opponents before rest, or rest before opponents."""
        first = (self.back_to_back, self.excess) if rest else (self.excess, self.back_to_back)
        return (*first, self.longest_gap, self.on_end, self.gap_squares)


def usual_steps(*, drivers: int) -> int:
    """The budget of a search where none is asked for: a club night is drawn in a blink, a big meeting in a second.

    With it every size up to 60 drivers on 10 lanes gets the most even meetings that a cyclic plan can have.
    """
    return 80_000 if drivers <= 30 else 500_000


def block_merit(block: Sequence[int], *, drivers: int) -> BlockMerit:
    """Count what the rotation of a block is worth, from the block alone. Needs at least 2 drivers."""
    counts = [0] * drivers
    for a, b in combinations(block, 2):
        counts[(a - b) % drivers] += 1
        counts[(b - a) % drivers] += 1
    mean = len(block) * (len(block) - 1) // (drivers - 1)
    around = sorted(block)
    gaps = [b - a for a, b in pairwise(around)] + [around[0] + drivers - around[-1]]
    return BlockMerit(
        excess=drivers * sum((times - mean) * (times - mean - 1) for times in counts[1:]) // 2,
        back_to_back=counts[1],
        longest_gap=max(gaps),
        on_end=_most_on_end(gaps),
        gap_squares=sum(gap * gap for gap in gaps),
    )


def _most_on_end(gaps: Sequence[int]) -> int:
    most = current = 1
    for gap in (*gaps, *gaps):
        current = current + 1 if gap == 1 else 1
        most = max(most, current)
    return min(most, len(gaps))


@lru_cache(maxsize=1024)
def best_block(*, drivers: int, lanes: int, rest: bool, steps: int) -> Block:
    """The best base block found within the budget, one number a lane in the order of the lanes.

    rest: as few back-to-back runs as can be (none from 2 * lanes drivers on) before even meetings; otherwise
    the other way round. After both, the shortest longest wait, the fewest runs on end and the most equal waits
    decide; last, the numbers are dealt to the lanes so that neighbors change as evenly as can be.
    Where there are few enough blocks all are tried and the result is the best there is among cyclic plans.
    Needs drivers > lanes >= 1.
    """
    if comb(drivers - 1, lanes - 1) <= _FEW_ENOUGH_TO_TRY_ALL:
        candidates: Iterable[Block] = _all_blocks(drivers, lanes)
    else:
        candidates = _searched(drivers, lanes, rest=rest, steps=steps)
    best = min(candidates, key=lambda block: (block_merit(block, drivers=drivers).rank(rest=rest), block))
    return spread_over_lanes(best, drivers)


def _all_blocks(drivers: int, lanes: int) -> Iterator[Block]:
    """Every block up to a turn of the circle (some of them more than once)."""
    for others in combinations(range(1, drivers), lanes - 1):
        yield (0, *others)


def _searched(drivers: int, lanes: int, *, rest: bool, steps: int) -> list[Block]:
    """Blocks found by climbing, with all their multiples.

    For rest half the budget goes to the most even blocks of all, since where many drivers meet seldom one of
    their multiples has no back-to-back run and no price is paid for it.
    """
    climbs = [_Climb(drivers, lanes, rest=False, steps=(steps + 1) // 2 if rest else steps)]
    if rest:
        climbs.append(_Climb(drivers, lanes, rest=True, steps=(steps + 1) // 2))
    blocks = [block for climb in climbs for block in climb.run()]
    return [*_multiples_of(blocks, drivers), _evenly_spaced(drivers, lanes)]


def _evenly_spaced(drivers: int, lanes: int) -> Block:
    """A block with as few back-to-back runs as can be, whatever a search finds: waits are equal within one."""
    return tuple(place * drivers // lanes for place in range(lanes))


def _multiples_of(blocks: Iterable[Block], drivers: int) -> Iterator[Block]:
    """Each block times every number that has no factor in common with the drivers.

    That only renames the differences: meetings stay as even as they were, while waits change.
    """
    factors = [factor for factor in range(1, drivers // 2 + 1) if gcd(factor, drivers) == 1]
    for block in blocks:
        for factor in factors:
            yield tuple(sorted(factor * number % drivers for number in block))


def _turned_to_least(block: Iterable[int], drivers: int) -> Block:
    """The same block turned around its circle to the least of the forms that begin with 0."""
    around = sorted(block)
    return min(tuple(sorted((number - first) % drivers for number in around)) for first in around)


class _Climb:
    """Hill climbing with restarts over blocks; keeps the best few different ones.

    The cost of a block adds up over classes of differences: d and v - d are one class, v / 2 is its own partner
    and so counts double. A move takes one number out and puts in the one that costs least. What each number
    would cost comes from the list of `rises`, what one more difference d costs now: for one number it is the
    sum of the rises at its distances from the others, plus the second difference of the cost, 2, for each two
    of the others that it lies halfway between.
    """

    def __init__(self, drivers: int, lanes: int, *, rest: bool, steps: int) -> None:
        self.drivers = drivers
        self.lanes = lanes
        self.steps = steps
        self.used = 0
        self.chance = Chance(drivers * 1_000 + lanes)
        self.table = _rise_table(drivers, lanes, rest=rest)
        self.halves = _halves(drivers)
        self.counts = [0] * drivers
        self.rises = [0] * drivers
        self.least = _ON_END_PRICE * max(2 * lanes - drivers, 0) if rest else 0
        self.best_cost: int | None = None
        self.best: set[Block] = set()
        self.last_news = 0

    def run(self) -> list[Block]:
        while not self._is_over():
            self._climb_once()
        return sorted(self.best)

    def _is_over(self) -> bool:
        if self.best_cost == self.least:
            quiet = self.used - self.last_news > self.steps // _QUIET_SHARE
            if quiet or len(self.best) >= _BLOCKS_KEPT:
                return True
        return self.used >= self.steps

    def _climb_once(self) -> None:
        order = self.chance.shuffled(range(self.drivers))
        block, others = order[: self.lanes], order[self.lanes :]
        self._begin(block)
        cost = self._cost_from_nothing(block)
        patience = stale = 4 * self.lanes
        while stale and not self._is_over():
            place = self.chance.below(self.lanes)
            out = block.pop(place)
            for number in block:
                self._count(abs(out - number), -1)
            prices = self._prices(block)
            self.used += len(others)
            cheapest = min([prices[number] for number in others])
            change = cheapest - prices[out]
            into = out
            if change <= 0:
                choice = [i for i, number in enumerate(others) if prices[number] == cheapest]
                i = choice[self.chance.below(len(choice))]
                into, others[i] = others[i], out
                cost += change
            for number in block:
                self._count(abs(into - number), 1)
            block.append(into)
            stale = patience if change < 0 else stale - 1
            self._keep(block, cost)

    def _begin(self, block: list[int]) -> None:
        self.counts = [0] * self.drivers
        self.rises = [row[0] for row in self.table]
        for i, number in enumerate(block):
            for earlier in block[:i]:
                self._count(abs(number - earlier), 1)

    def _cost_from_nothing(self, block: list[int]) -> int:
        """The cost of a block counted from no meetings at all, less what a block without any would cost."""
        half = self.drivers // 2
        classes = [sum(self.table[d][: self.counts[d]]) for d in range(1, half + 1)]
        mean = self.lanes * (self.lanes - 1) // (self.drivers - 1)
        nothing = mean * (mean + 1)
        whole_classes = (self.drivers - 1) // 2
        return sum(classes) + nothing * whole_classes + (nothing // 2 if self.drivers % 2 == 0 else 0)

    def _count(self, difference: int, by: int) -> None:
        count = self.counts[difference] + by
        rise = self.table[difference][count]
        for d in (difference, self.drivers - difference):
            self.counts[d] = count
            self.rises[d] = rise

    def _prices(self, block: list[int]) -> list[int]:
        """What each number would cost on top of this block."""
        around = self.rises + self.rises
        v = self.drivers
        prices = [sum(column) for column in zip(*[around[v - n : 2 * v - n] for n in block], strict=True)]
        for a, b in combinations(block, 2):
            for number in self.halves[a + b]:
                prices[number] += 2
        return prices

    def _keep(self, block: list[int], cost: int) -> None:
        if self.best_cost is None or cost < self.best_cost:
            self.best_cost = cost
            self.best = set()
        if cost == self.best_cost and len(self.best) < _BLOCKS_KEPT:
            before = len(self.best)
            self.best.add(_turned_to_least(block, self.drivers))
            if len(self.best) > before:
                self.last_news = self.used


def _rise_table(drivers: int, lanes: int, *, rest: bool) -> list[list[int]]:
    """By difference d and how often it occurs: what one more costs, in half the squares above the bound."""
    mean = lanes * (lanes - 1) // (drivers - 1)
    most = lanes + 1

    def row(d: int) -> list[int]:
        if 2 * d == drivers:
            return [4 * n + 1 - 2 * mean for n in range(most)]
        price = _ON_END_PRICE if rest and d in {1, drivers - 1} else 0
        return [2 * (n - mean) + price for n in range(most)]

    return [row(d) for d in range(drivers)]


def _halves(drivers: int) -> list[tuple[int, ...]]:
    """By the sum of two numbers, the numbers that lie halfway between them on the circle."""
    halves: list[list[int]] = [[] for _ in range(2 * drivers)]
    for number in range(drivers):
        for total in range(2 * number % drivers, 2 * drivers, drivers):
            halves[total].append(number)
    return [tuple(numbers) for numbers in halves]


def spread_over_lanes(block: Block, drivers: int) -> Block:
    """Deal a block's numbers to the lanes so that pairs are side by side as evenly as can be found.

    Two drivers d apart are side by side once for each two lanes next to each other whose numbers are d apart.
    """
    bound = least_sum_of_squares(meetings=drivers * (len(block) - 1), pairs=drivers * (drivers - 1) // 2)
    chance = Chance(drivers * 1_000 + len(block))
    best = current = list(block)
    best_cost = current_cost = _neighbor_squares(block, drivers)
    for trial in range(_LANE_TRIALS):
        if best_cost == bound or len(block) < 3:
            break
        if trial % 100 == 99:
            current = chance.shuffled(block)
            current_cost = _neighbor_squares(current, drivers)
        i, j = chance.below(len(block)), chance.below(len(block))
        changed = list(current)
        changed[i], changed[j] = changed[j], changed[i]
        cost = _neighbor_squares(changed, drivers)
        if cost <= current_cost:
            current, current_cost = changed, cost
        if cost < best_cost:
            best, best_cost = changed, cost
    return tuple(best)


def _neighbor_squares(lanes: Sequence[int], drivers: int) -> int:
    """Sum over all pairs of drivers of the squared times side by side, over the whole rotation."""
    counts = [0] * drivers
    for a, b in pairwise(lanes):
        counts[(a - b) % drivers] += 1
        counts[(b - a) % drivers] += 1
    return drivers * sum(times * times for times in counts[1:]) // 2
