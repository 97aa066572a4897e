"""Draw one rotation: everybody drives every lane exactly once, in the fewest heats."""

from collections.abc import Collection, Sequence
from typing import Final

from racedesk.rotation.blocks import best_block, usual_steps
from racedesk.rotation.chance import shuffled
from racedesk.rotation.designs import find_design
from racedesk.rotation.errors import DrawError
from racedesk.rotation.order import checked_lane_order, odd_up_even_down
from racedesk.rotation.partial import partial_rotation
from racedesk.rotation.plan import Plan, Preset
from racedesk.rotation.rounds import repeated

MOST_DRIVERS: Final = 500
MOST_LANES: Final = 32
LARGEST_SEED: Final = 2**63 - 1
MOST_ROUNDS: Final = 20


def draw(
    *,
    drivers: int,
    lanes: int,
    preset: Preset = Preset.OPPONENTS,
    seed: int,
    lane_order: Sequence[int] | None = None,
    by_lot: bool = True,
    steps: int | None = None,
    rounds: int = 1,
    lanes_each: int | None = None,
    empty: Collection[int] = (),
) -> Plan:
    """Draw a rotation of max(drivers, lanes) heats in which everybody drives every lane exactly once.

    drivers: 2 to 500. lanes: 1 to 32. seed: 0 to 2**63 - 1; it decides by lot which driver takes which place
    in the rotation, and nothing else, so the balance of a draw does not hang on its seed.
    lane_order: the order in which a driver works through the lanes in the usual preset and wherever there are
    no more drivers than lanes; odd up and even down unless given. The other presets choose their own lanes.
    by_lot: False puts driver 1 in the first place, driver 2 in the second and so on.
    steps: the budget of the search, one step being one number tried in the base block, 1 or more; `usual_steps`
    unless given. With the usual budget a size of the shipped table is taken from there (see `designs`) and
    nothing is searched. The same arguments give the same plan on any machine.

    rounds: 1 to 20 rotations on end (see `repeated`). lanes_each: everybody drives so many of the lanes a round, in
    the fewest heats, lanes shared out within one (see `partial_rotation`); 1 to the lanes in use, all unless
    given. empty: lanes that stay empty by choice; the others are drawn as if there were no more.

    With no more drivers than lanes every pair meets in every heat, whatever the preset, and the odd-up,
    even-down order puts every pair side by side exactly twice (Williams 1949). With more, the usual preset is a
    queue: the first drivers of the queue fill the lanes, and at each change one comes in at the first lane of
    the order, everybody moves on by one place and one goes out. The others come from the table or `best_block`.

    Raises DrawError.
    """
    budget = usual_steps(drivers=drivers) if steps is None else steps
    _check(drivers=drivers, lanes=lanes, seed=seed, steps=budget)
    order = odd_up_even_down(lanes) if lane_order is None else checked_lane_order(lane_order, lanes=lanes)
    used = _used_lanes(lanes, empty)
    each = _each(lanes_each, used=len(used), rounds=rounds)
    # A partial rotation and later rounds know nothing of lane numbers: lanes in use count on from 0.
    own_order = tuple(used.index(lane) + 1 for lane in order if lane in used)
    if each is None:
        places = _round(drivers, own_order, preset, steps=budget)
    else:
        places = partial_rotation(drivers=drivers, lanes=len(used), lanes_each=each, preset=preset, steps=steps)
    places = repeated(places, drivers=drivers, rounds=rounds, mixes=preset is Preset.OPPONENTS)
    numbers = range(1, drivers + 1)
    who = shuffled(seed, numbers) if by_lot else list(numbers)
    return Plan(
        drivers=drivers,
        lanes=lanes,
        preset=preset,
        seed=seed,
        steps=budget,
        lane_order=order,
        by_lot=by_lot,
        heats=tuple(_on_track(row, who, used, lanes) for row in places),
        rounds=rounds,
        lanes_each=each,
        empty=tuple(lane for lane in range(1, lanes + 1) if lane not in used),
    )


def _round(drivers: int, order: tuple[int, ...], preset: Preset, *, steps: int) -> list[list[int | None]]:
    if drivers <= len(order):
        return _zigzag(drivers, order)
    if preset is Preset.USUAL:
        return _queue(drivers, order)
    return _evenly(drivers, len(order), rest=preset is Preset.REST, steps=steps)


