"""Draws side by side, in words and figures."""

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from inspection.models import Lane
from racedesk.entries.selectors import shown_name
from racedesk.forecast.timetable import heat_starts
from racedesk.heats.documents import BalanceWords, balance_words
from racedesk.heats.selectors import in_seat_order, race_start
from racedesk.heats.services import Planned, Planner, lane_order_of, report_of
from racedesk.models import Draw, Entry, Race
from racedesk.rotation.balance import balance
from racedesk.rotation.criteria import Criterion, counts
from racedesk.rotation.designs import MOST_DRIVERS, MOST_LANES, Design, Status, find_design
from racedesk.rotation.draw import draw as draw_plan
from racedesk.rotation.order import odd_up_even_down
from racedesk.rotation.plan import Preset
from racedesk.rotation.proofs import Argument
from racedesk.wishes.documents import WishRow, wish_rows

TAGLINES = {
    Draw.Preset.USUAL: gettext_lazy("one in, one out, in the track's lane order"),
    Draw.Preset.OPPONENTS: gettext_lazy("everyone meets everyone as evenly as can be"),
    Draw.Preset.REST: gettext_lazy("never two heats on end where that can be"),
}
CRITERIA = {
    Criterion.MEETINGS: gettext_lazy("everyone meets everyone evenly"),
    Criterion.ON_END: gettext_lazy("few heats back to back"),
    Criterion.WAIT: gettext_lazy("short waits"),
    Criterion.BESIDE: gettext_lazy("side by side evenly"),
    Criterion.MOVES: gettext_lazy("no move by more than two lanes"),
}
# With more drivers the table would no longer fit a page; the counts of pairs say the same.
MOST_IN_MATRIX = 24
FIRST_HEATS = 4


@dataclass(frozen=True, slots=True)
class MatrixRow:
    """A driver's row of the meetings table. cells: (times, shade 0 to 5), None where the row meets itself."""

    number: int
    name: str
    cells: tuple[tuple[int, int] | None, ...]


@dataclass(frozen=True, slots=True)
class FirstHeat:
    """A heat of a draw not made yet. lanes: a name a lane, empty where nobody drives."""

    number: int
    about: dt.datetime | None
    lanes: tuple[str, ...]
    marshals: str


@dataclass(frozen=True, slots=True)
class DrawOption:
    """One of the presets, worked out."""

    preset: str
    label: str
    tagline: str
    heats: int
    words: BalanceWords
    matrix: tuple[MatrixRow, ...]
    first_heats: tuple[FirstHeat, ...]
    wishes: tuple[WishRow, ...]
    is_chosen: bool
    is_best: bool = False


def matrix(report: dict[str, Any], names: Sequence[str]) -> tuple[MatrixRow, ...]:
    """Who meets whom how often, a row a driver; empty for more drivers than a page can show."""
    if report["drivers"] > MOST_IN_MATRIX:
        return ()
    return tuple(
        MatrixRow(
            number=number,
            name=names[row],
            cells=tuple(
                None if row == column else (times, min(times, 5))
                for column, times in enumerate(report["meetings"][row])
            ),
        )
        for row, number in enumerate(report["seats"])
    )


def draw_options(
    race: Race,
    entries: Sequence[Entry],
    *,
    seed: int,
    chosen: str,
    plan: Planner,
    order: Sequence[Criterion] = (),
) -> list[DrawOption]:
    """The three presets for these entries and this seed, as drawing them now would make them. Two queries a preset.

    order: by which the best of them are marked; none where all are alike.
    """
    start = race_start(race)
    numbers, seated = zip(*in_seat_order(race, entries), strict=True)
    names = [shown_name(entry) for entry in seated]
    options, by_order = [], []
    for preset in Draw.Preset:
        planned = plan(race=race, entries=seated, preset=preset, seed=seed)
        report = report_of(planned, seats=numbers)
        options.append(
            DrawOption(
                preset=preset.value,
                label=str(preset.label),
                tagline=str(TAGLINES[preset]),
                heats=report["heats"],
                words=balance_words(report),
                matrix=matrix(report, names),
                first_heats=_first_heats(race, planned, start),
                wishes=wish_rows(report, names),
                is_chosen=preset.value == chosen,
            )
        )
        by_order.append(counts(planned.plan.heats, order))
    if len(set(by_order)) == 1:
        return options
    return [replace(each, is_best=by == min(by_order)) for each, by in zip(options, by_order, strict=True)]


def order_words(criteria: Sequence[str]) -> str:
    """A director's own order of criteria in words; "" where there is none."""
    return _(", then ").join(str(CRITERIA[Criterion(each)]) for each in criteria)


def _first_heats(race: Race, planned: Planned, start: dt.datetime | None) -> tuple[FirstHeat, ...]:
    names = [shown_name(entry) for entry in planned.entries]
    rows = planned.plan.heats[:FIRST_HEATS]
    times = _starts(race, start, len(rows))
    return tuple(
        FirstHeat(
            number=number,
            about=times[number - 1],
            lanes=tuple("" if driver is None else names[driver - 1] for driver in row),
            marshals=", ".join(names[driver - 1] for driver in planned.roster[number - 1] if driver is not None),
        )
        for number, row in enumerate(rows, start=1)
    )


