"""Studies of gauges under way: the order of measuring, what has been read, what comes next."""

from dataclasses import dataclass

from django.db.models import QuerySet

from inspection.gauges.selectors import read_stored, shown_text
from inspection.gaugestudy.order import Place, measuring_order
from inspection.models import Club, Gauge, GaugeStudy, StudyReading
from inspection.units import (
    DecimalMark,
    Kind,
    Quantity,
    Unit,
    UnitsError,
    as_unit,
    base_unit,
)

# What a gauge shows.


def kind_measured(gauge: Gauge) -> Kind | None:
    """The kind of quantity that a gauge reads; None when it gives no reading."""
    if gauge.kind != Gauge.Kind.READING:
        return None
    try:
        return Kind(gauge.measures)
    except ValueError:
        return None


def unit_shown(gauge: Gauge) -> Unit:
    """The unit that a gauge shows, or the base unit of its kind where none is kept."""
    kind = kind_measured(gauge) or Kind.RATIO
    try:
        return as_unit(gauge.unit, kind) if gauge.unit else base_unit(kind)
    except UnitsError:
        return base_unit(kind)


def quantity_of(text: str, gauge: Gauge) -> Quantity | None:
    """A stored quantity of the kind that a gauge reads; None when there is none."""
    kind = kind_measured(gauge)
    found = read_stored(text, kind, gauge.unit)
    return found if found is not None and found.kind is kind else None


def places_shown(gauge: Gauge) -> int:
    """How many decimals a reading of this gauge has."""
    step = quantity_of(gauge.resolution, gauge)
    unit = unit_shown(gauge)
    return step.places if step is not None and step.unit == unit and not step.is_fraction else unit.places


# Studies.


@dataclass(frozen=True, slots=True, kw_only=True)
class StudyContent:
    """What a study is of. parts, inspectors: names, in a bias study one of each. reference, tolerance: as stored."""

    kind: str
    name: str
    parts: tuple[str, ...]
    inspectors: tuple[str, ...]
    trials: int
    reference: str = ""
    tolerance: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """How far a study has come. order: every place in the order of measuring; next: None once all are read."""

    study: GaugeStudy
    order: tuple[Place, ...]
    readings: dict[Place, StudyReading]
    next: Place | None

    @property
    def done(self) -> int:
        return len(self.readings)

    @property
    def total(self) -> int:
        return len(self.order)

    @property
    def missing(self) -> int:
        return self.total - self.done

    @property
    def is_complete(self) -> bool:
        return self.next is None

    @property
    def latest(self) -> Place | None:
        """The place read last, in the order of measuring."""
        read = [place for place in self.order if place in self.readings]
        return read[-1] if read else None


def order_of(study: GaugeStudy) -> tuple[Place, ...]:
    """Every reading of a study in the order of measuring."""
    return measuring_order(
        seed=study.seed, parts=len(study.parts), inspectors=len(study.inspectors), trials=study.trials
    )


def progress_of(study: GaugeStudy) -> Progress:
    """What has been read and what comes next. One query."""
    order = order_of(study)
    known = set(order)
    readings = {
        place: reading
        for reading in study.readings.select_related("by")
        if (place := Place(reading.inspector, reading.part, reading.trial)) in known
    }
    following = next((place for place in order if place not in readings), None)
    return Progress(study=study, order=order, readings=readings, next=following)


def studies_in(club: Club) -> QuerySet[GaugeStudy]:
    """The studies of a club with their gauges. One query when read."""
    return GaugeStudy.objects.of(club).select_related("gauge__club", "adopted_by")


def studies_of(gauge: Gauge) -> QuerySet[GaugeStudy]:
    """The studies of a gauge, the newest first. One query when read."""
    return gauge.studies.select_related("adopted_by")


