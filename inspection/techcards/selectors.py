"""A car's card: everything its page and its paper show; read only."""

import datetime as dt
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field, replace

from django.utils.translation import gettext_lazy as _lazy

from inspection.clauses.selectors import cautions_for, checked_clauses, decision_rule_of, gauge_for, limits_of
from inspection.conformity.assess import Assessment, DecisionRule, Limits
from inspection.conformity.clauses import CharacteristicKind, Comparator
from inspection.conformity.uncertainty import GaugeSpec
from inspection.gauges.selectors import gauges_in_use, kind_of, shown_text
from inspection.inspections.selectors import newer_revision
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
from inspection.readings.errors import GaugeOfWrongKind
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
    measured_kind,
    other_system,
    overdue_since,
    spec_for,
    state_of_finding,
    understand,
    unit_for,
)
from inspection.stations.selectors import CureGroup, cure_groups, group_of, station_of
from inspection.units import DecimalMark, Kind, Quantity, Unit, accepted_units, format_quantity
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
        return assessment_of(self.finding, self.clause) if self.finding else None

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
        return advice_words(*judged, decimal_mark=self.decimal_mark) if judged else ""

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
        if self.limits is None or self.unit is None or self.limits.kind is Kind.COUNT:
            return None
        return limit_picture(
            self.limits,
            unit=judged[1].unit if judged else self.unit,
            rule=self.rule,
            spec=self.spec,
            reading=judged[1] if judged else None,
            measurement=judged[0].measurement if judged else None,
            decimal_mark=self.decimal_mark,
        )


_DECLARABLE = frozenset(
    {CharacteristicKind.CHOICE, CharacteristicKind.TEXT, CharacteristicKind.COUNT, CharacteristicKind.YES_NO}
)


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
    loaded = (
        Inspection.objects.select_related(
            "occasion__club",
            "occasion__revision__rule_sheet__racing_class",
            "occasion__track_layout__track",
            "car__owner",
            "car__racing_class",
            "build",
            "signed_by",
        )
        .filter(pk=inspection.pk)
        .get()
    )
    club = loaded.occasion.club
    latest = Build.objects.filter(car=loaded.car_id).order_by("-number").first()
    by_clause: dict[int, list[Finding]] = {}
    for finding in loaded.findings.select_related("by"):
        by_clause.setdefault(finding.clause_id, []).append(finding)
    clauses = checked_clauses(loaded.occasion.revision, loaded.phase)
    declared = dict(loaded.build.declared.values_list("characteristic_id", "text")) if loaded.build else {}
    made = _assemble(loaded, clauses, by_clause, list(gauges_in_use(club)), latest, declared)
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
    return _assemble(inspection, checked_clauses(loaded.revision, phase), {}, [], None)


def _assemble(
    inspection: Inspection,
    clauses: Iterable[Clause],
    by_clause: Mapping[int, list[Finding]],
    gauges: list[Gauge],
    latest: Build | None,
    declared: Mapping[int, str] | None = None,
) -> Card:
    mark = inspection.occasion.club.decimal_mark
    said = declared or {}
    day = inspection.occasion.date
    lines = tuple(
        replace(
            _card_clause(place, clause, by_clause.get(clause.pk, []), gauges, mark),
            station=str(station_of(clause)),
            declared=shown_text(said.get(clause.characteristic_id, ""), decimal_mark=mark),
            gauge_due=overdue_since(gauge_for(clause), day),
        )
        for place, clause in enumerate(clauses, start=1)
    )
    counts: dict[str, int] = {}
    for line in lines:
        counts[line.state] = counts.get(line.state, 0) + 1
    return Card(inspection=inspection, clauses=lines, latest_build=latest, counts=counts)


def _card_clause(
    place: int, clause: Clause, findings: list[Finding], gauges: list[Gauge], mark: DecimalMark
) -> CardClause:
    asks = asks_of(clause)
    gauge = gauge_for(clause)
    is_measured = asks in {Asks.READING, Asks.GO_NO_GO}
    current = next((finding for finding in findings if finding.superseded_at is None), None)
    return CardClause(
        place=place,
        clause=clause,
        group=clause.characteristic.get_group_display()
        if clause.characteristic
        else str(Characteristic.Group.OTHER.label),
        asks=asks,
        subject=str(clause.characteristic or clause.text[:60]),
        limit=limit_words(clause, decimal_mark=mark),
        limit_short=limit_words_short(clause, decimal_mark=mark),
        limits=limits_of(clause),
        gauge=gauge,
        unit=unit_for(clause, gauge) if is_measured else None,
        spec=_spec_or_none(clause, gauge) if is_measured else None,
        gauges=tuple(g for g in gauges if is_measured and g.measures == measured_kind(clause).value),
        finding=current,
        struck=tuple(finding for finding in findings if finding.superseded_at is not None),
        decimal_mark=mark,
    )


def _spec_or_none(clause: Clause, gauge: Gauge | None) -> GaugeSpec | None:
    try:
        return spec_for(clause, gauge)
    except GaugeOfWrongKind:
        return None


@dataclass(frozen=True, slots=True, kw_only=True)
class Assessed:
    """What an answer being typed would come to; `state` as on the card."""

    state: str
    outcome: str
    margin: str = ""
    other_reading: str = ""
    picture: LimitPicture | None = None


def assessed(line: CardClause, text: str, gauge: Gauge | None) -> Assessed:
    """Judge what is being typed for a clause of a card, without recording it. No query.

    Raises an AnswerRefused.
    """
    mark = line.decimal_mark
    found = understand(clause=line.clause, text=text, gauge=gauge, decimal_mark=mark)
    outcome = Finding.Outcome.PASS if found.verdict.clears else Finding.Outcome.FAIL
    state = "too_close" if found.verdict.too_close else outcome.value
    reading, why = found.reading, found.verdict.assessment
    if reading is None or why is None or line.limits is None:
        return Assessed(state=state, outcome=outcome.value)
    picture = None
    if reading.kind is not Kind.COUNT:
        picture = limit_picture(
            line.limits,
            unit=reading.unit,
            rule=line.rule,
            reading=reading,
            measurement=found.measurement,
            decimal_mark=mark,
        )
    return Assessed(
        state=state,
        outcome=outcome.value,
        margin=margin_words(why, reading, decimal_mark=mark),
        other_reading=other_system(reading, decimal_mark=mark),
        picture=picture,
    )
