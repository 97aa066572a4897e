"""A car to be judged as a file says it: the rule sheet, what is known, what was found; and its JSON Schema."""

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from inspection.conformity.facts import Facts
from inspection.conformity.lint import Problem, find_problems
from inspection.conformity.observations import Observation
from inspection.conformity.results import ClauseResult
from inspection.conformity.sheet import Sheet, judge_sheet
from inspection.conformity.uncertainty import GaugeSpec
from inspection.conformity.verdicts import Ruling
from inspection.exchange.selectors import schema_text as rule_sheet_schema_text
from inspection.units import Quantity

DATA = Path(__file__).parent / "data"
RULE_SHEET_SCHEMA = "rule-sheet.schema.json"


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One car to be judged, ready for the engine.

    readings: as written, and used: the names of the gauges that took them ("" for none), both by the code of the
    characteristic, in order. gauges: those whose doubt is known, by name.
    """

    rule_sheet: str
    sheet: Sheet
    revision: int | None = None
    car: str = ""
    driver: str = ""
    facts: Facts = field(default_factory=Facts)
    found: Mapping[str, Observation] = field(default_factory=dict)
    rulings: Mapping[str, Ruling] = field(default_factory=dict)
    readings: Mapping[str, tuple[Quantity, ...]] = field(default_factory=dict)
    used: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    gauges: Mapping[str, GaugeSpec] = field(default_factory=dict)


def judge_case(case: Case) -> tuple[ClauseResult, ...]:
    """The results of the clauses that are checked in the phase, in the sheet's order. No query."""
    return judge_sheet(case.sheet, case.found, case.facts, case.rulings)


def problems_of(case: Case) -> list[Problem]:
    """What would keep the rule sheet from being published, and what it warns of. No query."""
    sheet = case.sheet
    return find_problems(
        sheet.clauses,
        register=sheet.register,
        decision=sheet.decision,
        tolerance_style=sheet.tolerance_style,
        tolerances=sheet.tolerances,
    )


def schema_text() -> str:
    """The JSON Schema of a car to be judged, that of the rule sheet bundled with it."""
    schema = json.loads((DATA / "verdict.schema.json").read_text(encoding="utf-8"))
    sheet = {"$id": RULE_SHEET_SCHEMA} | json.loads(rule_sheet_schema_text())
    schema["$defs"]["rule_sheet"] = sheet
    return json.dumps(schema, indent=1, ensure_ascii=False)


def findings_schema_text() -> str:
    """The JSON Schema of what comes out."""
    return (DATA / "findings.schema.json").read_text(encoding="utf-8")