def is_far_off(progress: Progress, place: Place, reading: Quantity) -> bool:
    """Is a reading five times as large as the others of its part, or a fifth? A decimal mark in the wrong place is."""
    gauge = progress.study.gauge
    others = [
        quantity.base
        for other, row in progress.readings.items()
        if other.part == place.part and other != place and (quantity := quantity_of(row.reading, gauge))
    ]
    if progress.study.kind == GaugeStudy.Kind.BIAS and (reference := quantity_of(progress.study.reference, gauge)):
        others.append(reference.base)
    if not others:
        return False
    middle = sorted(others)[len(others) // 2]
    return middle > 0 and not middle / 5 <= reading.base <= middle * 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Prompt:
    """What the page asks for. key: the place as text. number: which reading it is, from 1.

    hands_over: somebody else measures from here on. stands: what is there when it is corrected. before: the place
    read just before, to correct it; shown: its reading, unless the next inspector would see it. follows: the part
    after this one; "" where the gauge changes hands or the study ends.
    """

    place: Place
    key: str
    part: str
    inspector: str
    trial: int
    number: int
    hands_over: bool
    stands: StudyReading | None
    before: str
    before_words: str
    shown: str
    follows: str


def key_of(place: Place) -> str:
    return f"{place.inspector}.{place.part}.{place.trial}"


def prompt_of(progress: Progress, place: Place) -> Prompt:
    """What to ask for at a place of the study. No query."""
    study, index = progress.study, progress.order.index(place)
    latest = progress.latest
    is_next = place == progress.next
    after = progress.order[index + 1] if index + 1 < progress.total else None
    return Prompt(
        place=place,
        key=key_of(place),
        part=study.parts[place.part],
        inspector=study.inspectors[place.inspector],
        trial=place.trial + 1,
        number=index + 1,
        hands_over=is_next and index > 0 and progress.order[index - 1].inspector != place.inspector,
        stands=progress.readings.get(place),
        before=key_of(latest) if latest and is_next else "",
        before_words=study.parts[latest.part] if latest else "",
        shown=progress.readings[latest].reading if latest and latest.inspector == place.inspector else "",
        follows=study.parts[after.part] if after and after.inspector == place.inspector else "",
    )


def asked_place(progress: Progress, key: str) -> Place | None:
    """The place that an address names, or the next one; None when all are read and none is named."""
    named = next((place for place in progress.order if key_of(place) == key), None)
    return named or progress.next


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingRow:
    """One part as one inspector read it: (place as text, reading or "") by trial."""

    inspector: str
    part: str
    cells: tuple[tuple[str, str], ...]


def reading_rows(progress: Progress, *, decimal_mark: DecimalMark) -> list[ReadingRow]:
    """Every reading of a study, by inspector and part. No query."""
    study = progress.study
    return [
        ReadingRow(
            inspector=inspector,
            part=part,
            cells=tuple(_cell(progress, Place(i, p, t), decimal_mark) for t in range(study.trials)),
        )
        for i, inspector in enumerate(study.inspectors)
        for p, part in enumerate(study.parts)
    ]


def _cell(progress: Progress, place: Place, decimal_mark: DecimalMark) -> tuple[str, str]:
    """The place as text, and its reading; the unit stands over the table, unless it is another one."""
    reading = progress.readings.get(place)
    if reading is None:
        return key_of(place), ""
    text = reading.reading.removesuffix(f" {unit_shown(progress.study.gauge).symbol}")
    return key_of(place), shown_text(text, decimal_mark=decimal_mark)


def blocks_of(study: GaugeStudy, *, wide: int = 10) -> list[tuple[int, str, list[str]]]:
    """The order of measuring as lines of a form: (trial from 1, inspector, boxes), at most `wide` boxes a line.

    A box bears the name of its part; where there is one piece only, the number of the reading.
    """
    lines: list[tuple[int, str, list[str]]] = []
    one_piece = study.kind == GaugeStudy.Kind.BIAS
    for place in order_of(study):
        trial, inspector = place.trial + 1, study.inspectors[place.inspector]
        is_new = not lines or lines[-1][1] != inspector or (lines[-1][0] != trial and not one_piece)
        if is_new or len(lines[-1][2]) == wide:
            lines.append((trial, inspector, []))
        lines[-1][2].append(str(trial) if one_piece else study.parts[place.part])
    return lines
