"""Several rotations on end."""

from collections.abc import Sequence
from itertools import combinations
from typing import Final

from racedesk.rotation.chance import Chance

_SWAPS: Final = 4_000

Places = list[list[int | None]]


def repeated(places: Sequence[Sequence[int | None]], *, drivers: int, rounds: int, mixes: bool) -> Places:
    """The heats of a rotation, so many times on end; drivers from 0, None for an empty lane.

    mixes: in later rounds drivers change places, so that over all rounds meetings are spread as evenly as a
    climb of 4,000 exchanges finds, and the round begins with the heat that has fewest drivers of the heat
    before. Otherwise each round is like the first: a queue goes on as it was, and waits stay what they are.
    """
    result = [list(row) for row in places]
    if rounds == 1 or not mixes or all(sum(place is not None for place in row) == drivers for row in places):
        return result * rounds
    single = _meetings(places, drivers)
    total = [list(row) for row in single]
    for number in range(1, rounds):
        who = _spread(total, single, Chance(drivers * 1_000 + number))
        heats = [[None if place is None else who[place] for place in row] for row in places]
        before = {place for place in result[-1] if place is not None}
        first = min(range(len(heats)), key=lambda heat: (len(before.intersection(heats[heat])), heat))
        result += heats[first:] + heats[:first]
        for a, b in combinations(range(drivers), 2):
            total[who[a]][who[b]] += single[a][b]
            total[who[b]][who[a]] += single[a][b]
    return result


def _meetings(places: Sequence[Sequence[int | None]], drivers: int) -> list[list[int]]:
    met = [[0] * drivers for _ in range(drivers)]
    for row in places:
        for a, b in combinations([place for place in row if place is not None], 2):
            met[a][b] += 1
            met[b][a] += 1
    return met


def _spread(total: Sequence[Sequence[int]], single: Sequence[Sequence[int]], chance: Chance) -> list[int]:
    """By place, the driver who takes it, so that the sum of squares of all meetings becomes small.

    (t + s)^2 summed differs between assignments by 2 t s alone, so that sum is what exchanges of two drivers
    make smaller, from an order by lot.
    """
    drivers = len(total)
    who = chance.shuffled(range(drivers))
    others = range(drivers)
    for _ in range(_SWAPS):
        i, j = chance.below(drivers), chance.below(drivers)
        if i == j:
            continue
        at_i, at_j, row_i, row_j = total[who[i]], total[who[j]], single[i], single[j]
        rise = sum([(at_j[who[z]] - at_i[who[z]]) * (row_i[z] - row_j[z]) for z in others if z not in (i, j)])
        if rise <= 0:
            who[i], who[j] = who[j], who[i]
    return who
