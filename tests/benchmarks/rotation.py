"""How long draws and re-draws take, and how even re-draws come out beside what a first study reached.

Run by hand: python tests/benchmarks/rotation.py [--steps 1200000] [--seeds 1] [--solver]. No test reads a clock. A
budget of 1,200,000 steps, four starts, is about five seconds on one slow core. With --solver a general-purpose solver
gets the time that our search took, on one core too, for the same heats with the same measure.
"""

import argparse
import sys
from pathlib import Path
from time import perf_counter

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from racedesk.rotation.balance import balance
from racedesk.rotation.draw import draw
from racedesk.rotation.recount import recount
from racedesk.rotation.redraw import Redraw, State, redraw


def night(size: int, lanes: int, over: int, **more: tuple[int, ...]) -> State:
    """A night drawn for opponents of which so many heats are over."""
    plan = draw(drivers=size, lanes=lanes, seed=1, by_lot=False)
    return State(
        lanes=lanes,
        run=plan.heats[:over],
        **({"drivers": tuple(range(1, size + 1))} | more),  # type: ignore[arg-type]
    )


# What happened, heats left at least, and the deviation that the study reached within five seconds.
CASES = [
    ("17 on 8, 5 run, one withdraws", night(17, 8, 5, withdrawn=(3,)), 12, 0),
    ("12 on 4, 4 run, one withdraws", night(12, 4, 4, withdrawn=(3,)), 8, 0),
    ("12 on 4, 4 run, one joins", night(12, 4, 4, drivers=tuple(range(1, 14))), 9, 0),
    (
        "24 on 8, 10 run, two withdraw, one joins",
        night(24, 8, 10, withdrawn=(3, 7), drivers=tuple(range(1, 26))),
        15,
        5,
    ),
    ("17 on 8, 5 run, lane 3 out", night(17, 8, 5, lanes_out=(3,)), 12, 12),
    ("30 on 8, 12 run, two join", night(30, 8, 12, drivers=tuple(range(1, 33))), 20, 37),
]


def redraws(steps: int, seeds: int, *, with_solver: bool) -> None:
    """Each case: the time to a legal plan, then the best of several seeds, each within its budget."""
    for name, state, fewest, study in CASES:
        begun = perf_counter()
        first = redraw(state)
        legal = perf_counter() - begun
        begun = perf_counter()
        found = [redraw(state, seed=seed, steps=steps) for seed in range(1, seeds + 1)]
        each = (perf_counter() - begun) / seeds
        best = min(found, key=lambda plan: (plan.deviation, plan.back_to_back))
        all_of_them = ", ".join(str(plan.deviation) for plan in found)
        sys.stdout.write(
            f"{name}: legal in {legal * 1000:.1f} ms with {len(first.heats)} heats (at least {fewest}), deviation "
            f"{first.deviation}; after {each:.1f} s {all_of_them} with {best.back_to_back} on end; study {study}\n"
        )
        if with_solver:
            sys.stdout.write(f"    the solver in {each:.1f} s: {of_the_solver(state, best, each)}\n")


def of_the_solver(state: State, ours: Redraw, seconds: float) -> str:
    """What the solver finds in as many heats as ours, an uneven meeting counted as twenty runs on end."""
    from tests.rotation_solver import astray, nearest, solve  # noqa: PLC0415  a heavy library, loaded only when asked for

    near = nearest(ours)
    found = solve(state, len(ours.heats), near=near, pair=20, on_end=1, seconds=seconds)
    if found.heats is None or found.cost is None:
        return "no plan"
    uneven = astray(state, found.heats, near)
    return f"deviation {uneven} with {found.cost - 20 * uneven} on end"


def draws() -> None:
    """Every size of the table drawn and counted, and counted again by other means, which is the floor."""
    slowest, total, floor = (0.0, 0, 0), 0.0, 0.0
    for lanes in range(2, 11):
        for drivers in range(2, 61):
            begun = perf_counter()
            plan = draw(drivers=drivers, lanes=lanes, seed=1)
            balance(plan)
            took = perf_counter() - begun
            total += took
            slowest = max(slowest, (took, drivers, lanes))
            begun = perf_counter()
            recount(plan.heats, drivers=drivers, lanes=lanes)
            floor += perf_counter() - begun
    took, drivers, lanes = slowest
    sys.stdout.write(
        f"531 draws with their reports: {total:.2f} s, the slowest {drivers} on {lanes} in {took * 1000:.0f} ms; "
        f"a bare recount of them all {floor:.2f} s\n"
    )


if __name__ == "__main__":
    asked = argparse.ArgumentParser()
    asked.add_argument("--steps", type=int, default=1_200_000)
    asked.add_argument("--seeds", type=int, default=1)
    asked.add_argument("--solver", action="store_true")
    chosen = asked.parse_args()
    draws()
    redraws(chosen.steps, chosen.seeds, with_solver=chosen.solver)
