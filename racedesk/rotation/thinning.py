"""A rotation of one lane fewer from an even one: each heat lets one driver go, and each driver goes once.

Where everybody meets equally often on one lane more, as in a symmetric design, what is left is nearly even, and a
walk over who goes where makes it more so. The goers are a matching of drivers and heats, and stay one: two heats
change over who they let go.
"""

from collections.abc import Sequence
from itertools import combinations
from typing import Final

from racedesk.rotation.chance import Chance

_STAGES: Final = 64
_HOT: Final = 45_000
_COLD: Final = 9_000
"""The chance, in 65536ths, that a rise of the sum of squared meetings by two is accepted, at first and at the end."""


def thinned(heats: Sequence[Sequence[int]], *, drivers: int, seed: int, steps: int) -> tuple[tuple[int, ...], ...]:
    """The heats without one driver each, as even as the walk came by; everybody is let go once.

    heats: as many as drivers, by lane, every driver from 0 once a lane. drivers: of them. The same arguments give
    the same heats on any machine.
    """
    walk = _Walk(heats, drivers, Chance(seed))
    goers = walk.run(steps)
    return tuple(tuple(driver for driver in heat if driver != goer) for heat, goer in zip(heats, goers, strict=True))


class _Walk:
    def __init__(self, heats: Sequence[Sequence[int]], drivers: int, chance: Chance) -> None:
        self.everybody = [frozenset(heat) for heat in heats]
        self.chance = chance
        # The first lane has everybody once, so leaving it out is a beginning.
        self.goers = [heat[0] for heat in heats]
        self.left = [set(heat) - {goer} for heat, goer in zip(heats, self.goers, strict=True)]
        self.met = [[0] * drivers for _ in range(drivers)]
        for here in self.left:
            for a, b in combinations(here, 2):
                self.met[a][b] += 1
                self.met[b][a] += 1

    def run(self, steps: int) -> list[int]:
        best, lowest, cost = list(self.goers), 0, 0
        count = len(self.goers)
        for step in range(steps):
            one, other = self.chance.below(count), self.chance.below(count)
            goes, comes = self.goers[one], self.goers[other]
            # Each has to be in the other heat to be let go there.
            if one == other or goes not in self.everybody[other] or comes not in self.everybody[one]:
                continue
            rise = self._change_over(one, other)
            if rise > 0 and not self._is_accepted(rise, step * _STAGES // steps):
                self._change_over(one, other)
                continue
            cost += rise
            if cost < lowest:
                best, lowest = list(self.goers), cost
        return best

    def _change_over(self, one: int, other: int) -> int:
        """Let the two heats change over their goers; by how much the sum of squared meetings rises."""
        goes, comes = self.goers[one], self.goers[other]
        rise = self._take_out(comes, one) + self._take_out(goes, other)
        rise += self._put_in(goes, one) + self._put_in(comes, other)
        self.goers[one], self.goers[other] = comes, goes
        return rise

    def _take_out(self, driver: int, heat: int) -> int:
        here, own, rise = self.left[heat], self.met[driver], 0
        here.remove(driver)
        for each in here:
            rise -= 2 * own[each] - 1
            own[each] -= 1
            self.met[each][driver] -= 1
        return rise

    def _put_in(self, driver: int, heat: int) -> int:
        here, own, rise = self.left[heat], self.met[driver], 0
        for each in here:
            rise += 2 * own[each] + 1
            own[each] += 1
            self.met[each][driver] += 1
        here.add(driver)
        return rise

    def _is_accepted(self, rise: int, stage: int) -> bool:
        each = _HOT - (_HOT - _COLD) * stage // (_STAGES - 1)
        limit = 1 << 32
        for _ in range(rise // 2):
            limit = (limit * each) >> 16
        return (self.chance.word() >> 32) < limit
