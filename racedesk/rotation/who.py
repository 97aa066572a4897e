"""Who takes which place of a draw: the freedom that a design leaves, used for wishes.

Drivers only change places with each other, all their heats and lanes with them. Who meets whom how often, waits and
lanes are then the same figures as before, for other people: wishes cost a draw none of its fairness.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final

from racedesk.rotation.chance import Chance
from racedesk.rotation.errors import DrawError
from racedesk.rotation.plan import Plan

USUAL_STEPS: Final = 12_000
_HARD: Final = 10**9
_SOFT: Final = 1_000
_PATIENCE: Final = 40
"""Steps a driver without a better exchange after which some change places by lot."""


class Kind(StrEnum):
    """What a wish is about."""

    NOT_BEFORE = "not_before"
    """Comes late: drives in no heat before this one."""
    NOT_AFTER = "not_after"
    """Has to leave: drives in no heat after this one."""
    APART = "apart"
    """Two who share a car, a controller or a ride: in no heat together."""
    FIRST_LANE = "first_lane"
    """Drives this lane first."""


class Seeding(StrEnum):
    """Whom the fast ones should meet more often, as far as a design leaves a choice."""

    MIXED = "mixed"
    """Slow ones."""
    APART = "apart"
    """Each other."""


@dataclass(frozen=True, slots=True)
class Wish:
    """A wish of or for a driver. value: a heat, another driver or a lane, by `kind`; all count from 1.

    is_hard: it must be met where it can be; others give way to it.
    """

    kind: Kind
    driver: int
    value: int
    is_hard: bool = True


@dataclass(frozen=True, slots=True)
class Granted:
    """A plan with its drivers moved to suit wishes.

    misses: by wish, in how many heats it is not kept; 0 where it is met. spread: the distance in rank of every two
    who are in a heat together, summed; 0 without an order. moved: the driver who took each driver's place, from 1.
    """

    plan: Plan
    misses: tuple[int, ...]
    spread: int
    moved: tuple[int, ...]

    @property
    def are_met(self) -> tuple[bool, ...]:
        """By wish, is it met?"""
        return tuple(not missed for missed in self.misses)


def grant(
    plan: Plan,
    wishes: Sequence[Wish],
    *,
    order: Sequence[int] = (),
    seeding: Seeding | None = None,
    steps: int = USUAL_STEPS,
) -> Granted:
    """The plan with drivers on each other's places so that as many wishes are met as the search finds.

    Hard wishes come first, then soft ones, by the heats in which they are not kept; then seeding.
    order: every driver, the fastest first, where seeding is asked for. steps: of the search, 0 or more, one being
    one exchange tried. The plan's seed and the same arguments give the same places on any machine.
    Raises DrawError (bad_wish, bad_steps).
    """
    _check(plan, wishes, order, seeding, steps)
    search = _Search(plan, wishes, order, seeding)
    who = search.run(steps)
    heats = tuple(tuple(None if place is None else who[place - 1] + 1 for place in heat) for heat in plan.heats)
    return Granted(
        plan=replace(plan, heats=heats),
        misses=tuple(search.missed(number, who) for number in range(len(wishes))),
        spread=search.spread(who),
        moved=tuple(driver + 1 for driver in who),
    )


def _check(plan: Plan, wishes: Sequence[Wish], order: Sequence[int], seeding: Seeding | None, steps: int) -> None:
    if steps < 0:
        raise DrawError("bad_steps", f"A search takes 0 steps or more, not {steps}.", steps=steps)
    most = {Kind.APART: plan.drivers, Kind.FIRST_LANE: plan.lanes}
    for wish in wishes:
        # A heat after the last is a wish too, if one that cannot be met or that is met anyway.
        highest = most.get(wish.kind, wish.value)
        is_apart_from_himself = wish.kind is Kind.APART and wish.value == wish.driver
        if not 1 <= wish.driver <= plan.drivers or not 1 <= wish.value <= highest or is_apart_from_himself:
            message = f"A wish names a driver, heat or lane of the draw; this one is {wish.driver}, {wish.value}."
            raise DrawError("bad_wish", message, driver=wish.driver, value=wish.value)
    if (seeding is not None or order) and sorted(order) != list(range(1, plan.drivers + 1)):
        message = f"Seeding needs every driver from 1 to {plan.drivers} once, the fastest first."
        raise DrawError("bad_wish", message, order=tuple(order))


class _Search:
    """Places and drivers count from 0 here; `who` is by place the driver who takes it."""

    def __init__(self, plan: Plan, wishes: Sequence[Wish], order: Sequence[int], seeding: Seeding | None) -> None:
        self.wishes = wishes
        self.drivers = plan.drivers
        self.chance = Chance(plan.seed)
        self.runs: list[list[int]] = [[] for _ in range(plan.drivers)]
        self.first_lane = [0] * plan.drivers
        self.met = [[0] * plan.drivers for _ in range(plan.drivers)]
        for heat, row in enumerate(plan.heats, start=1):
            there = [(lane, place - 1) for lane, place in enumerate(row, start=1) if place is not None]
            for lane, place in there:
                if not self.runs[place]:
                    self.first_lane[place] = lane
                self.runs[place].append(heat)
                for _lane, other in there:
                    self.met[place][other] += place != other
        self.rank = [0] * plan.drivers
        for place, driver in enumerate(order):
            self.rank[driver - 1] = place
        self.sign = {None: 0, Seeding.APART: 1, Seeding.MIXED: -1}[seeding]
        self.price = [_HARD if wish.is_hard else _SOFT for wish in wishes]

    def missed(self, number: int, who: Sequence[int]) -> int:
        """In how many heats a wish is not kept."""
        wish = self.wishes[number]
        place = who.index(wish.driver - 1)
        if wish.kind is Kind.NOT_BEFORE:
            return sum(heat < wish.value for heat in self.runs[place])
        if wish.kind is Kind.NOT_AFTER:
            return sum(heat > wish.value for heat in self.runs[place])
        if wish.kind is Kind.APART:
            return self.met[place][who.index(wish.value - 1)]
        return int(self.first_lane[place] != wish.value)

    def spread(self, who: Sequence[int]) -> int:
        """The distance in rank of every two who are in a heat together, summed over all heats."""
        return sum(
            self.met[one][other] * abs(self.rank[who[one]] - self.rank[who[other]])
            for one in range(self.drivers)
            for other in range(one)
        )

    def wished(self, who: Sequence[int]) -> int:
        """What the wishes cost that are not met."""
        return sum(price * self.missed(number, who) for number, price in enumerate(self.price))

    def run(self, steps: int) -> list[int]:
        """The best places met on the way."""
        who = list(range(self.drivers))
        cost = self.wished(who)
        seeded = self.sign * self.spread(who)
        best, best_cost = list(who), (cost, seeded)
        patience = _PATIENCE * self.drivers
        stale = 0
        for _ in range(steps):
            if not best_cost[0] and not self.sign:
                break
            one, other = self.chance.below(self.drivers), self.chance.below(self.drivers)
            change = self.sign * self._spread_change(who, one, other) if self.sign else 0
            who[one], who[other] = who[other], who[one]
            new = self.wished(who)
            if (new, seeded + change) <= (cost, seeded):
                stale = 0 if (new, change) < (cost, 0) else stale + 1
                cost, seeded = new, seeded + change
                if (cost, seeded) < best_cost:
                    best, best_cost = list(who), (cost, seeded)
            else:
                who[one], who[other] = who[other], who[one]
                stale += 1
            if stale > patience:
                who = self._shaken(best)
                cost, seeded, stale = self.wished(who), self.sign * self.spread(who), 0
        return best

    def _shaken(self, best: Sequence[int]) -> list[int]:
        """The best places with some drivers exchanged by lot, to get out of where no single exchange helps."""
        who = list(best)
        for _ in range(2 + self.chance.below(4)):
            one, other = self.chance.below(self.drivers), self.chance.below(self.drivers)
            who[one], who[other] = who[other], who[one]
        return who

    def _spread_change(self, who: Sequence[int], one: int, other: int) -> int:
        """By how much the spread grows when two change places."""
        if one == other:
            return 0
        a, b = self.rank[who[one]], self.rank[who[other]]
        at_one, at_other = self.met[one], self.met[other]
        return sum(
            (at_one[z] - at_other[z]) * (abs(b - rank) - abs(a - rank))
            for z, rank in enumerate([self.rank[driver] for driver in who])
            if z not in (one, other)
        )
