"""Can a lap count be true? Refuse what no clock allows, ask about what is unlikely.

Rule of thumb of the trade, common practice: for laps driven from the line, laps x the fastest lap of that lane is
at most the heat's time plus coasting; more means that an extra lap was counted, or that a carried part lap was.
Below about .60 of the time means trouble or lost laps. The coasting allowance, speeds and shortest laps are
ours, set wide.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

from .errors import LapsError
from .laps import LapCount, LapMethod, format_laps

COASTING_S = Decimal(2)
LOW_RATIO = Decimal("0.60")
# Mean speed over a lap. Fast club cars stay below the first; nothing with a guide laps at the second.
UNLIKELY_SPEED_M_S = Decimal(15)
IMPOSSIBLE_SPEED_M_S = Decimal(40)
# The same for a lane of unknown length: the smallest ovals take longer than this.
UNLIKELY_LAP_S = Decimal(1)
IMPOSSIBLE_LAP_S = Decimal("0.5")


class Severity(StrEnum):
    """What to do about a doubtful count."""

    ASK = "ask"  # "did you mean ...?": the person who typed it decides
    REFUSE = "refuse"  # it cannot be true


@dataclass(frozen=True, slots=True)
class Problem:
    """A doubt about one typed lap count.

    code: more_than_the_clock_allows, faster_than_known or few_laps. ratio: laps x fastest lap / time, None
    without a known fastest lap. most: the highest whole lap count that would have passed, None for few_laps.
    explanation: English.
    """

    code: str
    severity: Severity
    ratio: Fraction | None
    most: int | None
    explanation: str


def lap_ratio(*, laps: LapCount, fastest_lap_s: Decimal, heat_length_s: Decimal) -> Fraction:
    """laps x fastest lap / heat length, exact and without a unit.

    Raises LapsError with code bad_time for a time that is not above zero.
    """
    _refuse_bad(fastest_lap_s, heat_length_s)
    return laps.as_fraction * Fraction(fastest_lap_s) / Fraction(heat_length_s)


def most_laps(*, heat_length_s: Decimal, lane_length_m: Decimal, top_speed_m_s: Decimal) -> int:
    """Whole laps of the lane that the speed covers in the heat's time.

    Raises LapsError with code bad_time for a value that is not above zero.
    """
    _refuse_bad(heat_length_s, lane_length_m, top_speed_m_s)
    return int(Fraction(heat_length_s) * Fraction(top_speed_m_s) / Fraction(lane_length_m))


def find_problem(
    *,
    laps: LapCount,
    heat_length_s: Decimal,
    method: LapMethod,
    lane_length_m: Decimal | None = None,
    fastest_lap_s: Decimal | None = None,
    is_fastest_of_this_heat: bool = False,
) -> Problem | None:
    """The gravest doubt about a lane's laps in one heat, None if there is none.

    lane_length_m: of that lane. fastest_lap_s: the fastest lap known on that lane. is_fastest_of_this_heat: it
    was measured on this car in this very heat, so that more laps than it allows are impossible; otherwise
    somebody may just have gone faster than ever, and the person who typed is asked. Where the part lap is
    carried, or the lap under way is completed, one lap more is allowed for. Without a length and a lap time
    only what no track allows is found.
    Raises LapsError with code bad_time for a value that is not above zero.
    """
    known = (value for value in (heat_length_s, lane_length_m, fastest_lap_s) if value is not None)
    _refuse_bad(*known)
    extra = 1 if method in {LapMethod.CARRIED, LapMethod.COMPLETED} else 0
    by_clock = _problem_by_clock(laps, heat_length_s, lane_length_m, extra)
    by_time = _problem_by_time(laps, heat_length_s, fastest_lap_s, extra, is_certain=is_fastest_of_this_heat)
    found = [problem for problem in (by_clock, by_time) if problem is not None]
    grave = [problem for problem in found if problem.severity is Severity.REFUSE]
    return next(iter(grave or found), None)


def _problem_by_clock(
    laps: LapCount, heat_length_s: Decimal, lane_length_m: Decimal | None, extra: int
) -> Problem | None:
    """A doubt that needs no lap time: the lane is too long, or the heat too short, for so many laps."""
    for severity, shortest_lap_s, speed in (
        (Severity.REFUSE, IMPOSSIBLE_LAP_S, IMPOSSIBLE_SPEED_M_S),
        (Severity.ASK, UNLIKELY_LAP_S, UNLIKELY_SPEED_M_S),
    ):
        lap_s = Fraction(shortest_lap_s)
        if lane_length_m is not None:
            lap_s = max(lap_s, Fraction(lane_length_m) / Fraction(speed))
        most = int(Fraction(heat_length_s + COASTING_S) / lap_s) + extra
        if laps.laps > most:
            each_s = round(float(heat_length_s) / laps.laps, 2)
            return Problem(
                "more_than_the_clock_allows",
                severity,
                None,
                most,
                f"{format_laps(laps)} laps in {heat_length_s:f} s would be {each_s} s a lap.",
            )
    return None


def _problem_by_time(
    laps: LapCount, heat_length_s: Decimal, fastest_lap_s: Decimal | None, extra: int, *, is_certain: bool
) -> Problem | None:
    if fastest_lap_s is None:
        return None
    ratio = lap_ratio(laps=laps, fastest_lap_s=fastest_lap_s, heat_length_s=heat_length_s)
    allowed_laps = Fraction(heat_length_s + COASTING_S) / Fraction(fastest_lap_s) + extra
    if laps.as_fraction > allowed_laps:
        return Problem(
            "faster_than_known",
            Severity.REFUSE if is_certain else Severity.ASK,
            ratio,
            int(allowed_laps),
            f"{format_laps(laps)} laps need more than {heat_length_s:f} s at {fastest_lap_s:f} s, "
            "the fastest lap known on this lane. Was a lap counted twice?",
        )
    if ratio < Fraction(LOW_RATIO):
        return Problem(
            "few_laps",
            Severity.ASK,
            ratio,
            None,
            f"{format_laps(laps)} laps is few for {heat_length_s:f} s. Were laps lost?",
        )
    return None


def _refuse_bad(*values: Decimal) -> None:
    for value in values:
        if not (value.is_finite() and value > 0):
            raise LapsError("bad_time", f"{value} is not above zero.", value=value)
