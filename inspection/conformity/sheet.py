"""A whole rule sheet judged against one car: what was found on it, what is known of the night, what judges ruled.

Nothing here raises for what a car or a night can be: a clause that cannot be decided is not checked, and its result
names what is missing. Nothing that was not found out ever passes.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Final

from inspection.conformity.assess import (
    SIMPLE_ACCEPTANCE,
    Assessment,
    DecisionRule,
    Limits,
    Measurement,
    Zone,
    assess,
)
from inspection.conformity.clauses import (
    BEFORE,
    STANDS_FOR,
    Clause,
    Comparator,
    Counts,
    ListEntry,
    Reference,
    ToleranceStyle,
    make_written_limits,
)
from inspection.conformity.conditions import (
    About,
    Answered,
    Lacking,
    Missing,
    Op,
    Term,
    Truth,
    answered,
    both,
    evaluate,
    negate,
    unknown,
)
from inspection.conformity.derive import Known, work_out
from inspection.conformity.facts import Facts, answer_by, ask_facts, ask_quantity
from inspection.conformity.inputs import circular_clauses, with_parts
from inspection.conformity.limits import limits_by, read_size, shifted
from inspection.conformity.observations import (
    Observation,
    Reading,
    mean_of,
    mean_or_missing,
    refer_to_20,
    words_of,
)
from inspection.conformity.plain import PlainClause, SheetRules, prepare
from inspection.conformity.results import ClauseResult, Note, all_of, any_of, assessed, not_checked
from inspection.conformity.subjects import CharacteristicKind, Register
from inspection.conformity.verdicts import Outcome, Ruling
from inspection.units import Kind, Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """The effective clauses of a class, and what holds for all of them. tolerances: of the style `whole_sheet`."""

    clauses: tuple[Clause, ...]
    register: Register
    decision: DecisionRule = SIMPLE_ACCEPTANCE
    tolerance_style: ToleranceStyle = ToleranceStyle.NONE
    tolerances: Mapping[Kind, Quantity] = field(default_factory=dict)
    allows_overdue_gauges: bool = True
    is_closed: bool = False
    # Worked out once a sheet, not once a car.
    rules: SheetRules = field(init=False, compare=False, repr=False)
    by_phase: Mapping[str, tuple[tuple[Clause, PlainClause | None], ...]] = field(init=False, compare=False, repr=False)
    by_number: Mapping[str, Clause] = field(init=False, compare=False, repr=False)
    plain: Mapping[str, PlainClause] = field(init=False, compare=False, repr=False)
    circular: frozenset[str] = field(init=False, compare=False, repr=False)

    def __post_init__(self) -> None:
        rules = SheetRules(decision=self.decision, tolerance_style=self.tolerance_style, tolerances=self.tolerances)
        checked = [(clause, prepare(clause, rules)) for clause in with_closing_clause(self) if clause.is_checked]
        phases = {phase for clause, _ in checked for phase in clause.phases} | {BEFORE}
        worked_out: dict[str, object] = {
            "rules": rules,
            "by_phase": {phase: tuple(pair for pair in checked if pair[0].is_checked_at(phase)) for phase in phases},
            "by_number": {clause.number: clause for clause, _ in checked},
            "plain": {clause.number: plain for clause, plain in checked if plain is not None},
            "circular": frozenset(circular_clauses(self.clauses)),
        }
        for name, value in worked_out.items():
            object.__setattr__(self, name, value)


# The check that a closed sheet ends with.
CLOSING_CODE: Final = "nothing-else-changed"
CLOSING_CLAUSE: Final = Clause(
    number="closed",
    text="What this sheet does not allow is forbidden: nothing else was changed.",
    characteristic="nothing else changed",
    code=CLOSING_CODE,
    kind=CharacteristicKind.YES_NO,
    comparator=Comparator.YES_NO,
    expected_answer=True,
)


def with_closing_clause(sheet: Sheet) -> tuple[Clause, ...]:
    """The clauses, and the closing check of a closed sheet that does not have it among them."""
    if not sheet.is_closed or any(clause.code == CLOSING_CODE for clause in sheet.clauses):
        return sheet.clauses
    return (*sheet.clauses, CLOSING_CLAUSE)


def judge_sheet(
    sheet: Sheet,
    found: Mapping[str, Observation],
    facts: Facts | None = None,
    rulings: Mapping[str, Ruling] | None = None,
) -> tuple[ClauseResult, ...]:
    """The results of the clauses that are checked in the phase, in the sheet's order. Total: never raises.

    found: by the code of the characteristic, as inspected. rulings: by clause number (a part: "4.2/1"); a ruling of a
    judge, or of a gauge that goes or does not, stands over readings.
    """
    known = facts or Facts()
    judge = _Judge(sheet, found, known, rulings or {})
    results = []
    for clause, plain in sheet.by_phase.get(known.phase, ()):
        result = None
        if plain is not None and clause.number not in judge.rulings:
            result = judge.plainly(plain)
        results.append(result or judge.result(clause))
    return tuple(results)


def judge_one(
    sheet: Sheet,
    number: str,
    found: Mapping[str, Observation],
    facts: Facts | None = None,
    rulings: Mapping[str, Ruling] | None = None,
) -> ClauseResult | None:
    """The result of the clause with a number, whatever its phase; None when no such clause is checked."""
    clause = sheet.by_number.get(number)
    if clause is None:
        return None
    judge = _Judge(sheet, found, facts or Facts(), rulings or {})
    plain = sheet.plain.get(number)
    result = None if plain is None or number in judge.rulings else judge.plainly(plain)
    return result or judge.result(clause)


@dataclass(frozen=True, slots=True)
class _Chosen:
    """The limits that hold here and now: as written, or by comparison, or the list."""

    quantities: Mapping[str, Quantity]
    reference: Reference | None
    entries: tuple[ListEntry, ...]
    row: int | None


_WORST_FIRST: Final = {Zone.NONCONFORMING: 0, Zone.INDETERMINATE: 1, Zone.CONFORMING: 2}


class _Judge:
    """One car on one sheet. Results are kept, so that a clause that others ask about is judged once."""

    def __init__(
        self, sheet: Sheet, found: Mapping[str, Observation], facts: Facts, rulings: Mapping[str, Ruling]
    ) -> None:
        self.sheet = sheet
        self.found = found
        self.facts = facts
        self.rulings = rulings
        self._results: dict[str, ClauseResult] = {}
        self._worked_out: dict[str, Known | tuple[Missing, ...]] = {}

    # ---- one clause ----------------------------------------------------------------------------------------------

    def plainly(self, plain: PlainClause) -> ClauseResult | None:
        """What `result` comes to for a plain clause, in a shorter way: of one reading, or worked out of others."""
        observed = self.found.get(plain.code)
        if observed is not None and observed.readings:
            return plain.judge(observed)
        known = self._results.get(plain.clause.number)
        if known is not None and known.clause is plain.clause:
            return known
        judged = self._from_parts(plain.clause, plain.limits, plain.rule, None)
        if plain.notes:
            judged = replace(judged, notes=(*judged.notes, *plain.notes))
        self._results[plain.clause.number] = judged
        return judged

    def result(self, clause: Clause) -> ClauseResult:
        known = self._results.get(clause.number)
        if known is not None and known.clause is clause:
            return known
        judged = self._judge(clause)
        self._results[clause.number] = judged
        return judged

    def _judge(self, clause: Clause) -> ClauseResult:
        ruling = self.rulings.get(clause.number)
        if ruling is not None:
            outcome = Outcome.PASS if ruling.passes else Outcome.FAIL
            return ClauseResult(clause=clause, outcome=outcome, clears=ruling.passes, ruling=ruling)
        if clause.faults:
            return not_checked(clause, (Missing(Lacking.RULE, clause.number),))
        applies = self._applies(clause)
        if applies.truth is Truth.NO:
            return ClauseResult(clause=clause, outcome=Outcome.NOT_APPLICABLE, clears=True)
        if applies.truth is Truth.UNKNOWN:
            return not_checked(clause, applies.missing)
        return self._by_comparator(clause)

    def _by_comparator(self, clause: Clause) -> ClauseResult:
        if clause.comparator is None:
            return not_checked(clause, (Missing(Lacking.RULE, clause.number),))
        if clause.comparator is Comparator.JUDGE_DECIDES:
            return ClauseResult(clause=clause, outcome=Outcome.JUDGE_DECIDES, clears=False)
        if clause.comparator.is_group:
            join = all_of if clause.comparator is Comparator.ALL_OF else any_of
            return join(clause, [self._judge(part) for part in clause.parts])
        if clause.comparator is Comparator.YES_NO:
            return self._yes_no(clause)
        return self._by_limits(clause, clause.comparator)

    def _by_limits(self, clause: Clause, comparator: Comparator) -> ClauseResult:
        chosen = self._choose(clause)
        if not isinstance(chosen, _Chosen):
            return not_checked(clause, chosen)
        if comparator.takes_a_list:
            return self._listed(clause, chosen)
        return self._measured(clause, chosen)

    def _applies(self, clause: Clause) -> Answered:
        applies = answered(holds=True)
        if clause.applies_when is not None:
            applies = evaluate(clause.applies_when, self._ask)
        if clause.unless is not None:
            applies = both(applies, negate(evaluate(clause.unless, self._ask)))
        return applies

    def _yes_no(self, clause: Clause) -> ClauseResult:
        observed = self.found.get(clause.code)
        if observed is None or observed.answer is None or clause.expected_answer is None:
            lacking = Lacking.CHARACTERISTIC if observed is None else Lacking.FITTING
            return not_checked(clause, (Missing(lacking, clause.code),))
        passes = observed.answer is clause.expected_answer
        return ClauseResult(
            clause=clause,
            outcome=Outcome.PASS if passes else Outcome.FAIL,
            clears=passes,
            answers=("yes" if observed.answer else "no",),
            inputs=(clause.code,),
        )

    # ---- which limits hold ---------------------------------------------------------------------------------------

    def _choose(self, clause: Clause) -> _Chosen | tuple[Missing, ...]:
        row, index = None, None
        for place, one in enumerate(clause.rows):
            holds = evaluate(one.when, self._ask)
            if holds.truth is Truth.UNKNOWN:
                return holds.missing
            if holds.truth is Truth.YES:
                row, index = one, place
                break
        quantities = clause.written_limits if row is None else {**clause.written_limits, **row.written_limits}
        reference = clause.reference
        name = STANDS_FOR.get(clause.comparator) if clause.comparator else None
        if row is not None and name is not None and name in row.written_limits:
            reference = None
        entries = clause.allowed
        if row is not None and row.choices is not None:
            entries = tuple(ListEntry(value=choice) for choice in row.choices)
        elif clause.list_key:
            key = self._key(clause.list_key)
            if isinstance(key, Missing):
                return (key,)
            entries = tuple(entry for entry in entries if entry.is_for(key))
        return _Chosen(quantities, reference, entries, index)

    def _key(self, code: str) -> str | Missing:
        """The value of the characteristic that picks the entries of a list."""
        for observed in (self.found.get(code), self.facts.declared.get(code)):
            if observed is None:
                continue
            words = words_of(observed)
            if words:
                return words[0]
        return Missing(Lacking.CHARACTERISTIC, code)

    # ---- lists ---------------------------------------------------------------------------------------------------

    def _listed(self, clause: Clause, chosen: _Chosen) -> ClauseResult:
        words, missing = self._words(clause.code)
        if not missing and not words and clause.comparator is not Comparator.AS_SUPPLIED:
            missing = (Missing(Lacking.FITTING, clause.code),)
        if missing:
            return not_checked(clause, missing)
        refused: list[str] = []
        needs_date = False
        for word in words:
            allowed = self._is_allowed(word, chosen.entries)
            if allowed is None:
                needs_date = True
            elif not allowed:
                refused.append(word)
        if needs_date and not refused:
            return replace(not_checked(clause, (Missing(Lacking.DATE),)), answers=words)
        return ClauseResult(
            clause=clause,
            outcome=Outcome.FAIL if refused else Outcome.PASS,
            clears=not refused,
            answers=words,
            refused=tuple(refused),
            row=chosen.row,
            allowed=tuple(entry.value for entry in self._on_the_date(chosen.entries)),
            inputs=(clause.code,),
        )

    def _words(self, code: str) -> tuple[tuple[str, ...], tuple[Missing, ...]]:
        """What was named for a characteristic, or the count that it is or that is worked out; else what is missing."""
        observed = self.found.get(code)
        words = words_of(observed) if observed else None
        if words is not None:
            return words, ()
        if observed is not None:
            return (), (Missing(Lacking.FITTING, code),)
        known = self._work_out(code)
        return ((str(known.value),), ()) if isinstance(known, Known) else ((), known)

    def _is_allowed(self, word: str, entries: Iterable[ListEntry]) -> bool | None:
        """Whether a word is on the list; None when that depends on a date that is not known."""
        depends = False
        for entry in entries:
            if not entry.names(word):
                continue
            if not entry.is_dated or (self.facts.date and entry.is_allowed_on(self.facts.date)):
                return True
            depends = depends or self.facts.date is None
        return None if depends else False

    def _on_the_date(self, entries: tuple[ListEntry, ...]) -> tuple[ListEntry, ...]:
        date = self.facts.date
        return tuple(entry for entry in entries if date is None or entry.is_allowed_on(date))

    # ---- quantities ----------------------------------------------------------------------------------------------

    def _measured(self, clause: Clause, chosen: _Chosen) -> ClauseResult:
        other: Known | None = None
        limits: Limits | None
        if chosen.reference is not None:
            compared = self._work_out(chosen.reference.code)
            if not isinstance(compared, Known):
                return not_checked(clause, compared)
            other = shifted(compared, chosen.reference)
            limits = limits_by(clause, chosen.quantities, other)
        elif chosen.quantities == clause.written_limits and not clause.list_key:
            limits = clause.limits
        else:
            limits = make_written_limits(clause, chosen.quantities)
        if limits is None and other is None and chosen.entries:
            sizes = self._sizes(clause, chosen)
            if not isinstance(sizes, Limits):
                return not_checked(clause, sizes)
            limits = sizes
        if limits is None:
            return not_checked(clause, (Missing(Lacking.RULE, clause.number),))
        limits, rule, notes = self.sheet.rules.widened(clause, limits)
        if self._is_observed(clause.code):
            judged = self._from_readings(clause, limits, rule, other)
        else:
            judged = self._from_parts(clause, limits, rule, other)
        return (
            replace(judged, notes=(*judged.notes, *notes), row=chosen.row)
            if notes or chosen.row is not None
            else judged
        )

    def _sizes(self, clause: Clause, chosen: _Chosen) -> Limits | tuple[Missing, ...]:
        """The limit that the one entry of a keyed list of sizes gives, on the date."""
        kind = clause.kind.quantity_kind if clause.kind else None
        name = STANDS_FOR.get(clause.comparator) if clause.comparator else None
        if any(entry.is_dated for entry in chosen.entries) and self.facts.date is None:
            return (Missing(Lacking.DATE),)
        entries = self._on_the_date(chosen.entries)
        if kind is None or name is None or not entries:
            return (Missing(Lacking.RULE, clause.number),)
        size = read_size(entries[0].value, clause)
        limits = make_written_limits(clause, dict(chosen.quantities) | {name: size}) if size else None
        return limits or (Missing(Lacking.RULE, clause.number),)

    def _is_observed(self, code: str) -> bool:
        observed = self.found.get(code)
        return observed is not None and bool(observed.readings)

    def _from_readings(self, clause: Clause, limits: Limits, rule: DecisionRule, other: Known | None) -> ClauseResult:
        readings, notes, missing = self._usable(clause.code)
        kind = clause.kind.quantity_kind if clause.kind else None
        if missing or any(reading.kind is not kind for reading in readings):
            return not_checked(clause, missing or (Missing(Lacking.FITTING, clause.code),))
        too_few = len(readings) < clause.readings_wanted
        inputs = (clause.code, *(other.slopes if other else ()))
        if clause.counts is Counts.MEAN and len(readings) > 1:
            if too_few:
                return not_checked(clause, (Missing(Lacking.READINGS, clause.code),))
            found = assess(self._compared(clause.code, mean_of(readings), other), limits, rule)
            return assessed(clause, found, None, (*notes, Note.MEAN_OF_SEVERAL), inputs)
        places = range(len(readings))
        found_each = [assess(self._compared(clause.code, reading, other), limits, rule) for reading in readings]
        worst = min(places, key=lambda place: _badness(found_each[place])) if len(readings) > 1 else 0
        if too_few and found_each[worst].zone is not Zone.NONCONFORMING:
            return not_checked(clause, (Missing(Lacking.READINGS, clause.code),))
        if len(readings) > 1:
            notes = (*notes, Note.WORST_OF_SEVERAL)
        return assessed(clause, found_each[worst], worst, notes, inputs)

    def _from_parts(self, clause: Clause, limits: Limits, rule: DecisionRule, other: Known | None) -> ClauseResult:
        """A subject that was not itself observed: worked out, if it can be."""
        known = self._work_out(clause.code)
        kind = clause.kind.quantity_kind if clause.kind else None
        if not isinstance(known, Known):
            return not_checked(clause, known)
        if known.kind is not kind:
            return not_checked(clause, (Missing(Lacking.FITTING, clause.code),))
        difference = known if other is None else known.plus(other.times(Fraction(-1)))
        measurement = Measurement(kind=known.kind, value=known.value, variance=difference.variance(self._observe))
        inputs = tuple(dict.fromkeys((*known.slopes, *(other.slopes if other else ()))))
        notes: dict[Note, None] = {Note.WORKED_OUT: None}
        for code in inputs:
            notes.update(dict.fromkeys(self._usable(code)[1]))
        return assessed(clause, assess(measurement, limits, rule), None, tuple(notes), inputs)

    def _compared(self, code: str, measurement: Measurement, other: Known | None) -> Measurement:
        """The reading with the doubt of what it is compared with added: u2 = ua2 + factor2 ub2, where the two are
        not worked out of the same reading."""
        if other is None or not other.slopes:
            return measurement
        slopes = dict(other.slopes)
        shared = 1 - slopes.pop(code, Fraction(0))
        rest = Known(other.kind, other.value, slopes).variance(self._observe)
        return Measurement(
            kind=measurement.kind, value=measurement.value, variance=shared**2 * measurement.variance + rest
        )

    def _work_out(self, code: str) -> Known | tuple[Missing, ...]:
        known = self._worked_out.get(code)
        if known is None:
            known = work_out(code, self.sheet.register, self._observe, self.facts.track_values)
            self._worked_out[code] = known
        return known

    def _observe(self, code: str) -> Measurement | tuple[Missing, ...]:
        """The mean of the readings of a characteristic that others are worked out of."""
        if not self._is_observed(code):
            lacking = Lacking.FITTING if code in self.found else Lacking.CHARACTERISTIC
            return (Missing(lacking, code),)
        readings, _, missing = self._usable(code)
        return missing or mean_or_missing(code, readings)

    def _usable(self, code: str) -> tuple[tuple[Reading, ...], tuple[Note, ...], tuple[Missing, ...]]:
        """The readings of a characteristic, resistances at 20 degC, and what to mind about them."""
        observed = self.found.get(code)
        readings = observed.readings if observed else ()
        notes: list[Note] = []
        if any(reading.overdue for reading in readings):
            if not self.sheet.allows_overdue_gauges:
                return readings, (), (Missing(Lacking.GAUGE, code),)
            notes.append(Note.GAUGE_OVERDUE)
        if any(reading.kind is Kind.RESISTANCE for reading in readings):
            known = all(reading.temperature is not None for reading in readings)
            notes.append(Note.REFERRED_TO_20 if known else Note.NO_TEMPERATURE)
            readings = tuple(refer_to_20(reading) for reading in readings)
        return readings, tuple(notes), ()

    # ---- conditions ----------------------------------------------------------------------------------------------

    def _ask(self, term: Term) -> Answered:
        match term.about:
            case About.CHARACTERISTIC:
                return self._ask_characteristic(term)
            case About.CLAUSE:
                return self._ask_clause(term)
            case About.RESTRICTED:
                limited = any(_limits_subject(clause, term.name) for clause in self.sheet.clauses)
                return answered(holds=limited is (term.op is Op.YES))
        return ask_facts(term, self.facts)

    def _ask_clause(self, term: Term) -> Answered:
        """Passed: it clears. What does not apply has neither passed nor failed."""
        clause = self.sheet.by_number.get(term.name)
        if clause is None or term.name in self.sheet.circular:
            return unknown(Lacking.CLAUSE, term.name)
        judged = self.result(clause)
        if judged.outcome is Outcome.NOT_APPLICABLE:
            return answered(holds=False)
        if judged.clears or judged.outcome is Outcome.FAIL:
            return answered(holds=judged.clears is (term.op is Op.PASSED))
        return unknown(Lacking.CLAUSE, term.name)

    def _ask_characteristic(self, term: Term) -> Answered:
        """By what was found, else by what is declared; a quantity by the mean of its readings, without doubt."""
        for observed in (self.found, self.facts.declared):
            answer = answer_by(term, observed.get(term.name))
            if answer is not None:
                return answer
        known = work_out(term.name, self.sheet.register, self._observe_or_declared, self.facts.track_values)
        if not isinstance(known, Known):
            return Answered(Truth.UNKNOWN, known)
        return ask_quantity(term, known.kind, known.value) or unknown(Lacking.FITTING, term.name)

    def _observe_or_declared(self, code: str) -> Measurement | tuple[Missing, ...]:
        found = self._observe(code)
        declared = self.facts.declared.get(code)
        if isinstance(found, Measurement) or declared is None or not declared.readings:
            return found
        return mean_or_missing(code, declared.readings)


def _badness(found: Assessment) -> tuple[int, bool, Fraction]:
    return _WORST_FIRST[found.zone], found.clears, found.margin


def _limits_subject(clause: Clause, code: str) -> bool:
    return any(one.code == code and one.comparator is not None for one in with_parts(clause))
