"""Draw the heats left of a night again: after a withdrawal, a late joiner, a lane out, a heat to be run again.

What was run stays. What is left is a set of runs, each a driver and a lane, to be dealt to heats so that no heat
has a driver or a lane twice: a coloring of the edges between drivers and lanes, whose least number of heats is
the largest number of runs that a driver or a lane has left (König 1916). That plan stands at once; then it is
improved within a budget of steps, legal at each of them, first for even meetings, then for rest.
"""

from collections import Counter
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, field
from itertools import combinations, pairwise
from typing import Final

from racedesk.rotation.coloring import color_edges, largest_degree
from racedesk.rotation.errors import RedrawError
from racedesk.rotation.exchange import Exchanger
from racedesk.rotation.plan import Plan, Preset

Heat = tuple[int | None, ...]
Run = tuple[int, int]
"""A driver and a lane."""

MOST_ROUNDS: Final = 20
STEPS_A_START: Final = 300_000
"""From here on a search gains more by starting anew than by going on."""


@dataclass(frozen=True, slots=True)
class State:
    """A night as it stands. Drivers have any numbers from 1 on; lanes count from 1; heats from 1.

    lanes: how many lanes the track has. drivers: everybody who was drawn at first or joined since.
    run: the heats that are over, one driver or None a lane; they stay as they are.
    again: which of them do not count, so that their runs are owed again.
    withdrawn: drivers who race no more. excused: runs that are not to be made up, as a club's rule for late
    joiners may have it. lanes_out: lanes that stay out for the night.
    planned: the heats that were to follow, to show what changes; may be empty.

    Wishes that must be met, in heats counted from the first of the night:
    lanes_back: (lane, first heat in which it can be used again). not_before, not_after: (driver, heat).
    apart: pairs who cannot be in a heat together, as they share a car or a controller.
    rest: nobody runs in two heats on end.

    rounds: how often everybody drives each lane. A run may be excused as often.
    """

    lanes: int
    drivers: tuple[int, ...]
    run: tuple[Heat, ...] = ()
    again: tuple[int, ...] = ()
    withdrawn: tuple[int, ...] = ()
    excused: tuple[Run, ...] = ()
    lanes_out: tuple[int, ...] = ()
    planned: tuple[Heat, ...] = ()
    lanes_back: tuple[tuple[int, int], ...] = ()
    not_before: tuple[tuple[int, int], ...] = ()
    not_after: tuple[tuple[int, int], ...] = ()
    apart: tuple[tuple[int, int], ...] = ()
    rest: bool = False
    rounds: int = 1

    @property
    def has_hard_wish(self) -> bool:
        """Does a wish stand that may cost heats?"""
        return bool(self.lanes_back or self.not_before or self.not_after or self.apart or self.rest)

    def going_on(self) -> tuple[int, ...]:
        """The drivers who race on, by number."""
        return tuple(sorted(set(self.drivers) - set(self.withdrawn)))

    def missing(self) -> list[Run]:
        """The runs that those who go on have not driven and are not excused from, lanes out among them.

        One that has to be driven twice stands there twice.
        """
        over = self.driven()
        over.update(self.excused)
        return [
            (driver, lane)
            for driver in self.going_on()
            for lane in range(1, self.lanes + 1)
            for _ in range(self.rounds - over[driver, lane])
        ]

    def driven(self) -> Counter[Run]:
        """How often each run was driven in the heats that count."""
        return Counter(
            (driver, lane)
            for number, heat in enumerate(self.run, start=1)
            if number not in self.again
            for lane, driver in enumerate(heat, start=1)
            if driver is not None
        )


