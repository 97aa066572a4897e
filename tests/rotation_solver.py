"""A general-purpose solver as an independent judge of draws and re-draws of small size; for tests and benchmarks.

OR-Tools' CP-SAT (Apache-2.0) is told the rules and what is wished, and nothing of how our search goes about it.
"""

from collections import Counter
from dataclasses import dataclass
from itertools import combinations

from ortools.sat.python import cp_model

from racedesk.rotation.redraw import Heat, Redraw, State

Terms = cp_model.LinearExprT


@dataclass(frozen=True)
class Answer:
    """What the solver found. heats: None where it found none. cost: of them. bound: no plan costs less."""

    heats: tuple[Heat, ...] | None
    cost: int | None
    bound: int
    is_impossible: bool


def solve(
    state: State,
    heats: int,
    *,
    near: int,
    pair: int = 1,
    on_end: int = 0,
    seconds: float | None = None,
    work: float = 60.0,
) -> Answer:
    """Deal the runs left to so many heats; lanes out and those who withdrew are out, wishes are not looked at.

    near: how often pairs should meet over the night, this often or once more. pair, on_end: what a meeting too many
    or too few costs, and a run that follows at once on another. The search stops after `seconds` of the clock, or
    after `work` of the solver's own steady measure, which gives the same answer everywhere.
    """
    dealt = _Dealt(state, heats)
    model = dealt.model
    costs = [pair * each for each in dealt.astray(near)]
    if on_end:
        costs += [on_end * each for each in dealt.on_end()]
    model.minimize(sum(costs))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    if seconds is None:
        solver.parameters.max_deterministic_time = work
    else:
        solver.parameters.max_time_in_seconds = seconds
    outcome = solver.solve(model)
    if outcome not in {cp_model.OPTIMAL, cp_model.FEASIBLE}:
        return Answer(None, None, 0, is_impossible=outcome == cp_model.INFEASIBLE)
    cost, bound = round(solver.objective_value), round(solver.best_objective_bound)
    return Answer(dealt.read(solver), cost, bound, is_impossible=False)


class _Dealt:
    """The rules as a model: which run is in which heat, and who races in it."""

    def __init__(self, state: State, heats: int) -> None:
        self.state = state
        self.heats = range(heats)
        self.model = cp_model.CpModel()
        runs = Counter(run for run in state.missing() if run[1] not in state.lanes_out)
        self.here = {(run, heat): self.model.new_bool_var(f"{run} in {heat}") for run in runs for heat in self.heats}
        for run, times in runs.items():
            self.model.add(sum(self.here[run, heat] for heat in self.heats) == times)
        self.races: dict[tuple[int, int], Terms] = {}
        for heat in self.heats:
            for lane in range(1, state.lanes + 1):
                self.model.add(sum(self.here[run, heat] for run in runs if run[1] == lane) <= 1)
            for driver in state.going_on():
                self.races[driver, heat] = sum(self.here[run, heat] for run in runs if run[0] == driver)
                self.model.add(self.races[driver, heat] <= 1)

    def astray(self, near: int) -> list[Terms]:
        """Of each pair of those who go on, how far it is from meeting `near` times or once more."""
        met = _met(self.state)
        found: list[Terms] = []
        for one, other in combinations(self.state.going_on(), 2):
            times = met[one, other] + sum(self._both((one, heat), (other, heat)) for heat in self.heats)
            away = self.model.new_int_var(0, len(self.state.run) + len(self.heats), "")
            self.model.add(away >= near - times)
            self.model.add(away >= times - near - 1)
            found.append(away)
        return found

    def on_end(self) -> list[Terms]:
        """Of each driver and heat, whether he races in the one before it, too."""
        last = set(self.state.run[-1]) if self.state.run else set()
        first = [self.races[driver, 0] for driver in self.state.going_on() if driver in last and self.heats]
        later = [
            self._both((driver, heat - 1), (driver, heat))
            for driver in self.state.going_on()
            for heat in self.heats[1:]
        ]
        return [*first, *later]

    def _both(self, first: tuple[int, int], second: tuple[int, int]) -> cp_model.IntVar:
        joint = self.model.new_bool_var("")
        self.model.add(joint <= self.races[first])
        self.model.add(joint <= self.races[second])
        self.model.add(joint >= self.races[first] + self.races[second] - 1)
        return joint

    def read(self, solver: cp_model.CpSolver) -> tuple[Heat, ...]:
        rows: list[list[int | None]] = [[None] * self.state.lanes for _ in self.heats]
        for ((driver, lane), heat), chosen in self.here.items():
            if solver.boolean_value(chosen):
                rows[heat][lane - 1] = driver
        return tuple(map(tuple, rows))


def _met(state: State) -> Counter[tuple[int, int]]:
    """How often those who go on met in the heats that count."""
    return Counter(
        pair
        for number, heat in enumerate(state.run, start=1)
        if number not in state.again
        for pair in combinations(sorted(driver for driver in heat if driver is not None), 2)
    )


def nearest(plan: Redraw) -> int:
    """The mean meetings of a pair in a plan, rounded down: what its deviation is told from."""
    return sum(times * pairs for times, pairs in plan.meetings) // sum(pairs for _, pairs in plan.meetings)


def astray(state: State, heats: tuple[Heat, ...], near: int) -> int:
    """How far the pairs of those who go on are from meeting `near` or once more, over the whole night, in sum."""
    met = _met(state)
    for heat in heats:
        met.update(combinations(sorted(driver for driver in heat if driver is not None), 2))
    times = [met[pair] for pair in combinations(state.going_on(), 2)]
    return sum(max(near - value, value - near - 1, 0) for value in times)
