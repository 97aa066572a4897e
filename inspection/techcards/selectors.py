"""A car's card: everything its page and its paper show; read only."""

import datetime as dt
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from django.utils.translation import gettext_lazy as _lazy

from inspection.clauses.selectors import cautions_for, decision_rule_of, gauge_for, limits_of
from inspection.conformity.assess import Assessment, DecisionRule, Limits
from inspection.conformity.clauses import CharacteristicKind, Comparator
from inspection.conformity.results import ClauseResult
from inspection.conformity.uncertainty import GaugeSpec
from inspection.conformity.verdicts import Outcome
from inspection.gauges.selectors import gauge_spec, gauges_in_use, kind_of, read_stored, shown_text, unit_or_none
from inspection.inspections.selectors import newer_revision
from inspection.judging.selectors import (
    NOTE_WORDS,
    Asked,
    AskedLine,
    InputLine,
    Judged,
    asked_in,
    asked_line,
    blank_judged,
    input_lines,
    judge_card,
    limit_here,
    loaded_card,
    looked_ahead,
    settled_words,
)
from inspection.models import (
    Build,
    Characteristic,
    Clause,
    Finding,
    Gauge,
    ImpoundTouch,
    Inspection,
    RuleSheetRevision,
    TechOccasion,
)
from inspection.readings.pictures import LimitPicture, limit_picture
from inspection.readings.selectors import (
    Asks,
    Why,
    advice_words,
    answer_text,
    asks_of,
    assessment_of,
    differs,
    explain,
    margin_words,
    other_system,
    overdue_since,
    ruling_typed,
    state_of_finding,
)
from inspection.stations.selectors import CureGroup, cure_groups, group_of, station_of
from inspection.units import (
    DecimalMark,
    Kind,
    Quantity,
    Unit,
    accepted_units,
    base_unit,
    format_quantity,
    from_base,
)
from inspection.wording.selectors import limit_words, limit_words_short


