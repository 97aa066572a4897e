"""How a row of the shipped table is made: cyclic where that meets the bound, else built or by a walk."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from racedesk.rotation.balance import least_sum_of_squares
from racedesk.rotation.blocks import Block, best_block, block_merit, spread_over_lanes, usual_steps
from racedesk.rotation.cyclic import best_even_block
from racedesk.rotation.designs import Design, Status
from racedesk.rotation.orbits import Heats, Recipe, can_turn, walk
from racedesk.rotation.order import odd_up_even_down
from racedesk.rotation.proofs import unreachable_by
from racedesk.rotation.seating import beside_squares, excess_of, in_good_order, with_lanes, with_turned_lanes
from racedesk.rotation.symmetric import symmetric_design
from racedesk.rotation.thinning import thinned

NODES: Final = 100_000
_ORDER_STEPS: Final = 6_000
_LANE_STEPS: Final = 12_000
_LANE_TRIES: Final = 400
_HEATS_OF_A_SOURCE: Final = 8
"""A walk may start from a rotation with up to so many drivers more or fewer."""


@dataclass(frozen=True, slots=True)
class Search:
    """What may be spent on a size.

    nodes: numbers tried in looking at all cyclic blocks. seeds: walks for each symmetry and start beside the
    known recipe, each of `steps` steps, from first_seed on.
    """

    nodes: int = NODES
    seeds: int = 0
    first_seed: int = 1
    steps: int = 1_000_000


def make_design(*, drivers: int, lanes: int, known: str = "", search: Search) -> Design:
    """Make the row of a size. known: the `made` of a row that stands, whose recipe is followed first.

    drivers: lanes to 60. lanes: 2 or more.
    """
    rest = _searched(drivers, lanes, rest=True)
    if drivers == lanes:
        return _row(drivers, lanes, rest, block=rest, made="search", is_complete=True)
    block = _searched(drivers, lanes, rest=False)
    merit = block_merit(block, drivers=drivers)
    if merit.excess == 0:
        found, is_complete = best_even_block(drivers=drivers, lanes=lanes, nodes=search.nodes)
        if found and block_merit(found, drivers=drivers).rank(rest=False) < merit.rank(rest=False):
            block = spread_over_lanes(found, drivers)
        return _row(drivers, lanes, rest, block=block, made="search", is_complete=is_complete)
    built = _built(drivers, lanes)
    if built is not None:
        ordered = in_good_order(built[0], steps=_ORDER_STEPS)
        return _row(drivers, lanes, rest, heats=with_lanes(ordered, lanes=lanes, steps=_LANE_STEPS), made=built[1])
    best: tuple[int, Heats, str] = (merit.excess, (), "search")
    for recipe in _recipes(drivers, lanes, known, search):
        source = _source(recipe.source, lanes) if recipe.source else ()
        heats, excess = walk(recipe, drivers=drivers, lanes=lanes, source=source)
        if excess < best[0]:
            best = (excess, heats, recipe.written())
        if excess == 0:
            break
    if not best[1]:
        return _row(drivers, lanes, rest, block=block, made="search")
    ordered = in_good_order(best[1], steps=_ORDER_STEPS)
    return _row(drivers, lanes, rest, heats=_seated(ordered, lanes, Recipe.read(best[2])), made=best[2])


def _seated(heats: list[tuple[int, ...]], lanes: int, recipe: Recipe) -> list[tuple[int, ...]]:
    plans = [with_lanes(heats, lanes=lanes, steps=_LANE_STEPS)]
    if recipe.order > lanes and not recipe.fixed:
        plans.append(with_turned_lanes(heats, lanes=lanes, order=recipe.order, tries=_LANE_TRIES))
    return min(plans, key=beside_squares)


def better_of(one: Design | None, other: Design) -> Design:
    """The more even of two rows of a size; the first where they are alike."""
    return one if one is not None and one.reached <= other.reached else other


def _searched(drivers: int, lanes: int, *, rest: bool) -> Block:
    if drivers == lanes:
        # Everybody in every heat: the zig-zag, which puts every pair side by side twice (Williams 1949).
        block = [0] * lanes
        for place, lane in enumerate(odd_up_even_down(lanes)):
            block[lane - 1] = -place % lanes
        return tuple(block)
    return best_block(drivers=drivers, lanes=lanes, rest=rest, steps=usual_steps(drivers=drivers))


def _source(drivers: int, lanes: int) -> Heats:
    """The heats of a rotation at the bound that another size's walk starts from, in an order of their own."""
    block = _searched(drivers, lanes, rest=False)
    if block_merit(block, drivers=drivers).excess == 0:
        return tuple(tuple(sorted((number + heat) % drivers for number in block)) for heat in range(drivers))
    recipe = STARTS.get((drivers, lanes))
    if recipe is None:
        return ()
    return walk(recipe, drivers=drivers, lanes=lanes)[0]


