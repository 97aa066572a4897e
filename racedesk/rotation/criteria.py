"""A director's own order of what a draw is to put first: the same heats, arranged by it."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import replace
from enum import StrEnum
from functools import lru_cache
from itertools import combinations, pairwise
from typing import Final

from racedesk.rotation.chance import Chance
from racedesk.rotation.plan import Plan
from racedesk.rotation.seating import chain_of

USUAL_STEPS: Final = 1_000
LONGEST_EASY_MOVE: Final = 2
"""In the order that most clubs call aloud nobody moves by more lanes than this from one run to the next."""

_MANY = 1_000_000

Heats = tuple[tuple[int, ...], ...]


class Criterion(StrEnum):
    """What can be put first. Each is counted so that less is better."""

    MEETINGS = "meetings"
    """How evenly pairs meet: the sum of the squared meetings."""
    ON_END = "on_end"
    """How often somebody drives in two heats on end."""
    WAIT = "wait"
    """The longest wait between two runs; then how many wait so long."""
    BESIDE = "beside"
    """How evenly pairs are side by side: the sum of the squares."""
    MOVES = "moves"
    """How often somebody has to move by more than two lanes from one run to the next."""


_BY_TURN = frozenset({Criterion.ON_END, Criterion.WAIT, Criterion.MOVES})
_BY_LANE = frozenset({Criterion.BESIDE, Criterion.MOVES})


def counts(heats: Sequence[Sequence[int | None]], order: Iterable[Criterion]) -> tuple[int, ...]:
    """What these heats come to by each criterion, in its order: of two draws the lesser tuple is the better."""
    runs: dict[int, list[tuple[int, int]]] = {}
    for heat, row in enumerate(heats):
        for lane, driver in enumerate(row):
            if driver is not None:
                runs.setdefault(driver, []).append((heat, lane))
    return tuple(_count(each, heats, runs) for each in order)


def _count(criterion: Criterion, heats: Sequence[Sequence[int | None]], runs: dict[int, list[tuple[int, int]]]) -> int:
    steps = [step for own in runs.values() for step in pairwise(own)]
    match criterion:
        case Criterion.MEETINGS:
            return _squares(pair for row in heats for pair in combinations(row, 2))
        case Criterion.ON_END:
            return sum(later[0] - earlier[0] == 1 for earlier, later in steps)
        case Criterion.WAIT:
            waits = [later[0] - earlier[0] for earlier, later in steps]
            longest = max(waits, default=0)
            return longest * _MANY + waits.count(longest)
        case Criterion.BESIDE:
            return _squares(pair for row in heats for pair in pairwise(row))
        case Criterion.MOVES:
            return sum(abs(later[1] - earlier[1]) > LONGEST_EASY_MOVE for earlier, later in steps)


def _squares(pairs: Iterable[tuple[int | None, int | None]]) -> int:
    """The sum, over all pairs of drivers, of the squared times they come up; a lane left empty makes no pair."""
    times = Counter((min(a, b), max(a, b)) for a, b in pairs if a is not None and b is not None)
    return sum(each * each for each in times.values())


def arranged(plan: Plan, order: Sequence[Criterion], *, steps: int = USUAL_STEPS) -> Plan:
    """The same plan with its heats in another turn, and drivers on other lanes of them, by this order of criteria.

    Who is in a heat with whom stays, and with it the meetings; by the order it is never worse than it was. Tried are
    so many steps: two heats exchanged, some turned round, or two lanes exchanged along the heats where they must be,
    so that everybody still drives every lane once. The same plan, order and steps give the same on any machine. A plan
    that is not one whole rotation of more drivers than lanes stays as it is.
    """
    wanted = tuple(dict.fromkeys(Criterion(each) for each in order))
    if not plan.is_whole or plan.drivers <= plan.lanes:
        return plan
    heats = tuple(tuple(driver for driver in row if driver is not None) for row in plan.heats)
    return replace(plan, heats=_search(heats, tuple(each for each in wanted if each is not Criterion.MEETINGS), steps))


@lru_cache(maxsize=32)
def _search(heats: Heats, order: tuple[Criterion, ...], steps: int) -> Heats:
    # Tried are places, not drivers: the lot of a seed changes who stands where and nothing else.
    chance = Chance(len(heats) * 1_000 + len(heats[0]))
    kinds = [kind for kind in ((_other_turn, _BY_TURN), (_other_lanes, _BY_LANE)) if kind[1] & set(order)]
    best, least = heats, dict(zip(order, counts(heats, order), strict=True))
    for _ in range(steps if kinds else 0):
        move, touched = kinds[chance.below(len(kinds))]
        changed = move(best, chance)
        counted = [each for each in order if each in touched]
        found = least | dict(zip(counted, counts(changed, counted), strict=True))
        if tuple(found.values()) <= tuple(least.values()):
            best, least = changed, found
    return best


def _other_turn(heats: Heats, chance: Chance) -> Heats:
    one, other = sorted((chance.below(len(heats)), chance.below(len(heats))))
    if chance.below(2):
        return (*heats[:one], *heats[one : other + 1][::-1], *heats[other + 1 :])
    changed = list(heats)
    changed[one], changed[other] = changed[other], changed[one]
    return tuple(changed)


def _other_lanes(heats: Heats, chance: Chance) -> Heats:
    lanes = len(heats[0])
    if lanes == 1:
        return heats
    one, other = chance.below(lanes), chance.below(lanes - 1)
    other += other >= one
    rows = [list(row) for row in heats]
    for heat in chain_of(rows, one, other, start=chance.below(len(rows))):
        rows[heat][one], rows[heat][other] = rows[heat][other], rows[heat][one]
    return tuple(tuple(row) for row in rows)
