"""What becomes illegal or stops fitting first as the rear tires wear or are trued: at which exact diameter.

Down from the diameter now, every step is judged as the bench is; between the last step that passes and the first that
fails the diameter is solved for. What depends on it in a straight line (the diameter itself, clearances, a rollout) is
solved exactly and tried; anything else is halved down to `HALVING` and told on the safe side, the larger diameter.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from inspection.conformity.facts import Facts
from inspection.conformity.sheet import Sheet
from inspection.fit.findings import Finding, FitCode, Place
from inspection.planning.document import Bench
from inspection.planning.errors import PlanningError
from inspection.planning.evaluation import Evaluation, evaluate
from inspection.planning.legality import ClauseAtHome
from inspection.units import Kind, base_unit, from_base

STEP: Final = Fraction(1, 10)  # mm between two diameters that are judged
HALVING: Final = Fraction(1, 1000)  # mm; a limit that is not in a straight line is told to this
DEEPEST: Final = Fraction(3)  # mm of diameter that are looked at, where no rim ends it sooner
_OF_TIRES: Final = frozenset(
    {
        FitCode.UNDER_SPUR,
        FitCode.UNDER_MOTOR,
        FitCode.UNDER_CHASSIS,
        FitCode.FRONT_LIFT,
        FitCode.NOSE_HEIGHT,
        FitCode.TIRE_TO_PINION,
        FitCode.TIRE_EDGE,
    }
)


@dataclass(frozen=True, slots=True, kw_only=True)
class WearLimit:
    """One thing that ends the life of the tires. diameter: in mm, the smallest at which it still passes.

    is_exact: solved for; else the true one is at most HALVING smaller. passes_there: False where nothing may touch
    and it passes only above that diameter. lost: how much of the diameter now that is.
    clause: its number, or "" for a finding of fit, told by code and place.
    """

    diameter: Fraction
    lost: Fraction
    is_exact: bool
    passes_there: bool = True
    clause: str = ""
    code: FitCode | None = None
    place: Place | None = None


@dataclass(frozen=True, slots=True)
class _Judged:
    """What passes, and by how much, at one diameter."""

    passes: Mapping[object, bool]
    margins: Mapping[object, Fraction | None]


def wear_limits(
    bench: Bench,
    *,
    sheet: Sheet | None = None,
    facts: Facts | None = None,
    counts_with: dict[str, str] | None = None,
) -> tuple[WearLimit, ...]:
    """Everything that passes now and fails on smaller rear tires, what comes first first. Empty without tires.

    Looked at down to the rim, or to DEEPEST below the diameter now. What fails already is not among them. The wear to
    allow for of the mounting is left out: here every diameter is judged as it is. Raises PlanningError impossible.
    """
    now = bench.size_of("rear_tires", "diameter")
    if now is None:
        return ()
    bench = _without_allowance(bench)
    judge = _Judge(bench, sheet, facts, counts_with)
    rim = bench.size_of("rear_wheels", "rim_diameter") or bench.size_of("rear_tires", "rim_diameter")
    end = max(now.value - DEEPEST, Fraction(0) if rim is None else rim.value, STEP)
    limits: list[WearLimit] = []
    above, passing = now.value, judge.at(now.value)
    if passing is None:
        return ()
    open_keys = [key for key, passes in passing.passes.items() if passes]
    while open_keys and above > end:
        below = max(end, above - STEP)
        judged = judge.at(below)
        if judged is None:
            break
        for key in [one for one in open_keys if judged.passes.get(one) is False]:
            open_keys.remove(key)
            diameter, is_exact = _solve(judge, key, below, above)
            found = WearLimit(
                diameter=diameter,
                lost=now.value - diameter,
                is_exact=is_exact,
                passes_there=_passes(judge, key, diameter),
            )
            limits.append(_named(found, key))
        above = below
    return tuple(sorted(limits, key=lambda one: (-one.diameter, one.clause, one.code or "", one.place or "")))


def _without_allowance(bench: Bench) -> Bench:
    mounting = bench.mounting
    kept = {code: size for code, size in mounting.quantities.items() if code != "wear"}
    return replace(bench, mounting=replace(mounting, quantities=kept))


def with_tire(bench: Bench, diameter: Fraction) -> Bench:
    """The same bench on rear tires of this diameter in mm."""
    part = bench.parts["rear_tires"]
    told = {**part.sizes.quantities, "diameter": from_base(diameter, base_unit(Kind.LENGTH))}
    return bench.with_parts({"rear_tires": replace(part, sizes=replace(part.sizes, quantities=told))})


def _named(limit: WearLimit, key: object) -> WearLimit:
    """With what it is a limit of: the number of a clause, or code and place of a finding."""
    if isinstance(key, tuple):
        return replace(limit, code=key[0], place=key[1])
    return replace(limit, clause=str(key))


class _Judge:
    """A bench at any diameter; each is judged once."""

    def __init__(
        self, bench: Bench, sheet: Sheet | None, facts: Facts | None, counts_with: dict[str, str] | None
    ) -> None:
        self.bench, self.sheet, self.facts, self.counts_with = bench, sheet, facts, counts_with
        self.memo: dict[Fraction, _Judged | None] = {}

    def at(self, diameter: Fraction) -> _Judged | None:
        """None where no tire can be so."""
        if diameter not in self.memo:
            try:
                done: Evaluation | None = evaluate(
                    with_tire(self.bench, diameter),
                    sheet=self.sheet,
                    facts=self.facts,
                    counts_with=self.counts_with,
                    cures=False,
                )
            except PlanningError:
                done = None
            self.memo[diameter] = None if done is None else _judged(done)
        return self.memo[diameter]


def _judged(done: Evaluation) -> _Judged:
    passes: dict[object, bool] = {}
    margins: dict[object, Fraction | None] = {}
    for key, passed, margin in (*_clauses(done), *_findings(done)):
        passes[key], margins[key] = passed, margin
    return _Judged(passes, margins)


def _clauses(done: Evaluation) -> Iterator[tuple[object, bool, Fraction | None]]:
    clauses: tuple[ClauseAtHome, ...] = () if done.legality is None else done.legality.clauses
    for one in clauses:
        yield one.clause.number, not one.is_broken, one.margin


def _findings(done: Evaluation) -> Iterator[tuple[object, bool, Fraction | None]]:
    found: tuple[Finding, ...] = () if done.report is None else done.report.findings
    for one in found:
        if one.code in _OF_TIRES:
            yield (one.code, one.place), one.is_met, one.margin


def _solve(judge: _Judge, key: object, fails: Fraction, passes: Fraction) -> tuple[Fraction, bool]:
    """The smallest diameter that passes between one that fails and a larger one that passes, and whether it is exact.

    The margins at both ends give the diameter at which nothing is left, if it lies on their line. It is exact when
    there it passes with nothing left, or, where nothing left is not enough, when a hair more passes.
    """
    low, high = judge.at(fails), judge.at(passes)
    under = None if low is None else low.margins.get(key)
    over = None if high is None else high.margins.get(key)
    if under is not None and over is not None and over != under:
        guess = passes - over * (passes - fails) / (over - under)
        tried = judge.at(guess) if fails <= guess <= passes else None
        if tried is not None and tried.margins.get(key) == 0:
            return guess, True
    return _halve(lambda diameter: _passes(judge, key, diameter), fails, passes), False


def _passes(judge: _Judge, key: object, diameter: Fraction) -> bool:
    found = judge.at(diameter)
    return found is not None and found.passes.get(key, False)


def _halve(passes_at: Callable[[Fraction], bool], fails: Fraction, passes: Fraction) -> Fraction:
    """A diameter that passes, at most HALVING above one that fails."""
    while passes - fails > HALVING:
        middle = (fails + passes) / 2
        if passes_at(middle):
            passes = middle
        else:
            fails = middle
    return passes
