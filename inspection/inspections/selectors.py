"""The card of a car and the line of cars: read only."""

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from django.db.models import OuterRef, QuerySet, Subquery
from django.utils.translation import gettext_lazy as _lazy

from inspection.clauses.selectors import (
    checked_clauses,
    decision_rule_of,
    gauge_for,
    limit_words,
    limit_words_short,
    limits_of,
)
from inspection.conformity.assess import Assessment, DecisionRule, Limits
from inspection.conformity.uncertainty import GaugeSpec
from inspection.drivers.selectors import drivers_by_letters
from inspection.gauges.selectors import gauges_in_use
from inspection.inspections.errors import CarNotFound, SeveralCars
from inspection.models import Build, Car, Characteristic, Clause, Club, Finding, Gauge, Inspection, TechOccasion
from inspection.readings.errors import GaugeOfWrongKind
from inspection.readings.selectors import (
    Asks,
    Why,
    advice_words,
    answer_text,
    asks_of,
    assessment_of,
    explain,
    margin_words,
    measured_kind,
    other_system,
    spec_for,
    state_of_finding,
    unit_for,
)
from inspection.units import DecimalMark, Quantity, Unit


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """A car's card: everything its page and its paper show."""

    inspection: Inspection
    clauses: tuple[CardClause, ...]
    latest_build: Build | None
    counts: Mapping[str, int] = field(default_factory=dict)

    @property
    def groups(self) -> list[tuple[str, list[CardClause]]]:
        """The clauses under the place where they are checked, in measuring order."""
        found: dict[str, list[CardClause]] = {}
        for line in self.clauses:
            found.setdefault(line.group, []).append(line)
        return list(found.items())

    @property
    def to_go(self) -> int:
        return sum(not line.is_found for line in self.clauses)

    @property
    def failed(self) -> list[CardClause]:
        return [line for line in self.clauses if line.finding and line.finding.outcome == Finding.Outcome.FAIL]

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

    def after(self, place: int) -> CardClause | None:
        """The next clause that is not found, from this place on and then from the start; None when all are."""
        later = [line for line in self.clauses if not line.is_found]
        return next((line for line in later if line.place > place), later[0] if later else None)

    def line_of(self, clause: Clause) -> CardClause:
        return next(line for line in self.clauses if line.clause.pk == clause.pk)


