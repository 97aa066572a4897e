"""A car's card as the conformity engine judges it: what was read, what is known of the night, and what came out.

Read only. Readings belong to characteristics and not to clauses: one reading serves every clause that needs it.
"""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy

from inspection.clauses.selectors import (
    clauses_of,
    gauge_for,
    in_measuring_order,
    reading_unit_of,
    sheet_for_engine,
)
from inspection.conformity.advice import what_would_settle
from inspection.conformity.assess import Assessment
from inspection.conformity.clauses import Clause as Rule
from inspection.conformity.conditions import Lacking, Missing
from inspection.conformity.facts import Facts
from inspection.conformity.inputs import inputs_of, with_parts
from inspection.conformity.observations import Observation, named, said
from inspection.conformity.observations import Reading as Observed
from inspection.conformity.results import ClauseResult, Note
from inspection.conformity.sheet import Sheet, judge_sheet
from inspection.conformity.subjects import TRACK_VALUES, CharacteristicKind
from inspection.conformity.uncertainty import GaugeSpec
from inspection.conformity.verdicts import Outcome, Ruling
from inspection.contents.selectors import register_of
from inspection.gauges.selectors import kind_of, quantity_kind_of, read_stored, unit_or_none
from inspection.judging.errors import ClauseAsksNothing
from inspection.models import Characteristic, Clause, DeclaredValue, Finding, Gauge, Inspection, Reading
from inspection.readings.selectors import Asks, asks_for, asks_of, overdue_since, take
from inspection.units import Kind, Quantity, Unit, base_unit, format_quantity, from_base, read_exact

SEPARATOR = ";"  # between several words in one answer: materials, changes found
NOTHING = "none"  # said of changes: there are none
# Where an input of a finding comes from.
FOUND, DECLARED, GAUGE, JUDGE = "found", "declared", "gauge", "judge"


# ---- what is known ---------------------------------------------------------------------------------------------------


def words_in(text: str) -> tuple[str, ...]:
    """The words of an answer: "rubber; urethane" names two; "none" names nothing."""
    words = tuple(word.strip() for word in text.split(SEPARATOR) if word.strip())
    return () if [word.casefold() for word in words] in ([NOTHING], [str(_("none")).casefold()]) else words


def observed(characteristic: Characteristic, rows: Sequence[Reading], on: dt.date | None = None) -> Observation | None:
    """The current readings or the answer of one characteristic as the engine takes them; None when none can be read.

    on: the day, by which a gauge's calibration may be past its date.
    """
    kind = quantity_kind_of(characteristic)
    if kind is None:
        return _answered(characteristic, rows[0].typed)
    readings = [_reading(row, kind, characteristic.unit, on) for row in sorted(rows, key=lambda row: row.number)]
    known = tuple(reading for reading in readings if reading is not None)
    return Observation(readings=known) if known else None


def _answered(characteristic: Characteristic, text: str) -> Observation:
    if kind_of(characteristic) is CharacteristicKind.YES_NO:
        return said(text.strip().casefold() in {"yes", str(_("yes")).casefold()})
    return named(*words_in(text))


def _reading(row: Reading, kind: Kind, unit: str, on: dt.date | None) -> Observed | None:
    quantity = read_stored(row.reading, kind, unit)
    if quantity is None or quantity.kind is not kind:
        return None
    warm = read_stored(row.temperature, Kind.TEMPERATURE, "")
    return Observed(
        kind=kind,
        value=quantity.base,
        variance=read_exact(row.variance) if row.variance else Fraction(0),
        repeatability=read_exact(row.repeatability) if row.repeatability else Fraction(0),
        temperature=warm.base if warm else None,
        overdue=overdue_since(row.gauge, on) is not None,
    )


