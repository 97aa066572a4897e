"""Recount a plan from nothing but its heats: is it a rotation at all?"""

from collections import Counter
from dataclasses import dataclass

from racedesk.rotation.plan import Plan


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong with a plan; heat, lane and driver count from 1, None where they do not apply.

    Codes: wrong_width, unknown_driver, driver_twice_in_heat, lane_twice, lane_missing, too_many_heats,
    not_empty, uneven_runs.
    """

    code: str
    message: str
    heat: int | None = None
    lane: int | None = None
    driver: int | None = None

    def __str__(self) -> str:
        return self.message


def find_faults(plan: Plan) -> list[Fault]:
    """Everything that keeps a plan from being a rotation, in English; an empty list means it is sound.

    Sound means: every heat has one entry a lane, nobody is in a heat twice, everybody drives every lane
    exactly once a round (with fewer lanes each: so many runs a round, none of them on a lane more often than
    there are rounds), lanes left empty stay so, and there are no more heats than needed: a round takes as many
    as its busiest driver or lane.
    """
    faults = [*_faults_within_heats(plan), *_faults_over_the_night(plan)]
    each = plan.lanes_used if plan.lanes_each is None else plan.lanes_each
    fewest = plan.rounds * max(each, -(-plan.drivers * each // plan.lanes_used))
    if len(plan.heats) > fewest:
        faults.append(Fault("too_many_heats", f"{len(plan.heats)} heats where {fewest} are enough"))
    return faults


def _faults_within_heats(plan: Plan) -> list[Fault]:
    faults = []
    for heat, row in enumerate(plan.heats, start=1):
        if len(row) != plan.lanes:
            message = f"heat {heat} has {len(row)} places for {plan.lanes} lanes"
            faults.append(Fault("wrong_width", message, heat=heat))
        counts = Counter(driver for driver in row if driver is not None)
        for driver, times in sorted(counts.items()):
            if not 1 <= driver <= plan.drivers:
                message = f"heat {heat} names driver {driver} of {plan.drivers}"
                faults.append(Fault("unknown_driver", message, heat=heat, driver=driver))
            if times > 1:
                message = f"driver {driver} is in heat {heat} {times} times"
                faults.append(Fault("driver_twice_in_heat", message, heat=heat, driver=driver))
    return faults


def _faults_over_the_night(plan: Plan) -> list[Fault]:
    counts = Counter(
        (driver, lane) for row in plan.heats for lane, driver in enumerate(row, start=1) if driver is not None
    )
    driven = {lane for _, lane in counts}
    faults = [Fault("not_empty", f"lane {lane} is to stay empty", lane=lane) for lane in plan.empty if lane in driven]
    for driver in range(1, plan.drivers + 1):
        if plan.lanes_each is not None:
            runs = sum(counts[driver, lane] for lane in range(1, plan.lanes + 1))
            if runs != plan.lanes_each * plan.rounds:
                message = f"driver {driver} has {runs} runs, not {plan.lanes_each * plan.rounds}"
                faults.append(Fault("uneven_runs", message, driver=driver))
        for lane in range(1, plan.lanes + 1):
            times = counts[driver, lane]
            if times < plan.rounds and plan.lanes_each is None and lane not in plan.empty:
                message = f"driver {driver} never drives lane {lane}"
                if times:
                    message = f"driver {driver} drives lane {lane} {times} times of {plan.rounds}"
                faults.append(Fault("lane_missing", message, lane=lane, driver=driver))
            elif times > plan.rounds:
                message = f"driver {driver} drives lane {lane} {times} times"
                faults.append(Fault("lane_twice", message, lane=lane, driver=driver))
    return faults
