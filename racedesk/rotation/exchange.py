"""Improve a plan of heats by exchanges that keep it legal at every step.

An exchange takes two heats and a driver who is in the first only. He changes over on his lane; who holds that
lane in the other heat changes over in turn, and so on along the chain (Kempe 1879) until it ends at a driver who
is in the other heat only, or at a lane that was empty. So at most two drivers change heats and the others on the
chain only change lanes; drivers, lanes and runs stay as they are.
"""

from collections.abc import Callable, Sequence
from typing import Final, Protocol

from racedesk.rotation.chance import Chance

_STAGES: Final = 48
_HOT: Final = 2_500
_COLD: Final = 1_000
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
        self.drivers = len(rules.met)
        self.met = [list(row) for row in rules.met]
        self._take([list(row) for row in rows])
        for here in self.members:
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

    def _even_out(  # noqa: C901 one hot loop
        self, steps: int, of: int, progress: Callable[[int, int], None] | None
    ) -> None:
        """The walk itself; one long loop, since it is where all the time goes."""
        if len(self.rows) < 2:
            return
        rows, lane_of, members, met = self.rows, self.lane_of, self.members, self.met
        count, lanes, word = len(rows), len(rows[0]), self.chance.word
        best, best_cost, cost = [list(row) for row in rows], 0, 0
        target = self._least()
        span = max(steps // _STAGES, 1)
        limits: list[int] = []
        for step in range(steps):
            if step % span == 0:
                limits = _limits(min(step // span, _STAGES - 1))
                if progress is not None:
                    progress(step, of)
            lot = word()
            one = ((lot & 0xFFFF) * count) >> 16
            other = (((lot >> 16) & 0xFFFF) * (count - 1)) >> 16
            other += other >= one
            lane = (((lot >> 32) & 0xFFFF) * lanes) >> 16
            driver = rows[one][lane]
            back, row = lane_of[one], rows[other]
            if driver < 0 or lane_of[other][driver] >= 0:
                continue
            # The lanes that the two heats exchange with this one, and the driver at the end, or -1.
            chain = [lane]
            while (partner := row[lane]) >= 0 and (lane := back[partner]) >= 0:
                chain.append(lane)
            here, there = members[one], members[other]
            leaves, joins, own = here - there, there - here, met[driver]
            if partner < 0:
                rise = sum([own[z] for z in joins]) - sum([own[z] for z in leaves])
                rise = 2 * rise + len(joins) + len(leaves) - 1
                rise += _SIZE_PRICE * 2 * (len(there) - len(here) + 1)
            else:
                his = met[partner]
                rise = sum([own[z] - his[z] for z in joins]) - sum([own[z] - his[z] for z in leaves])
                rise = 2 * (rise - 2 * own[partner] + len(joins) + len(leaves) - 2)
            if rise > 0 and (rise >= 2 * len(limits) or (word() >> 32) >= limits[rise >> 1]):
                continue
            if not self._exchange(one, other, chain, driver, partner):
                continue
            cost += rise
            if cost < best_cost:
                best, best_cost = [list(row) for row in rows], cost
                if best_cost <= target:
                    break
        self._take(best)

    def _least(self) -> int:
        """By how much the cost can fall at most: meetings at the mean rounded down or up, heats of even sizes."""
        size = sum(map(len, self.members))
        floor, above = divmod(size, len(self.rows))
        met_now = [self.met[a][b] for a in range(self.drivers) for b in range(a)]
        before = sum(self.rules.met[a][b] for a in range(self.drivers) for b in range(a))
        even = (len(self.rows) - above) * floor * (floor - 1) // 2 + above * (floor + 1) * floor // 2
        mean, rest = divmod(before + even, len(met_now)) if met_now else (0, 0)
        least = (len(met_now) - rest) * mean**2 + rest * (mean + 1) ** 2
        squares = (len(self.rows) - above) * floor**2 + above * (floor + 1) ** 2
        now_squares = sum(len(here) ** 2 for here in self.members)
        return least - sum(times**2 for times in met_now) + _SIZE_PRICE * (squares - now_squares)

    def _exchange(self, one: int, other: int, chain: list[int], driver: int, partner: int) -> bool:
        """Carry the exchange out, unless a wish forbids it."""
        first, second = self.rows[one], self.rows[other]
        for lane in chain:
            first[lane], second[lane] = second[lane], first[lane]
        if not self.rules.is_free and not self.rules.are_legal(self.rows):
            for lane in chain:
                first[lane], second[lane] = second[lane], first[lane]
            return False
        here, there = self.lane_of[one], self.lane_of[other]
        here[driver] = -1
        if partner >= 0:
            there[partner] = -1
        for lane in chain:
            if (who := first[lane]) >= 0:
                here[who] = lane
            if (who := second[lane]) >= 0:
                there[who] = lane
        self._move(driver, self.members[one], self.members[other])
        if partner >= 0:
            self._move(partner, self.members[other], self.members[one])
        return True

    def _move(self, driver: int, before: set[int], after: set[int]) -> None:
        """Count a driver out of one heat and into another."""
        met, own = self.met, self.met[driver]
        before.remove(driver)
        for z in before:
            own[z] -= 1
            met[z][driver] -= 1
        for z in after:
            own[z] += 1
            met[z][driver] += 1
        after.add(driver)

    def _take(self, rows: list[list[int]]) -> None:
        self.rows = rows
        self.members = [{driver for driver in row if driver >= 0} for row in rows]
        self.lane_of = [_lanes_by_driver(row, self.drivers) for row in rows]

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


def _lanes_by_driver(row: Sequence[int], drivers: int) -> list[int]:
    """By driver the lane in this heat, or -1."""
    lanes = [-1] * drivers
    for lane, driver in enumerate(row):
        if driver >= 0:
            lanes[driver] = lane
    return lanes


def _limits(stage: int) -> list[int]:
    """By half the rise in cost: below which of 2**32 numbers it is accepted at this stage."""
    each = _HOT - (_HOT - _COLD) * stage // (_STAGES - 1)
    limits, limit = [], 1 << 32
    for _ in range(64):
        limits.append(limit)
        limit = (limit * each) >> 16
    return limits
