"""Every cyclic rotation there is at the floor/ceil bound, one after the other, to find the one with the best waits."""

from collections.abc import Iterator

from racedesk.rotation.blocks import Block, block_merit


def best_even_block(*, drivers: int, lanes: int, nodes: int) -> tuple[Block | None, bool]:
    """Of the base blocks that meet the bound, the one with the best waits; and whether all were looked at.

    Waits are compared as `BlockMerit.rank` does. The block is sorted and begins with 0; None where there is
    none, or none was found. nodes: how many numbers may be tried, 1 or more. Needs drivers > lanes >= 2.
    """
    search = _Blocks(drivers, lanes, nodes)
    best = min(
        search.all(), key=lambda block: (block_merit(block, drivers=drivers).rank(rest=False), block), default=None
    )
    return best, not search.is_spent


class _Blocks:
    """Depth first over sorted blocks whose first gap is the smallest: each block up to a turn, at least once.

    A branch ends where two drivers would meet more than q + 1 times, where more than r of the v - 1 differences
    would occur q + 1 times, or where the numbers left no longer fit with gaps as large as the first.
    """

    def __init__(self, drivers: int, lanes: int, nodes: int) -> None:
        self.drivers = drivers
        self.lanes = lanes
        self.left = nodes
        self.mean, self.above = divmod(lanes * (lanes - 1), drivers - 1)
        self.counts = [0] * drivers

    @property
    def is_spent(self) -> bool:
        return self.left <= 0

    def all(self) -> Iterator[Block]:
        v, k = self.drivers, self.lanes
        for first in range(1, v // k + 1):
            rise = self._put([0], first)
            if rise is not None:
                yield from self._grow([0, first], first, rise)
                self._take([0], first)

    def _grow(self, block: list[int], gap: int, surplus: int) -> Iterator[Block]:
        missing = self.lanes - len(block)
        if missing == 0:
            yield tuple(block)
            return
        for number in range(block[-1] + gap, self.drivers - gap * missing + 1):
            self.left -= 1
            if self.is_spent:
                return
            rise = self._put(block, number)
            if rise is None:
                continue
            if surplus + rise <= self.above:
                block.append(number)
                yield from self._grow(block, gap, surplus + rise)
                block.pop()
            self._take(block, number)

    def _put(self, block: list[int], number: int) -> int | None:
        """Count a number in; the rise of differences beyond q, or None (and nothing done) if one is beyond q + 1."""
        v, counts, most = self.drivers, self.counts, self.mean + 1
        rise = 0
        for done, other in enumerate(block):
            difference = number - other
            counts[difference] += 1
            counts[v - difference] += 1
            if counts[difference] > most:
                for undone in block[: done + 1]:
                    counts[number - undone] -= 1
                    counts[v - number + undone] -= 1
                return None
            if counts[difference] == most:
                rise += 1 if 2 * difference == v else 2
        return rise

    def _take(self, block: list[int], number: int) -> None:
        for other in block:
            self.counts[number - other] -= 1
            self.counts[self.drivers - number + other] -= 1