def card(inspection: Inspection) -> Card:
    """A car's card. Five queries, however many clauses it has."""
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
    return _assemble(loaded, clauses, by_clause, list(gauges_in_use(club)), latest)


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
) -> Card:
    mark = inspection.occasion.club.decimal_mark
    lines = tuple(
        _card_clause(place, clause, by_clause.get(clause.pk, []), gauges, mark)
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


# ---- the line of cars -----------------------------------------------------------------------------------------------


class Standing(StrEnum):
    """How a car stands at tech."""

    WAITING = "waiting"  # no card yet, or nothing found on it
    OPEN = "open"
    FAILED = "failed"
    NOT_CLEAR = "not_clear"  # signed so, though nothing failed
    BUILD_CHANGED = "build_changed"  # the car is not what was inspected
    CLEAR = "clear"


STANDING_WORDS = {
    Standing.WAITING: _lazy("waiting"),
    Standing.OPEN: _lazy("open"),
    Standing.FAILED: _lazy("failed"),
    Standing.NOT_CLEAR: _lazy("signed, not clear"),
    Standing.BUILD_CHANGED: _lazy("build changed since"),
    Standing.CLEAR: _lazy("clear"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Clearance:
    """Whether a car may race, and what stands in the way.

    fails, too_close: the clauses as "5 Rear tire width". not_checked: how many. inspection_public_id: "" without card.
    """

    is_clear: bool
    state: Standing
    fails: tuple[str, ...] = ()
    too_close: tuple[str, ...] = ()
    not_checked: int = 0
    inspection_public_id: str = ""

    @property
    def words(self) -> str:
        return str(STANDING_WORDS[self.state])


@dataclass(frozen=True, slots=True, kw_only=True)
class LineRow:
    """One card in the line."""

    inspection: Inspection
    clearance: Clearance
    found: int
    clauses: int


def _with_latest_build(inspections: QuerySet[Inspection]) -> QuerySet[Inspection]:
    latest = Build.objects.filter(car=OuterRef("car")).order_by("-number")
    return inspections.annotate(latest_build_id=Subquery(latest.values("pk")[:1]))


def _rows(occasion: TechOccasion, inspections: QuerySet[Inspection], phase: str) -> list[LineRow]:
    """Three queries: the clauses, the cards, their standing findings."""
    clauses = {clause.pk: clause for clause in checked_clauses(occasion.revision, phase)}
    cards = list(_with_latest_build(inspections.filter(occasion=occasion, phase=phase)))
    findings: dict[int, list[Finding]] = {}
    standing = Finding.objects.filter(inspection__in=[row.pk for row in cards], superseded_at__isnull=True)
    for finding in standing:
        if finding.clause_id in clauses:
            findings.setdefault(finding.inspection_id, []).append(finding)
    return [
        LineRow(
            inspection=row,
            clearance=_clearance(row, findings.get(row.pk, []), len(clauses)),
            found=len(findings.get(row.pk, [])),
            clauses=len(clauses),
        )
        for row in cards
    ]


def _clearance(inspection: Inspection, findings: list[Finding], clauses: int) -> Clearance:
    fails = tuple(f"{f.clause_number} {f.subject}" for f in findings if f.outcome == Finding.Outcome.FAIL)
    has_new_build = inspection.latest_build_id is not None and inspection.latest_build_id != inspection.build_id
    if fails:
        state = Standing.FAILED
    elif has_new_build and (findings or inspection.signed_at):
        state = Standing.BUILD_CHANGED
    elif inspection.signed_clear:
        state = Standing.CLEAR
    elif inspection.signed_at is not None:
        state = Standing.NOT_CLEAR
    else:
        state = Standing.OPEN if findings else Standing.WAITING
    return Clearance(
        is_clear=state is Standing.CLEAR,
        state=state,
        fails=fails,
        too_close=tuple(f"{f.clause_number} {f.subject}" for f in findings if f.is_too_close),
        not_checked=clauses - len(findings),
        inspection_public_id=inspection.public_id,
    )


def clearances(
    occasion: TechOccasion, car_ids: Collection[int], *, phase: str = Inspection.Phase.BEFORE
) -> dict[int, Clearance]:
    """How each of these cars stands at tech, by car id; every id asked for is in the answer.

    A car is clear when its card is signed clear and is for the car's latest build. Four queries at most, however many
    cars.
    """
    rows = {row.inspection.car_id: row for row in _rows(occasion, Inspection.objects.filter(car__in=car_ids), phase)}
    total = next((row.clauses for row in rows.values()), None)
    if total is None:
        total = len(checked_clauses(occasion.revision, phase))
    waiting = Clearance(is_clear=False, state=Standing.WAITING, not_checked=total)
    return {car_id: rows[car_id].clearance if car_id in rows else waiting for car_id in car_ids}


_ATTENTION = (Standing.FAILED, Standing.BUILD_CHANGED, Standing.NOT_CLEAR)


@dataclass(frozen=True, slots=True)
class TechLine:
    """The cards of an occasion at one phase, what needs somebody first."""

    attention: list[LineRow]
    ready: list[LineRow]  # every clause found, unsigned
    open: list[LineRow]
    waiting: list[LineRow]
    clear: list[LineRow]

    @property
    def total(self) -> int:
        return sum(map(len, (self.attention, self.ready, self.open, self.waiting, self.clear)))


def tech_line(occasion: TechOccasion, *, phase: str = Inspection.Phase.BEFORE) -> TechLine:
    """The line of an occasion, the longest in it first. Three queries, however many cars."""
    cards = Inspection.objects.select_related("car__owner", "car__racing_class", "build").order_by("opened_at", "id")
    line = TechLine([], [], [], [], [])
    for row in _rows(occasion, cards, phase):
        state = row.clearance.state
        if state in _ATTENTION:
            line.attention.append(row)
        elif state is Standing.CLEAR:
            line.clear.append(row)
        elif state is Standing.WAITING:
            line.waiting.append(row)
        elif row.clearance.not_checked == 0:
            line.ready.append(row)
        else:
            line.open.append(row)
    return line


def find_car(club: Club, text: str) -> Car:
    """The car by its number, or by the first letters of its driver. At most three queries.

    Raises CarNotFound or SeveralCars.
    """
    cars = cars_found(club, text)
    if not cars:
        raise CarNotFound(text=text.strip())
    if len(cars) > 1:
        raise SeveralCars(text=text.strip())
    return cars[0]


def cars_found(club: Club, text: str, *, most: int = 12) -> list[Car]:
    """Cars that fit a number or a driver's letters, in use before others. Two queries."""
    typed = text.strip().lstrip("#").strip()
    cars = Car.objects.of(club).select_related("owner", "racing_class").order_by("-is_active", "number")
    if typed.isascii() and typed.isdigit():
        return list(cars.filter(number=int(typed[:9])))
    drivers = drivers_by_letters(club, typed)
    return list(cars.filter(owner__in=drivers, is_active=True)[:most])


def occasion_list(club: Club) -> QuerySet[TechOccasion]:
    """The tech days of a club, the latest first; one query."""
    return TechOccasion.objects.of(club).select_related("revision__rule_sheet").order_by("-date", "name")


def inspections_of(car: Car) -> QuerySet[Inspection]:
    """The cards of a car, the latest first; one query."""
    return car.inspections.select_related("occasion__revision__rule_sheet", "build", "signed_by").order_by("-opened_at")
