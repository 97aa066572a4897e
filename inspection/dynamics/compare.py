"""How sure a predicted lap is, and whether two set-ups can be told apart.

Standard uncertainties of the inputs go through by first order: each input is moved by its uncertainty either way and
half of the difference is its share (GUM, JCGM 100:2008, 5.1.2 and the numerical way of its note 2 in 5.1.3). What two
set-ups have in common (the same motor, grip or track) moves both laps alike and mostly cancels in their difference.
"""

from collections.abc import Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, replace
from enum import StrEnum
from math import hypot, isfinite
from typing import Final

from inspection.dynamics.car import Car
from inspection.dynamics.errors import DynamicsCode, DynamicsError
from inspection.dynamics.lap import predict_lap
from inspection.dynamics.track import Stretch

CAR_INPUTS: Final = (
    "mass_kg", "grip", "tire_diameter_m", "voltage_v", "supply_ohm", "efficiency", "braking_share", "rear_share",
    "downforce_n", "rolling",
)  # fmt: skip
MOTOR_INPUTS: Final = ("no_load_rpm", "stall_torque_nm", "resistance_ohm")
COVERAGE: Final = 2.0  # about 95 %
LEAST_S: Final = 0.001  # a difference that no lap counter shows is none


class Ranking(StrEnum):
    """Which of two set-ups is quicker, as far as can be told."""

    FIRST = "first"
    SECOND = "second"
    CANNOT_RANK = "cannot_rank"


RANKING_WORDS: Final[Mapping[Ranking, str]] = {
    Ranking.FIRST: "The first is quicker.",
    Ranking.SECOND: "The second is quicker.",
    Ranking.CANNOT_RANK: "These two cannot be ranked: the difference is smaller than what is not known.",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class SetUp:
    """A car with a gear ratio."""

    car: Car
    ratio: float


@dataclass(frozen=True, slots=True)
class Prediction:
    """A lap time in s, its standard uncertainty, and what each input has to do with it (with its sign)."""

    time_s: float
    top_speed: float
    uncertainty_s: float
    shares_s: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two set-ups on one lane. difference_s: second less first; uncertainty_s: its standard uncertainty."""

    first: Prediction
    second: Prediction
    difference_s: float
    uncertainty_s: float
    ranking: Ranking


def predict(set_up: SetUp, *, lane: Sequence[Stretch], uncertain: Mapping[str, float]) -> Prediction:
    """A lap with its spread. uncertain: standard uncertainty by name of input, in the unit of the input.

    Raises DynamicsError unknown_input, not_positive, and those of `predict_lap`.
    """
    lap = predict_lap(set_up.car, ratio=set_up.ratio, lane=lane)
    shares = {name: _share(set_up, lane, name, size, lap.time_s) for name, size in uncertain.items()}
    return Prediction(lap.time_s, lap.top_speed, hypot(*shares.values()), shares)


def compare(
    first: SetUp,
    second: SetUp,
    *,
    lane: Sequence[Stretch],
    uncertain: Mapping[str, float],
    apart: AbstractSet[str] = frozenset(),
    coverage: float = COVERAGE,
    least_s: float = LEAST_S,
) -> Comparison:
    """Two set-ups on a lane, and whether they can be ranked.

    apart: inputs that are not the same thing in both (two motors, two pairs of tires), so that their errors do not
    cancel. They are ranked when the difference is at least least_s and more than coverage times its standard
    uncertainty.
    Raises DynamicsError as `predict`.
    """
    one = predict(first, lane=lane, uncertain=uncertain)
    other = predict(second, lane=lane, uncertain=uncertain)
    parts: list[float] = []
    for name, share in other.shares_s.items():
        if name in apart:
            parts += [share, one.shares_s[name]]
        else:
            parts.append(share - one.shares_s[name])
    difference, uncertainty = other.time_s - one.time_s, hypot(*parts)
    if abs(difference) <= coverage * uncertainty or abs(difference) < least_s:
        ranking = Ranking.CANNOT_RANK
    else:
        ranking = Ranking.FIRST if difference > 0 else Ranking.SECOND
    return Comparison(one, other, difference, uncertainty, ranking)


def not_told_apart(
    set_ups: Sequence[SetUp],
    *,
    lane: Sequence[Stretch],
    uncertain: Mapping[str, float],
    apart: AbstractSet[str] = frozenset(),
) -> tuple[int, ...]:
    """Numbers of the set-ups that may be the quickest: the quickest by prediction, and all not ranked behind it.

    In the order of their predicted times. Raises DynamicsError as `predict`.
    """
    times = [predict_lap(one.car, ratio=one.ratio, lane=lane).time_s for one in set_ups]
    order = sorted(range(len(set_ups)), key=lambda number: (times[number], number))
    best = order[0] if order else 0
    return tuple(
        number
        for number in order
        if number == best
        or compare(set_ups[best], set_ups[number], lane=lane, uncertain=uncertain, apart=apart).ranking
        is Ranking.CANNOT_RANK
    )


def _share(set_up: SetUp, lane: Sequence[Stretch], name: str, uncertainty: float, time_s: float) -> float:
    """Half of what the lap changes between both ends of an input; from one end where the other is not possible."""
    if not (isfinite(uncertainty) and uncertainty >= 0):
        raise DynamicsError(DynamicsCode.NOT_POSITIVE, name=name)
    if uncertainty == 0:
        return 0.0
    more, less = (_time_with(set_up, lane, name, sign * uncertainty) for sign in (1, -1))
    if more is None:
        return 0.0 if less is None else time_s - less
    return more - time_s if less is None else (more - less) / 2


def _time_with(set_up: SetUp, lane: Sequence[Stretch], name: str, change: float) -> float | None:
    """The lap with one input changed; None where no car is like that."""
    try:
        return predict_lap(_changed(set_up.car, name, change), ratio=set_up.ratio, lane=lane).time_s
    except DynamicsError as refused:
        if refused.code is DynamicsCode.UNKNOWN_INPUT:
            raise
        return None


def _changed(car: Car, name: str, change: float) -> Car:
    values: dict[str, float] = {}
    if name in MOTOR_INPUTS:
        values[name] = getattr(car.motor, name) + change
        return replace(car, motor=replace(car.motor, **values))
    if name not in CAR_INPUTS:
        raise DynamicsError(DynamicsCode.UNKNOWN_INPUT, name=name)
    values[name] = getattr(car, name) + change
    return replace(car, **values)  # type: ignore[arg-type]
