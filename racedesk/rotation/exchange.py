"""Improve a plan of heats by exchanges that keep it legal at every step.

An exchange takes two heats and a driver who is in the first only. He changes over on his lane; who holds that
lane in the other heat changes over in turn, and so on along the chain (Kempe 1879) until it ends at a driver who
is in the other heat only, or at a lane that was empty. So at most two drivers change heats and the others on the
chain only change lanes; drivers, lanes and runs stay as they are.
"""

from collections.abc import Callable, Collection, Sequence
from typing import Final, Protocol

from racedesk.rotation.chance import Chance

_STAGES: Final = 48
_HOT: Final = 3_000
_COLD: Final = 600
"""The chance, in 65536ths, that a rise of the cost by two is accepted, at first and at the end."""
_SIZE_PRICE: Final = 12
_REST_SHARE: Final = 8
"""One step of eight goes to the order of the heats."""


class Bounds(Protocol):
    """What the exchanges must know of the night."""

    met: list[list[int]]
    last_run: frozenset[int]
    is_free: bool

    def are_legal(self, heats: Sequence[Sequence[int]]) -> bool: ...


class Exchanger:
    """Heats to come, by lane the place of a driver or -1, and the search among them."""

    def __init__(self, rows: list[list[int]], *, rules: Bounds, seed: int) -> None:
        self.rules = rules
        self.chance = Chance(seed)
        self.rows = [list(row) for row in rows]
        self.drivers = len(rules.met)
        self.met = [list(row) for row in rules.met]
        self.lane_of: list[dict[int, int]] = []
        for row in self.rows:
            here = {driver: lane for lane, driver in enumerate(row) if driver >= 0}
            self.lane_of.append(here)
            for a in here:
                for b in here:
                    if a != b:
                        self.met[a][b] += 1

    def run(self, steps: int, progress: Callable[[int, int], None] | None) -> list[list[int]]:
        """Search: even meetings first, then the order of the heats. Returns the best plan met on the way."""
        for_rest = steps // _REST_SHARE
        self._even_out(steps - for_rest, steps, progress)
        self._order(for_rest)
        if progress is not None:
            progress(steps, steps)
        return self.rows

    def _even_out(self, steps: int, of: int, progress: Callable[[int, int], None] | None) -> None:
        if len(self.rows) < 2:
            return
        best, best_cost, cost = [list(row) for row in self.rows], 0, 0
        target = self._least()
        span = max(steps // _STAGES, 1)
        limits: list[int] = []
        for step in range(steps):
            if step % span == 0:
                limits = _limits(min(step // span, _STAGES - 1))
                if progress is not None:
                    progress(step, of)
            word = self.chance.word()
            one = ((word & 0xFFFF) * len(self.rows)) >> 16
            other = (((word >> 16) & 0xFFFF) * (len(self.rows) - 1)) >> 16
            other += other >= one
            lane = (((word >> 32) & 0xFFFF) * len(self.rows[one])) >> 16
            driver = self.rows[one][lane]
            if driver < 0 or driver in self.lane_of[other]:
                continue
            chain, partner = self._chain(one, other, lane)
            rise = self._rise(one, other, driver, partner)
            if rise > 0 and (rise >= 2 * len(limits) or (self.chance.word() >> 32) >= limits[rise >> 1]):
                continue
            if not self._exchange(one, other, chain, driver, partner):
                continue
            cost += rise
            if cost < best_cost:
                best, best_cost = [list(row) for row in self.rows], cost
                if best_cost <= target:
                    break
        self._take(best)

    def _least(self) -> int:
        """By how much the cost can fall at most: meetings at the mean rounded down or up, heats of even sizes."""
        size = sum(map(len, self.lane_of))
        floor, above = divmod(size, len(self.rows))
        met_now = [self.met[a][b] for a in range(self.drivers) for b in range(a)]
        before = sum(self.rules.met[a][b] for a in range(self.drivers) for b in range(a))
        even = (len(self.rows) - above) * floor * (floor - 1) // 2 + above * (floor + 1) * floor // 2
        mean, rest = divmod(before + even, len(met_now)) if met_now else (0, 0)
        least = (len(met_now) - rest) * mean**2 + rest * (mean + 1) ** 2
        squares = (len(self.rows) - above) * floor**2 + above * (floor + 1) ** 2
        now_squares = sum(len(here) ** 2 for here in self.lane_of)
        return least - sum(times**2 for times in met_now) + _SIZE_PRICE * (squares - now_squares)

    def _chain(self, one: int, other: int, lane: int) -> tuple[list[int], int]:
        """The lanes that two heats exchange with this one, and the driver at its end, or -1."""
        back, row = self.lane_of[one], self.rows[other]
        chain = [lane]
        while (partner := row[lane]) >= 0 and partner in back:
            lane = back[partner]
            chain.append(lane)
        return chain, partner

    def _rise(self, one: int, other: int, driver: int, partner: int) -> int:
        """By how much the sum of squared meetings rises, with a price on heats of uneven sizes."""
        here, there = self.lane_of[one], self.lane_of[other]
        own = self.met[driver]
        if partner < 0:
            rise = _SIZE_PRICE * 2 * (len(there) - len(here) + 1)
            rise += sum([2 * own[z] + 1 for z in there if z not in here])
            return rise - sum([2 * own[z] - 1 for z in here if z not in there and z != driver])
        his = self.met[partner]
        rise = sum([own[z] - his[z] + 1 for z in there if z not in here and z != partner])
        return 2 * (rise + sum([his[z] - own[z] + 1 for z in here if z not in there and z != driver]))

    def _exchange(self, one: int, other: int, chain: list[int], driver: int, partner: int) -> bool:
        """Carry the exchange out, unless a wish forbids it."""
        first, second = self.rows[one], self.rows[other]
        for lane in chain:
            first[lane], second[lane] = second[lane], first[lane]
        if not self.rules.are_legal(self.rows):
            for lane in chain:
                first[lane], second[lane] = second[lane], first[lane]
            return False
        self._count(self.lane_of[one], driver, -1)
        if partner >= 0:
            self._count(self.lane_of[other], partner, -1)
        for heat, row in ((one, first), (other, second)):
            self.lane_of[heat] = {who: lane for lane, who in enumerate(row) if who >= 0}
        self._count(self.lane_of[other], driver, 1)
        if partner >= 0:
            self._count(self.lane_of[one], partner, 1)
        return True

    def _count(self, heat: Collection[int], driver: int, by: int) -> None:
        own = self.met[driver]
        for z in heat:
            if z != driver:
                own[z] += by
                self.met[z][driver] += by

    def _take(self, rows: list[list[int]]) -> None:
        self.rows = rows
        self.lane_of = [{who: lane for lane, who in enumerate(row) if who >= 0} for row in rows]

    def _order(self, steps: int) -> None:
        """Change the order of the heats for fewer back-to-back runs and more equal waits; meetings stay."""
        rows, cost = self.rows, self._price_of_waits(self.rows)
        for _ in range(steps // max(len(rows), 1) if len(rows) > 1 else 0):
            i, j = sorted((self.chance.below(len(rows)), self.chance.below(len(rows))))
            changed = list(rows)
            if self.chance.below(2):
                changed[i], changed[j] = changed[j], changed[i]
            else:
                changed[i : j + 1] = changed[i : j + 1][::-1]
            price = self._price_of_waits(changed)
            if price <= cost and self.rules.are_legal(changed):
                rows, cost = changed, price
        self._take(rows)

    def _price_of_waits(self, rows: Sequence[Sequence[int]]) -> int:
        last = dict.fromkeys(self.rules.last_run, -1)
        price = 0
        for number, row in enumerate(rows):
            for driver in row:
                if driver < 0:
                    continue
                if driver in last:
                    gap = number - last[driver]
                    price += gap * gap + (1_000 if gap == 1 else 0)
                last[driver] = number
        return price


def _limits(stage: int) -> list[int]:
    """By half the rise in cost: below which of 2**32 numbers it is accepted at this stage."""
    each = _HOT - (_HOT - _COLD) * stage // (_STAGES - 1)
    limits, limit = [], 1 << 32
    for _ in range(64):
        limits.append(limit)
        limit = (limit * each) >> 16
    return limits
