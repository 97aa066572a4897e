"""What came out for one clause: the outcome people read, the reading behind it, and what is missing."""

from dataclasses import dataclass, fields, replace
from enum import StrEnum

from inspection.conformity.assess import Assessment, Zone
from inspection.conformity.clauses import Clause
from inspection.conformity.conditions import Lacking, Missing
from inspection.conformity.verdicts import Outcome, Ruling


class Note(StrEnum):
    """What to mind about a result."""

    REFERRED_TO_20 = "referred_to_20"  # the resistance is the one at 20 degC
    NO_TEMPERATURE = "no_temperature"  # the resistance is judged as read
    GAUGE_OVERDUE = "gauge_overdue"
    SHEET_TOLERANCE = "sheet_tolerance"  # the limit is widened by the sheet's tolerance; no guard band
    CLAUSE_TOLERANCE = "clause_tolerance"  # the limit is widened by the clause's own; no guard band
    WORST_OF_SEVERAL = "worst_of_several"
    MEAN_OF_SEVERAL = "mean_of_several"
    WORKED_OUT = "worked_out"  # from other characteristics


@dataclass(frozen=True, slots=True, init=False)
class ClauseResult:
    """The outcome of one clause, or of a part of one.

    clears: it does not stand in the way of the car. too_close: measure again, kept beside the outcome.
    assessment: of the reading that counted, with the limits used. reading: its place among the readings, from 0; None
    for a mean or a worked-out value. answers: what was found where nothing is measured; refused: those of them that
    are not allowed. missing: what would have to be found out. row: which of the clause's rows gave the limits.
    allowed: the entries of the list that counted. inputs: the codes of the observations it was decided from.
    """

    clause: Clause
    outcome: Outcome
    clears: bool
    too_close: bool
    assessment: Assessment | None
    reading: int | None
    answers: tuple[str, ...]
    refused: tuple[str, ...]
    ruling: Ruling | None
    missing: tuple[Missing, ...]
    notes: tuple[Note, ...]
    row: int | None
    allowed: tuple[str, ...]
    inputs: tuple[str, ...]
    parts: tuple["ClauseResult", ...]

    def __init__(  # noqa: PLR0917 - by place takes a third of the time of by name
        self,
        clause: Clause,
        outcome: Outcome,
        clears: bool,
        too_close: bool = False,
        assessment: Assessment | None = None,
        reading: int | None = None,
        answers: tuple[str, ...] = (),
        refused: tuple[str, ...] = (),
        ruling: Ruling | None = None,
        missing: tuple[Missing, ...] = (),
        notes: tuple[Note, ...] = (),
        row: int | None = None,
        allowed: tuple[str, ...] = (),
        inputs: tuple[str, ...] = (),
        parts: tuple["ClauseResult", ...] = (),
    ) -> None:
        # Straight into the slots: half the time of what a frozen dataclass writes for itself, at every clause.
        _set_clause(self, clause)
        _set_outcome(self, outcome)
        _set_clears(self, clears)
        _set_too_close(self, too_close)
        _set_assessment(self, assessment)
        _set_reading(self, reading)
        _set_answers(self, answers)
        _set_refused(self, refused)
        _set_ruling(self, ruling)
        _set_missing(self, missing)
        _set_notes(self, notes)
        _set_row(self, row)
        _set_allowed(self, allowed)
        _set_inputs(self, inputs)
        _set_parts(self, parts)

    @property
    def zone(self) -> Zone | None:
        return self.assessment.zone if self.assessment else None


(
    _set_clause,
    _set_outcome,
    _set_clears,
    _set_too_close,
    _set_assessment,
    _set_reading,
    _set_answers,
    _set_refused,
    _set_ruling,
    _set_missing,
    _set_notes,
    _set_row,
    _set_allowed,
    _set_inputs,
    _set_parts,
) = (ClauseResult.__dict__[one.name].__set__ for one in fields(ClauseResult))


def not_checked(clause: Clause, missing: tuple[Missing, ...]) -> ClauseResult:
    return ClauseResult(clause=clause, outcome=Outcome.NOT_CHECKED, clears=False, missing=missing)


_PASS, _FAIL, _TOO_CLOSE = Outcome.PASS, Outcome.FAIL, Outcome.TOO_CLOSE
_CONFORMING, _NONCONFORMING = Zone.CONFORMING, Zone.NONCONFORMING


def assessed(
    clause: Clause, found: Assessment, reading: int | None, notes: tuple[Note, ...], inputs: tuple[str, ...]
) -> ClauseResult:
    zone = found.zone
    outcome = _PASS if zone is _CONFORMING else _FAIL if zone is _NONCONFORMING else _TOO_CLOSE
    # By place, which takes a third of the time that names take: this is done for every reading.
    return ClauseResult(
        clause, outcome, found.clears, found.too_close, found, reading, (), (), None, (), notes, None, (), inputs
    )


def all_of(clause: Clause, parts: list[ClauseResult]) -> ClauseResult:
    """Fails as soon as one part fails, passes when all that apply pass."""
    return _group(clause, parts, (Outcome.FAIL, Outcome.NOT_CHECKED, Outcome.JUDGE_DECIDES, Outcome.TOO_CLOSE))


def any_of(clause: Clause, parts: list[ClauseResult]) -> ClauseResult:
    """Passes as soon as one part passes, fails when all that apply fail; one that clears in doubt clears."""
    if any(part.outcome is Outcome.TOO_CLOSE and part.clears for part in parts):
        order: tuple[Outcome, ...] = (Outcome.PASS, Outcome.TOO_CLOSE)
        parts_in_doubt = [part for part in parts if part.clears or part.outcome is not Outcome.TOO_CLOSE]
        return replace(_group(clause, parts_in_doubt, order), parts=tuple(parts))
    return _group(clause, parts, (Outcome.PASS, Outcome.NOT_CHECKED, Outcome.JUDGE_DECIDES, Outcome.TOO_CLOSE))


def _group(clause: Clause, parts: list[ClauseResult], order: tuple[Outcome, ...]) -> ClauseResult:
    """The first outcome of the order that some part has; if none has it, the one that all parts have."""
    applying = [part for part in parts if part.outcome is not Outcome.NOT_APPLICABLE]
    if not applying:
        outcome = Outcome.NOT_APPLICABLE if parts else Outcome.NOT_CHECKED
        nothing = () if parts else (Missing(Lacking.RULE, clause.number),)
        return ClauseResult(clause=clause, outcome=outcome, clears=bool(parts), missing=nothing, parts=tuple(parts))
    last = Outcome.PASS if order[0] is Outcome.FAIL else Outcome.FAIL
    have = {part.outcome for part in applying}
    outcome = next((one for one in order if one in have), last)
    deciding = [part for part in applying if part.outcome is outcome]
    merge = all if outcome is order[0] else any  # where one part is enough, a firm one makes it firm
    missing = tuple(dict.fromkeys(miss for part in deciding for miss in part.missing))
    return ClauseResult(
        clause=clause,
        outcome=outcome,
        clears=outcome is Outcome.PASS or (outcome is Outcome.TOO_CLOSE and all(part.clears for part in deciding)),
        too_close=outcome is Outcome.TOO_CLOSE or merge(part.too_close for part in deciding),
        missing=missing if outcome is Outcome.NOT_CHECKED else (),
        notes=tuple(dict.fromkeys(note for part in applying for note in part.notes)),
        inputs=tuple(dict.fromkeys(code for part in applying for code in part.inputs)),
        parts=tuple(parts),
    )