def declared_of(rows: Iterable[DeclaredValue]) -> dict[str, Observation]:
    """What a build sheet says, by the code of the characteristic. No query when the characteristics are loaded."""
    found = {}
    for row in rows:
        one = row.characteristic
        kind = quantity_kind_of(one)
        quantity = read_stored(row.text, kind, one.unit) if kind else None
        if kind is None:
            found[one.code] = _answered(one, row.text)
        elif quantity is not None and quantity.kind is kind:
            found[one.code] = Observation(readings=(Observed(kind=kind, value=quantity.base),))
    return found


def facts_of(card: Inspection, declared: Mapping[str, Observation]) -> Facts:
    """What is known of car, owner, class, track and night. No query when they are loaded."""
    occasion, car = card.occasion, card.car
    of_class = occasion.revision.rule_sheet.racing_class or car.racing_class
    layout = occasion.track_layout
    values = {name: getattr(layout, name) for name in TRACK_VALUES} if layout else {}
    return Facts(
        racing_class=of_class.name if of_class else None,
        scale=(of_class.scale or None) if of_class else None,
        grade=car.owner.grade or None,
        junior=car.owner.is_junior,
        track=layout.track.name if layout else None,
        date=occasion.date,
        flags=frozenset(str(flag) for flag in occasion.flags),
        phase=card.phase,
        track_values={name: Fraction(value) for name, value in values.items() if value is not None},
        declared=declared,
    )


def ruling_in(finding: Finding) -> Ruling | None:
    """The judge's decision, or that of a gauge that goes or does not, which a finding records; None for others."""
    sources = {each.get("source") for each in finding.inputs}
    is_word = not finding.inputs and not finding.reading and finding.answer in {"pass", "fail", "go", "no-go"}
    if not is_word and not sources & {GAUGE, JUDGE}:
        return None
    return Ruling(passes=finding.outcome == Finding.Outcome.PASS, judge=str(finding.by or ""), reason=finding.reason)


# ---- what a person finds for a clause --------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Input:
    """One thing that a person finds for a clause. wanted: how many readings. choices: what the lists allow.

    is_own: of the clause itself and of nothing else, so that its own gauge and words ask for it.
    """

    characteristic: Characteristic
    asks: Asks
    wanted: int = 1
    choices: tuple[str, ...] = ()
    gauge: Gauge | None = None
    is_own: bool = True
    is_changes: bool = False


@dataclass(frozen=True)
class Judged:
    """A card judged: its clauses in measuring order, what came out, and what is still to be found for each.

    readings: the current ones by characteristic. results: by clause id.
    """

    card: Inspection
    clauses: tuple[Clause, ...]
    sheet: Sheet
    register: Mapping[str, Characteristic]
    found: Mapping[str, Observation]
    facts: Facts
    readings: Mapping[int, tuple[Reading, ...]]
    rulings: Mapping[str, Ruling]
    results: Mapping[int, ClauseResult]
    said: Mapping[int, str] = field(default_factory=dict)  # what the build sheet says, by characteristic

    @cached_property
    def rules(self) -> Mapping[str, Rule]:
        return {rule.number: rule for rule in self.sheet.clauses}

    def inputs(self, clause: Clause) -> tuple[Input, ...]:
        """What the conditions of a clause ask and the build sheet does not say; then what a person finds for it."""
        rule = self.rules.get(clause.number)
        if rule is None or clause.comparator == Clause.Comparator.JUDGE:
            return ()
        needed = inputs_of(rule, self.sheet.register)
        result = self.results.get(clause.pk)
        lacking = {miss.name for miss in result.missing if miss.lacking is Lacking.CHARACTERISTIC} if result else set()
        here = {code for code, one in self.register.items() if one.pk in self.readings}
        codes = [*(code for code in needed.asked if code in lacking | here), *needed.found]
        return tuple(
            self._input(clause, rule, self.register[code], is_own=codes == [clause_code(clause)])
            for code in codes
            if code in self.register
        )

    def _input(self, clause: Clause, rule: Rule, one: Characteristic, *, is_own: bool) -> Input:
        parts = [part for part in with_parts(rule) if part.code == one.code]
        choices = dict.fromkeys(choice for part in parts for choice in _choices(part))
        return Input(
            characteristic=one,
            asks=asks_of(clause) if is_own else asks_for(one),
            wanted=max((part.readings_wanted for part in parts), default=1),
            choices=tuple(choices),
            gauge=gauge_for(clause) if is_own or clause_code(clause) == one.code else one.default_gauge,
            is_own=is_own,
            is_changes=clause.comparator == Clause.Comparator.AS_SUPPLIED,
        )

    def to_find(self, clause: Clause) -> list[tuple[Input, int]]:
        """What is still to be found for a clause, in order: each input with the number of the reading."""
        return [
            (one, number)
            for one in self.inputs(clause)
            for have in ({row.number for row in self.readings.get(one.characteristic.pk, ())},)
            for number in range(1, one.wanted + 1)
            if number not in have
        ]

    def lacks(self, clause: Clause) -> list[str]:
        """What keeps a clause from being decided besides what is found for it at its own place, each in words."""
        result, rule = self.results.get(clause.pk), self.rules.get(clause.number)
        own = inputs_of(rule, self.sheet.register).found if rule else ()
        missing = [miss for miss in result.missing if miss.name not in own] if result else []
        return missing_words(missing, self.register)


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """The input that is answered, and which reading of it."""

    input: Input
    number: int


