"""The lap that a bench sheet promises on each lane, with its spread, the best legal gears, and what was driven."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any, Final

from django.utils.translation import gettext as _

from inspection.benchoutcomes.selectors import Judged, document_of, judged
from inspection.benchsheets.selectors import parts_by_place
from inspection.benchwording.selectors import path_words
from inspection.dynamics.compare import Prediction, Ranking, SetUp, compare, predict
from inspection.dynamics.errors import DynamicsError
from inspection.dynamics.lap import Lap, RatioTime, predict_lap, rank_ratios
from inspection.dynamics.runs import RunSummary, summarize
from inspection.dynamics.track import Stretch
from inspection.models import BenchSheet, Lane, Part, Run
from inspection.parts.selectors import part_document
from inspection.planning.document import read_bench
from inspection.planning.driving import Driving, driving_of
from inspection.planning.errors import PlanningError
from inspection.planning.evaluation import Evaluation, evaluate
from inspection.runs.selectors import times_of
from inspection.units import DecimalMark, format_decimal

# How far the sizes that a bench tells may be off, one standard uncertainty: of a motor by its packet, of a tire and a
# scale by their gauges, of a supply under load. Common practice, no source.
_MOTOR, _STALL, _TIRE_M, _MASS_KG, _VOLTS = 0.03, 0.10, 0.00002, 0.0002, 0.1
MOST_TRIED: Final = 40  # ratios whose gears are judged before it is said that none was found


@dataclass(frozen=True, slots=True, kw_only=True)
class Assumptions:
    """What is assumed of a drive, with one standard uncertainty of each. mass: in g, where no sheet tells it."""

    grip: Fraction = Fraction(1)
    grip_within: Fraction = Fraction(1, 10)
    braking: Fraction = Fraction(6, 10)
    braking_within: Fraction = Fraction(1, 10)
    efficiency: Fraction = Fraction(85, 100)
    efficiency_within: Fraction = Fraction(5, 100)
    mass: Fraction | None = None


@dataclass(frozen=True, slots=True)
class Option:
    """A pair of gears of the register, and whether it fits, drives and is legal."""

    pinion: Part
    driven: Part
    ratio: Fraction

    @property
    def name(self) -> str:
        return f"{self.pinion.name} / {self.driven.name}"


@dataclass(frozen=True, slots=True)
class LaneForecast:
    """One lane: the lap of the sheet's own gears, the best legal pair with how it compares, and what was driven."""

    lane: Lane
    stretches: tuple[Stretch, ...]
    own: Prediction | None
    best: Option | None
    best_time: Prediction | None
    words: str
    driven: RunSummary | None

    @property
    def spread_s(self) -> float | None:
        """Twice the standard uncertainty: the lap lies within it in about 95 of 100 cases."""
        return None if self.own is None else 2 * self.own.uncertainty_s


@dataclass(frozen=True, slots=True, kw_only=True)
class Forecast:
    """The lanes that can be predicted. lacks: what is missing for it, in words; wrong: what cannot be so."""

    ratio: Fraction | None
    mass: Fraction | None
    lanes: tuple[LaneForecast, ...] = ()
    lacks: tuple[str, ...] = ()
    wrong: str = ""
    driving: Driving | None = None

    def lap_on(self, lane: LaneForecast) -> Lap | None:
        """The lap of the sheet's own gears on a lane, for its picture."""
        if self.driving is None or self.driving.car is None or self.ratio is None:
            return None
        return predict_lap(self.driving.car, ratio=float(self.ratio), lane=lane.stretches)


