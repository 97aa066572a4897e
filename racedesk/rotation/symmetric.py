"""Symmetric designs: v heats of k out of v drivers in which every pair meets the same number of times.

Where one exists for a size the rotation made of it meets the bound. It is looked for under a symmetry of prime
order p that leaves one driver and one heat in place and turns the others in circles of p. First how many drivers
of each circle a heat has (the tactical decomposition, Dembowski 1958), which is a square table of small numbers
that has to satisfy what the meetings add up to; then which of them, so that each pair meets as often as it must.
Both are exact searches in an order drawn by lot, given up after so many nodes and begun anew.
"""

from collections.abc import Iterator, Sequence
from itertools import combinations, product
from typing import Final

from racedesk.rotation.chance import Chance, shuffled

Row = tuple[int, ...]
"""By circle how many of its drivers a heat has, or as bits which of them."""

_NODES: Final = 4_000
"""Rows tried on one table before it is begun anew."""


def symmetric_design(*, points: int, block: int, order: int, seed: int, tables: int) -> tuple[Row, ...] | None:
    """The heats of a symmetric design with this symmetry, as drivers from 0 in each; None where none was found.

    points: v. block: k drivers a heat; k (k - 1) is a multiple of v - 1. order: p, a prime that divides v - 1, with
    k or k - 1 a multiple of it. seed: of the order in which rows are tried. tables: how many beginnings.
    The last driver stays in place, and the first heat. Raises ValueError where no such design can be.
    """
    meets, rest = divmod(block * (block - 1), points - 1)
    stays, more = block % order, (points - 1) % order
    if rest or more or stays > 1:
        raise ValueError(f"no symmetric design of {points} and {block} turns by {order} about one driver")
    search = _Search(points, block, meets, order, stays, Chance(seed))
    for _ in range(tables):
        found = search.begin()
        if found is not None:
            return found
    return None


