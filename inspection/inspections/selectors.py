"""The line of cars at tech, and whether each may race: read only."""

import datetime as dt
from collections import Counter
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from django.db.models import Count, OuterRef, QuerySet, Subquery
from django.utils import timezone
from django.utils.translation import gettext_lazy as _lazy

from inspection.clauses.selectors import checked_clauses
from inspection.contents.selectors import register_of
from inspection.drivers.selectors import drivers_by_letters
from inspection.inspections.errors import CarNotFound, SeveralCars
from inspection.models import (
    Build,
    Car,
    Club,
    Finding,
    ImpoundTouch,
    Inspection,
    RuleSheetRevision,
    TechOccasion,
)
from inspection.stations.selectors import asks_of_several, station_of


class Standing(StrEnum):
    """How a car stands at tech."""

    WAITING = "waiting"  # no card yet, or nothing found on it
    OPEN = "open"
    FAILED = "failed"
    NOT_CLEAR = "not_clear"  # signed so, though nothing failed
    BUILD_CHANGED = "build_changed"  # the car is not what was inspected
    TOUCHED = "touched"  # in impound, after it was clear
    CLEAR = "clear"


STANDING_WORDS = {
    Standing.WAITING: _lazy("waiting"),
    Standing.OPEN: _lazy("open"),
    Standing.FAILED: _lazy("failed"),
    Standing.NOT_CLEAR: _lazy("signed, not clear"),
    Standing.BUILD_CHANGED: _lazy("build changed since"),
    Standing.TOUCHED: _lazy("touched in impound"),
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
    touched: str = ""  # what was done to the car in impound

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
    stations: Mapping[str, int] = field(default_factory=dict)  # how many clauses are still to be found where

    @property
    def waits_min(self) -> int:
        """Whole minutes since the card was opened."""
        return max(0, int((timezone.now() - self.inspection.opened_at) / dt.timedelta(minutes=1)))


def _with_what_came_since(inspections: QuerySet[Inspection]) -> QuerySet[Inspection]:
    latest = Build.objects.filter(car=OuterRef("car")).order_by("-number")
    touches = ImpoundTouch.objects.filter(inspection=OuterRef("pk")).order_by("-at")
    return inspections.annotate(
        latest_build_id=Subquery(latest.values("pk")[:1]),
        touched_at=Subquery(touches.values("at")[:1]),
        touched_reason=Subquery(touches.values("reason")[:1]),
    )


def _rows(occasion: TechOccasion, inspections: QuerySet[Inspection], phase: str) -> list[LineRow]:
    """Three queries: the clauses, the cards, their standing findings; one more when clauses ask of several things."""
    clauses = {clause.pk: clause for clause in checked_clauses(occasion.revision, phase)}
    register = register_of(occasion.revision) if asks_of_several(clauses.values()) else {}
    stations = {pk: str(station_of(clause, register)) for pk, clause in clauses.items()}
    cards = list(_with_what_came_since(inspections.filter(occasion=occasion, phase=phase)))
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
            stations=Counter(stations.values()) - Counter(stations[f.clause_id] for f in findings.get(row.pk, [])),
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
    elif inspection.touched_at is not None and (
        not inspection.signed_at or inspection.signed_at < inspection.touched_at
    ):
        state = Standing.TOUCHED
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
        touched=inspection.touched_reason if state is Standing.TOUCHED else "",
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


_ATTENTION = (Standing.FAILED, Standing.BUILD_CHANGED, Standing.NOT_CLEAR, Standing.TOUCHED)


@dataclass(frozen=True, slots=True)
class TechLine:
    """The cards of an occasion at one phase, what needs somebody first."""

    attention: list[LineRow]
    ready: list[LineRow]  # every clause found, unsigned
    open: list[LineRow]
    waiting: list[LineRow]
    clear: list[LineRow]
    excused: list[LineRow]  # not clear, and racing by somebody's recorded decision

    @property
    def total(self) -> int:
        return sum(map(len, (self.attention, self.ready, self.open, self.waiting, self.clear, self.excused)))

    @property
    def waiting_by_class(self) -> list[tuple[str, list[LineRow]]]:
        """Who waits, by class in the order of the first car of each; one unnamed class when there is only one."""
        found: dict[str, list[LineRow]] = {}
        for row in self.waiting:
            found.setdefault(str(row.inspection.car.racing_class or ""), []).append(row)
        return list(found.items()) if len(found) > 1 else [("", self.waiting)] if self.waiting else []


def tech_line(
    occasion: TechOccasion, *, phase: str = Inspection.Phase.BEFORE, excused: Collection[int] = ()
) -> TechLine:
    """The line of an occasion, the longest in it first. Three queries, however many cars.

    excused: ids of the cars that race though they are not clear.
    """
    cards = Inspection.objects.select_related("car__owner", "car__racing_class", "build").order_by("opened_at", "id")
    line = TechLine([], [], [], [], [], [])
    for row in _rows(occasion, cards, phase):
        state = row.clearance.state
        if row.inspection.car_id in excused and state is not Standing.CLEAR:
            line.excused.append(row)
        elif state in _ATTENTION:
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
    """The tech days of a club with `card_count`, the latest first; one query."""
    return (
        TechOccasion.objects.of(club)
        .select_related("club", "revision__rule_sheet")
        .annotate(card_count=Count("inspections"))
        .order_by("-date", "name")
    )


def other_lines(occasion: TechOccasion) -> list[TechOccasion]:
    """The other tech lines of the same day, with `card_count`: other classes, at other tables. One query."""
    same_day = TechOccasion.objects.filter(club=occasion.club, date=occasion.date).exclude(pk=occasion.pk)
    return list(same_day.select_related("revision__rule_sheet").annotate(card_count=Count("inspections")))


def newer_revision(occasion: TechOccasion) -> RuleSheetRevision | None:
    """A revision of the same sheet published since and in force on the day; the pinned one decides all the same."""
    later = RuleSheetRevision.objects.published().filter(
        rule_sheet=occasion.revision.rule_sheet_id,
        number__gt=occasion.revision.number,
        effective_from__lte=occasion.date,
    )
    return later.order_by("-number").first()