def asked_of(card: Inspection, clause: Clause, characteristic: Characteristic | None, number: int | None) -> Asked:
    """Which input of a clause is answered: the one named, else what is asked for next, else its first one again.

    card: as `loaded_card` gives it. Raises ClauseAsksNothing for a clause that asks for no such thing. Seven queries.
    """
    own = clause.characteristic
    if own is not None and _is_plain(clause) and characteristic in (None, own) and (number or 1) == 1:
        return Asked(input=Input(characteristic=own, asks=asks_of(clause), gauge=gauge_for(clause)), number=1)
    judged = judge_card(card, card.findings.filter(superseded_at__isnull=True).select_related("by"))
    return asked_in(judged, clause, characteristic, number)


def _is_plain(clause: Clause) -> bool:
    """Is there one input, found on the car, and asked for once? Known without judging the card."""
    more = (clause.parts, clause.limit_rows, clause.applies_when, clause.unless, clause.other_id, clause.choice_list_id)
    own = clause.characteristic
    return not any(more) and clause.readings_wanted == 1 and not (own and own.derivation)


def asked_in(judged: Judged, clause: Clause, characteristic: Characteristic | None, number: int | None) -> Asked:
    """The same on a card that is judged already. No query."""
    inputs = judged.inputs(clause)
    if characteristic is not None:
        inputs = tuple(one for one in inputs if one.characteristic.pk == characteristic.pk)
    missing = judged.to_find(clause) if characteristic is None else []
    if missing and number is None:
        return Asked(input=missing[0][0], number=missing[0][1])
    if not inputs:
        raise ClauseAsksNothing(number=clause.number)
    return Asked(input=inputs[0], number=min(max(number or 1, 1), inputs[0].wanted))


def unit_of_input(clause: Clause, one: Input, gauge: Gauge | None) -> Unit | None:
    """The unit of a reading typed without one: that of the gauge in use, else the clause's or the characteristic's."""
    kind = quantity_kind_of(one.characteristic)
    if kind is None:
        return None
    used = gauge or one.gauge
    shown = unit_or_none(used.unit, kind) if used is not None and used.unit else None
    own = reading_unit_of(clause) if clause_code(clause) == one.characteristic.code else None
    return shown or own or unit_or_none(one.characteristic.unit, kind) or base_unit(kind)


