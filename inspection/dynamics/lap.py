"""A quasi-steady lap: the speed that grip allows in each curve, full throttle between, and braking just in time.

In a curve the car holds the greatest speed that grip allows, or gathers speed up to it; braking and pulling take
nothing from the grip in the curve, and the car is taken to be driven without a mistake. So a real lap is slower, and
what counts is the difference between two set-ups on one lane.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt
from typing import Final

from inspection.dynamics.car import Car, Pull, pull_of
from inspection.dynamics.errors import DynamicsCode, DynamicsError
from inspection.dynamics.track import Stretch

_ALMOST: Final = 1 - 1e-9  # the top speed itself is never reached
_STEPS: Final = 60
_ROUNDS: Final = 200


@dataclass(frozen=True, slots=True)
class Passage:
    """One stretch as driven: speeds in m/s at its beginning, its fastest point and its end, and the time in s."""

    length_m: float
    entry: float
    peak: float
    exit: float
    time_s: float


@dataclass(frozen=True, slots=True)
class Lap:
    """A flying lap. braking: m/s2."""

    passages: tuple[Passage, ...]
    pull: Pull
    braking: float

    @property
    def time_s(self) -> float:
        return sum(passage.time_s for passage in self.passages)

    @property
    def length_m(self) -> float:
        return sum(passage.length_m for passage in self.passages)

    @property
    def top_speed(self) -> float:
        """In m/s."""
        return max(passage.peak for passage in self.passages)


@dataclass(frozen=True, slots=True)
class RatioTime:
    """A gear ratio, and the lap that it gives on a lane."""

    ratio: float
    time_s: float
    top_speed: float


def predict_lap(car: Car, *, ratio: float, lane: Sequence[Stretch]) -> Lap:
    """A flying lap on a lane.

    Raises DynamicsError no_sections, not_positive or does_not_move.
    """
    if not lane:
        raise DynamicsError(DynamicsCode.NO_SECTIONS)
    pull, braking = pull_of(car, ratio), car.braking
    caps = [min(car.curve_speed(stretch.radius_m), pull.top * _ALMOST) for stretch in lane]
    nodes = _node_speeds(lane, caps, pull, braking)
    count = len(lane)
    passages = tuple(
        _passage(stretch.length_m, nodes[number], nodes[(number + 1) % count], caps[number], pull, braking)
        for number, stretch in enumerate(lane)
    )
    return Lap(passages, pull, braking)


def rank_ratios(car: Car, ratios: Sequence[float], lane: Sequence[Stretch]) -> tuple[RatioTime, ...]:
    """Ratios on a lane, the quickest first; of two alike the smaller. Ratios with which the car does not move are
    left out.

    Raises DynamicsError no_ratios, no_sections or not_positive.
    """
    if not ratios:
        raise DynamicsError(DynamicsCode.NO_RATIOS)
    times: list[RatioTime] = []
    for ratio in ratios:
        try:
            lap = predict_lap(car, ratio=ratio, lane=lane)
        except DynamicsError as refused:
            if refused.code is not DynamicsCode.DOES_NOT_MOVE:
                raise
            continue
        times.append(RatioTime(ratio, lap.time_s, lap.top_speed))
    return tuple(sorted(times, key=lambda one: (one.time_s, one.ratio)))


def best_ratios(car: Car, ratios: Sequence[float], lanes: Sequence[Sequence[Stretch]]) -> tuple[RatioTime | None, ...]:
    """The quickest ratio of a list for each lane; None where the car moves with none of them. Raises as above."""
    return tuple(next(iter(rank_ratios(car, ratios, lane)), None) for lane in lanes)


def speed_trace(lap: Lap, *, steps: int = 12) -> tuple[tuple[float, float], ...]:
    """Points (meters from the start, m/s) for a picture: each stretch in so many steps up to its peak and down."""
    points: list[tuple[float, float]] = []
    begin = 0.0
    for passage in lap.passages:
        gained = lap.pull.distance(passage.entry, passage.peak)
        lost = (passage.peak**2 - passage.exit**2) / (2 * lap.braking)
        shares = [number / steps for number in range(steps + 1)]
        points += [(begin + gained * share, _speed_at(lap.pull, passage, gained * share)) for share in shares]
        end = begin + passage.length_m
        brake = max(begin + gained, end - lost)
        points += [
            (min(end, brake + lost * share), sqrt(max(0.0, passage.peak**2 - 2 * lap.braking * lost * share)))
            for share in shares
        ]
        begin = end
    return tuple(points)


def _speed_at(pull: Pull, passage: Passage, distance: float) -> float:
    return min(passage.peak, pull.run(passage.entry, distance)[1]) if distance > 0 else passage.entry


def _node_speeds(lane: Sequence[Stretch], caps: Sequence[float], pull: Pull, braking: float) -> list[float]:
    """The greatest speeds between stretches: what both allow, what braking can still reach, what the motor can.

    Round and round until nothing changes, since a lap ends where it begins.
    """
    count = len(lane)
    nodes = [min(caps[number - 1], caps[number]) for number in range(count)]
    for _ in range(2):
        for number in reversed(range(count)):
            nodes[number] = min(
                nodes[number], sqrt(nodes[(number + 1) % count] ** 2 + 2 * braking * lane[number].length_m)
            )
    start = min(range(count), key=nodes.__getitem__)
    for _ in range(_ROUNDS):
        changed = False
        for step in range(count):
            number = (start + step) % count
            following = (number + 1) % count
            reached = min(caps[number], pull.run(nodes[number], lane[number].length_m)[1])
            if reached < nodes[following] * (1 - 1e-12):
                nodes[following], changed = reached, True
        if not changed:
            break
    return nodes


def _passage(length: float, entry: float, out: float, cap: float, pull: Pull, braking: float) -> Passage:
    """Gather speed to a peak, hold it where a limit is met, brake to the speed of the end."""
    peak = min(cap, pull.run(entry, length)[1])
    peak = max(peak, entry, out)
    over = _used(entry, peak, out, pull, braking) - length
    if over > 0:
        peak = _peak(length, entry, out, peak, pull, braking)
        over = 0.0
    held = -over / peak
    time = pull.time(entry, peak) + held + (peak - out) / braking
    return Passage(length, entry, peak, out, time)


def _used(entry: float, peak: float, out: float, pull: Pull, braking: float) -> float:
    """Meters needed to gather speed to a peak and brake again."""
    return pull.distance(entry, peak) + (peak * peak - out * out) / (2 * braking)


def _peak(length: float, entry: float, out: float, start: float, pull: Pull, braking: float) -> float:
    """The peak from which braking is just in time, by Newton's method.

    The distance used is convex in the peak, so from a start above the root every step stays above it.
    """
    peak, low = start, max(entry, out)
    for _ in range(_STEPS):
        gathering = pull.limit if peak < pull.until else (pull.top - peak) / pull.tau
        step = (_used(entry, peak, out, pull, braking) - length) / (peak / gathering + peak / braking)
        peak -= step
        if peak <= low:
            return low
        if step <= 1e-13 * peak:
            break
    return peak
