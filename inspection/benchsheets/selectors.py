"""Read bench sheets: the bench, a sheet as the planning engine reads it, two side by side; read only."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from typing import Any, Self

from django.db.models import Max, Prefetch, QuerySet
from django.utils.translation import gettext

from inspection.benchbuilds.selectors import changes_between
from inspection.benchoutcomes.selectors import PART_KEY, Kept, declared_of_cars, judged, outcome_of, state_in_short
from inspection.benchsheets.errors import CureNeedsAnotherPart, CureNotThere
from inspection.benchwording.selectors import ANOTHER_PART, State, find_cure
from inspection.chassis.selectors import SPECS as CHASSIS_SPECS
from inspection.chassis.selectors import shown_size
from inspection.gauges.selectors import read_stored
from inspection.models import (
    BenchSheet,
    Car,
    Chassis,
    Club,
    Driver,
    MotorUnit,
    Part,
    RacingClass,
    TrackLayout,
)
from inspection.parts.selectors import part_document, parts_for_kinds
from inspection.planning.register import MOUNTING_SIZES, PART_SIZES, PLACE_LABELS, PLACES, SPACER_PLACES, PartKind
from inspection.units import DecimalMark, Kind

MOUNTING = {spec.code: spec for spec in MOUNTING_SIZES}
DASH = "\N{EN DASH}"


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetContent:
    """What a sheet says, in the shapes that the model keeps."""

    chassis: Chassis | None = None
    racing_class: RacingClass | None = None
    track_layout: TrackLayout | None = None
    motor_unit: MotorUnit | None = None
    parts: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)
    mounting: Mapping[str, str] = field(default_factory=dict)
    spacers: Mapping[str, Sequence[Mapping[str, str]]] = field(default_factory=dict)
    ballast: Sequence[Mapping[str, str]] = ()
    targets: Mapping[str, str] = field(default_factory=dict)
    note: str = ""

    def replaced(self, **changes: Any) -> Self:
        return replace(self, **changes)


_NAMES = tuple(one.name for one in fields(SheetContent))


def content_of(sheet: BenchSheet) -> SheetContent:
    """A sheet as the form holds it. No query when it is loaded."""
    return SheetContent(**{name: getattr(sheet, name) for name in _NAMES})


def draft_of(car: Car, content: SheetContent) -> BenchSheet:
    """A sheet that is not saved, with the chassis as it is measured now. No query."""
    sheet = BenchSheet(car=car, **{name: getattr(content, name) for name in _NAMES})
    sheet.ballast = list(content.ballast)
    if content.chassis is not None:
        sheet.chassis_sizes = content.chassis.sizes
        for name in ("runs_free", "corners", "zones"):
            setattr(sheet, name, getattr(content.chassis, name))
    return sheet


def sheets_of(club: Club) -> QuerySet[BenchSheet]:
    """Sheets of the club with all that a page shows. One query."""
    return BenchSheet.objects.of(club).select_related(
        "car__club", "car__owner", "car__racing_class", "chassis", "racing_class", "track_layout__track",
        "motor_unit__part", "declared_as", "created_by",
    )  # fmt: skip


def latest_sheet(car: Car) -> BenchSheet | None:
    """The sheet that stands, None without one. One query."""
    return sheets_of(car.club).filter(car=car).order_by("-number").first()


def latest_number(car: Car) -> int:
    """The number of the latest sheet, 0 without one. One query."""
    return car.bench_sheets.aggregate(most=Max("number"))["most"] or 0


def layouts_now(club: Club) -> list[TrackLayout]:
    """The current layout of each track in use. One query."""
    newest: dict[int, TrackLayout] = {}
    rows = TrackLayout.objects.of(club).filter(track__is_active=True).select_related("track")
    for layout in rows.order_by("track__name", "number"):
        newest[layout.track_id] = layout
    return list(newest.values())


def parts_by_place(club: Club, owner: Driver) -> dict[str, list[Part]]:
    """The parts in use of the club and of this driver that fit each place. One query."""
    rows = parts_for_kinds(club, list(PartKind), owner).order_by("name", "code")
    by_kind: dict[str, list[Part]] = {}
    for part in rows:
        by_kind.setdefault(part.kind, []).append(part)
    return {place: [part for kind in kinds for part in by_kind.get(kind, [])] for place, kinds in PLACES.items()}


def bench_cars(club: Club) -> QuerySet[Car]:
    """The cars in use with their owner, class and `newest_sheets` (the latest first). Two queries."""
    sheets = sheets_of(club).order_by("-number")
    cars = Car.objects.of(club).filter(is_active=True).select_related("club", "owner", "racing_class")
    return cars.prefetch_related(Prefetch("bench_sheets", queryset=sheets, to_attr="newest_sheets")).order_by("number")


# A sheet in words.


@dataclass(frozen=True, slots=True)
class SheetLine:
    """One thing that a sheet says. of: the words of the group it stands in."""

    of: str
    what: str
    value: str


def lines_of(sheet: BenchSheet, *, decimal_mark: DecimalMark = ".") -> list[SheetLine]:
    """Everything that a sheet says, for reading and comparing; what is not said is left out. No query."""
    parts, mounting, spacers, ballast = (
        gettext("Parts"), gettext("How they are mounted"), gettext("Spacers"), gettext("Ballast"),
    )  # fmt: skip
    lines = [SheetLine(parts, gettext("Chassis"), str(sheet.chassis))] if sheet.chassis else []
    if sheet.motor_unit:
        lines.append(SheetLine(parts, gettext("Single motor"), str(sheet.motor_unit)))
    for place, label in PLACE_LABELS.items():
        if part := sheet.parts.get(place):
            lines.append(SheetLine(parts, gettext(label), part_words(part, decimal_mark=decimal_mark)))
    lines += [
        SheetLine(mounting, gettext(spec.label), shown_size(spec, text, decimal_mark=decimal_mark))
        for code, spec in MOUNTING.items()
        if (text := sheet.mounting.get(code))
    ]
    lines += [
        SheetLine(spacers, gettext(label), spacer_words(rows, decimal_mark=decimal_mark))
        for place, label in SPACER_PLACES.items()
        if (rows := sheet.spacers.get(place))
    ]
    for piece in sheet.ballast:
        words = gettext("{mass}, {ahead} ahead of the rear axle").format(mass=piece["mass"], ahead=piece["ahead"])
        lines.append(SheetLine(ballast, piece["name"], words.replace(".", decimal_mark)))
    return lines


def part_words(part: Mapping[str, Any], *, decimal_mark: DecimalMark = ".") -> str:
    """A part of a sheet: its name, and the sizes that tell it from others. No query."""
    name = str(part.get("name", ""))
    specs = PART_SIZES.get(PartKind(part.get("kind", "other")), ())
    sizes = part.get("sizes", {})
    if part.get("part") and name:
        return name
    told = ", ".join(
        f"{gettext(spec.label)} {shown_size(spec, sizes[spec.code], decimal_mark=decimal_mark)}"
        for spec in specs
        if sizes.get(spec.code)
    )
    return f"{name}: {told}" if name and told else name or told


def spacer_words(rows: Sequence[Mapping[str, str]], *, decimal_mark: DecimalMark = ".") -> str:
    """Spacers of one place: "0.50 mm + 0.20 mm". No query."""
    return " + ".join(row["thickness"].replace(".", decimal_mark) for row in rows)


@dataclass(frozen=True, slots=True)
class Difference:
    """One thing that two sheets say; a dash where one says nothing."""

    of: str
    what: str
    older: str
    newer: str

    @property
    def differs(self) -> bool:
        return self.older != self.newer


def side_by_side(older: BenchSheet, newer: BenchSheet, *, decimal_mark: DecimalMark = ".") -> list[Difference]:
    """What two sheets of a car say, each thing once, and whether it differs. No query."""
    before, after = (
        {
            (line.of, line.what): line.value
            for line in (*_result_lines(sheet), *lines_of(sheet, decimal_mark=decimal_mark))
        }
        for sheet in (older, newer)
    )
    known = list(after) + [key for key in before if key not in after]
    order = list(dict.fromkeys(of for of, _what in known))
    return [
        Difference(of, what, before.get((of, what), DASH), after.get((of, what), DASH))
        for of, what in sorted(known, key=lambda key: order.index(key[0]))
    ]


def _result_lines(sheet: BenchSheet) -> list[SheetLine]:
    """What comes of a sheet, in a line each."""
    outcome, of = outcome_of(sheet, typing=True), gettext("What comes of it")
    told = [(gettext("In short"), outcome.state.words)]
    if outcome.mesh:
        told.append((gettext("Gears"), outcome.mesh.verdict))
    told += [*outcome.gears, *outcome.weight]
    told += [(line.what, f"{line.value}, {line.verdict}") for line in (*outcome.failing, *outcome.fitting)]
    if outcome.legality:
        told += [(f"{line.number} {line.text}"[:80], line.found) for line in outcome.legality.decided]
    return [SheetLine(of, what, value) for what, value in told]


def chassis_lines(sheet: BenchSheet, *, decimal_mark: DecimalMark = ".") -> list[SheetLine]:
    """The chassis as it was measured when the sheet was made. No query."""
    return [
        SheetLine(gettext("Chassis"), gettext(spec.label), shown_size(spec, text, decimal_mark=decimal_mark))
        for code, spec in CHASSIS_SPECS.items()
        if (text := sheet.chassis_sizes.get(code))
    ]


def spacer_sizes(club: Club) -> list[str]:
    """The spacers of the register, thinnest first, as they are typed. One query."""
    rows = Part.objects.of(club).filter(kind=Part.Kind.SPACER, is_active=True).values_list("sizes", flat=True)
    texts = {sizes["thickness"] for sizes in rows if sizes.get("thickness")}
    read = ((read_stored(text, Kind.LENGTH, "mm"), text) for text in texts)
    known = sorted((quantity.base, text) for quantity, text in read if quantity is not None)
    return [text.replace(".", club.decimal_mark) for _size, text in known]


def cured(sheet: BenchSheet, key: str) -> SheetContent:
    """The content of a sheet, saved or not, with the cure that the key names, or with the part on hand that it names.

    Raises CureNotThere, CureNeedsAnotherPart. The queries of `judged`, or one for the part.
    """
    if key.startswith(f"{PART_KEY}:"):
        return _with_part(sheet, *key.split(":", 2)[1:])
    found = judged(sheet, {}).found
    cure = find_cure(found.report, key) if found and found.report else None
    if cure is None or found is None or found.build is None:
        raise CureNotThere
    if cure.code in ANOTHER_PART:
        raise CureNeedsAnotherPart
    changes = changes_between(found.build, cure.build, sheet.mounting, sheet.parts, sheet.spacers)
    return content_of(sheet).replaced(**changes)


def _with_part(sheet: BenchSheet, place: str = "", public_id: str = "") -> SheetContent:
    """A sheet with another part of the car's drawer at a place. Raises CureNotThere where it does not lie there."""
    rows = parts_for_kinds(sheet.car.club, PLACES.get(place, ()), sheet.car.owner)
    part = rows.filter(stock__gt=0, public_id=public_id).first()
    if part is None:
        raise CureNotThere
    return content_of(sheet).replaced(parts={**sheet.parts, place: part_document(part)})


@dataclass(frozen=True, slots=True)
class BenchLine:
    """A car on the bench: its latest sheet, and what comes of it."""

    car: Car
    sheet: BenchSheet
    state: State


def bench_lines(club: Club) -> list[BenchLine]:
    """The cars that have a sheet, each with its latest, those worked on last first."""
    found, kept, cars = [], Kept(), list(bench_cars(club))
    declared = declared_of_cars(cars)
    for car in cars:
        if car.newest_sheets:
            sheet = car.newest_sheets[0]
            sheet.car = car
            found.append(BenchLine(car, sheet, state_in_short(sheet, kept, declared.get(car.pk, {}))))
    return sorted(found, key=lambda line: line.sheet.created_at, reverse=True)