STARTS: Final = {
    (40, 7): Recipe(order=20, fixed=0, hot=45_000, cold=6_000, steps=1_000_000, seed=1),
    (45, 7): Recipe(order=15, fixed=0, hot=45_000, cold=6_000, steps=1_000_000, seed=3),
    (36, 9): Recipe(order=6, fixed=0, hot=45_000, cold=6_000, steps=1_000_000, seed=34),
}
"""Recipes of rotations at the bound that are not cyclic and that walks of other sizes start from."""


SYMMETRIC: Final = {(31, 10): (3, 2)}
"""Sizes whose symmetric design is found at once under a symmetry of this order with this seed; see `symmetric`."""

THINNED: Final = {(23, 10): (5, 300_000)}
"""Sizes that are most even as the rotation of one lane more without that lane: seed and steps; see `thinning`."""


def _built(drivers: int, lanes: int) -> tuple[Heats, str] | None:
    """The heats of a size that is neither cyclic nor comes of a walk from nothing, and how they were made."""
    if (drivers, lanes) in SYMMETRIC:
        order, seed = SYMMETRIC[drivers, lanes]
        design = symmetric_design(points=drivers, block=lanes, order=order, seed=seed, tables=1)
        return None if design is None else (design, f"symmetric,{order},{seed}")
    if (drivers, lanes) in THINNED:
        seed, steps = THINNED[drivers, lanes]
        block = _searched(drivers, lanes + 1, rest=False)
        heats = [tuple((number + heat) % drivers for number in block) for heat in range(drivers)]
        return thinned(heats, drivers=drivers, seed=seed, steps=steps), f"thinned,{seed},{steps}"
    return None


def _recipes(drivers: int, lanes: int, known: str, search: Search) -> Iterator[Recipe]:
    if known[:1].isdigit():
        yield Recipe.read(known)
    ways = [
        (order, fixed, 0)
        for order in range(1, drivers)
        for fixed in (0, 1)
        if order < drivers - fixed and can_turn(drivers=drivers, lanes=lanes, order=order, fixed=fixed)
    ]
    for seed in range(search.first_seed, search.first_seed + search.seeds):
        for order, fixed, source in ways:
            for hot, cold in ((45_000, 6_000), (30_000, 3_000), (20_000, 1_500)):
                yield Recipe(order, fixed, hot, cold, search.steps, seed, source)
        for near in range(max(lanes + 1, drivers - _HEATS_OF_A_SOURCE), drivers + _HEATS_OF_A_SOURCE):
            if near != drivers and _source(near, lanes):
                for hot, cold in ((4_000, 500), (1_500, 300), (500, 100)):
                    yield Recipe(1, 0, hot, cold, search.steps, seed, near)


def _row(
    drivers: int,
    lanes: int,
    rest: Block,
    *,
    made: str,
    block: Block = (),
    heats: list[tuple[int, ...]] | None = None,
    is_complete: bool = False,
) -> Design:
    all_heats = (
        tuple(tuple((number + heat) % drivers for number in block) for heat in range(drivers))
        if heats is None
        else tuple(heats)
    )
    pairs = drivers * (drivers - 1) // 2
    bound = least_sum_of_squares(meetings=drivers * lanes * (lanes - 1) // 2, pairs=pairs)
    excess = excess_of(all_heats, drivers=drivers)
    argument = unreachable_by(drivers=drivers, lanes=lanes) if excess else None
    status = Status.OPTIMAL if excess == 0 else Status.UNREACHABLE if argument else Status.OPEN
    return Design(
        drivers=drivers,
        lanes=lanes,
        bound=bound,
        reached=bound + excess,
        status=status,
        argument=argument,
        block=block,
        heats=all_heats,
        is_complete=is_complete,
        rest=rest,
        made=made,
    )