@dataclass(frozen=True, slots=True, kw_only=True)
class InputLine:
    """One input of a clause as the card shows it. texts: what stands for it now, each with its unit."""

    input: Input
    texts: tuple[str, ...] = ()
    gauge_name: str = ""
    declared: str = ""

    @property
    def is_found(self) -> bool:
        return len(self.texts) >= self.input.wanted


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedLine:
    """The input that is asked for now: which reading of it, and in which unit it is typed. declared: one tap does."""

    input: Input
    number: int
    unit: Unit | None = None
    gauges: tuple[Gauge, ...] = ()
    declared: str = ""
    then: str = ""  # what the same clause asks for after it; "" when that is all

    @property
    def needs_temperature(self) -> bool:
        return self.unit is not None and self.unit.kind is Kind.RESISTANCE


def input_lines(judged: Judged, clause: Clause, gauges: Sequence[Gauge] = ()) -> tuple[InputLine, ...]:
    """The inputs of a clause with what stands for each. No query."""
    mark = judged.card.occasion.club.decimal_mark
    return tuple(
        InputLine(
            input=one,
            texts=tuple((row.reading or row.typed).replace(".", mark) if row.reading else row.typed for row in rows),
            gauge_name=rows[0].gauge_name if rows else "",
            declared=judged.said.get(one.characteristic.pk, ""),
        )
        for one in judged.inputs(clause)
        for rows in (judged.readings.get(one.characteristic.pk, ()),)
    )


def asked_line(
    judged: Judged,
    clause: Clause,
    inputs: Sequence[InputLine],
    gauges: Sequence[Gauge] = (),
    again: Asked | None = None,
) -> AskedLine | None:
    """What a clause asks for now: the reading to correct (`again`), else what is missing, else its first input again.

    None where nothing is asked.
    """
    missing = judged.to_find(clause)
    if not missing and not inputs:
        return None
    one, number = (again.input, again.number) if again else missing[0] if missing else (inputs[0].input, 1)
    rest = [(other, n) for other, n in missing if (other.characteristic.pk, n) != (one.characteristic.pk, number)]
    kind = quantity_kind_of(one.characteristic)
    return AskedLine(
        input=one,
        number=number,
        unit=unit_of_input(clause, one, None),
        gauges=tuple(gauge for gauge in gauges if kind is not None and gauge.measures == kind.value),
        declared=judged.said.get(one.characteristic.pk, ""),
        then=_then(one, rest),
    )


def _then(one: Input, rest: Sequence[tuple[Input, int]]) -> str:
    if not rest:
        return ""
    follows, number = rest[0]
    if follows.characteristic.pk == one.characteristic.pk:
        return _("reading {n}").format(n=number)
    return str(follows.characteristic)


def looked_ahead(
    judged: Judged, clause: Clause, text: str, gauge: Gauge | None, asked: Asked, temperature: str = ""
) -> tuple[ClauseResult | None, Quantity | None]:
    """What a clause would come to by what is being typed, and the reading as understood. No query.

    Raises an AnswerRefused.
    """
    one = asked.input.characteristic
    taken = take(
        characteristic=one,
        text=text,
        gauge=gauge or asked.input.gauge,
        unit=unit_of_input(clause, asked.input, gauge),
        temperature=temperature,
        decimal_mark=judged.card.occasion.club.decimal_mark,
        allowed=", ".join(asked.input.choices),
    )
    if taken.reading is None:
        return judged_with(judged, one.code, _answered(one, taken.answer), clause.number), None
    seen = judged.found.get(one.code)
    before = [row.number for row in judged.readings.get(one.pk, ())]
    kept = [row for row, n in zip(seen.readings, before, strict=False) if n != asked.number] if seen else []
    fresh = Observed(
        kind=taken.reading.kind,
        value=taken.reading.base,
        variance=taken.variance,
        repeatability=taken.repeatability,
        temperature=taken.temperature.base if taken.temperature else None,
    )
    result = judged_with(judged, one.code, Observation(readings=(*kept, fresh)), clause.number)
    return result, taken.reading