@dataclass(frozen=True, slots=True, kw_only=True)
class CardClause:
    """One clause of a card. place: from 1, in measuring order. struck: findings that no longer stand."""

    place: int
    clause: Clause
    group: str
    asks: Asks
    subject: str
    limit: str
    limit_short: str
    limits: Limits | None
    gauge: Gauge | None
    unit: Unit | None
    spec: GaugeSpec | None
    gauges: tuple[Gauge, ...] = ()
    finding: Finding | None = None
    struck: tuple[Finding, ...] = ()
    decimal_mark: DecimalMark = "."
    station: str = ""
    declared: str = ""  # what the build sheet says
    gauge_due: dt.date | None = None  # the calibration of its gauge was due on this day, before the occasion
    inputs: tuple[InputLine, ...] = ()
    asked: AskedLine | None = None  # what is asked for now; None where only a judge, or nobody, is asked
    result: ClauseResult | None = None
    lacks: tuple[str, ...] = ()  # what keeps it from being decided, in words
    here: str = ""  # what the limit comes to on this car

    @property
    def is_plain(self) -> bool:
        """Does one reading or answer of its own characteristic settle it?"""
        return len(self.inputs) <= 1 and all(line.input.is_own and line.input.wanted == 1 for line in self.inputs)

    @property
    def is_input_found(self) -> bool:
        """Does something stand for each of its inputs, so that each can be corrected by itself?"""
        return bool(self.inputs) and all(line.is_found for line in self.inputs)

    @property
    def notes(self) -> list[str]:
        """What to mind about the result, in words."""
        return [str(NOTE_WORDS[note]) for note in self.result.notes if note in NOTE_WORDS] if self.result else []

    @property
    def declared_differs(self) -> bool:
        """Was something else found than was declared, beyond what the gauge leaves in doubt?"""
        return bool(self.declared and self.finding) and differs(self.declared, self.finding, self.clause)

    @property
    def declares_answer(self) -> bool:
        """Can what is declared be confirmed by one tap? A choice, a count or a word; what is measured is measured."""
        kind = kind_of(self.clause.characteristic) if self.clause.characteristic else CharacteristicKind.TEXT
        return bool(self.declared) and self.asks is not Asks.JUDGE and kind in _DECLARABLE

    @property
    def state(self) -> str:
        if self.finding is not None and self.finding.zone == Outcome.NOT_APPLICABLE:
            return Outcome.NOT_APPLICABLE.value
        return state_of_finding(self.finding, self.clause)

    @property
    def is_found(self) -> bool:
        return self.finding is not None

    @property
    def answer(self) -> str:
        return answer_text(self.finding, decimal_mark=self.decimal_mark) if self.finding else ""

    @property
    def shows_unit(self) -> bool:
        """Is the answer a figure that needs the unit beside it?"""
        return bool(self.finding and self.finding.reading)

    @property
    def judged(self) -> tuple[Assessment, Quantity] | None:
        if self.finding is None:
            return None
        found = self.result.assessment if self.result else None
        if found is None or not self.finding.reading:
            return assessment_of(self.finding, self.clause)
        kind = found.measurement.kind
        unit = unit_or_none(self.finding.unit, kind) or base_unit(kind)
        shown = read_stored(self.finding.reading, kind, unit.symbol)
        return found, shown or from_base(found.measurement.value, unit)

    @property
    def shown_limits(self) -> Limits | None:
        """The limits to draw: those that the decision used, before it those that are printed."""
        found = self.result.assessment if self.result and self.finding else None
        return found.limits if found else self.limits

    @property
    def margin(self) -> str:
        judged = self.judged
        return margin_words(*judged, decimal_mark=self.decimal_mark) if judged else ""

    @property
    def why(self) -> Why | None:
        judged = self.judged
        return explain(*judged, decimal_mark=self.decimal_mark) if judged else None

    @property
    def advice(self) -> str:
        judged = self.judged
        if judged is None or not judged[0].too_close:
            return ""
        words = advice_words(*judged, decimal_mark=self.decimal_mark)
        kind = judged[0].limits.kind
        specs = {gauge.name: spec for gauge in self.gauges if (spec := gauge_spec(gauge, kind=kind)) is not None}
        return f"{words} {settled_words(judged[0], specs)}"

    @property
    def other_reading(self) -> str:
        """The reading in the other system of measures, or ""."""
        judged = self.judged
        return other_system(judged[1], decimal_mark=self.decimal_mark) if judged else ""

    @property
    def rule(self) -> DecisionRule:
        return decision_rule_of(self.clause)

    @property
    def limit_other(self) -> str:
        """The limits in the other system of measures, for the narrow column of the paper card; "" for one system."""
        if self.limits is None:
            return ""
        written = [q for q in (self.limits.lower_written, self.limits.upper_written) if q and q.unit.counterpart]
        if self.clause.comparator == Comparator.EQUAL_WITHIN or len(written) > 1:
            ends = [format_quantity(q, unit=q.unit.counterpart, decimal_mark=self.decimal_mark) for q in written]
            return " \N{EN DASH} ".join([end.rpartition(" ")[0] for end in ends[:-1]] + ends[-1:])
        return "".join(other_system(q, decimal_mark=self.decimal_mark) for q in written)

    @property
    def units(self) -> tuple[Unit, ...]:
        """The units in which a reading may be typed."""
        return accepted_units(self.unit.kind) if self.unit else ()

    @property
    def picture(self) -> LimitPicture | None:
        """Where the reading stands, or before it where the limits stand; None where nothing is measured."""
        judged = self.judged
        limits = self.shown_limits
        unit = judged[1].unit if judged else self.unit
        if limits is None or unit is None or limits.kind is not unit.kind or limits.kind is Kind.COUNT:
            return None
        return limit_picture(
            limits,
            unit=unit,
            rule=judged[0].rule if judged else self.rule,
            spec=self.spec,
            reading=judged[1] if judged else None,
            measurement=judged[0].measurement if judged else None,
            decimal_mark=self.decimal_mark,
        )


