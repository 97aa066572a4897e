"""Pinion x driven gear x tire: ratio, rollout, and what stands in the way of each."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from typing import Final

from inspection.conformity.facts import Facts
from inspection.conformity.sheet import Sheet
from inspection.fit.findings import FitCode, Place
from inspection.gearing.mesh import MeshVerdict
from inspection.planning.document import Bench, BenchPart
from inspection.planning.errors import PlanningCode, PlanningError
from inspection.planning.evaluation import evaluate

MOST_CELLS: Final = 1000


class CellState(StrEnum):
    """What stands in the way, the first that does: mesh, fit, rules. good: nothing. unknown: it cannot be told."""

    GOOD = "good"
    DOES_NOT_MESH = "does_not_mesh"
    DOES_NOT_FIT = "does_not_fit"
    ILLEGAL = "illegal"
    UNKNOWN = "unknown"


STATES: Final = {
    CellState.GOOD: "Fits, not illegal",
    CellState.DOES_NOT_MESH: "The gears do not run",
    CellState.DOES_NOT_FIT: "Does not fit",
    CellState.ILLEGAL: "Illegal",
    CellState.UNKNOWN: "Not known",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """One combination. mesh: its verdict. unfit: what is not met. clauses: numbers of those that stand in its way."""

    pinion: BenchPart
    driven_gear: BenchPart
    rear_tires: BenchPart
    state: CellState
    ratio: Fraction | None
    rollout: Fraction | None
    mesh: MeshVerdict | None = None
    unfit: tuple[tuple[FitCode, Place], ...] = ()
    clauses: tuple[str, ...] = ()


def chart_of(
    bench: Bench,
    *,
    pinions: Sequence[BenchPart],
    driven_gears: Sequence[BenchPart],
    tires: Sequence[BenchPart],
    sheet: Sheet | None = None,
    facts: Facts | None = None,
    counts_with: dict[str, str] | None = None,
) -> tuple[Cell, ...]:
    """Every cell on the bench as it is otherwise: for each tire, each driven gear, each pinion.

    Raises PlanningError too_many.
    """
    if len(pinions) * len(driven_gears) * len(tires) > MOST_CELLS:
        raise PlanningError(PlanningCode.TOO_MANY, path="chart", most=f"{MOST_CELLS} cells")
    cells = []
    for tire in tires:
        for driven in driven_gears:
            for pinion in pinions:
                made = bench.with_parts({"pinion": pinion, "driven_gear": driven, "rear_tires": tire})
                cells.append(_cell(made, sheet, facts, counts_with))
    return tuple(cells)


def _cell(bench: Bench, sheet: Sheet | None, facts: Facts | None, counts_with: dict[str, str] | None) -> Cell:
    pinion, driven, tire = (bench.parts[place] for place in ("pinion", "driven_gear", "rear_tires"))
    try:
        done = evaluate(bench, sheet=sheet, facts=facts, counts_with=counts_with, cures=False)
    except PlanningError:
        return Cell(
            pinion=pinion, driven_gear=driven, rear_tires=tire, state=CellState.UNKNOWN, ratio=None, rollout=None
        )
    unfit = [(one.code, one.place) for one in (done.report.findings if done.report else ()) if not one.is_met]
    broken = done.legality.broken if done.legality else ()
    if done.meshes is False:
        state = CellState.DOES_NOT_MESH
    elif unfit or done.mismatches:
        state = CellState.DOES_NOT_FIT
    elif broken:
        state = CellState.ILLEGAL
    else:
        state = CellState.GOOD if done.is_good else CellState.UNKNOWN
    return Cell(
        pinion=pinion,
        driven_gear=driven,
        rear_tires=tire,
        state=state,
        ratio=done.ratio,
        rollout=done.rollout,
        mesh=None if done.mesh is None else done.mesh.verdict,
        unfit=tuple(dict.fromkeys(unfit)),
        clauses=tuple(one.clause.number for one in broken),
    )