def clause_code(clause: Clause) -> str:
    """The code of a clause's own characteristic, or ""."""
    return clause.characteristic.code if clause.characteristic else ""


def _choices(part: Rule) -> tuple[str, ...]:
    if part.comparator is None or not part.comparator.takes_a_list:
        return ()
    more = [choice for row in part.rows for choice in row.choices or ()]
    return (*part.choices, *(entry.value for entry in part.entries), *more)


# ---- judged ----------------------------------------------------------------------------------------------------------


# What judging a card reads.
_CARD_PARTS = (
    "occasion__club",
    "occasion__revision__rule_sheet__racing_class",
    "occasion__revision__rule_sheet__club",
    "occasion__track_layout__track",
    "car__owner",
    "car__racing_class",
    "build",
    "signed_by",
)


def loaded_card(pk: int) -> Inspection:
    """A card with all that judging it reads. One query."""
    return Inspection.objects.select_related(*_CARD_PARTS).get(pk=pk)


def held_card(inspection: Inspection) -> Inspection:
    """The card as it stands, loaded and held until the transaction ends, so that two stations take turns."""
    return Inspection.objects.hold(inspection.pk, *_CARD_PARTS)


def judge_card(card: Inspection, findings: Iterable[Finding]) -> Judged:
    """Judge a card by its current readings, the build sheet and the rulings among its current findings.

    card: as `loaded_card` gives it. Six queries, however many clauses.
    """
    revision = card.occasion.revision
    everything = clauses_of(revision)
    sheet = sheet_for_engine(revision, everything)
    rows: dict[int, list[Reading]] = {}
    for row in card.readings.filter(superseded_at__isnull=True).select_related("characteristic", "gauge", "by"):
        rows.setdefault(row.characteristic_id, []).append(row)
    sheet_rows = list(card.build.declared.select_related("characteristic")) if card.build else []
    declared = declared_of(sheet_rows)
    found = {
        ones[0].characteristic.code: seen
        for ones in rows.values()
        if (seen := observed(ones[0].characteristic, ones, card.occasion.date)) is not None
    }
    rulings = {f.clause_number: ruling for f in findings if (ruling := ruling_in(f)) is not None}
    facts = facts_of(card, declared)
    clauses = tuple(in_measuring_order(everything, card.phase))
    by_number = {result.clause.number: result for result in judge_sheet(sheet, found, facts, rulings)}
    return Judged(
        card=card,
        clauses=clauses,
        sheet=sheet,
        # Of the clauses' own revision, which keeps it where a published sheet is kept.
        register=register_of(everything[0].revision if everything else revision),
        found=found,
        facts=facts,
        readings={pk: tuple(sorted(ones, key=lambda row: row.number)) for pk, ones in rows.items()},
        rulings=rulings,
        results={clause.pk: by_number[clause.number] for clause in clauses if clause.number in by_number},
        said={row.characteristic_id: row.text for row in sheet_rows},
    )


def blank_judged(card: Inspection) -> Judged:
    """The clauses of a card for no car in particular, with nothing found. Three queries at most."""
    revision = card.occasion.revision
    everything = clauses_of(revision)
    return Judged(
        card=card,
        clauses=tuple(in_measuring_order(everything, card.phase)),
        sheet=sheet_for_engine(revision, everything),
        register=register_of(revision),
        found={},
        facts=Facts(phase=card.phase),
        readings={},
        rulings={},
        results={},
    )


def judged_with(judged: Judged, code: str, seen: Observation, number: str) -> ClauseResult | None:
    """What a clause would come to, were this found as well. No query."""
    results = judge_sheet(judged.sheet, {**judged.found, code: seen}, judged.facts, judged.rulings)
    return next((result for result in results if result.clause.number == number), None)


IS_DECIDED = frozenset({Outcome.PASS, Outcome.FAIL, Outcome.TOO_CLOSE, Outcome.NOT_APPLICABLE})


