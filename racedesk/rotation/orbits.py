"""Search for the heats of a rotation that is not cyclic: blocks under a prescribed symmetry, by annealing.

A symmetry of order n turns the drivers in circles of n (one driver more may stand still) and the heats with
them, so that m = v / n heats stand for all v: few enough unknowns for a walk at random. n = 1 asks for no
symmetry. Who drives which lane is settled afterwards (see `lanes`).

The walk keeps every heat at k drivers and every driver at k heats: a driver of one heat and a driver of another
change places, or a driver of a heat gives way to another of the same circle. What rises in cost is accepted
with a probability that falls in 64 stages. Everything is whole numbers from the generator of `chance`, so that
a recipe gives the same heats on any machine; a stage of the walk costs the same steps wherever it runs.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Final

from racedesk.rotation.chance import Chance

_STAGES: Final = 64
_ONE: Final = 1 << 32

Heats = tuple[tuple[int, ...], ...]


@dataclass(frozen=True, slots=True)
class Recipe:
    """All that a walk hangs on, so that its heats can be made again.

    order: n of the symmetry. fixed: how many drivers (and heats) it leaves in place, 0 or 1.
    hot, cold: the chance, in 65536ths, that a rise in cost by one is accepted, at first and at the end.
    source: 0, or the number of drivers of the rotation that the walk starts from, with drivers and heats taken
    out or added (order 1 only).
    """

    order: int
    fixed: int
    hot: int
    cold: int
    steps: int
    seed: int
    source: int = 0

    def written(self) -> str:
        """The recipe as one word of numbers with commas."""
        return ",".join(
            str(n) for n in (self.order, self.fixed, self.hot, self.cold, self.steps, self.seed, self.source)
        )

    @classmethod
    def read(cls, word: str) -> "Recipe":
        """The recipe that `written` wrote. Raises ValueError where the word is none."""
        return cls(*(int(n) for n in word.split(",")))


def can_turn(*, drivers: int, lanes: int, order: int, fixed: int) -> bool:
    """Is there a shape of heats with this symmetry: whole circles, and a heat that stands still if a driver does?"""
    if fixed not in {0, 1} or order < 1 or (drivers - fixed) % order:
        return False
    return fixed == 0 or (order > 1 and (lanes % order == 0 or (lanes - 1) % order == 0))


def walk(recipe: Recipe, *, drivers: int, lanes: int, source: Heats = ()) -> tuple[Heats, int]:
    """Walk as the recipe says: the most even heats passed on the way, and their excess over the floor/ceil bound.

    Drivers are numbered from 0 and stand in no order within a heat; every heat has `lanes` of them and every
    driver is in `lanes` heats. source: the heats that recipe.source asks for.
    Raises ValueError where the symmetry does not fit or the source is missing.
    """
    if not can_turn(drivers=drivers, lanes=lanes, order=recipe.order, fixed=recipe.fixed):
        raise ValueError(f"no symmetry of order {recipe.order} fits {drivers} drivers on {lanes} lanes")
    if bool(recipe.source) != bool(source):
        raise ValueError("the walk needs the heats that it starts from, and only where its recipe says so")
    return _Walk(recipe, drivers=drivers, lanes=lanes, source=source).run()


class _Walk:
    def __init__(self, recipe: Recipe, *, drivers: int, lanes: int, source: Heats) -> None:
        self.recipe = recipe
        self.drivers = drivers
        self.lanes = lanes
        self.order = recipe.order
        self.circles = (drivers - recipe.fixed) // recipe.order
        self.chance = Chance(recipe.seed)
        mean = lanes * (lanes - 1) // (drivers - 1)
        self.prices = [(times - mean) * (times - mean - 1) // 2 for times in range(64)]
        self._name_pairs()
        self.blocks = self._patched(source) if source else self._dealt()

    def _pick(self, n: int) -> int:
        return ((self.chance.word() >> 32) * n) >> 32

    def _turned(self, driver: int) -> int:
        if driver >= self.circles * self.order:
            return driver
        first = driver // self.order * self.order
        return first + (driver - first + 1) % self.order

    def _name_pairs(self) -> None:
        """Number the classes of pairs that the symmetry turns into each other; count what one block adds to each."""
        v = self.drivers
        self.pair = [[-1] * v for _ in range(v)]
        self.weight: list[int] = []
        self.adds: list[int] = []
        for one, other in combinations(range(v), 2):
            if self.pair[one][other] >= 0:
                continue
            size, a, b = 0, one, other
            while True:
                if self.pair[a][b] < 0:
                    self.pair[a][b] = self.pair[b][a] = len(self.weight)
                    size += 1
                a, b = self._turned(a), self._turned(b)
                if (a, b) == (one, other):
                    break
            self.weight.append(2 * size // self.order)
            self.adds.append(self.order // size)

    def _still_block(self) -> list[int]:
        """The heat that the symmetry leaves in place: whole circles, with the driver who stands still if need be."""
        if not self.recipe.fixed:
            return []
        whole, rest = divmod(self.lanes, self.order)
        return [*range(whole * self.order), *([self.drivers - 1] if rest else [])]

    def _dealt(self) -> list[list[int]]:
        whole = self.lanes // self.order if self.recipe.fixed else 0
        labels = [
            circle for circle in range(self.circles) for _ in range(self.lanes - (1 if circle < whole else 0))
        ] + [self.circles] * whole
        blocks: list[list[int]] = [[] for _ in range(self.circles)]
        for i, label in enumerate(labels):
            block = blocks[i % self.circles]
            if label == self.circles:
                block.append(self.drivers - 1)
                continue
            while (driver := label * self.order + self._pick(self.order)) in block:
                pass
            block.append(driver)
        return blocks

    def _shuffled(self, n: int) -> list[int]:
        items = list(range(n))
        for i in range(n - 1, 0, -1):
            j = self._pick(i + 1)
            items[i], items[j] = items[j], items[i]
        return items

    def _patched(self, source: Heats) -> list[list[int]]:
        """The source, drivers and heats left out by lot or added, filled up to k drivers a heat, k heats each."""
        v, k = self.drivers, self.lanes
        who, order = self._shuffled(len(source)), self._shuffled(len(source))
        blocks: list[list[int]] = [[] for _ in range(v)]
        runs = [0] * v
        for place in range(min(len(source), v)):
            for driver in (who[number] for number in source[order[place]]):
                if driver < v:
                    blocks[place].append(driver)
                    runs[driver] += 1
        while min(len(block) for block in blocks) < k:
            block = min(blocks, key=len)
            short = [driver for driver in range(v) if runs[driver] < k]
            new = [driver for driver in short if driver not in block]
            driver = min(new or short, key=lambda driver: runs[driver])
            block.append(driver if new else self._make_room(blocks, block, driver))
            runs[driver] += 1
        return blocks

    def _make_room(self, blocks: list[list[int]], block: list[int], driver: int) -> int:
        """Put the driver into another heat by lot; the one who gives way there is to join this one."""
        while True:
            other = blocks[self._pick(self.drivers)]
            if other is block or not other or driver in other:
                continue
            place = self._pick(len(other))
            if other[place] not in block:
                mover, other[place] = other[place], driver
                return mover

    def run(self) -> tuple[Heats, int]:
        counts = [0] * len(self.weight)
        for seen in {self.pair[a][b] for a, b in combinations(self._still_block(), 2)}:
            counts[seen] += 1
        for block in self.blocks:
            for a, b in combinations(block, 2):
                counts[self.pair[a][b]] += self.adds[self.pair[a][b]]
        cost = sum(weight * self.prices[times] for weight, times in zip(self.weight, counts, strict=True))
        best_cost, best = self._steps(counts, cost)
        return self._all_heats(best), best_cost * self.order

    def _steps(self, counts: list[int], cost: int) -> tuple[int, list[list[int]]]:  # noqa: C901, PLR0912 one hot loop
        """The walk itself; one long loop, since it is where all the time goes."""
        n, m, k = self.order, self.circles, self.lanes
        blocks, pair, word = self.blocks, self.pair, self.chance.word
        still = m * n
        members = [set(block) for block in blocks]
        best_cost, best = cost, [list(block) for block in blocks]
        span = max(self.recipe.steps // _STAGES, 1)
        limits: list[int] = []
        for step in range(self.recipe.steps):
            if best_cost == 0:
                break
            if step % span == 0:
                limits = self._limits(min(step // span, _STAGES - 1))
            w, u = word(), word()
            one, other = ((w & 0xFFFF) * m) >> 16, (((w >> 32) & 0xFFFF) * m) >> 16
            i, j = (((w >> 16) & 0xFFFF) * k) >> 16, ((w >> 48) * k) >> 16
            leaves, back = blocks[one][i], blocks[other][j]
            model = leaves if one == other else back
            comes = model if model >= still else model // n * n + (((u & 0xFFFF) * n) >> 16)
            if comes in members[one]:
                continue
            swaps = [(one, i, leaves, comes)]
            if one != other:
                goes = leaves if leaves >= still else leaves // n * n + ((((u >> 16) & 0xFFFF) * n) >> 16)
                if goes in members[other]:
                    continue
                swaps.append((other, j, back, goes))
            rise = 0
            changes: list[tuple[int, int]] = []
            for where, place, out, into in swaps:
                from_out, from_into = pair[out], pair[into]
                for at, driver in enumerate(blocks[where]):
                    if at != place:
                        rise += self._add(counts, from_out[driver], -1, changes)
                        rise += self._add(counts, from_into[driver], 1, changes)
            if rise <= 0 or (rise < len(limits) and u >> 32 < limits[rise]):
                for where, place, out, into in swaps:
                    blocks[where][place] = into
                    members[where].remove(out)
                    members[where].add(into)
                cost += rise
                if cost < best_cost:
                    best_cost, best = cost, [list(block) for block in blocks]
            else:
                for name, by in changes:
                    counts[name] -= by
        return best_cost, best

    def _add(self, counts: list[int], name: int, sign: int, changes: list[tuple[int, int]]) -> int:
        by = sign * self.adds[name]
        before = counts[name]
        counts[name] = before + by
        changes.append((name, by))
        return self.weight[name] * (self.prices[before + by] - self.prices[before])

    def _limits(self, stage: int) -> list[int]:
        """By rise in cost: below which of 2**32 numbers it is accepted at this stage."""
        fall = (self.recipe.cold - self.recipe.hot) * stage
        each = self.recipe.hot + (fall // (_STAGES - 1) if fall >= 0 else -(-fall // (_STAGES - 1)))
        limits, limit = [], _ONE
        for _ in range(256):
            limits.append(limit)
            limit = (limit * each) >> 16
        return limits

    def _all_heats(self, blocks: Sequence[Sequence[int]]) -> Heats:
        heats = []
        for block in blocks:
            turned = list(block)
            for _ in range(self.order):
                heats.append(tuple(sorted(turned)))
                turned = [self._turned(driver) for driver in turned]
        if self.recipe.fixed:
            heats.append(tuple(self._still_block()))
        return tuple(heats)
