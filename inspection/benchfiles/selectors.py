"""A bench as a file says it, what comes of it, and the JSON Schemas of both. No query."""

import json
from dataclasses import dataclass
from pathlib import Path

from inspection.conformity.facts import Facts
from inspection.conformity.sheet import Sheet
from inspection.dynamics.lap import Lap
from inspection.exchange.selectors import schema_text as rule_sheet_schema_text
from inspection.fit.findings import Cure
from inspection.gauges.selectors import built_in_register
from inspection.planning.candidates import Wish, candidates_of
from inspection.planning.document import Bench, BenchLane
from inspection.planning.driving import Driving, driving_of, lap_on
from inspection.planning.evaluation import Evaluation, evaluate, judge_cure
from inspection.planning.legality import Legality
from inspection.planning.search import Plan, plan
from inspection.planning.wear import WearLimit, wear_limits
from inspection.verdictfiles.selectors import schema_text as verdict_schema_text

DATA = Path(__file__).parent / "data"
RULE_SHEET_SCHEMA = "rule-sheet.schema.json"


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchCase:
    """A bench, the rules it is judged by (None without), and what is wanted of its parts (None: no plan)."""

    bench: Bench
    wish: Wish | None = None
    rule_sheet: str = ""
    sheet: Sheet | None = None
    facts: Facts | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchOutcome:
    """What comes of it. cures: what the clauses say after each cure of the report, in its order."""

    case: BenchCase
    evaluation: Evaluation
    cures: tuple[tuple[Cure, Legality | None], ...]
    wear: tuple[WearLimit, ...]
    driving: Driving
    laps: tuple[tuple[BenchLane, Lap], ...]
    plan: Plan | None

    def legality_after(self, cure: Cure) -> Legality | None:
        """What the clauses say after a cure; None without rules."""
        return next((legality for one, legality in self.cures if one is cure), None)


def work_out(case: BenchCase) -> BenchOutcome:
    """Everything about a bench. Raises PlanningError impossible for sizes that no build has, or too_many."""
    counts = counted_with()
    rules = {"sheet": case.sheet, "facts": case.facts, "counts_with": counts}
    done = evaluate(case.bench, **rules)
    cures = [cure for finding in (done.report.findings if done.report else ()) for cure in finding.cures]
    after = tuple((cure, judge_cure(done, cure, **rules) if case.sheet else None) for cure in cures)
    driving = driving_of(case.bench, done.weighed.mass)
    laps = [(lane, lap_on(driving.car, done.ratio, stretches)) for lane, stretches in driving.lanes]
    found = None
    if case.wish is not None:
        found = plan(case.bench, candidates_of(case.bench), case.wish, **rules)
    return BenchOutcome(
        case=case,
        evaluation=done,
        cures=after,
        wear=wear_limits(case.bench, **rules),
        driving=driving,
        laps=tuple((lane, lap) for lane, lap in laps if lap is not None),
        plan=found,
    )


def counted_with() -> dict[str, str]:
    """What the built-in register says of gears, by the code of a clearance."""
    rows = built_in_register()["characteristics"]
    return {one["code"]: one["counts_with"] for one in rows if one.get("counts_with")}


def schema_text() -> str:
    """The JSON Schema of a bench, with that of the rule sheet bundled and that of the day as of a car to be judged."""
    schema = json.loads((DATA / "bench.schema.json").read_text(encoding="utf-8"))
    verdict = json.loads(verdict_schema_text())
    schema["$defs"]["rule_sheet"] = {"$id": RULE_SHEET_SCHEMA} | json.loads(rule_sheet_schema_text())
    schema["$defs"]["occasion"] = verdict["properties"]["occasion"]
    return json.dumps(schema, indent=1, ensure_ascii=False)


def result_schema_text() -> str:
    """The JSON Schema of what comes out."""
    return (DATA / "bench-result.schema.json").read_text(encoding="utf-8")
