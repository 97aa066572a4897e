"""How fast nights go at a club, as far as 20 nights or none can tell: change-overs, calls, and long stops.

Nights differ from each other more than heats of one night do, so each night counts once: the logarithm of its mean
change-over is taken as normal around the club's, with both the club's mean and the spread unknown (the conjugate
model of Gelman and others, "Bayesian Data Analysis", chapter 3.3: normal, inverse chi-squared). The same goes for
its calls per minute raced. What tonight has shown so far is weighed against that by how well either is known. A
change-over of at least four times its night's median, and of five minutes, is a stop of its own kind: stops are
counted over all nights and their lengths are drawn from those seen, so that one repair does not slow every heat.

Where nothing was seen a guess stands in that weighs as much as a fraction of a night; `Pace.is_guess` says so.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import exp, log, sqrt
from statistics import NormalDist, fmean, median, pvariance
from typing import Final

from racedesk.forecast.errors import ForecastError
from racedesk.forecast.seen import SeenHeat, SeenNight, Settings
from racedesk.rotation.chance import Chance

GUESS_NIGHTS: Final = 0.25
"""So many nights does a guess weigh in the mean."""
GUESS_SPREADS: Final = 3.0
"""So many nights does a guess weigh in the spread."""
CHANGEOVER_SPREAD: Final = 0.2
CALLS_A_MINUTE: Final = 0.06
CALLS_SPREAD: Final = 0.5
CALL_S: Final = 30.0
CALL_SPREAD_S: Final = 20.0
HEAT_SPREAD: Final = 0.35
"""Guesses: spreads between nights of the logarithms, a call's length, and the spread of heats within a night."""
STOP_TIMES_MEDIAN: Final = 4
STOP_FROM_S: Final = 300
STOPS_A_HEAT: Final = 0.003
STOP_S: Final = 600
LONGEST_S: Final = 12 * 3600

_NORMAL: Final = NormalDist()


class Lot:
    """Normal, chi-squared and Poisson numbers from the generator that draws heats, so that a seed is enough."""

    def __init__(self, seed: int) -> None:
        self._chance = Chance(seed)

    def share(self) -> float:
        """A number between 0 and 1, neither of them included."""
        return ((self._chance.word() >> 12) + 0.5) / (1 << 52)

    def normal(self) -> float:
        """A standard normal number."""
        return _NORMAL.inv_cdf(self.share())

    def chi_squared(self, degrees: float) -> float:
        """By the cube of a normal number (Wilson and Hilferty 1931); never below a sixteenth of the mean."""
        part = 2 / (9 * degrees)
        return degrees * max(1 - part + self.normal() * sqrt(part), 0.4) ** 3

    def poisson(self, mean: float) -> int:
        """How many, of so many on average; above 60 by a normal number."""
        if mean > 60:
            return max(round(mean + sqrt(mean) * self.normal()), 0)
        left, number = self.share(), 0
        term = exp(-mean)
        while left > term and number < 400:
            left -= term
            number += 1
            term *= mean / number
        return number

    def one_of(self, items: Sequence[int]) -> int:
        """One of them, each equally likely."""
        return items[self._chance.below(len(items))]


@dataclass(frozen=True, slots=True)
class Between:
    """A quantity that differs between nights, as a logarithm: what the nights say of its mean and its spread.

    mean, weight: the club's mean and how many nights it rests on. spread2, degrees: the variance of what was seen
    between nights and its degrees of freedom. noise2: the part of it that comes of having seen few heats a night.
    seen, seen_noise2: tonight's so far and its variance; None where tonight has shown nothing.
    """

    mean: float
    weight: float
    spread2: float
    degrees: float
    noise2: float
    seen: float | None = None
    seen_noise2: float = 0.0

    def draw(self, lot: Lot) -> float:
        """Tonight's value by lot (no logarithm), over all that is not known."""
        spread2 = self.spread2 * self.degrees / lot.chi_squared(self.degrees)
        mean = self.mean + lot.normal() * sqrt(spread2 / self.weight)
        true2 = max(spread2 - self.noise2, spread2 / 20)
        if self.seen is None:
            return exp(mean + lot.normal() * sqrt(true2))
        trust = true2 / (true2 + self.seen_noise2)
        return exp(mean + trust * (self.seen - mean) + lot.normal() * sqrt(true2 * (1 - trust)))


@dataclass(frozen=True, slots=True)
class Pace:
    """What is known of a club's nights and of tonight.

    nights, heats: how many were seen, tonight's heats among them. is_guess: nothing was, all is from settings.
    changeover, calls: seconds a change-over, calls a minute. heat_spread: of one change-over within its night,
    as a share of the mean. call_s, call_spread_s, calls_seen: a call's length. stops, stop_heats: how many long
    stops in how many change-overs, with a guess of one in 300 counted in. stops_s: their lengths.
    """

    nights: int
    heats: int
    changeover: Between
    heat_spread: float
    calls: Between
    call_s: float
    call_spread_s: float
    calls_seen: int
    stops: float
    stop_heats: float
    stops_s: tuple[int, ...]

    @property
    def is_guess(self) -> bool:
        """Has nothing been seen, so that only the race's own settings speak?"""
        return self.heats == 0

    def delay(self, lot: Lot, *, changeovers: int, minutes: float, spent_s: int = 0) -> float:
        """By lot, the seconds that change-overs, calls and stops of what is left of tonight will take.

        minutes: what the clock is to run. spent_s: how long the first of the change-overs has been going on.
        """
        each = self.changeover.draw(lot)
        # A sum of many is nearly normal whatever one is; below nothing it cannot fall.
        time = each * (changeovers + self.heat_spread * sqrt(changeovers) * lot.normal()) if changeovers else 0.0
        time = max(time, 0.0)
        if changeovers and spent_s:
            time = max(time - min(spent_s, each), 0.0)
        calls = lot.poisson(self.calls.draw(lot) * minutes)
        if calls:
            length = self.call_s + lot.normal() * self.call_spread_s / sqrt(self.calls_seen + 1)
            time += max(length * calls + self.call_spread_s * sqrt(calls) * lot.normal(), 0.0)
        rate = self.stops / self.stop_heats * lot.chi_squared(2 * self.stops) / (2 * self.stops)
        return time + sum(lot.one_of(self.stops_s) for _ in range(lot.poisson(rate * changeovers)))