def forecast_of(sheet: BenchSheet, assumed: Assumptions) -> Forecast:
    """The prediction for a sheet. The queries of `judged`, and one each for lanes, parts and runs.

    What is missing is named, and nothing is guessed but what `assumed` says.
    """
    told = judged(sheet, {}, cures=False)
    if told.found is None:
        return Forecast(ratio=None, mass=assumed.mass, wrong=told.wrong)
    lanes = lanes_of(sheet)
    mass, ratio = told.found.weighed.mass or assumed.mass, told.found.ratio
    try:
        driving = driving_of(read_bench(_document(sheet, lanes, assumed)), mass)
    except PlanningError as error:
        return Forecast(ratio=ratio, mass=mass, wrong=str(error))
    lacks = [path_words(path) for need in driving.needs for path in need.paths]
    if driving.car is None or not driving.lanes:
        return Forecast(ratio=ratio, mass=mass, lacks=tuple(lacks))
    options = _options(sheet)
    driven = _driven(sheet)
    forecasts = tuple(
        _on_lane(told, driving, lane, stretches, options, driven.get(lane.number), _uncertain(driving, assumed))
        for lane, (_told, stretches) in zip(lanes, driving.lanes, strict=True)
    )
    return Forecast(ratio=ratio, mass=mass, lanes=forecasts, lacks=tuple(lacks), driving=driving)


def _document(sheet: BenchSheet, lanes: Sequence[Lane], assumed: Assumptions) -> dict[str, Any]:
    values = {"grip": assumed.grip, "braking_share": assumed.braking, "efficiency": assumed.efficiency}
    driving = {name: format_decimal(value, places=4) for name, value in values.items()}
    return document_on(sheet, lanes) | {"driving": driving}


def lanes_of(sheet: BenchSheet) -> list[Lane]:
    """The lanes whose length follows from the track's sections. One query where there is a track."""
    layout = sheet.track_layout
    return [] if layout is None else [lane for lane in layout.lanes.all() if lane.offset_mm is not None]


def document_on(sheet: BenchSheet, lanes: Sequence[Lane]) -> dict[str, Any]:
    """A sheet as the planning engine reads it, with these lanes of its track. No query."""
    document = document_of(sheet)
    told = [{"number": lane.number, "name": lane.name, "offset": f"{lane.offset_mm} mm"} for lane in lanes]
    return document | {"track": document["track"] | {"lanes": told}}


def _uncertain(driving: Driving, assumed: Assumptions) -> dict[str, float]:
    """One standard uncertainty of each input of the lap, by the names of the dynamics engine."""
    motor = driving.car.motor if driving.car else None
    told = {
        "grip": float(assumed.grip_within),
        "braking_share": float(assumed.braking_within),
        "efficiency": float(assumed.efficiency_within),
        "mass_kg": _MASS_KG,
        "tire_diameter_m": _TIRE_M,
        "voltage_v": _VOLTS,
    }
    if motor is not None:
        told |= {"no_load_rpm": motor.no_load_rpm * _MOTOR, "stall_torque_nm": motor.stall_torque_nm * _STALL}
    return told


def _on_lane(
    told: Judged,
    driving: Driving,
    lane: Lane,
    stretches: tuple[Stretch, ...],
    options: Mapping[Fraction, list[Option]],
    driven: RunSummary | None,
    uncertain: Mapping[str, float],
) -> LaneForecast:
    ratio = told.found.ratio if told.found else None
    own = _predicted(driving, ratio, stretches, uncertain)
    best = _best_legal(told, driving, stretches, options)
    best_time = _predicted(driving, best.ratio, stretches, uncertain) if best else None
    words = _ranking_words(told, driving, ratio, best, stretches, uncertain)
    return LaneForecast(lane, stretches, own, best, best_time, words, driven)


def _predicted(
    driving: Driving, ratio: Fraction | None, stretches: Sequence[Stretch], uncertain: Mapping[str, float]
) -> Prediction | None:
    if driving.car is None or ratio is None:
        return None
    try:
        return predict(SetUp(car=driving.car, ratio=float(ratio)), lane=stretches, uncertain=uncertain)
    except DynamicsError:
        return None