def _on_track(row: Sequence[int | None], who: Sequence[int], used: Sequence[int], lanes: int) -> tuple[int | None, ...]:
    """A heat by the lanes of the track, places turned into the drivers who took them by lot."""
    heat: list[int | None] = [None] * lanes
    for lane, place in zip(used, row, strict=True):
        heat[lane - 1] = None if place is None else who[place]
    return tuple(heat)


def _used_lanes(lanes: int, empty: Collection[int]) -> tuple[int, ...]:
    used = tuple(lane for lane in range(1, lanes + 1) if lane not in empty)
    if len(used) != lanes - len(set(empty)) or not used:
        message = f"Lanes left empty are lanes of the track, 1 to {lanes}, and at least one is driven on."
        raise DrawError("bad_empty", message, empty=tuple(empty), lanes=lanes)
    return used


def _each(lanes_each: int | None, *, used: int, rounds: int) -> int | None:
    if not 1 <= rounds <= MOST_ROUNDS:
        raise DrawError("bad_rounds", f"A draw has 1 to {MOST_ROUNDS} rounds, not {rounds}.", rounds=rounds)
    if lanes_each is not None and not 1 <= lanes_each <= used:
        message = f"Everybody drives 1 to {used} lanes, not {lanes_each}."
        raise DrawError("bad_lanes_each", message, lanes_each=lanes_each, most=used)
    return None if lanes_each == used else lanes_each


def _check(*, drivers: int, lanes: int, seed: int, steps: int) -> None:
    if drivers < 2:
        raise DrawError("too_few_drivers", f"A draw needs at least 2 drivers, not {drivers}.", drivers=drivers)
    if drivers > MOST_DRIVERS:
        message = f"A draw takes at most {MOST_DRIVERS} drivers, not {drivers}: split them into groups."
        raise DrawError("too_many_drivers", message, drivers=drivers, most=MOST_DRIVERS)
    if lanes < 1:
        raise DrawError("too_few_lanes", f"A track has at least 1 lane, not {lanes}.", lanes=lanes)
    if lanes > MOST_LANES:
        message = f"A draw takes at most {MOST_LANES} lanes, not {lanes}."
        raise DrawError("too_many_lanes", message, lanes=lanes, most=MOST_LANES)
    if not 0 <= seed <= LARGEST_SEED:
        message = f"A seed is a whole number from 0 to {LARGEST_SEED}, not {seed}."
        raise DrawError("bad_seed", message, seed=seed, most=LARGEST_SEED)
    if steps < 1:
        raise DrawError("bad_steps", f"A search needs at least 1 step, not {steps}.", steps=steps)


def _zigzag(drivers: int, order: tuple[int, ...]) -> list[list[int | None]]:
    """Everybody in every heat, one place further along the lane order each time; spare lanes stay empty."""
    lanes = len(order)
    rows: list[list[int | None]] = []
    for heat in range(lanes):
        row: list[int | None] = [None] * lanes
        for driver in range(drivers):
            row[order[(driver + heat) % lanes] - 1] = driver
        rows.append(row)
    return rows


def _queue(drivers: int, order: tuple[int, ...]) -> list[list[int | None]]:
    """One in, one out: in heat t the place p of the lane order holds driver (lanes - 1 - p + t) of the queue."""
    lanes = len(order)
    block = [0] * lanes
    for place, lane in enumerate(order):
        block[lane - 1] = lanes - 1 - place
    return _developed(block, drivers)


def _evenly(drivers: int, lanes: int, *, rest: bool, steps: int) -> list[list[int | None]]:
    design = find_design(drivers=drivers, lanes=lanes) if steps == usual_steps(drivers=drivers) else None
    if design is None:
        return _developed(best_block(drivers=drivers, lanes=lanes, rest=rest, steps=steps), drivers)
    return _developed(design.rest, drivers) if rest else [list(heat) for heat in design.heats]


def _developed(block: Sequence[int], drivers: int) -> list[list[int | None]]:
    """The heats of a base block: in heat t, lane l holds driver (block[l] + t) modulo the drivers."""
    return [[(number + heat) % drivers for number in block] for heat in range(drivers)]