def learn(*, past: Sequence[SeenNight], tonight: Sequence[SeenHeat] = (), settings: Settings) -> Pace:
    """Learn a club's pace from its past nights, any number of them, and from tonight's heats that are over.

    Nights without heats are passed over. Raises ForecastError with code bad_time where a time is below nothing,
    above twelve hours, or a heat of no length.
    """
    _check(past, tonight, settings)
    nights = [night.heats for night in past if night.heats]
    everything = [*nights, tonight] if tonight else nights
    stops, usual = _parted(everything)
    spreads = [_spread(own) for own in usual if len(own) > 1]
    heat_spread = fmean([*spreads, HEAT_SPREAD]) if spreads else HEAT_SPREAD
    lengths = [length for heats in everything for heat in heats for length in heat.calls_s]
    changeovers = sum(map(len, usual)) + len(stops)
    guess_s = max(settings.changeover_s, 1)
    return Pace(
        nights=len(nights),
        heats=sum(map(len, everything)),
        changeover=_between(
            [(log(max(fmean(own), 1.0)), heat_spread**2 / len(own)) if own else None for own in usual],
            has_tonight=bool(tonight),
            guess=(log(guess_s), CHANGEOVER_SPREAD),
        ),
        heat_spread=heat_spread,
        calls=_between(
            [_call_rate(heats) for heats in everything],
            has_tonight=bool(tonight),
            guess=(log(CALLS_A_MINUTE), CALLS_SPREAD),
        ),
        call_s=fmean([*lengths, CALL_S]),
        call_spread_s=sqrt(pvariance([*lengths, CALL_S])) if len(lengths) > 2 else CALL_SPREAD_S,
        calls_seen=len(lengths),
        stops=len(stops) + 1.0,
        stop_heats=changeovers + 1 / STOPS_A_HEAT,
        stops_s=(*stops, STOP_S),
    )


def _call_rate(heats: Sequence[SeenHeat]) -> tuple[float, float]:
    calls, minutes = sum(len(heat.calls_s) for heat in heats), sum(heat.length_s for heat in heats) / 60
    return log((calls + 0.5) / minutes), 1 / (calls + 0.5)


def _parted(nights: Sequence[Sequence[SeenHeat]]) -> tuple[list[int], list[list[int]]]:
    """Long stops of all nights, and by night its usual change-overs."""
    stops, usual = [], []
    for heats in nights:
        own = [heat.changeover_s for heat in heats if heat.changeover_s is not None]
        limit = max(STOP_TIMES_MEDIAN * median(own), STOP_FROM_S) if own else 0
        stops += [time for time in own if time >= limit]
        usual.append([time for time in own if time < limit])
    return stops, usual


def _spread(own: Sequence[int]) -> float:
    mean = fmean(own)
    return sqrt(pvariance(own) * len(own) / (len(own) - 1)) / mean if mean else 0.0


def _between(seen: Sequence[tuple[float, float] | None], *, has_tonight: bool, guess: tuple[float, float]) -> Between:
    """The posterior of the normal, inverse chi-squared model, the guess being its prior."""
    tonight = seen[-1] if has_tonight else None
    past = [pair for pair in (seen[:-1] if has_tonight else seen) if pair is not None]
    values, count = [value for value, _ in past], len(past)
    center, spread = guess
    mean = fmean(values) if values else center
    weight, degrees = GUESS_NIGHTS + count, GUESS_SPREADS + count
    squares = GUESS_SPREADS * spread**2 + sum((value - mean) ** 2 for value in values)
    squares += GUESS_NIGHTS * count / weight * (mean - center) ** 2
    return Between(
        mean=(GUESS_NIGHTS * center + count * mean) / weight,
        weight=weight,
        spread2=squares / degrees,
        degrees=degrees,
        noise2=fmean(noise for _, noise in past) * count / degrees if past else 0.0,
        seen=None if tonight is None else tonight[0],
        seen_noise2=0.0 if tonight is None else tonight[1],
    )


def _check(past: Sequence[SeenNight], tonight: Sequence[SeenHeat], settings: Settings) -> None:
    heats = [*(heat for night in past for heat in night.heats), *tonight]
    lengths = [*(heat.length_s for heat in heats), settings.heat_length_s]
    others = [settings.changeover_s, *(heat.changeover_s or 0 for heat in heats)]
    others += [time for heat in heats for time in heat.calls_s]
    if not all(0 < time <= LONGEST_S for time in lengths) or not all(0 <= time <= LONGEST_S for time in others):
        raise ForecastError("bad_time", "A heat has a length, and no time is below nothing or above twelve hours.")
