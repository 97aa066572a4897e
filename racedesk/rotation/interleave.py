"""Heats of several classes in turn, so that who races in two of them does not drive on end.

Each class keeps the order of its own heats. Among all ways of taking them in turn one with the fewest runs on end is
found by dynamic programming over how many heats of each class are over (Bellman 1957), exactly; of those, one in which
the classes keep pace with each other.
"""

from collections.abc import Sequence
from itertools import product
from math import lcm, prod
from typing import Final

Drivers = frozenset[int]

MOST_STATES: Final = 200_000
"""Beyond so many, which takes several long classes, the next heat is chosen without looking further ahead."""


def interleave(classes: Sequence[Sequence[Drivers]], *, before: Drivers = frozenset()) -> list[tuple[int, int]]:
    """The order of the heats: (class, heat of it), both from 0, every heat once.

    classes: by class and heat who drives, by numbers that mean the same driver in every class. before: who drove last.
    """
    sizes = [len(heats) for heats in classes]
    return _best(classes, sizes, before) if is_exact(classes) else _one_by_one(classes, before)


def is_exact(classes: Sequence[Sequence[Drivers]]) -> bool:
    """Are these few enough heats to look at all the ways?"""
    return prod(len(heats) + 1 for heats in classes) * max(len(classes), 1) <= MOST_STATES


def runs_on_end(
    order: Sequence[tuple[int, int]], classes: Sequence[Sequence[Drivers]], *, before: Drivers = frozenset()
) -> int:
    """How often somebody drives in two heats on end in this order."""
    count, last = 0, before
    for number, heat in order:
        here = classes[number][heat]
        count += len(here & last)
        last = here
    return count


def _best(classes: Sequence[Sequence[Drivers]], sizes: Sequence[int], before: Drivers) -> list[tuple[int, int]]:
    whole = lcm(*(size for size in sizes if size)) if any(sizes) else 1
    # By how many heats of each class are over and of which the last was: runs on end, unevenness, and what came before.
    found: dict[tuple[tuple[int, ...], int], tuple[int, int, int]] = {((0,) * len(sizes), -1): (0, 0, -1)}
    for over in sorted(product(*(range(size + 1) for size in sizes)), key=sum):
        uneven = _unevenness(over, sizes, whole)
        for number, done in enumerate(over):
            if not done:
                continue
            earlier = (*over[:number], done - 1, *over[number + 1 :])
            here = classes[number][done - 1]
            ways = []
            for last in range(-1, len(sizes)):
                cost = found.get((earlier, last))
                if cost is not None:
                    there = before if last < 0 else classes[last][earlier[last] - 1]
                    ways.append((cost[0] + len(here & there), cost[1] + uneven, last))
            if ways:
                found[over, number] = min(ways)
    return _walked_back(found, tuple(sizes))


def _unevenness(over: Sequence[int], sizes: Sequence[int], whole: int) -> int:
    shares = [done * (whole // size) for done, size in zip(over, sizes, strict=True) if size]
    return (max(shares) - min(shares)) ** 2 if shares else 0


def _walked_back(
    found: dict[tuple[tuple[int, ...], int], tuple[int, int, int]], over: tuple[int, ...]
) -> list[tuple[int, int]]:
    if not any(over):
        return []
    last = min((cost[:2], number) for (done, number), cost in found.items() if done == over)[1]
    order = []
    while any(over):
        order.append((last, over[last] - 1))
        before = found[over, last][2]
        over = (*over[:last], over[last] - 1, *over[last + 1 :])
        last = before
    return order[::-1]


def _one_by_one(classes: Sequence[Sequence[Drivers]], before: Drivers) -> list[tuple[int, int]]:
    over = [0] * len(classes)
    order: list[tuple[int, int]] = []
    last = before
    while True:
        left = [number for number, heats in enumerate(classes) if over[number] < len(heats)]
        if not left:
            return order

        def price(number: int) -> tuple[int, int, int]:
            share = over[number] * 10_000 // len(classes[number])
            return len(classes[number][over[number]] & last), share, number  # noqa: B023

        chosen = min(left, key=price)
        order.append((chosen, over[chosen]))
        last = classes[chosen][over[chosen]]
        over[chosen] += 1