def _starts(race: Race, start: dt.datetime | None, heats: int) -> list[dt.datetime | None]:
    if start is None:
        return [None] * heats
    local = timezone.localtime(start)
    return list(heat_starts(start=local, heats=heats, heat_length_s=race.heat_length_s, changeover_s=race.changeover_s))


# --- the balance report ------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class FigureRow:
    """A figure of a draw beside those of the presets at the same size, in the order of Draw.Preset."""

    label: str
    own: str
    presets: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PersonRow:
    """A driver's evening in figures. longest_wait: in heats, None in a draw made before this was kept."""

    number: int
    name: str
    sit_outs: int
    longest_wait: int | None
    back_to_back: int
    duties: int


@dataclass(frozen=True, slots=True)
class Fairness:
    """How fair a draw is. verdicts: sentences, what is proven among them. presets: their names, none compared if ()."""

    verdicts: tuple[str, ...]
    figures: tuple[FigureRow, ...]
    presets: tuple[str, ...]
    people: tuple[PersonRow, ...]


def fairness(draw: Draw, names: Sequence[str]) -> Fairness:
    """The balance report of a draw. names: as `draw_names` gives them. Two queries."""
    report = draw.report
    layout = draw.stage.race.event.track_layout
    lanes = list(layout.lanes.all())
    order = lane_order_of(layout, lanes)
    found = _preset_balances(report, order, lanes)
    own, others = _figures(report), [_figures(each) for each in found]
    goes_up_and_down = order is None or tuple(order) == odd_up_even_down(len(lanes))
    waits = report.get("waits", [None] * report["drivers"])
    people = zip(
        report["seats"], names, report["sit_outs"], waits, report["back_to_back_each"], report["duties"], strict=True
    )
    return Fairness(
        verdicts=tuple(_verdicts(report, draw.preset, goes_up_and_down=goes_up_and_down)),
        figures=tuple(
            FigureRow(label, value, tuple(other[place][1] for other in others))
            for place, (label, value) in enumerate(own)
        ),
        presets=tuple(str(preset.label) for preset in Draw.Preset) if found else (),
        people=tuple(
            PersonRow(number, name, off, None if gaps is None else max(gaps, default=0), back, turns)
            for number, name, off, gaps, back, turns in people
        ),
    )


def _is_one_rotation(report: dict[str, Any]) -> bool:
    """Is it a rotation of the whole field, so that one of the same size can be set beside it?"""
    return "redraw" not in report and "groups" not in report


def _preset_balances(
    report: dict[str, Any], order: Sequence[int] | None, lanes: Sequence[Lane]
) -> tuple[dict[str, Any], ...]:
    """The presets at the size of this draw; nothing where that is no one rotation or would take a search."""
    way = report.get("way", {"rounds": 1, "lanes_each": None, "empty": []})
    if not _is_one_rotation(report) or way["lanes_each"] is not None or len(lanes) != report["lanes"]:
        return ()
    if report["drivers"] > MOST_DRIVERS or report["lanes"] > MOST_LANES:
        return ()
    places = {lane.number: place for place, lane in enumerate(lanes, start=1)}
    if not places.keys() >= set(way["empty"]):
        return ()
    return _balances(
        report["drivers"],
        report["lanes"],
        None if order is None else tuple(order),
        way["rounds"],
        tuple(places[number] for number in way["empty"]),
    )


@lru_cache(maxsize=64)
def _balances(
    drivers: int, lanes: int, order: tuple[int, ...] | None, rounds: int, empty: tuple[int, ...]
) -> tuple[dict[str, Any], ...]:
    # Who takes which place changes none of these figures, so the seed does not matter.
    found = (
        balance(
            draw_plan(drivers=drivers, lanes=lanes, preset=preset, seed=0, lane_order=order, rounds=rounds, empty=empty)
        )
        for preset in (Preset(each) for each in Draw.Preset)
    )
    return tuple(
        {
            "meetings_min": each.meetings_min, "meetings_max": each.meetings_max, "never_meet": each.never_meet,
            "sum_of_squares": each.sum_of_squares, "bound": each.bound, "back_to_back": each.back_to_back,
            "longest_wait": each.longest_wait, "neighbors_min": each.neighbors_min,
            "neighbors_max": each.neighbors_max,
        }
        for each in found
    )  # fmt: skip


def _figures(report: dict[str, Any]) -> list[tuple[str, str]]:
    """Label and value, the same labels in the same order for every draw."""
    return [
        (_("Fewest and most meetings of a pair"), f"{report['meetings_min']}, {report['meetings_max']}"),
        (_("Pairs that never meet"), str(report["never_meet"])),
        (_("Sum of squares of the meetings"), str(report["sum_of_squares"])),
        (_("No draw is below"), str(report["bound"])),
        (_("Back to back, all drivers together"), str(report["back_to_back"])),
        (_("Longest wait between runs, heats"), str(report["longest_wait"])),
        (_("Side by side, fewest and most"), f"{report['neighbors_min']}, {report['neighbors_max']}"),
    ]