_DECLARABLE = frozenset(
    {CharacteristicKind.CHOICE, CharacteristicKind.TEXT, CharacteristicKind.COUNT, CharacteristicKind.YES_NO}
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Assessed:
    """What an answer being typed would come to; `state` as on the card."""

    state: str
    outcome: str
    margin: str = ""
    other_reading: str = ""
    picture: LimitPicture | None = None


SHORT_PHASES = {
    Inspection.Phase.BEFORE: _lazy("before race"),
    Inspection.Phase.IMPOUND: _lazy("impound"),
    Inspection.Phase.DURING: _lazy("during race"),
    Inspection.Phase.AFTER: _lazy("after race"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """A car's card: everything its page and its paper show."""

    inspection: Inspection
    clauses: tuple[CardClause, ...]
    latest_build: Build | None
    counts: Mapping[str, int] = field(default_factory=dict)
    station: str = ""  # of the phone that looks at it; "" for all clauses
    touches: tuple[ImpoundTouch, ...] = ()
    newer: RuleSheetRevision | None = None
    photos: int = 0
    judged: Judged | None = None
    gauges: tuple[Gauge, ...] = ()

    def assess(self, answer: Mapping[str, Any]) -> Assessed | None:
        """What an answer being typed would come to, by the arguments of `record_measurement`. No query.

        Raises an AnswerRefused.
        """
        judged, clause = self.judged, answer["clause"]
        if judged is None:
            return None
        if ruling_typed(clause=clause, text=answer["text"], gauge=answer["gauge"], reason="-") is not None:
            return None
        asked = asked_in(judged, clause, answer["characteristic"], answer["number"])
        return assessed(judged, clause, answer["text"], answer["gauge"], asked, answer["temperature"])

    def asking_again(self, line: CardClause, characteristic: int, number: int) -> "Card":
        """The card whose clause asks for one reading of one input anew; as it is when it has no such input. No query.

        characteristic: its id. number: which reading, from 1.
        """
        found = next((one.input for one in line.inputs if one.input.characteristic.pk == characteristic), None)
        if self.judged is None or found is None or not 1 <= number <= found.wanted:
            return self
        asked = Asked(input=found, number=number)
        fresh = replace(line, **_asking(self.judged, line.clause, line.inputs, self.gauges, again=asked))
        return replace(self, clauses=tuple(fresh if one is line else one for one in self.clauses))

    @property
    def cautions(self) -> list[str]:
        """What to mind when these clauses are checked."""
        return cautions_for(line.clause for line in self.clauses)

    @property
    def touched(self) -> ImpoundTouch | None:
        """The touch in impound after which nobody has signed yet."""
        last, signed = (self.touches[-1] if self.touches else None), self.inspection.signed_at
        return last if last and (signed is None or signed < last.at) else None

    @property
    def cure_groups(self) -> list[CureGroup]:
        """What to ask when the car comes back."""
        passed = [line.clause for line in self.clauses if line.finding and line.finding.outcome == "pass"]
        return cure_groups([line.clause for line in self.failed], passed)

    @property
    def phase_words(self) -> str:
        """The phase in few words, for the running head of a phone."""
        return str(SHORT_PHASES[self.inspection.phase])

    @property
    def groups(self) -> list[tuple[str, list[CardClause]]]:
        """The clauses under the place where they are checked, in measuring order."""
        found: dict[str, list[CardClause]] = {}
        for line in self.clauses:
            found.setdefault(line.group, []).append(line)
        return list(found.items())

    @property
    def to_go(self) -> int:
        return len(self.missing)

    @property
    def failed(self) -> list[CardClause]:
        return [line for line in self.clauses if line.finding and line.finding.outcome == Finding.Outcome.FAIL]

    @property
    def missing(self) -> list[CardClause]:
        return [line for line in self.clauses if not line.is_found]

    @property
    def missing_here(self) -> list[CardClause]:
        """What is not found yet, of the clauses of this phone's station."""
        return [line for line in self.missing if self.station in ("", line.station)]

    @property
    def next_to_find(self) -> CardClause | None:
        return self.after(0)

    @property
    def too_close(self) -> list[CardClause]:
        return [line for line in self.clauses if line.state == "too_close"]

    @property
    def is_signed(self) -> bool:
        return self.inspection.signed_at is not None

    @property
    def has_new_build(self) -> bool:
        """Has the car a later build than the one on this card?"""
        latest = self.latest_build
        return latest is not None and latest.pk != self.inspection.build_id

    @property
    def is_clear(self) -> bool:
        return bool(self.inspection.signed_clear) and not self.has_new_build

    @property
    def gauges_used(self) -> list[str]:
        return sorted({line.finding.gauge_name for line in self.clauses if line.finding and line.finding.gauge_name})

    def at(self, place: int | None) -> CardClause | None:
        """The clause at a place, else the first that is not found, else the last; None on an empty card."""
        if place is not None and 1 <= place <= len(self.clauses):
            return self.clauses[place - 1]
        return self.after(0) or (self.clauses[-1] if self.clauses else None)

    @property
    def panes(self) -> list[tuple[CardClause, CardClause | None]]:
        """Each clause with the one that comes after it: what is not found yet, or None when all others are."""
        found = []
        for line in self.clauses:
            follows = self.after(line.place)
            found.append((line, None if follows is line else follows))
        return found

    def after(self, place: int) -> CardClause | None:
        """The next clause of the station that is not found, from this place on and then from the start; else None."""
        missing = self.missing_here
        return next((line for line in missing if line.place > place), missing[0] if missing else None)

    def clauses_in(self, groups: Collection[str]) -> list[int]:
        """The ids of the clauses that are checked in these groups."""
        return [line.clause.pk for line in self.clauses if group_of(line.clause) in groups]

    def line_of(self, clause: Clause) -> CardClause | None:
        """The clause as the card has it; None when it is not on the card."""
        return next((line for line in self.clauses if line.clause.pk == clause.pk), None)


def card(inspection: Inspection, *, station: str = "") -> Card:
    """A car's card. Nine queries, however many clauses it has. station: only its clauses come next."""
    loaded = loaded_card(inspection.pk)
    club = loaded.occasion.club
    latest = Build.objects.filter(car=loaded.car_id).order_by("-number").first()
    by_clause: dict[int, list[Finding]] = {}
    for finding in loaded.findings.select_related("by"):
        by_clause.setdefault(finding.clause_id, []).append(finding)
    current = [one for ones in by_clause.values() for one in ones if one.superseded_at is None]
    judged = judge_card(loaded, current)
    made = _assemble(judged, by_clause, list(gauges_in_use(club)), latest)
    return replace(
        made,
        station=station,
        touches=tuple(loaded.touches.select_related("by")),
        newer=newer_revision(loaded.occasion),
        photos=loaded.photos.count(),
    )


def blank_card(occasion: TechOccasion, phase: str = Inspection.Phase.BEFORE) -> Card:
    """The card of a sheet for no car in particular, to be filled in by hand. Three queries at most."""
    loaded = TechOccasion.objects.select_related(
        "club", "revision__rule_sheet__racing_class", "track_layout__track"
    ).get(pk=occasion.pk)
    inspection = Inspection(occasion=loaded, phase=phase)
    return _assemble(blank_judged(inspection), {}, [], None)


def _assemble(
    judged: Judged, by_clause: Mapping[int, list[Finding]], gauges: list[Gauge], latest: Build | None
) -> Card:
    lines = tuple(
        _card_clause(place, clause, by_clause.get(clause.pk, []), gauges, judged)
        for place, clause in enumerate(judged.clauses, start=1)
    )
    counts: dict[str, int] = {}
    for line in lines:
        counts[line.state] = counts.get(line.state, 0) + 1
    return Card(
        inspection=judged.card,
        clauses=lines,
        latest_build=latest,
        counts=counts,
        judged=judged,
        gauges=tuple(gauges),
    )


def _card_clause(
    place: int, clause: Clause, findings: list[Finding], gauges: list[Gauge], judged: Judged
) -> CardClause:
    mark = judged.card.occasion.club.decimal_mark
    current = next((finding for finding in findings if finding.superseded_at is None), None)
    inputs = input_lines(judged, clause, gauges)
    result = judged.results.get(clause.pk)
    return CardClause(
        place=place,
        clause=clause,
        group=clause.characteristic.get_group_display()
        if clause.characteristic
        else str(Characteristic.Group.OTHER.label),
        subject=str(clause.characteristic or clause.text[:60]),
        limit=limit_words(clause, decimal_mark=mark),
        limit_short=limit_words_short(clause, decimal_mark=mark),
        limits=limits_of(clause),
        finding=current,
        struck=tuple(finding for finding in findings if finding.superseded_at is not None),
        decimal_mark=mark,
        station=str(station_of(clause, judged.register)),
        declared=shown_text(judged.said.get(clause.characteristic_id, ""), decimal_mark=mark),
        inputs=inputs,
        result=result,
        lacks=tuple(judged.lacks(clause)) if current is None else (),
        here=limit_here(judged, clause),
        **_asking(judged, clause, inputs, gauges),
    )


def _asking(
    judged: Judged,
    clause: Clause,
    inputs: Sequence[InputLine],
    gauges: Sequence[Gauge],
    again: Asked | None = None,
) -> dict[str, Any]:
    """What the card asks for now, and how it is taken: fields of a CardClause."""
    asked = asked_line(judged, clause, inputs, gauges, again)
    gauge = asked.input.gauge if asked else gauge_for(clause)
    unit = asked.unit if asked else None
    return {
        "asks": asked.input.asks if asked else asks_of(clause),
        "gauge": gauge,
        "unit": unit,
        "spec": gauge_spec(gauge, kind=unit.kind) if gauge and unit else None,
        "gauges": asked.gauges if asked else (),
        "gauge_due": overdue_since(gauge, judged.card.occasion.date),
        "asked": asked,
    }


def assessed(
    shown: Judged, clause: Clause, text: str, gauge: Gauge | None, asked: Asked, temperature: str = ""
) -> Assessed | None:
    """Judge what is being typed for a clause of a card, without recording it; None while it decides nothing. No query.

    Raises an AnswerRefused.
    """
    mark = shown.card.occasion.club.decimal_mark
    result, reading = looked_ahead(shown, clause, text, gauge, asked, temperature)
    if result is None or result.outcome not in {Outcome.PASS, Outcome.FAIL, Outcome.TOO_CLOSE}:
        return None
    outcome = Finding.Outcome.PASS if result.clears else Finding.Outcome.FAIL
    state = "too_close" if result.too_close else outcome.value
    why = result.assessment
    if reading is None or why is None or reading.kind is not why.limits.kind:
        return Assessed(state=state, outcome=outcome.value)
    picture = None
    if reading.kind is not Kind.COUNT:
        picture = limit_picture(
            why.limits,
            unit=reading.unit,
            rule=why.rule,
            reading=reading,
            measurement=why.measurement,
            decimal_mark=mark,
        )
    return Assessed(
        state=state,
        outcome=outcome.value,
        margin=margin_words(why, reading, decimal_mark=mark),
        other_reading=other_system(reading, decimal_mark=mark),
        picture=picture,
    )