@dataclass(frozen=True, slots=True)
class Change:
    """What changes for a driver. before, after: (heat, lane) of the runs to come, in order; heats of the night."""

    driver: int
    before: tuple[tuple[int, int], ...]
    after: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class Redraw:
    """The heats to come.

    heats: one driver or None a lane, to follow the heats run. fewest: no plan of these runs has fewer heats.
    owed: runs that cannot be driven, on a lane that is out or past the time a driver has to leave.
    meetings: (times, how many pairs of those who go on meet that many times over the whole night).
    deviation: the sum over those pairs of how far they are from the mean rounded down or up.
    back_to_back: runs that follow at once on another, the last heat run counted in.
    seed, steps: what the search was given.
    changes: for everybody for whom something changes; empty where no heats were planned.
    """

    heats: tuple[Heat, ...]
    fewest: int
    owed: tuple[Run, ...]
    meetings: tuple[tuple[int, int], ...]
    deviation: int
    back_to_back: int
    seed: int
    steps: int
    changes: tuple[Change, ...] = field(default=())


def redraw(
    state: State,
    *,
    seed: int = 1,
    steps: int = 0,
    progress: Callable[[int, int], None] | None = None,
) -> Redraw:
    """Plan the heats to come.

    steps: the budget of the search for a better plan, in exchanges tried; 0 gives the first legal plan, in far
    less than a tenth of a second. A better plan is better by even meetings, then by back-to-back runs. From
    600,000 steps on the search starts anew each 300,000 or so, with the next seed, and the best plan is taken.
    progress: told now and then how many of how many steps are done. The same arguments give the same plan on
    any machine.
    Without a wish that must be met the plan has `fewest` heats; with one it may have more.

    Raises RedrawError.
    """
    check_state(state)
    if steps < 0:
        raise RedrawError("bad_steps", f"A search has no fewer than 0 steps, not {steps}.", steps=steps)
    runs = [run for run in state.missing() if run[1] not in state.lanes_out]
    owed = [run for run in state.missing() if run[1] in state.lanes_out]
    rules = Rules(state)
    late: list[Run] = []
    if state.has_hard_wish:
        rows, late = _one_by_one(state, rules, runs)
        owed += late
    else:
        rows = _fewest_heats(state, runs)
    fewest = largest_degree(list((Counter(runs) - Counter(late)).elements()))

    def told(rows: list[list[int]]) -> Redraw:
        return _told(state, rows, fewest=fewest, owed=sorted(owed), seed=seed, steps=steps)

    if not steps or not rows:
        return told(rows)
    begins = range(0, steps, -(-steps // max(steps // STEPS_A_START, 1)))
    found = []
    for number, begin in enumerate(begins):
        share = min(begin + begins.step, steps) - begin
        tell = None if progress is None else _from(begin, steps, progress)
        found.append(told(Exchanger(rows, rules=rules, seed=seed + number).run(share, tell)))
    return min(found, key=lambda plan: (plan.deviation, plan.back_to_back))


def _from(begin: int, steps: int, progress: Callable[[int, int], None]) -> Callable[[int, int], None]:
    """Progress of one start among all of them."""
    return lambda done, _: progress(begin + done, steps)


def night_so_far(state: State, again: Redraw) -> Plan | None:
    """The whole night for those who go on, numbered from 1 by their order: heats that count, then those to come.

    To be counted by `balance`; it is no rotation. None where fewer than two go on.
    """
    going_on = state.going_on()
    if len(going_on) < 2:
        return None
    places = {driver: place for place, driver in enumerate(going_on, start=1)}
    nobody: Heat = (None,) * state.lanes
    # A heat that does not count stays as an empty one, so that waits are told in heats of the night.
    run = [nobody if number in state.again else heat for number, heat in enumerate(state.run, start=1)]
    return Plan(
        drivers=len(going_on),
        lanes=state.lanes,
        preset=Preset.OPPONENTS,
        seed=again.seed,
        steps=again.steps,
        lane_order=tuple(range(1, state.lanes + 1)),
        by_lot=False,
        heats=tuple(tuple(None if d is None else places.get(d) for d in heat) for heat in (*run, *again.heats)),
    )


class Rules:
    """What an exchange may not break, and what it counts: a state's drivers by place from 0, its lanes likewise."""

    def __init__(self, state: State) -> None:
        self.going_on = state.going_on()
        self.lanes = state.lanes
        self.first = len(state.run)
        places = {driver: place for place, driver in enumerate(self.going_on)}
        self.met = met_so_far(state, places)
        self.last_run = frozenset(
            places[driver] for driver in (state.run[-1] if state.run else ()) if driver in places and driver is not None
        )
        self.rest = state.rest
        self.opens = {lane - 1: heat - 1 - self.first for lane, heat in state.lanes_back}
        self.begins = {places[d]: heat - 1 - self.first for d, heat in state.not_before if d in places}
        self.ends = {places[d]: heat - 1 - self.first for d, heat in state.not_after if d in places}
        self.apart: dict[int, set[int]] = {}
        for one, other in state.apart:
            if one in places and other in places:
                self.apart.setdefault(places[one], set()).add(places[other])
                self.apart.setdefault(places[other], set()).add(places[one])
        self.is_free = not state.has_hard_wish

    def admits(self, heat: int, driver: int, lane: int, others: Collection[int]) -> bool:
        """May this driver take this lane in this heat to come (0 is the next), with these others in it?"""
        if heat < self.opens.get(lane, 0) or heat < self.begins.get(driver, 0):
            return False
        if heat > self.ends.get(driver, heat):
            return False
        return self.apart.get(driver, set()).isdisjoint(others)

    def are_legal(self, heats: Sequence[Sequence[int]]) -> bool:
        """Do all heats to come (-1 is an empty lane) keep every wish?"""
        if self.is_free:
            return True
        before: Collection[int] = self.last_run
        for number, heat in enumerate(heats):
            here = {driver for driver in heat if driver >= 0}
            if self.rest and not here.isdisjoint(before):
                return False
            if not all(self.admits(number, driver, lane, here) for lane, driver in enumerate(heat) if driver >= 0):
                return False
            before = here
        return True


def met_so_far(state: State, places: dict[int, int]) -> list[list[int]]:
    """How often those who go on have met in the heats that count, by place."""
    met = [[0] * len(places) for _ in places]
    for number, heat in enumerate(state.run, start=1):
        if number in state.again:
            continue
        here = [places[driver] for driver in heat if driver is not None and driver in places]
        for a, b in combinations(here, 2):
            met[a][b] += 1
            met[b][a] += 1
    return met


def _fewest_heats(state: State, runs: list[Run]) -> list[list[int]]:
    places = {driver: place for place, driver in enumerate(state.going_on())}
    rows = [[-1] * state.lanes for _ in range(largest_degree(runs))]
    for (driver, lane), heat in zip(runs, color_edges(runs), strict=True):
        rows[heat][lane - 1] = places[driver]
    return rows


def _one_by_one(state: State, rules: Rules, runs: list[Run]) -> tuple[list[list[int]], list[Run]]:
    """Each heat is filled with the runs that press most; those for which no heat is left are returned, too."""
    places = {driver: place for place, driver in enumerate(rules.going_on)}
    left = [(places[driver], lane - 1) for driver, lane in runs]
    rows: list[list[int]] = []
    before: Collection[int] = rules.last_run
    while True:
        heat = len(rows)
        left = [run for run in left if heat <= rules.ends.get(run[0], heat)]
        if not left:
            break
        of_driver, of_lane = [0] * len(places), [0] * state.lanes
        for driver, lane in left:
            of_driver[driver] += 1
            of_lane[lane] += 1
        row = [-1] * state.lanes
        here: set[int] = set()

        def urgency(run: Run) -> tuple[int, int, int, int]:
            time_left = rules.ends.get(run[0], 10**6)
            return (time_left, -max(of_driver[run[0]], of_lane[run[1]]), -of_driver[run[0]], -of_lane[run[1]])  # noqa: B023

        for run in sorted(left, key=urgency):
            driver, lane = run
            is_tired = rules.rest and driver in before
            if row[lane] >= 0 or driver in here or is_tired or not rules.admits(heat, driver, lane, here):
                continue
            row[lane] = driver
            here.add(driver)
        rows.append(row)
        left = sorted((Counter(left) - Counter((row[lane], lane) for lane in range(state.lanes))).elements())
        before = here
    placed = Counter(
        (rules.going_on[driver], lane + 1) for row in rows for lane, driver in enumerate(row) if driver >= 0
    )
    return rows, list((Counter(runs) - placed).elements())


def _told(
    state: State, rows: Sequence[Sequence[int]], *, fewest: int, owed: list[Run], seed: int, steps: int
) -> Redraw:
    going_on = state.going_on()
    heats = tuple(tuple(going_on[place] if place >= 0 else None for place in row) for row in rows)
    met = met_so_far(state, {driver: place for place, driver in enumerate(going_on)})
    for row in rows:
        for a, b in combinations([place for place in row if place >= 0], 2):
            met[a][b] += 1
            met[b][a] += 1
    times = [met[a][b] for a, b in combinations(range(len(going_on)), 2)]
    floor = sum(times) // len(times) if times else 0
    counts = {value: times.count(value) for value in sorted(set(times))}
    return Redraw(
        heats=heats,
        fewest=fewest,
        owed=tuple(owed),
        meetings=tuple(counts.items()),
        deviation=sum(max(floor - value, value - floor - 1, 0) for value in times),
        back_to_back=_on_end((*state.run[-1:], *heats)),
        seed=seed,
        steps=steps,
        changes=_changes(state, heats),
    )


def _on_end(heats: Sequence[Heat]) -> int:
    return sum(len({*one} & {*other} - {None}) for one, other in pairwise(heats))


def _changes(state: State, heats: Sequence[Heat]) -> tuple[Change, ...]:
    if not state.planned:
        return ()
    first = len(state.run) + 1

    def of(driver: int, rows: Sequence[Heat]) -> tuple[tuple[int, int], ...]:
        return tuple((number, row.index(driver) + 1) for number, row in enumerate(rows, start=first) if driver in row)

    all_of_them = [Change(driver, of(driver, state.planned), of(driver, heats)) for driver in sorted(state.drivers)]
    return tuple(change for change in all_of_them if change.before != change.after)


def check_state(state: State) -> None:
    """Is this a night that can be? Raises RedrawError, whose code says what is wrong."""
    drivers = set(state.drivers)
    if not 1 <= state.rounds <= MOST_ROUNDS:
        message = f"Everybody drives each lane 1 to {MOST_ROUNDS} times, not {state.rounds}."
        raise RedrawError("bad_rounds", message, rounds=state.rounds)
    if not 1 <= state.lanes <= 32:
        raise RedrawError("bad_lanes", f"A track has 1 to 32 lanes, not {state.lanes}.", lanes=state.lanes)
    if len(drivers) != len(state.drivers) or len(drivers) > 500 or min(drivers, default=1) < 1:
        raise RedrawError("bad_drivers", "Drivers are up to 500 different numbers from 1 on.")
    for heat in (*state.run, *state.planned):
        here = [driver for driver in heat if driver is not None]
        if len(heat) != state.lanes or len(set(here)) != len(here):
            raise RedrawError("bad_heat", f"A heat has one entry for each of {state.lanes} lanes and nobody twice.")
    named = [
        *(driver for heat in state.run for driver in heat if driver is not None),
        *state.withdrawn,
        *(driver for driver, _ in (*state.excused, *state.not_before, *state.not_after)),
        *(driver for pair in state.apart for driver in pair),
    ]
    if unknown := set(named) - drivers:
        raise RedrawError("unknown_driver", f"There is no driver {min(unknown)}.", driver=min(unknown))
    lanes = [*state.lanes_out, *(lane for _, lane in state.excused), *(lane for lane, _ in state.lanes_back)]
    if any(not 1 <= lane <= state.lanes for lane in lanes):
        raise RedrawError("unknown_lane", f"Lanes count from 1 to {state.lanes}.")
    if any(not 1 <= number <= len(state.run) for number in state.again):
        raise RedrawError("unknown_heat", f"Heats to run again are among the {len(state.run)} that were run.")
    if any(one == other for one, other in state.apart):
        raise RedrawError("bad_pair", "Nobody can be kept apart from himself.")
    _check_no_run_twice(state)


def _check_no_run_twice(state: State) -> None:
    for (driver, lane), times in state.driven().items():
        if times > state.rounds:
            message = f"Driver {driver} has driven lane {lane} {times} times, in heats that all count."
            raise RedrawError("run_twice", message, driver=driver, lane=lane)
