"""What else a car could be built of: the best of the parts at hand, a chart of gears, gears for trued tires; read only.

The planning engine finds it; here a bench sheet and the register become its document, and its answer words.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django.utils.translation import gettext as _

from inspection.benchoutcomes.selectors import Judged, judged
from inspection.benchwording.selectors import Figures, path_words, reasons_of
from inspection.chassis.selectors import shown_mm
from inspection.lapforecasts.selectors import document_on, lanes_of
from inspection.models import BenchSheet, Lane, Part
from inspection.parts.selectors import part_document, parts_for_kinds
from inspection.planning.candidates import REAR_SPACERS, SEARCHED, Sort, SpacerSet, Wish, candidates_of
from inspection.planning.chart import STATES, Cell, CellState, chart_of
from inspection.planning.document import Bench, BenchPart, read_bench
from inspection.planning.driving import driving_of
from inspection.planning.errors import PlanningError
from inspection.planning.legality import CLEARANCES, OF_PARTS
from inspection.planning.register import PLACE_LABELS, PLACES, SPACER_PLACES, PartKind
from inspection.planning.search import Failing, Plan, Proposal, plan
from inspection.planning.truing import Restored, gears_that_restore

SHOWN = 50
MOST_RESTORED = 8
# As many as any search can use: where the whole register counts, its stock does not.
PLENTY = 9
KINDS = (*dict.fromkeys(kind for place in SEARCHED for kind in PLACES[place]), PartKind.SPACER)
# Other parts change these: what a builder declared of the car as it was says nothing of them.
OF_THE_PARTS = {
    *(code for code, *_rest in OF_PARTS), *CLEARANCES, "weight-ready-to-race", "overall-width", "wheels-count",
    "width-over-rear-tires", "width-over-front-tires", "guides-count", "motor-type",
}  # fmt: skip
# The outcomes of the look, by what a cell comes to.
SHAPES = {
    CellState.GOOD: "pass",
    CellState.DOES_NOT_MESH: "fail",
    CellState.DOES_NOT_FIT: "fail",
    CellState.ILLEGAL: "fail",
    CellState.UNKNOWN: "not_checked",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What is asked. rollout, trued_to: in mm. register: also what is not in stock. spacers: also laid otherwise.

    tires: those of the chart, by their key; "" for those on the sheet.
    """

    sort: Sort = Sort.FEWEST_CHANGES
    rollout: Fraction | None = None
    lane: int | None = None
    register: bool = False
    spacers: bool = False
    trued_to: Fraction | None = None
    tires: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """One thing that differs from the car as it is. field, value: as a form carries it."""

    what: str
    name: str
    field: str
    value: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ProposalLine:
    """A combination that fits, drives and is not illegal. chosen: empty for the car as it is."""

    number: int
    chosen: tuple[Chosen, ...]
    ratio: str
    rollout: str
    lap: str
    price: Decimal | None


@dataclass(frozen=True, slots=True, kw_only=True)
class FailingLine:
    """One of the nearest that fail, and why."""

    chosen: tuple[Chosen, ...]
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartCell:
    """What one pair of gears comes to on the tires of the chart. words: why not, or that it is the car as it is."""

    ratio: str
    rollout: str
    shape: str
    words: str
    is_present: bool


