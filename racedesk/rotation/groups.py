"""Split a field into groups that race one after the other, each its own rotation.

Sizes and orders are common practice of club rules: as few groups as a limit allows, as even as can be, the groups
of slow drivers short first; the top group last on some nights and first on others.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from racedesk.rotation.balance import Balance, balance
from racedesk.rotation.chance import shuffled
from racedesk.rotation.draw import draw
from racedesk.rotation.errors import DrawError
from racedesk.rotation.plan import Plan, Preset

Groups = tuple[tuple[int, ...], ...]
"""By group, the fastest first, the numbers of its drivers."""


class Split(StrEnum):
    """How a field is split."""

    APART = "apart"
    """By ability: the fastest together, then the next."""
    MIXED = "mixed"
    """Each group has fast and slow ones: dealt out to and fro, the fastest one to each group first."""
    LOT = "lot"
    """By lot."""


def group_sizes(drivers: int, *, most: int) -> tuple[int, ...]:
    """Sizes of the groups, from the fastest group to the slowest: as few groups as can be, as even as can be.

    drivers: 2 or more. most: of a group, 2 or more; lanes + 1 is common. Where they cannot be alike the groups of
    the slow ones have one fewer. No group has fewer than two.
    Raises DrawError (too_few_drivers, bad_groups).
    """
    if drivers < 2:
        raise DrawError("too_few_drivers", f"A draw needs at least 2 drivers, not {drivers}.", drivers=drivers)
    if most < 2:
        raise DrawError("bad_groups", f"A group has at least 2 drivers, not {most}.", most=most)
    count = -(-drivers // most)
    size, more = divmod(drivers, count)
    if size < 2:
        message = f"{drivers} drivers do not make groups of 2 to {most}."
        raise DrawError("bad_groups", message, drivers=drivers, most=most)
    return tuple(size + (number < more) for number in range(count))


def split(order: Sequence[int], *, sizes: Sequence[int], how: Split, seed: int) -> Groups:
    """Who is in which group.

    order: the drivers' numbers, the fastest first; for Split.LOT any order, as the seed decides. sizes: of the
    groups, from the fastest; together as many as there are drivers.
    Raises DrawError (bad_groups).
    """
    _check(order, sizes)
    if how is Split.MIXED:
        return _dealt(order, sizes)
    places = list(order) if how is Split.APART else shuffled(seed, sorted(order))
    ends = [sum(sizes[: number + 1]) for number in range(len(sizes))]
    return tuple(tuple(places[end - size : end]) for end, size in zip(ends, sizes, strict=True))


def _check(order: Sequence[int], sizes: Sequence[int]) -> None:
    if sum(sizes) != len(order) or len(set(order)) != len(order) or min(sizes, default=0) < 2:
        message = f"{len(order)} drivers, each once, do not fill groups of {list(sizes)}, each of 2 or more."
        raise DrawError("bad_groups", message, drivers=len(order), sizes=tuple(sizes))


def _dealt(order: Sequence[int], sizes: Sequence[int]) -> Groups:
    """To and fro over the groups that have room, so that the sums of the places come out nearly alike."""
    groups: list[list[int]] = [[] for _ in sizes]
    there = list(range(len(sizes)))
    turn: list[int] = []
    for driver in order:
        while True:
            if not turn:
                turn, there = list(there), there[::-1]
            group = turn.pop(0)
            if len(groups[group]) < sizes[group]:
                groups[group].append(driver)
                break
    return tuple(tuple(group) for group in groups)


@dataclass(frozen=True, slots=True)
class GroupPlan:
    """The rotations of all groups as one plan of the night, numbered on from group to group.

    groups: in the order in which they race. first_heats: the number of each group's first heat, from 1.
    """

    plan: Plan
    groups: Groups
    first_heats: tuple[int, ...]

    def balances(self) -> tuple[Balance, ...]:
        """How fair each group's rotation is for itself; its driver 1 is the first of the group."""
        return tuple(balance(own) for own in self.own_plans())

    def own_plans(self) -> tuple[Plan, ...]:
        """Each group's rotation for itself, its drivers numbered from 1 in the group's order."""
        ends = (*(first - 1 for first in self.first_heats[1:]), len(self.plan.heats))
        plans = []
        for group, first, end in zip(self.groups, self.first_heats, ends, strict=True):
            places = {driver: place for place, driver in enumerate(group, start=1)}
            heats = self.plan.heats[first - 1 : end]
            rows = tuple(tuple(None if who is None else places[who] for who in heat) for heat in heats)
            plans.append(replace(self.plan, drivers=len(group), heats=rows))
        return tuple(plans)


def draw_groups(
    groups: Groups,
    *,
    lanes: int,
    preset: Preset,
    seed: int,
    lane_order: Sequence[int] | None = None,
    top_last: bool = True,
    steps: int | None = None,
) -> GroupPlan:
    """A rotation for each group, one group after the other.

    groups: the fastest first; drivers' numbers are 1 to all of them, each in one group. top_last: the slowest group
    races first and the fastest last, else the other way round. The rest as `draw`, whose seed is counted up by one
    from group to group so that places are drawn by lot anew.
    Raises DrawError, with bad_groups where the groups are no split of the field.
    """
    field = sorted(driver for group in groups for driver in group)
    if not groups or field != list(range(1, len(field) + 1)) or min(map(len, groups)) < 2:
        message = "Groups of 2 or more are a split of the drivers 1 to all, each in one of them."
        raise DrawError("bad_groups", message, groups=len(groups))
    running = groups[::-1] if top_last else groups
    heats: list[tuple[int | None, ...]] = []
    first_heats = []
    plans = []
    for number, group in enumerate(running):
        own = draw(
            drivers=len(group), lanes=lanes, preset=preset, seed=seed + number, lane_order=lane_order, steps=steps
        )
        plans.append(own)
        first_heats.append(len(heats) + 1)
        heats += [tuple(None if who is None else group[who - 1] for who in heat) for heat in own.heats]
    plan = replace(plans[0], drivers=len(field), seed=seed, steps=max(own.steps for own in plans), heats=tuple(heats))
    return GroupPlan(plan, running, tuple(first_heats))


def top_races_last(month: int) -> bool:
    """The habit of clubs that take turns: the top group last in even months and first in odd ones."""
    return month % 2 == 0
