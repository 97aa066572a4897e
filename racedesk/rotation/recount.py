"""Count a rotation from its bare heats, by other means than those that make and report it, to check them.

Nothing here is shared with the rest of the package: a driver is a bit, a heat a number with those bits set, and how
often two drivers meet is how many heats have both bits.
"""

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Recount:
    """problems: why this is no rotation, in English; empty where it is one. The others as in `Balance`."""

    problems: tuple[str, ...]
    meetings_min: int
    meetings_max: int
    sum_of_squares: int
    bound: int
    never_meet: int
    back_to_back: int
    longest_wait: int
    neighbors_min: int
    neighbors_max: int


def recount(heats: Sequence[Sequence[int | None]], *, drivers: int, lanes: int) -> Recount:
    """Count a rotation of drivers 1 to `drivers` (2 or more), everybody on every lane once; None is an empty lane."""
    lane_sets = [0] * lanes
    problems = []
    if len(heats) != max(drivers, lanes):
        problems.append(f"{len(heats)} heats")
    # One number a driver, with a bit for every heat, and one a driver and lane.
    in_heats = [0] * (drivers + 1)
    on_lane = [[0] * (lanes + 2) for _ in range(drivers + 1)]
    for number, heat in enumerate(heats):
        seen = 0
        if len(heat) != lanes:
            problems.append(f"heat {number + 1} has {len(heat)} lanes")
            continue
        for lane in range(lanes):
            driver = heat[lane]
            if driver is None:
                continue
            if not 0 < driver <= drivers or seen >> driver & 1 or lane_sets[lane] >> driver & 1:
                problems.append(f"driver {driver} in heat {number + 1} on lane {lane + 1}")
                continue
            seen |= 1 << driver
            lane_sets[lane] |= 1 << driver
            in_heats[driver] |= 1 << number
            on_lane[driver][lane + 1] |= 1 << number
    everyone = (1 << (drivers + 1)) - 2
    problems += [f"not everybody drives lane {lane + 1}" for lane in range(lanes) if lane_sets[lane] != everyone]
    met, beside = [], []
    for one in range(2, drivers + 1):
        for other in range(1, one):
            met.append((in_heats[one] & in_heats[other]).bit_count())
            theirs = on_lane[other]
            beside.append(
                sum(
                    (own & (theirs[lane - 1] | theirs[lane + 1])).bit_count()
                    for lane, own in enumerate(on_lane[one])
                    if own
                )
            )
    size = min(drivers, lanes)
    floor, more = divmod(max(drivers, lanes) * size * (size - 1), drivers * (drivers - 1))
    pairs_above = more // 2
    return Recount(
        problems=tuple(problems),
        meetings_min=min(met),
        meetings_max=max(met),
        sum_of_squares=sum(times * times for times in met),
        # floor^2 for every pair, and 2 floor + 1 more for each that meets once more often.
        bound=len(met) * floor * floor + pairs_above * (2 * floor + 1),
        never_meet=met.count(0),
        back_to_back=sum((heats_of & heats_of >> 1).bit_count() for heats_of in in_heats),
        longest_wait=max((_longest_hole(heats_of) for heats_of in in_heats), default=0),
        neighbors_min=min(beside),
        neighbors_max=max(beside),
    )


def _longest_hole(heats_of: int) -> int:
    """The longest row of zeros between two ones."""
    return max(map(len, f"{heats_of:b}".strip("0").split("1")), default=0)
