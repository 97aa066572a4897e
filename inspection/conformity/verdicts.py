"""What people are told: Pass, Fail, Too close (measure again), Not checked, Judge decides, Does not apply."""

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from inspection.conformity.assess import (
    SIMPLE_ACCEPTANCE,
    Assessment,
    DecisionRule,
    Measurement,
    Zone,
    assess,
)
from inspection.conformity.clauses import Clause, Comparator
from inspection.conformity.conditions import normalize_choice
from inspection.conformity.errors import ConformityCode, ConformityError


class Outcome(StrEnum):
    PASS = "pass"  # noqa: S105 - a verdict
    FAIL = "fail"
    TOO_CLOSE = "too_close"  # only where a guard band leaves the zone indeterminate
    NOT_CHECKED = "not_checked"
    JUDGE_DECIDES = "judge_decides"
    NOT_APPLICABLE = "not_applicable"  # by the clause's own conditions


@dataclass(frozen=True, slots=True)
class Answer:
    """What was found where nothing is measured. given: as entered. passes: whether it is allowed."""

    given: str
    passes: bool


@dataclass(frozen=True, slots=True)
class Ruling:
    """A judge's decision of a clause, with the judge's name and the reason given."""

    passes: bool
    judge: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """The outcome of one clause. clears: it does not stand in the way of the car. too_close: measure again,
    kept beside the outcome. assessment: why, where something was measured."""

    outcome: Outcome
    clears: bool
    too_close: bool = False
    assessment: Assessment | None = None


NOT_CHECKED: Final = Verdict(outcome=Outcome.NOT_CHECKED, clears=False)
JUDGE_DECIDES: Final = Verdict(outcome=Outcome.JUDGE_DECIDES, clears=False)

Evidence = Measurement | Ruling | bool | str


def verdict(found: Assessment | Answer | Ruling | None) -> Verdict:
    """The verdict of what was found; of nothing, it is `NOT_CHECKED`, which never clears."""
    if found is None:
        return NOT_CHECKED
    if not isinstance(found, Assessment):
        return Verdict(outcome=Outcome.PASS if found.passes else Outcome.FAIL, clears=found.passes)
    outcomes = {
        Zone.CONFORMING: Outcome.PASS,
        Zone.NONCONFORMING: Outcome.FAIL,
        Zone.INDETERMINATE: Outcome.TOO_CLOSE,
    }
    return Verdict(outcome=outcomes[found.zone], clears=found.clears, too_close=found.too_close, assessment=found)


def answer_choice(given: str, choices: tuple[str, ...]) -> Answer:
    """Whether what was found is in the list, without regard to case and blanks."""
    allowed = {normalize_choice(choice) for choice in choices} - {""}
    return Answer(given=given, passes=normalize_choice(given) in allowed)


def answer_yes_no(*, given: bool, expected: bool) -> Answer:
    """Whether the answer is the one that passes."""
    return Answer(given="yes" if given else "no", passes=given is expected)


def judge_clause(clause: Clause, evidence: Evidence | None, rule: DecisionRule = SIMPLE_ACCEPTANCE) -> Verdict:
    """The verdict on one clause of a published sheet.

    evidence: a Measurement for a numeric clause, text for a list, True or False for a yes-or-no clause, a Ruling
    for any clause (a judge's decision stands over a reading); None when nothing was found, which is "not
    checked", or "judge decides" where only a judge can.
    Raises ConformityError wrong_evidence, wrong_kind, or not_measurable for a clause that only informs
    (`is_checked` is False) or that has problems.
    """
    if isinstance(evidence, Ruling):
        return verdict(evidence)
    if clause.comparator is None:
        raise ConformityError(ConformityCode.NOT_MEASURABLE, number=clause.number)
    if clause.comparator is Comparator.JUDGE_DECIDES:
        return JUDGE_DECIDES
    if evidence is None:
        return NOT_CHECKED
    return verdict(_find(clause, evidence, rule))


def _find(clause: Clause, evidence: Measurement | bool | str, rule: DecisionRule) -> Assessment | Answer:
    match clause.comparator, evidence:
        case Comparator.YES_NO, bool():
            if clause.expected_answer is not None:
                return answer_yes_no(given=evidence, expected=clause.expected_answer)
        case Comparator.ONE_OF, str():
            return answer_choice(evidence, clause.choices)
        case (
            Comparator.AT_LEAST | Comparator.AT_MOST | Comparator.BETWEEN | Comparator.EQUAL_WITHIN,
            Measurement(),
        ):
            if clause.limits is None:
                raise ConformityError(ConformityCode.NOT_MEASURABLE, number=clause.number)
            return assess(evidence, clause.limits, rule)
        case _:
            pass
    raise ConformityError(ConformityCode.WRONG_EVIDENCE, number=clause.number)
