"""End a night early and fairly: everybody drives the same number of lanes, as many as the heats that fit allow.

Which runs are driven is a flow from drivers to lanes (Ford and Fulkerson 1956): each driver has so many left, each
lane one a heat. By König (1916) such runs then fit into so many heats.
"""

from collections import defaultdict
from dataclasses import dataclass

from racedesk.rotation.errors import RedrawError
from racedesk.rotation.redraw import Run, State, check_state


@dataclass(frozen=True, slots=True)
class Shorter:
    """What fits. lanes_each: how many lanes everybody who goes on has driven in the end, those run included; who has
    driven more already, or had fewer to drive, keeps that. left_out: the runs that are not driven, by driver and lane.
    """

    lanes_each: int
    left_out: tuple[Run, ...]


def what_fits(state: State, *, heats: int) -> Shorter:
    """The most lanes for everybody alike that so many heats more allow. Lanes that are out are not driven anyway.

    heats: 0 or more. Raises RedrawError, with bad_heats where it is fewer.
    """
    check_state(state)
    if heats < 0:
        raise RedrawError("bad_heats", f"No fewer than 0 heats fit, not {heats}.", heats=heats)
    missing: dict[int, list[int]] = {driver: [] for driver in state.going_on()}
    done = dict.fromkeys(missing, state.lanes)
    for driver, lane in state.missing():
        done[driver] -= 1
        if lane not in state.lanes_out:
            missing[driver].append(lane)
    for total in range(state.lanes, 0, -1):
        wanted = {driver: max(0, min(len(lanes), total - done[driver])) for driver, lanes in missing.items()}
        chosen = _flow(missing, wanted, heats=heats)
        if chosen is not None:
            return _shorter(total, missing, chosen)
    return _shorter(0, missing, {driver: set() for driver in missing})


def _shorter(total: int, missing: dict[int, list[int]], chosen: dict[int, set[int]]) -> Shorter:
    left = [(driver, lane) for driver, lanes in missing.items() for lane in lanes if lane not in chosen[driver]]
    return Shorter(total, tuple(sorted(left)))


def _flow(missing: dict[int, list[int]], wanted: dict[int, int], *, heats: int) -> dict[int, set[int]] | None:
    """Lanes for each driver, as many as wanted and no lane more often than heats; None where there are none."""
    if max(wanted.values(), default=0) > heats:
        return None
    chosen: dict[int, set[int]] = {driver: set() for driver in missing}
    holders: dict[int, set[int]] = defaultdict(set)
    for driver in missing:
        for _ in range(wanted[driver]):
            if not _give(driver, missing, chosen, holders, heats=heats):
                return None
    return chosen


def _give(
    driver: int,
    missing: dict[int, list[int]],
    chosen: dict[int, set[int]],
    holders: dict[int, set[int]],
    *,
    heats: int,
) -> bool:
    """One lane more for this driver; others change lanes for it if need be. The emptiest lanes are taken first."""
    came_from: dict[int, tuple[int, int]] = {}
    seen = {driver}
    waiting = [driver]
    for who in waiting:
        for lane in sorted(missing[who], key=lambda each: (len(holders[each]), each)):
            if lane in chosen[who] or lane in came_from:
                continue
            came_from[lane] = (who, lane)
            if len(holders[lane]) < heats:
                _hand_over(lane, driver, came_from, chosen, holders)
                return True
            for holder in sorted(holders[lane] - seen):
                seen.add(holder)
                came_from[-holder] = (who, lane)
                waiting.append(holder)
    return False


def _hand_over(
    lane: int,
    driver: int,
    came_from: dict[int, tuple[int, int]],
    chosen: dict[int, set[int]],
    holders: dict[int, set[int]],
) -> None:
    """Walk the chain back: each takes the free lane and lets go the one for which he was asked."""
    free = lane
    who = came_from[free][0]
    while True:
        chosen[who].add(free)
        holders[free].add(who)
        if who == driver:
            return
        asker, given = came_from[-who]
        chosen[who].remove(given)
        holders[given].remove(who)
        who, free = asker, given
