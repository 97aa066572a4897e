"""Runs of a car: laps as people write them, what they come to, and which of two was quicker. Read only."""

import hashlib
import json
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import ceil

from django.db.models import QuerySet
from django.utils.translation import gettext as _

from inspection.dynamics.compare import Ranking
from inspection.dynamics.runs import (
    RunComparison,
    RunSummary,
    compare_runs,
    laps_to_tell,
    least_laps,
    slow_laps,
    summarize,
)
from inspection.models import BenchSheet, Car, Club, Lane, Run, TrackLayout
from inspection.runs.errors import LapNotUnderstood, LapsMissing, LapsNotParted, TooManyLaps
from inspection.units import DecimalMark, format_decimal

MOST_LAPS = 500
LONGEST_LAP_S = 3600
PLACES = 3
# Counting out the distribution takes about the fifth power of the laps: so many are a tenth of a second.
MOST_COMPARED = 32
MOST_WANTED = 200

_PARTED = re.compile(r"[\s;|]+")
_TIME = re.compile(r"(?:(\d{1,2}):(?=\d\d(?:\D|$)))?(\d{1,4})(?:([.,])(\d{1,6}))?")


def read_laps(text: str, *, decimal_mark: DecimalMark = ".") -> tuple[str, ...]:
    """Lap times as people have them, in seconds as texts with a point: blanks, lines or semicolons between them.

    A comma is a decimal mark, or stands between laps that have points. "1:02.3" is a minute and 2.3 s.
    Refuses what is no time, with its place (LapNotUnderstood, LapsNotParted), none (LapsMissing), and more than
    MOST_LAPS (TooManyLaps).
    """
    words: list[str] = []
    for word in _PARTED.split(text):
        bare = word.strip(",")
        words += bare.split(",") if "." in bare and "," in bare else [bare]
    laps = tuple(_lap(word, place, decimal_mark) for place, word in enumerate(filter(None, words), start=1))
    if not laps:
        raise LapsMissing
    if len(laps) > MOST_LAPS:
        raise TooManyLaps(most=MOST_LAPS)
    return laps


def _lap(word: str, place: int, decimal_mark: DecimalMark) -> str:
    if word.count(",") > 1:
        raise LapsNotParted(place=place, text=word[:40])
    found = _TIME.fullmatch(word) if word.isascii() else None
    if found:
        minutes, whole, _mark, decimals = found.groups()
        seconds = 60 * int(minutes or 0) + Decimal(f"{int(whole)}.{decimals}" if decimals else int(whole))
        if 0 < seconds < LONGEST_LAP_S:
            return str(seconds)
    raise LapNotUnderstood(place=place, text=word[:40], example="6.132".replace(".", decimal_mark))


def seconds_words(seconds: Fraction, *, decimal_mark: DecimalMark = ".", places: int = PLACES) -> str:
    """A time as the club writes it, without its unit."""
    return format_decimal(seconds, places=places, decimal_mark=decimal_mark)


def times_of(run: Run) -> tuple[Fraction, ...]:
    """The laps of a run in s, exactly, in the order driven."""
    return tuple(Fraction(text) for text in run.lap_times)


# Runs and what they come to.


@dataclass(frozen=True, slots=True)
class RunLine:
    """A run with what its laps come to. slow: numbers of the laps that stand out, from 0."""

    run: Run
    summary: RunSummary
    slow: tuple[int, ...]

    @property
    def laps(self) -> list[tuple[int, Fraction, bool]]:
        """Each lap: its number from 1, its time in s, and whether it stands out as slow."""
        return [(n + 1, time, n in self.slow) for n, time in enumerate(times_of(self.run))]


def line_of(run: Run) -> RunLine:
    """A run and what its laps come to. No query."""
    times = times_of(run)
    return RunLine(run, summarize(times), slow_laps(times))


def runs_loaded(club: Club) -> QuerySet[Run]:
    """Runs of the club, the latest first, with track, lanes and sheet. Two queries when read."""
    loaded = Run.objects.of(club).select_related("car", "sheet", "track_layout__track", "by")
    return loaded.prefetch_related("track_layout__lanes").order_by("-run_on", "-pk")


def runs_of(car: Car) -> list[RunLine]:
    """A car's runs, the latest first. Two queries, however many."""
    return [line_of(run) for run in runs_loaded(car.club).filter(car=car)]


def sheets_of(car: Car) -> QuerySet[BenchSheet]:
    """A car's bench sheets, the newest first. One query."""
    return BenchSheet.objects.filter(car=car).order_by("-number")


def layouts_in_use(club: Club) -> list[TrackLayout]:
    """The newest layout of each track in use, with lanes. Two queries."""
    layouts = TrackLayout.objects.of(club).filter(track__is_active=True).select_related("track")
    newest: dict[int, TrackLayout] = {}
    for layout in layouts.prefetch_related("lanes").order_by("track__name", "number"):
        newest[layout.track_id] = layout
    return list(newest.values())


def run_version(run: Run) -> str:
    """A short mark of what the form of a run shows; it differs once anybody has changed it."""
    said = [str(run.run_on), run.track_layout_id, run.lane, run.sheet_id, run.lap_times, run.changes, run.note]
    return hashlib.sha256(json.dumps(said).encode()).hexdigest()[:16]


@dataclass(frozen=True, slots=True)
class Best:
    """The best of a car on one lane of one layout: the run with the quickest median, and the quickest single lap."""

    layout: TrackLayout | None
    lane: int | None
    steady: RunLine
    quickest: RunLine


LEAST_STEADY = 4