def _options(sheet: BenchSheet) -> dict[Fraction, list[Option]]:
    """Every pair of gears that the register holds for this car, by its ratio. One query."""
    places = parts_by_place(sheet.car.club, sheet.car.owner)
    found: dict[Fraction, list[Option]] = {}
    for pinion in places["pinion"]:
        for driven in places["driven_gear"]:
            teeth = [_teeth(part) for part in (pinion, driven)]
            if all(teeth):
                ratio = Fraction(teeth[1], teeth[0])
                found.setdefault(ratio, []).append(Option(pinion, driven, ratio))
    return found


def _teeth(part: Part) -> int:
    text = str(part.sizes.get("teeth", ""))
    return int(text) if text.isascii() and text.isdigit() and len(text) < 5 else 0


def _best_legal(
    told: Judged, driving: Driving, stretches: Sequence[Stretch], options: Mapping[Fraction, list[Option]]
) -> Option | None:
    """The quickest pair that fits, drives and stands in no clause's way; pairs are judged from the quickest on."""
    if driving.car is None or not options:
        return None
    exact = {float(ratio): ratio for ratio in options}
    order: tuple[RatioTime, ...] = rank_ratios(driving.car, list(exact), stretches)
    for each in order[:MOST_TRIED]:
        for option in options[exact[each.ratio]]:
            if _is_good(told, option):
                return option
    return None


def _is_good(told: Judged, option: Option) -> bool:
    """Do these gears drive, does no clause stand in their way, and does all fit that fits now?"""
    document = document_of(told.sheet, told.declared)
    document["parts"] = document["parts"] | {
        "pinion": part_document(option.pinion), "driven_gear": part_document(option.driven),
    }  # fmt: skip
    try:
        found = evaluate(read_bench(document), **told.asked, cures=False)
    except PlanningError:
        return False
    return bool(found.meshes) and found.is_legal is not False and _unmet(found) <= _unmet(told.found)


def _unmet(found: Evaluation | None) -> set[tuple[str, str, bool]]:
    """What does not fit, by kind and place, as new and worn."""
    findings = found.report.findings if found and found.report else ()
    return {(one.code, one.place, one.worn) for one in findings if not one.is_met}


def _ranking_words(
    told: Judged,
    driving: Driving,
    ratio: Fraction | None,
    best: Option | None,
    stretches: Sequence[Stretch],
    uncertain: Mapping[str, float],
) -> str:
    mark: DecimalMark = told.sheet.car.club.decimal_mark
    if best is None:
        return _("No gears of the register fit, drive and are legal.")
    if driving.car is None or ratio is None or best.ratio == ratio:
        return _("The sheet's own ratio is the quickest.") if best.ratio == ratio else ""
    own = SetUp(car=driving.car, ratio=float(ratio))
    try:
        found = compare(own, replace(own, ratio=float(best.ratio)), lane=stretches, uncertain=uncertain)
    except DynamicsError:
        return _("With the sheet's own gears the car does not move.")
    if found.ranking is Ranking.CANNOT_RANK:
        return _("Cannot be ranked against the sheet's own gears: what is not known weighs more.")
    gain = format_decimal(Fraction(abs(found.difference_s)), places=3, decimal_mark=mark)
    words = _("The sheet's own are quicker by {gain} s a lap, but do not fit, drive or pass.")
    if found.ranking is Ranking.SECOND:
        words = _("Quicker than the sheet's own by {gain} s a lap.")
    return words.format(gain=gain)


def _driven(sheet: BenchSheet) -> dict[int, RunSummary]:
    """What was driven with this sheet on its track, by lane. One query."""
    laps: dict[int, tuple[Fraction, ...]] = {}
    for run in Run.objects.filter(sheet=sheet, track_layout=sheet.track_layout_id).exclude(lane=None):
        laps[run.lane] = laps.get(run.lane, ()) + times_of(run)
    return {lane: summarize(times) for lane, times in laps.items() if times}
