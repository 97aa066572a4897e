"""Draws side by side, in words and figures."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext_lazy

from racedesk.draws.selectors import Way
from racedesk.entries.selectors import shown_name
from racedesk.forecast.timetable import heat_starts
from racedesk.heats.documents import BalanceWords, balance_words
from racedesk.heats.selectors import in_seat_order, race_start
from racedesk.heats.services import Planned, plan_heats, report_of
from racedesk.models import Draw, Entry, Race

TAGLINES = {
    Draw.Preset.USUAL: gettext_lazy("one in, one out, in the track's lane order"),
    Draw.Preset.OPPONENTS: gettext_lazy("everyone meets everyone as evenly as can be"),
    Draw.Preset.REST: gettext_lazy("never two heats on end where that can be"),
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
    is_chosen: bool


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


def draw_options(race: Race, entries: Sequence[Entry], *, seed: int, chosen: str, way: Way) -> list[DrawOption]:
    """The three presets for these entries and this seed, as drawing them now would make them. Two queries a preset."""
    start = race_start(race)
    numbers, seated = zip(*in_seat_order(race, entries), strict=True)
    names = [shown_name(entry) for entry in seated]
    options = []
    for preset in Draw.Preset:
        planned = plan_heats(race=race, entries=seated, preset=preset, seed=seed, **way.arguments())
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
                is_chosen=preset.value == chosen,
            )
        )
    return options


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