def limit_here(judged: Judged, clause: Clause) -> str:
    """What the limit of a clause comes to on this car: "here at most 65.20 mm"; "" where it is as printed."""
    result = judged.results.get(clause.pk)
    found = result.assessment if result else None
    if result is None or found is None:
        return ""
    printed = result.clause.limits
    if printed is not None and (printed.lower, printed.upper) == (found.limits.lower, found.limits.upper):
        return ""
    mark = judged.card.occasion.club.decimal_mark
    ends = [
        words.format(limit=format_quantity(from_base(value, unit), places=max(unit.places, 2), decimal_mark=mark))
        for words, value in ((_("at least {limit}"), found.limits.lower), (_("at most {limit}"), found.limits.upper))
        if value is not None
        for unit in (result.clause.unit or base_unit(found.limits.kind),)
    ]
    return _("here {limits}").format(limits=", ".join(ends))


# ---- words -----------------------------------------------------------------------------------------------------------

_LACKING_WORDS = {
    Lacking.CHARACTERISTIC: _lazy("say what holds of: {name}"),
    Lacking.READINGS: _lazy("take more readings of: {name}"),
    Lacking.FITTING: _lazy("what was found does not fit: {name}"),
    Lacking.GAUGE: _lazy("taken with a gauge past its date: {name}"),
    Lacking.CLAUSE: _lazy("clause {name} comes first"),
    Lacking.CLASS: _lazy("the car has no class"),
    Lacking.SCALE: _lazy("the class has no scale"),
    Lacking.GRADE: _lazy("the driver has no grade"),
    Lacking.JUNIOR: _lazy("whether the driver is a junior"),
    Lacking.TRACK: _lazy("the tech day names no track"),
    Lacking.TRACK_VALUE: _lazy("the track's record does not say: {name}"),
    Lacking.DATE: _lazy("the tech day has no date"),
    Lacking.FLAG: _lazy("whether tonight is: {name}"),
    Lacking.RULE: _lazy("the clause cannot be decided as it is written"),
}


def missing_words(missing: Iterable[Missing], register: Mapping[str, Characteristic]) -> list[str]:
    """What keeps a clause from being decided, each naming the value."""

    def name_of(miss: Missing) -> str:
        one = register.get(miss.name)
        return str(one.name if one else miss.name).replace("_", " ")

    return [str(_LACKING_WORDS[miss.lacking]).format(name=name_of(miss)) for miss in missing]


NOTE_WORDS = {
    Note.REFERRED_TO_20: _lazy("Referred to 20 degrees Celsius (copper, 0.00393 per kelvin)."),
    Note.NO_TEMPERATURE: _lazy("Judged as read: no temperature was given."),
    Note.GAUGE_OVERDUE: _lazy("Taken with a gauge past its calibration date."),
    Note.SHEET_TOLERANCE: _lazy("The sheet's tolerance is added to the limit, so there is no guard band."),
    Note.CLAUSE_TOLERANCE: _lazy("The clause's own tolerance is added to the limit, so there is no guard band."),
    Note.WORST_OF_SEVERAL: _lazy("The worst of the readings counts."),
    Note.MEAN_OF_SEVERAL: _lazy("The mean of the readings counts."),
    Note.WORKED_OUT: _lazy("Worked out from what was found."),
}


def settled_words(found: Assessment, gauges: Mapping[str, GaugeSpec]) -> str:
    """What would settle a reading that is too close: which gauge, how many readings; else that a judge rules."""
    remedies = what_would_settle(found, gauges)
    if not remedies:
        return _("No gauge of the club settles it: the judge rules on the spot.")
    one = remedies[0]
    if one.readings == 1:
        return _("{gauge} would settle it.").format(gauge=one.gauge)
    return _("The mean of {n} readings with {gauge} would settle it.").format(n=one.readings, gauge=one.gauge)
