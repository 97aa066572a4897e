"""Clauses that one reading decides by limits that are the same for every car: prepared once a sheet.

Most clauses of most sheets are of this sort, and a night judges thousands of them. What is prepared here gives what
`sheet.judge_sheet` would work out the long way.
"""

from collections.abc import Mapping
from dataclasses import dataclass, fields
from fractions import Fraction
from typing import Final

from inspection.conformity.assess import DecisionRule, Limits, RuleStyle, assess
from inspection.conformity.clauses import LIMIT_NAMES, Clause, ToleranceStyle, size_of
from inspection.conformity.limits import widen, widths_of
from inspection.conformity.observations import Observation
from inspection.conformity.results import ClauseResult, Note, assessed
from inspection.units import Kind, Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetRules:
    """What a sheet says for all its clauses."""

    decision: DecisionRule
    tolerance_style: ToleranceStyle
    tolerances: Mapping[Kind, Quantity]

    def widened(self, clause: Clause, limits: Limits) -> tuple[Limits, DecisionRule, tuple[Note, ...]]:
        """The limits widened outward by a printed tolerance, and then no guard band: never both."""
        rule = clause.decision or self.decision
        style = clause.tolerance_style or self.tolerance_style
        if style is ToleranceStyle.IN_RULE and clause.allowance is not None:
            widths = widths_of(clause.allowance, limits)
            note = Note.CLAUSE_TOLERANCE
        elif style is ToleranceStyle.WHOLE_SHEET and limits.kind in self.tolerances:
            width = size_of(self.tolerances[limits.kind])
            widths = (width, width)
            note = Note.SHEET_TOLERANCE
        else:
            return limits, rule, ()
        return (
            widen(limits, *widths),
            DecisionRule(RuleStyle.SIMPLE_ACCEPTANCE, Fraction(0), rule.coverage_factor),
            (note,),
        )


@dataclass(frozen=True, slots=True)
class PlainClause:
    """A clause with the limits and the rule that it is judged by, whatever the car."""

    clause: Clause
    code: str
    kind: Kind
    limits: Limits
    rule: DecisionRule
    notes: tuple[Note, ...]
    inputs: tuple[str, ...]

    def judge(self, observed: Observation | None) -> ClauseResult | None:
        """The result of a single reading of the right kind; None where anything else was found."""
        if observed is None or len(observed.readings) != 1:
            return None
        reading = observed.readings[0]
        if reading.kind is not self.kind or reading.overdue:
            return None
        return assessed(self.clause, assess(reading, self.limits, self.rule), 0, self.notes, self.inputs)


# What a clause may say and be plain. Whoever gives it another field sends the clauses that use it the long way.
_MAY_SAY: Final = frozenset(
    {
        "number", "text", "characteristic", "code", "kind", "measuring_point", "comparator", *LIMIT_NAMES,
        "tolerance_style", "allowance", "counts", "decision", "phases", "judge", "judge_reason", "unit", "plausible",
        "gauge", "_limits", "_written_limits", "_allowed",
    }
)  # fmt: skip
_LEFT_OUT: Final = tuple((one.name, one.default) for one in fields(Clause) if one.name not in _MAY_SAY)


def prepare(clause: Clause, rules: SheetRules) -> PlainClause | None:
    """The clause prepared, or None when its result depends on anything but one reading.

    A resistance depends on its temperature.
    """
    if any(getattr(clause, name) != default for name, default in _LEFT_OUT):
        return None
    if clause.comparator is None or not clause.comparator.is_numeric:
        return None
    limits = clause.limits
    if limits is None or limits.kind is Kind.RESISTANCE:
        return None
    limits, rule, notes = rules.widened(clause, limits)
    return PlainClause(clause, clause.code, limits.kind, limits, rule, notes, (clause.code,))