def best_so_far(lines: Iterable[RunLine]) -> list[Best]:
    """By layout and lane: what is to be found again. Runs of fewer than four laps count only where no others are."""
    places: dict[tuple[int | None, int | None], list[RunLine]] = {}
    for line in lines:
        places.setdefault((line.run.track_layout_id, line.run.lane), []).append(line)
    found = []
    for (_layout, lane), here in places.items():
        enough = [line for line in here if line.summary.laps >= LEAST_STEADY] or here
        steady = min(enough, key=lambda line: (line.summary.median, line.summary.best))
        quickest = min(here, key=lambda line: (line.summary.best, line.summary.median))
        found.append(Best(steady.run.track_layout, lane, steady, quickest))
    return sorted(found, key=lambda best: (str(best.layout or ""), best.lane or 0))


# Two of them side by side.


@dataclass(frozen=True, slots=True)
class Side:
    """One of two that are compared: a run, or all runs of a bench sheet. label: "A" or "B"."""

    label: str
    name: str
    key: str
    runs: tuple[Run, ...]


@dataclass(frozen=True, slots=True)
class LaneComparison:
    """Both sides on one lane of one layout. words: what it comes to. cut: were laps left out to keep it quick?"""

    layout: TrackLayout | None
    lane: int | None
    first: RunSummary
    second: RunSummary
    times: tuple[tuple[Fraction, ...], tuple[Fraction, ...]]
    comparison: RunComparison
    words: str
    is_cut: bool

    @property
    def chance(self) -> str:
        """How often laps as far apart come about by chance, in percent, rounded up so that it is never said too low."""
        percent = ceil(self.comparison.p * 100)
        return f"{percent} %" if percent > 1 else _("less than 1 %")


def side_of(car: Car, key: str, label: str) -> Side | None:
    """What an address names: "run-<id>" or "sheet-<id>" of this car; None for anything else. Up to three queries."""
    kind, _dash, public_id = key.partition("-")
    loaded = runs_loaded(car.club).filter(car=car)
    if kind == "run":
        run = loaded.filter(public_id=public_id).first()
        return Side(label, _("run of {date}").format(date=run.run_on), key, (run,)) if run else None
    sheet = sheets_of(car).filter(public_id=public_id).first() if kind == "sheet" else None
    if sheet is None:
        return None
    name = _("bench sheet {number}").format(number=sheet.number)
    return Side(label, name, key, tuple(loaded.filter(sheet=sheet)))


def compare_sides(first: Side, second: Side, *, decimal_mark: DecimalMark = ".") -> list[LaneComparison]:
    """Both sides on every lane that both were driven on; none where they share none, since lanes differ. No query."""
    by_place = [_laps_by_place(side.runs) for side in (first, second)]
    shared = [place for place in by_place[0] if place in by_place[1]]
    found = []
    for place in sorted(shared, key=lambda each: (str(each[0]), each[1] or 0)):
        layout = next(run.track_layout for run in first.runs if (run.track_layout_id, run.lane) == place)
        all_times = (by_place[0][place], by_place[1][place])
        compared = tuple(times[-MOST_COMPARED:] for times in all_times)
        outcome = compare_runs(*compared)
        words = ranking_words(outcome, compared[0], compared[1], decimal_mark=decimal_mark)
        summaries = [summarize(times) for times in all_times]
        found.append(
            LaneComparison(layout, place[1], *summaries, all_times, outcome, words, is_cut=compared != all_times)
        )
    return found


def _laps_by_place(runs: Sequence[Run]) -> dict[tuple[int | None, int | None], tuple[Fraction, ...]]:
    """Laps by layout and lane, the oldest first."""
    places: dict[tuple[int | None, int | None], tuple[Fraction, ...]] = {}
    for run in sorted(runs, key=lambda each: (each.run_on, each.pk)):
        place = (run.track_layout_id, run.lane)
        places[place] = places.get(place, ()) + times_of(run)
    return places


def ranking_words(
    outcome: RunComparison,
    first: Sequence[Fraction],
    second: Sequence[Fraction],
    *,
    names: tuple[str, str] = ("A", "B"),
    decimal_mark: DecimalMark = ".",
) -> str:
    """What a comparison comes to, for a person: who is quicker by how much, or how many laps would tell."""
    if outcome.ranking is not Ranking.CANNOT_RANK:
        return _quicker_words(outcome, names, decimal_mark)
    if not outcome.is_enough:
        words = _("So few laps cannot tell them apart: {laps} laps of each are the least that can.")
        return words.format(laps=least_laps())
    wanted = laps_to_tell(first, second)
    if wanted is None or wanted > MOST_WANTED:
        return _("They cannot be told apart, and more laps are not likely to: take them as alike.")
    return _("They cannot be told apart: about {laps} laps of each would be enough.").format(laps=wanted)


def _quicker_words(outcome: RunComparison, names: tuple[str, str], decimal_mark: DecimalMark) -> str:
    is_first = outcome.ranking is Ranking.FIRST
    way = 1 if is_first else -1
    quicker = names[0] if is_first else names[1]
    low, high = sorted(
        way * (bound if bound is not None else outcome.difference) for bound in (outcome.low, outcome.high)
    )
    # Two decimals where they say something: the third is seldom more than chance.
    places = 2 if low >= Fraction(1, 100) else PLACES
    said = [seconds_words(max(bound, Fraction(0)), decimal_mark=decimal_mark, places=places) for bound in (low, high)]
    if said[0] == said[1]:
        return _("{which} is quicker by {much} s a lap.").format(which=quicker, much=said[0])
    return _("{which} is quicker by {low} to {high} s a lap.").format(which=quicker, low=said[0], high=said[1])


def lane_in(layout: TrackLayout | None, number: int | None) -> Lane | None:
    """A lane of a layout by its number; None without one. No query when lanes are loaded."""
    lanes = layout.lanes.all() if layout else []
    return next((lane for lane in lanes if lane.number == number), None)