@dataclass(frozen=True, slots=True)
class ChartTires:
    """Tires that the chart can stand on. key: as an address carries it, "" for those on the sheet."""

    name: str
    key: str
    is_shown: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Chart:
    """Driven gears down, pinions across. choice: the tires on hand, those on the sheet first."""

    tires: str
    choice: tuple[ChartTires, ...]
    pinions: tuple[str, ...]
    rows: tuple[tuple[str, tuple[ChartCell, ...]], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RestoredLine:
    """A pair of gears on trued tires."""

    gears: str
    ratio: str
    rollout: str
    off: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanPage:
    """The whole answer. wrong: why there is none. lacks: what keeps laps from being predicted."""

    lines: tuple[ProposalLine, ...] = ()
    failing: tuple[FailingLine, ...] = ()
    combinations: int = 0
    looked_at: int = 0
    lacks: tuple[str, ...] = ()
    chart: Chart | None = None
    restored: tuple[RestoredLine, ...] = ()
    wrong: str = ""

    @property
    def has_laps(self) -> bool:
        return any(line.lap for line in self.lines)

    @property
    def has_prices(self) -> bool:
        return any(line.price is not None for line in self.lines)


def plan_of(sheet: BenchSheet, wanted: Wanted) -> PlanPage:
    """The plan for a sheet. The queries of `judged`, and one each for lanes and parts."""
    told = judged(sheet, {}, cures=False)
    if told.found is None:
        return PlanPage(wrong=told.wrong)
    lanes = lanes_of(sheet)
    try:
        bench = read_bench(_document(told, lanes, wanted))
        wish = Wish(sort=wanted.sort, rollout=wanted.rollout, lane=wanted.lane, best=SHOWN)
        found = plan(bench, candidates_of(bench, most_spacers=int(wanted.spacers)), wish, **told.asked)
        chart = _chart(bench, told, wanted)
        restored = _restored(bench, told, wanted)
    except PlanningError as error:
        return PlanPage(wrong=str(error))
    return PlanPage(
        lines=tuple(_proposal(number, one, bench, told.figures) for number, one in enumerate(found.proposals, start=1)),
        failing=tuple(_failing(one, bench, told.figures) for one in found.nearest_failing),
        combinations=found.combinations,
        looked_at=found.looked_at,
        lacks=_lacks(bench, told, wanted, found),
        chart=chart,
        restored=restored,
    )


def _document(told: Judged, lanes: Sequence[Lane], wanted: Wanted) -> dict[str, Any]:
    sheet = told.sheet
    on_hand = [
        part_document(part) | {"stock": PLENTY if wanted.register else part.stock}
        for part in parts_for_kinds(sheet.car.club, KINDS, sheet.car.owner)
    ]
    declared = {code: text for code, text in told.declared.items() if code not in OF_THE_PARTS}
    return document_on(sheet, lanes) | {"on_hand": on_hand, "declared": declared}


def _lacks(bench: Bench, told: Judged, wanted: Wanted, found: Plan) -> tuple[str, ...]:
    """What keeps the order from being what was asked for."""
    if wanted.sort is not Sort.LAP_TIME or any(one.lap_time_s is not None for one in found.proposals):
        return ()
    weighed = told.found.weighed.mass if told.found else None
    needs = driving_of(bench, weighed).needs
    return tuple(dict.fromkeys(path_words(path) for need in needs for path in need.paths))


def _proposal(number: int, one: Proposal, bench: Bench, figures: Figures) -> ProposalLine:
    done = one.evaluation
    return ProposalLine(
        number=number,
        chosen=_chosen(one.parts, one.spacers, bench),
        ratio="" if done.ratio is None else figures.number(done.ratio, 3),
        rollout="" if done.rollout is None else shown_mm(done.rollout, figures.decimal_mark),
        lap="" if one.lap_time_s is None else figures.number(one.lap_time_s, 2),
        price=None if one.price is None else Decimal(one.price.numerator) / one.price.denominator,
    )


def _failing(one: Failing, bench: Bench, figures: Figures) -> FailingLine:
    return FailingLine(chosen=_chosen(one.parts, one.spacers, bench), reasons=tuple(reasons_of(one, figures)))


def _chosen(parts: Mapping[str, BenchPart], spacers: SpacerSet | None, bench: Bench) -> tuple[Chosen, ...]:
    """What differs from the bench as it is, in the order in which places are searched."""
    found = [
        Chosen(what=_(PLACE_LABELS[place]), name=parts[place].name, field=f"part-{place}", value=parts[place].key)
        for place in SEARCHED
        if place in parts and parts[place].key != (bench.parts[place].key if place in bench.parts else None)
    ]
    for place in REAR_SPACERS if spacers else ():
        laid, now = (tuple(one.get(place, ())) for one in (spacers.spacers, bench.spacers))
        if [(one.key, one.thickness) for one in laid] != [(one.key, one.thickness) for one in now]:
            found.append(
                Chosen(
                    what=_(SPACER_PLACES[place]),
                    name=", ".join(one.name for one in laid) or _("none"),
                    field=f"spacer-{place}",
                    value=",".join(one.key for one in laid),
                )
            )
    return tuple(found)


def _of_kind(bench: Bench, place: str) -> list[BenchPart]:
    """What may go to a place: what is there, then what is at hand."""
    now = bench.parts.get(place)
    found = {} if now is None else {now.key: now}
    found |= {part.key: part for part in bench.on_hand if part.kind in PLACES[place] and part.stock}
    return list(found.values())


def _chart(bench: Bench, told: Judged, wanted: Wanted) -> Chart | None:
    """Pinion x driven gear on the tires that are asked for; None without tires or gears to choose from."""
    on_hand, now = _of_kind(bench, "rear_tires"), bench.parts.get("rear_tires")
    tires = next((part for part in on_hand if part.key == wanted.tires), on_hand[0] if on_hand else None)
    pinions, gears = (
        sorted(_of_kind(bench, place), key=lambda part: (part.sizes.base("teeth") or 0, part.name))
        for place in ("pinion", "driven_gear")
    )
    if tires is None or not pinions or not gears:
        return None
    cells = iter(chart_of(bench, pinions=pinions, driven_gears=gears, tires=[tires], **told.asked))
    rows = tuple(
        (name, tuple(_cell(next(cells), bench, told.figures) for _pinion in pinions))
        for name in _told_apart(gears, told.figures)
    )
    present = "" if now is None else now.key
    choice = tuple(
        ChartTires(part.name, "" if part.key == present else part.key, part.key == tires.key) for part in on_hand
    )
    return Chart(tires=tires.name, choice=choice, pinions=_told_apart(pinions, told.figures), rows=rows)


def _told_apart(parts: Sequence[BenchPart], figures: Figures) -> tuple[str, ...]:
    """Their names; those alike with what they differ by: how long they are, and a number where that is alike, too."""
    names = [part.name for part in parts]
    longer = [
        name if names.count(name) == 1 or length is None else f"{name}, {shown_mm(length, figures.decimal_mark)}"
        for name, length in zip(names, (part.sizes.base("length") for part in parts), strict=True)
    ]
    return tuple(
        name if longer.count(name) == 1 else f"{name} ({longer[: place + 1].count(name)})"
        for place, name in enumerate(longer)
    )


def _cell(cell: Cell, bench: Bench, figures: Figures) -> ChartCell:
    places = ("pinion", "driven_gear", "rear_tires")
    present = [part.key if (part := bench.parts.get(place)) else None for place in places]
    words = _(STATES[cell.state])
    if cell.state is CellState.ILLEGAL:
        words = _("Illegal: clause {numbers}").format(numbers=", ".join(cell.clauses))
    return ChartCell(
        ratio="" if cell.ratio is None else figures.number(cell.ratio, 2),
        rollout="" if cell.rollout is None else figures.number(cell.rollout, 1),
        shape=SHAPES[cell.state],
        words=words,
        is_present=present == [cell.pinion.key, cell.driven_gear.key, cell.rear_tires.key],
    )


def _restored(bench: Bench, told: Judged, wanted: Wanted) -> tuple[RestoredLine, ...]:
    """Gears that bring the rollout of the sheet back on tires that are trued; what is nearest first."""
    rollout = told.found.rollout if told.found else None
    if wanted.trued_to is None or rollout is None:
        return ()
    pinions, gears = (_of_kind(bench, place) for place in ("pinion", "driven_gear"))
    found = gears_that_restore(rollout=rollout, diameter=wanted.trued_to, pinions=pinions, driven_gears=gears)
    lines = dict.fromkeys(
        _restored_line(one, told.figures) for one in found
    )  # parts of one name and size are told once
    return tuple(lines)[:MOST_RESTORED]


def _restored_line(one: Restored, figures: Figures) -> RestoredLine:
    sign = "+" if one.off > 0 else ""
    return RestoredLine(
        gears=f"{one.pinion.name} / {one.driven_gear.name}",
        ratio=figures.number(one.ratio, 3),
        rollout=shown_mm(one.rollout, figures.decimal_mark),
        off=sign + figures.mm(one.off),
    )


def parts_named(sheet: BenchSheet, ids: Iterable[str]) -> dict[str, Part]:
    """The parts of the register that this car may have, by public id. One query."""
    found = parts_for_kinds(sheet.car.club, KINDS, sheet.car.owner)
    return {part.public_id: part for part in found.filter(public_id__in=list(ids))}
