"""End a night early and fairly: everybody drives equally often, as often as the heats that fit allow.

Which runs are driven is a flow from drivers to lanes (Ford and Fulkerson 1956): each driver has so many left, each
lane one a heat. By König (1916) such runs then fit into so many heats.
"""

from collections import Counter, defaultdict
from dataclasses import dataclass

from racedesk.rotation.errors import RedrawError
from racedesk.rotation.redraw import Run, State, check_state

Shares = dict[int, Counter[int]]
"""Of each driver, how often on which lane; or of each lane, how often which driver."""


@dataclass(frozen=True, slots=True)
class Shorter:
    """What fits. runs_each: how often everybody who goes on has driven in the end, heats run included; who has driven
    more often already, or had less to drive, keeps that. In one round this is the number of lanes.
    left_out: the runs that are not driven, by driver and lane; one that is left out twice stands there twice.
    """

    runs_each: int
    left_out: tuple[Run, ...]


def what_fits(state: State, *, heats: int) -> Shorter:
    """The most runs for everybody alike that so many heats more allow. Lanes that are out are not driven anyway.

    heats: 0 or more. Raises RedrawError, with bad_heats where it is fewer.
    """
    check_state(state)
    if heats < 0:
        raise RedrawError("bad_heats", f"No fewer than 0 heats fit, not {heats}.", heats=heats)
    missing: Shares = {driver: Counter() for driver in state.going_on()}
    for driver, lane in state.missing():
        if lane not in state.lanes_out:
            missing[driver][lane] += 1
    done: Counter[int] = Counter()
    for (driver, _lane), times in state.driven().items():
        done[driver] += times
    for each in range(state.lanes * state.rounds, 0, -1):
        wanted = {driver: max(0, min(lanes.total(), each - done[driver])) for driver, lanes in missing.items()}
        chosen = _flow(missing, wanted, heats=heats)
        if chosen is not None:
            return _shorter(each, missing, chosen)
    return _shorter(0, missing, {driver: Counter() for driver in missing})


def _shorter(each: int, missing: Shares, chosen: Shares) -> Shorter:
    left = [(driver, lane) for driver, lanes in missing.items() for lane in (lanes - chosen[driver]).elements()]
    return Shorter(each, tuple(sorted(left)))


def _flow(missing: Shares, wanted: dict[int, int], *, heats: int) -> Shares | None:
    """Lanes for each driver, as many as wanted and no lane more often than heats; None where there are none."""
    if max(wanted.values(), default=0) > heats:
        return None
    chosen: Shares = {driver: Counter() for driver in missing}
    holders: Shares = defaultdict(Counter)
    for driver in missing:
        for _ in range(wanted[driver]):
            if not _give(driver, missing, chosen, holders, heats=heats):
                return None
    return chosen


def _give(driver: int, missing: Shares, chosen: Shares, holders: Shares, *, heats: int) -> bool:
    """One run more for this driver; others change lanes for it if need be. The emptiest lanes are taken first."""
    came_from: dict[int, tuple[int, int]] = {}
    seen = {driver}
    waiting = [driver]
    for who in waiting:
        for lane in sorted(missing[who], key=lambda each: (holders[each].total(), each)):
            if chosen[who][lane] >= missing[who][lane] or lane in came_from:
                continue
            came_from[lane] = (who, lane)
            if holders[lane].total() < heats:
                _hand_over(lane, driver, came_from, chosen, holders)
                return True
            for holder in sorted(set(+holders[lane]) - seen):
                seen.add(holder)
                came_from[-holder] = (who, lane)
                waiting.append(holder)
    return False


def _hand_over(lane: int, driver: int, came_from: dict[int, tuple[int, int]], chosen: Shares, holders: Shares) -> None:
    """Walk the chain back: each takes the free lane and lets go the one for which he was asked."""
    free = lane
    who = came_from[free][0]
    while True:
        chosen[who][free] += 1
        holders[free][who] += 1
        if who == driver:
            return
        asker, given = came_from[-who]
        chosen[who][given] -= 1
        holders[given][who] -= 1
        who, free = asker, given