def _verdicts(report: dict[str, Any], preset: str, *, goes_up_and_down: bool) -> Iterator[str]:
    """What can be said for certain about a draw, in sentences.

    goes_up_and_down: the track's lane order is the odd lanes up and the even ones down.
    """
    drivers = report["drivers"]
    way = report.get("way", {"rounds": 1, "lanes_each": None, "empty": []})
    used = report["lanes"] - len(way["empty"])
    is_plain = _is_one_rotation(report) and way["rounds"] == 1 and way["lanes_each"] is None
    design = find_design(drivers=drivers, lanes=used) if is_plain and drivers > used else None
    if "groups" in report:
        yield _("Counted within each group: between two groups nobody meets.")
    elif "redraw" in report:
        yield _("Counted over the whole night, heats run before the draw among them.")
    yield _evenness(report, design)
    if design:
        yield from _rest_words(report, design, preset)
    if _is_one_rotation(report) and way["lanes_each"] is None and drivers <= used:
        yield _("All of them drive in every heat, so every pair meets in every heat.")
        if report["neighbors_min"] == report["neighbors_max"]:
            words = _("Every pair is side by side exactly {n} times.")
            if goes_up_and_down and not way["empty"]:
                words = _("The order odd lanes up, even lanes down puts every pair side by side exactly {n} times.")
            yield words.format(n=report["neighbors_min"])


def _evenness(report: dict[str, Any], design: Design | None) -> str:
    """Can meetings be spread more evenly? design: the shipped one of the size, if this is one rotation of it."""
    excess = report["sum_of_squares"] - report["bound"]
    if not excess:
        return _("No draw can spread the meetings more evenly.")
    if design and report["sum_of_squares"] == design.reached and design.status is Status.UNREACHABLE:
        words = _("No draw meets the bound, by proof ({argument}). This is the best known, {excess} above it.")
        return words.format(argument=_argument(design), excess=excess)
    if design and report["sum_of_squares"] == design.reached:
        words = _("The best draw known, {excess} above the bound; whether a better one exists is not known.")
        return words.format(excess=excess)
    if design and design.status is Status.OPTIMAL:
        words = _("{excess} above the bound; the draw for opponents of this size meets it.")
        return words.format(excess=excess)
    return _("{excess} above the bound.").format(excess=excess)


def _rest_words(report: dict[str, Any], design: Design, preset: str) -> Iterator[str]:
    """Why rest and even meetings cannot both be had, where that is so."""
    drivers, used = design.drivers, design.lanes
    least, above = divmod(used * (used - 1), drivers - 1)
    if drivers < 2 * used:
        words = _("Two heats on end share at least {n} drivers: there are too few to fill both with others.")
        yield words.format(n=2 * used - drivers)
    elif above == 0 and not design.excess:
        words = _(
            "Where every pair meets equally often, any two heats share exactly {n} drivers (the dual of a symmetric "
            "design): so {total} runs back to back in whatever order. Rest costs even meetings."
        )
        yield words.format(n=least, total=least * (drivers - 1))
    elif preset != Draw.Preset.REST and report["back_to_back"] and design.block and least:
        words = _(
            "In a rotation in which everybody moves alike and every pair meets, heats always share drivers: opponents "
            "and rest cannot both be had."
        )
        yield words


def _argument(design: Design) -> str:
    if design.argument is Argument.ALL_EQUAL:
        return _("every pair would meet equally often, which Bruck, Ryser and Chowla exclude")
    return _("all but one pair for each driver would meet equally often, which Bose and Connor exclude")


def draw_names(draw: Draw) -> list[str]:
    """The drivers of a draw's report, in its order. Three queries."""
    seats = draw.stage.seats.filter(number__in=draw.report["seats"]).select_related("entry")
    by_number = {seat.number: seat for seat in seats.prefetch_related("entry__drivers__driver")}
    found = (by_number.get(number) for number in draw.report["seats"])
    return [shown_name(seat.entry) if seat and seat.entry else "" for seat in found]


def night_as_found(draw: Draw) -> dict[str, Any]:
    """What a re-draw started from, as `rotation.statefile` reads it."""
    return {name: value for name, value in draw.report["redraw"].items() if name not in {"fewest", "owed", "deviation"}}


def lanes_owed(draw: Draw, names: Sequence[str]) -> list[tuple[str, str]]:
    """Name and lanes of everybody whom a re-draw left short of lanes. names: as `draw_names` gives them. One query."""
    owed = draw.report.get("redraw", {}).get("owed", [])
    if not owed:
        return []
    lanes = {lane.number: str(lane) for lane in draw.stage.race.event.track_layout.lanes.all()}
    by_driver: dict[int, list[str]] = {}
    for each in owed:
        by_driver.setdefault(each["driver"], []).append(lanes.get(each["lane"], str(each["lane"])))
    shown = dict(zip(draw.report["seats"], names, strict=True))
    return [(shown.get(driver, str(driver)), ", ".join(found)) for driver, found in sorted(by_driver.items())]