class _Search:
    def __init__(self, points: int, block: int, meets: int, order: int, stays: int, chance: Chance) -> None:
        self.block, self.meets, self.order, self.stays, self.chance = block, meets, order, stays, chance
        self.circles = (points - 1) // order
        self.whole = (block - stays) // order
        """So many circles the heat that stays in place has whole, and so many circles of heats the driver who does."""
        self.rows = {with_him: list(self._rows(with_him)) for with_him in (0, 1)}
        self.turned = [[self._turns(one, other) for other in range(1 << order)] for one in range(1 << order)]

    def _rows(self, with_him: int) -> Iterator[Row]:
        """Rows of the table that agree with themselves and with the heat that stays in place."""
        size, squares = self.block - with_him, self.block + (self.order - 1) * self.meets - self.order * with_him
        for row in _sums(self.circles, size, squares, self.order):
            if sum(row[: self.whole]) == self.meets - with_him * self.stays:
                yield row

    def _turns(self, one: int, other: int) -> Row:
        """How often a driver of one set is a driver of the other turned by t, for each t."""
        counts = [0] * self.order
        for a, b in product(range(self.order), repeat=2):
            if one >> a & 1 and other >> b & 1:
                counts[(a - b) % self.order] += 1
        return tuple(counts)

    def begin(self) -> tuple[Row, ...] | None:
        """Fill one table, its first rows by lot, and go on to the heats for each way that it fills."""
        left = [self.block - (circle < self.whole) for circle in range(self.circles)]
        first: list[Row] = []
        for _ in range(self.whole):
            rows = [row for row in self.rows[1] if all(self._agree(row, each, 1, 1) for each in first)]
            if not rows:
                return None
            first.append(rows[self.chance.below(len(rows))])
            left = [need - count for need, count in zip(left, first[-1], strict=True)]
        rows = [row for row in self.rows[0] if all(self._agree(row, each, 0, 1) for each in first)]
        order = shuffled(self.chance.word() >> 1, range(len(rows)))
        rows = [rows[place] for place in order]
        agrees = [sum(1 << b for b, other in enumerate(rows) if self._agree(row, other, 0, 0)) for row in rows]
        self.nodes = _NODES
        return self._fill(first, rows, agrees, (1 << len(rows)) - 1, left)

    def _agree(self, one: Row, other: Row, with_one: int, with_other: int) -> bool:
        met = sum(a * b for a, b in zip(one, other, strict=True)) + self.order * with_one * with_other
        return met == self.order * self.meets

    def _fill(
        self, table: list[Row], rows: list[Row], agrees: list[int], open_rows: int, left: list[int]
    ) -> tuple[Row, ...] | None:
        self.nodes -= 1
        if self.nodes < 0 or open_rows.bit_count() < self.circles - len(table):
            return None
        if len(table) == self.circles:
            return self._heats(table) if not any(left) else None
        while open_rows:
            place = (open_rows & -open_rows).bit_length() - 1
            open_rows &= open_rows - 1
            after = [need - count for need, count in zip(left, rows[place], strict=True)]
            if min(after) >= 0:
                found = self._fill([*table, rows[place]], rows, agrees, open_rows & agrees[place], after)
                if found is not None:
                    return found
        return None

    def _heats(self, table: Sequence[Row]) -> tuple[Row, ...] | None:
        with_him = [int(number < self.whole) for number in range(self.circles)]
        ways = {
            number: self._sets(table[number], with_him[number], is_first=number == 0) for number in range(len(table))
        }
        found = self._choose({}, ways, with_him)
        if found is None:
            return None
        last = self.circles * self.order
        heats = [(*range(self.whole * self.order), *((last,) if self.stays else ()))]
        for number in range(self.circles):
            for turn in range(self.order):
                drivers = [
                    circle * self.order + (place + turn) % self.order
                    for circle, chosen in enumerate(found[number])
                    for place in range(self.order)
                    if chosen >> place & 1
                ]
                heats.append(tuple(sorted((*drivers, *((last,) if with_him[number] else ())))))
        return tuple(heats)

    def _sets(self, counts: Row, with_him: int, *, is_first: bool) -> list[Row]:
        """Sets of drivers with these counts that meet one another as often as they must; one of those that turn alike.

        is_first: of the first heat, whose circles may each be numbered from where one likes.
        """
        choices = [[chosen for chosen in range(1 << self.order) if chosen.bit_count() == count] for count in counts]
        turnable = [circle for circle, count in enumerate(counts) if 0 < count < self.order]
        for circle in turnable if is_first else turnable[:1]:
            choices[circle] = choices[circle][:1] if self._is_one_up_to_turns(counts[circle]) else choices[circle]
        wanted = self.meets - with_him
        return [
            sets
            for sets in product(*choices)
            if all(sum(self.turned[each][each][t] for each in sets) == wanted for t in range(1, self.order))
        ]

    def _is_one_up_to_turns(self, count: int) -> bool:
        """Are all sets of so many drivers of a circle turns of one another?"""
        return count in {1, self.order - 1}

    def _choose(
        self, chosen: dict[int, Row], ways: dict[int, list[Row]], with_him: Sequence[int]
    ) -> dict[int, Row] | None:
        if not ways:
            return chosen
        number = min(ways, key=lambda each: len(ways[each]))
        for sets in ways[number]:
            left = {
                other: [
                    each for each in theirs if self._meet(sets, each, self.meets - with_him[number] * with_him[other])
                ]
                for other, theirs in ways.items()
                if other != number
            }
            if all(left.values()):
                found = self._choose({**chosen, number: sets}, left, with_him)
                if found is not None:
                    return found
        return None

    def _meet(self, one: Row, other: Row, wanted: int) -> bool:
        pairs = [self.turned[a][b] for a, b in zip(one, other, strict=True)]
        return all(sum(pair[t] for pair in pairs) == wanted for t in range(self.order))


def _sums(length: int, total: int, squares: int, most: int) -> Iterator[Row]:
    """Every row of so many numbers from 0 to most with this sum and this sum of squares."""
    if length == 0:
        if total == squares == 0:
            yield ()
        return
    for number in range(min(most, total) + 1):
        if number * number <= squares:
            for row in _sums(length - 1, total - number, squares - number * number, most):
                yield (number, *row)


def is_symmetric_design(heats: Sequence[Sequence[int]], *, points: int, block: int) -> bool:
    """Are these v heats of k drivers each, any two of which share as many drivers as any other two?"""
    meets, rest = divmod(block * (block - 1), points - 1)
    return (
        not rest
        and len(heats) == points
        and all(len({*heat}) == block for heat in heats)
        and all(len({*one} & {*other}) == meets for one, other in combinations(heats, 2))
    )
