"""From bare heats to a rotation: the order of the heats for good waits, then a lane for everybody in each."""

from collections import Counter
from collections.abc import Sequence
from itertools import combinations, pairwise

from racedesk.rotation.chance import Chance
from racedesk.rotation.coloring import color_edges

_ON_END_PRICE = 40
"""What a back-to-back run costs beside squared gaps, which the order of the heats also keeps small."""

_CLIMB = 2
_SELDOM = 12
"""One exchange of so many may raise the sum of squares by so much, to get out of a hollow."""
_STARTS = 8
"""From so many first colorings, by lot, the exchanges begin; the steps are shared out among them."""


def in_good_order(heats: Sequence[Sequence[int]], *, steps: int) -> list[tuple[int, ...]]:
    """The same heats in an order with few back-to-back runs and waits as equal as the steps find.

    steps: how many swaps of two heats are tried, on a lot of its own.
    """
    chance = Chance(len(heats) * 1_000 + len(heats[0]))
    current = [tuple(heat) for heat in heats]
    cost = _price_of_waits(current)
    for _ in range(steps):
        i, j = chance.below(len(current)), chance.below(len(current))
        changed = list(current)
        if chance.below(2):
            changed[i], changed[j] = changed[j], changed[i]
        else:
            first, last = min(i, j), max(i, j)
            changed[first : last + 1] = changed[first : last + 1][::-1]
        price = _price_of_waits(changed)
        if price <= cost:
            current, cost = changed, price
    return current


def _price_of_waits(heats: Sequence[Sequence[int]]) -> int:
    last: dict[int, int] = {}
    price = 0
    for number, heat in enumerate(heats):
        for driver in heat:
            gap = number - last.get(driver, -1)
            if gap == 1 and driver in last:
                price += _ON_END_PRICE
            price += gap * gap
            last[driver] = number
    return price + sum((len(heats) - number) ** 2 for number in last.values())


def with_lanes(heats: Sequence[Sequence[int]], *, lanes: int, steps: int) -> list[tuple[int, ...]]:
    """Everybody in every lane once, in heats of `lanes` drivers each of whom is in `lanes` heats.

    The lanes are an edge coloring of drivers and heats (König 1916). Then two lanes at a time are exchanged
    along a chain of heats, or for good, as long as pairs are side by side more evenly. steps: exchanges tried.
    """
    chance = Chance(len(heats) * 1_000 + lanes)
    plans = []
    for _ in range(_STARTS):
        edges = chance.shuffled((driver, heat) for heat, row in enumerate(heats) for driver in row)
        rows = [[0] * lanes for _ in heats]
        for (driver, heat), lane in zip(edges, color_edges(edges), strict=True):
            rows[heat][lane] = driver
        plans.append(_spread(rows, chance, steps=steps // _STARTS))
        if _most_side_by_side(plans[-1]) == 1:
            break
    return min(plans, key=beside_squares)


def with_turned_lanes(heats: Sequence[Sequence[int]], *, lanes: int, order: int, tries: int) -> list[tuple[int, ...]]:
    """The same for heats that a symmetry of this order turns into each other, with lanes that turn with them.

    Then only the lanes of one heat for each circle of heats are to be found: an edge coloring of circles of
    drivers and circles of heats, `tries` times by lot, of which the one with the most even neighbors is taken.
    The symmetry has no driver who stands still.
    """

    def turned(heat: Sequence[int], by: int) -> tuple[int, ...]:
        return tuple(driver // order * order + (driver + by) % order for driver in heat)

    chance = Chance(len(heats) * 1_000 + lanes)
    bases = sorted({min(tuple(sorted(turned(heat, by))) for by in range(order)) for heat in heats})
    best: list[tuple[int, ...]] = []
    for _ in range(tries):
        places = chance.shuffled((base, driver) for base, block in enumerate(bases) for driver in block)
        colors = color_edges([(driver // order, base) for base, driver in places])
        rows = [[0] * lanes for _ in bases]
        for (base, driver), lane in zip(places, colors, strict=True):
            rows[base][lane] = driver
        plan = [turned(row, by) for row in rows for by in range(order)]
        if not best or beside_squares(plan) < beside_squares(best):
            best = plan
        if _most_side_by_side(best) == 1:
            break
    row_of = {frozenset(row): row for row in best}
    return [row_of[frozenset(heat)] for heat in heats]


def beside_squares(heats: Sequence[Sequence[int]]) -> int:
    """The sum over all pairs of the squared times side by side."""
    counts: dict[tuple[int, int], int] = {}
    return sum(_count(counts, pair, 1) for row in heats for pair in pairwise(row))


def _most_side_by_side(heats: Sequence[Sequence[int]]) -> int:
    counts = Counter((min(pair), max(pair)) for row in heats for pair in pairwise(row))
    return max(counts.values(), default=0)


def _spread(rows: list[list[int]], chance: Chance, *, steps: int) -> list[tuple[int, ...]]:
    lanes = len(rows[0])
    counts: dict[tuple[int, int], int] = {}
    for row in rows:
        for pair in pairwise(row):
            _count(counts, pair, 1)
    best, best_total, total = [tuple(row) for row in rows], 0, 0
    for _ in range(steps if lanes > 2 else 0):
        one, other = chance.below(lanes), chance.below(lanes - 1)
        other += other >= one
        chain = chain_of(rows, one, other, start=chance.below(len(rows)))
        rise = 0
        for heat in chain:
            rise += _exchange(counts, rows[heat], one, other)
        if rise > (_CLIMB if chance.below(_SELDOM) == 0 else 0):
            for heat in chain:
                _exchange(counts, rows[heat], one, other)
            continue
        total += rise
        if total < best_total:
            best, best_total = [tuple(row) for row in rows], total
    return best


def chain_of(rows: Sequence[Sequence[int]], one: int, other: int, *, start: int) -> list[int]:
    """The heats in which two lanes must be exchanged together, so that nobody drives a lane twice."""
    by_driver = {row[one]: heat for heat, row in enumerate(rows)}
    chain, heat = [start], by_driver[rows[start][other]]
    while heat != start:
        chain.append(heat)
        heat = by_driver[rows[heat][other]]
    return chain


def _exchange(counts: dict[tuple[int, int], int], row: list[int], one: int, other: int) -> int:
    """Exchange two lanes of a heat; by how much the sum of squared times side by side rises."""
    rise = 0
    for pair in pairwise(row):
        rise += _count(counts, pair, -1)
    row[one], row[other] = row[other], row[one]
    for pair in pairwise(row):
        rise += _count(counts, pair, 1)
    return rise


def _count(counts: dict[tuple[int, int], int], pair: tuple[int, int], by: int) -> int:
    key = (min(pair), max(pair))
    before = counts.get(key, 0)
    counts[key] = before + by
    return (before + by) ** 2 - before**2


def excess_of(heats: Sequence[Sequence[int]], *, drivers: int) -> int:
    """How far the sum of squared meetings lies above the floor/ceil bound for heats of these sizes."""
    met: dict[tuple[int, int], int] = {}
    for heat in heats:
        for a, b in combinations(sorted(heat), 2):
            met[a, b] = met.get((a, b), 0) + 1
    pairs = drivers * (drivers - 1) // 2
    floor = sum(met.values()) // pairs
    return sum((met.get(pair, 0) - floor) * (met.get(pair, 0) - floor - 1) for pair in combinations(range(drivers), 2))
