"""When tonight will end, with a range, and what fits before a time."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from enum import StrEnum
from typing import Final

from racedesk.forecast.errors import ForecastError
from racedesk.forecast.pace import Lot, Pace
from racedesk.forecast.timetable import MOST_HEATS

DRAWS: Final = 1_000
SHARE: Final = 80
"""In so many nights of a hundred the end lies in the range; as many lie before it as after it."""
SHORTEST_HEAT_S: Final = 60
HEAT_STEP_S: Final = 30


@dataclass(frozen=True, slots=True)
class Left:
    """What is left of a night.

    heats: still to start, each heat_length_s long. running_s: what is left on the clock of a heat that runs, 0
    where none does. begun: has the night begun, so that a change-over comes before the next heat?
    changeover_spent_s: how long that change-over has been going on. then: what other races bring besides, each how
    many heats and how long they are.
    """

    heats: int
    heat_length_s: int
    running_s: int = 0
    begun: bool = False
    changeover_spent_s: int = 0
    then: tuple[tuple[int, int], ...] = ()

    @property
    def all_heats(self) -> int:
        """How many heats are still to start, of all races."""
        return self.heats + sum(heats for heats, _ in self.then)

    @property
    def changeovers(self) -> int:
        """How many change-overs are to come, one that is going on among them."""
        return self.all_heats if self.begun or self.running_s else max(self.all_heats - 1, 0)

    @property
    def racing_s(self) -> int:
        """What the clock is to run yet."""
        others = sum(heats * length_s for heats, length_s in self.then)
        return self.heats * self.heat_length_s + others + self.running_s

    def with_race(self, heats: int, heat_length_s: int) -> "Left":
        """The same with another race to come."""
        return replace(self, then=(*self.then, (heats, heat_length_s)))


NOTHING: Final = Left(heats=0, heat_length_s=1)


@dataclass(frozen=True, slots=True)
class Outlook:
    """The end of the night: as likely later as earlier than `likely`; in 80 nights of 100 from early to late.

    is_guess: no night was seen here, so that all of it is a guess from the race's own settings. nights, heats:
    what it rests on. seed, draws: what it was worked out with; the same give the same.
    """

    likely: datetime
    early: datetime
    late: datetime
    is_guess: bool
    nights: int
    heats: int
    seed: int
    draws: int


class Way(StrEnum):
    """How a night can be made to fit."""

    AS_PLANNED = "as_planned"
    FEWER_LANES = "fewer_lanes"
    """Everybody drives `value` lanes."""
    SHORTER_HEATS = "shorter_heats"
    """Heats of `value` seconds."""
    GROUPS = "groups"
    """`value` groups of no more drivers than lanes, one after the other, everybody on every lane of his group."""


@dataclass(frozen=True, slots=True)
class Fit:
    """One way, with its heats. chance: in how many of 100 nights it ends in time. fits: in 90 or more."""

    way: Way
    value: int
    heats: int
    heat_length_s: int
    likely: datetime
    late: datetime
    chance: int

    @property
    def fits(self) -> bool:
        """Will it do, in nine nights of ten?"""
        return self.chance >= SHARE + (100 - SHARE) // 2


def look_out(pace: Pace, *, now: datetime, left: Left, seed: int = 1, draws: int = DRAWS) -> Outlook:
    """Forecast the end of the night, to the second.

    now: in the time zone in which the answer is wanted. seed: 0 or more. draws: 100 to 100,000 nights drawn.
    Raises ForecastError with code bad_count, bad_time or needs_time_zone.
    """
    ends = _ends(pace, left, seed=seed, draws=draws)
    beside = (100 - SHARE) // 2
    early, likely, late = (_later(now, _at(ends, percent)) for percent in (beside, 50, 100 - beside))
    return Outlook(
        likely=likely,
        early=early,
        late=late,
        is_guess=pace.is_guess,
        nights=pace.nights,
        heats=pace.heats,
        seed=seed,
        draws=draws,
    )


def chance_by(pace: Pace, *, now: datetime, until: datetime, left: Left, seed: int = 1, draws: int = DRAWS) -> int:
    """In how many of 100 nights this one ends by `until`. Raises ForecastError as look_out does."""
    if until.utcoffset() is None:
        raise ForecastError("needs_time_zone", "The time to end by needs a time zone.")
    ends = _ends(pace, left, seed=seed, draws=draws)
    return 100 * sum(_later(now, seconds) <= until for seconds in ends) // draws


def what_fits(
    pace: Pace,
    *,
    now: datetime,
    until: datetime,
    drivers: int,
    lanes: int,
    heat_length_s: int,
    besides: Left = NOTHING,
    seed: int = 1,
    draws: int = DRAWS,
) -> tuple[Fit, ...]:
    """Ways to run a race that has not begun, and whether each ends by `until`: as planned first.

    Then everybody on fewer lanes, from one lane fewer down to one; heats shorter by steps of 30 s, the longest
    that fits, or the shortest of 60 s where none does; and groups. besides: what else is left of the night, which
    stays as it is: a heat that runs, other races. The same nights are drawn for all of them, so
    that a shorter way never comes out later by luck. Raises ForecastError as look_out does.
    """
    if until.utcoffset() is None:
        raise ForecastError("needs_time_zone", "The time to end by needs a time zone.")
    if drivers < 1 or lanes < 1:
        raise ForecastError("bad_count", "There are drivers and lanes.", drivers=drivers, lanes=lanes)

    def fit(way: Way, value: int, heats: int, length_s: int) -> Fit:
        ends = _ends(pace, besides.with_race(heats, length_s), seed=seed, draws=draws)
        in_time = sum(_later(now, seconds) <= until for seconds in ends)
        likely, late = _later(now, _at(ends, 50)), _later(now, _at(ends, 100 - (100 - SHARE) // 2))
        return Fit(way, value, heats, length_s, likely, late, 100 * in_time // draws)

    whole = max(drivers, lanes)
    result = [fit(Way.AS_PLANNED, lanes, whole, heat_length_s)]
    result += [
        fit(Way.FEWER_LANES, each, max(each, -(-drivers * each // lanes)), heat_length_s)
        for each in range(lanes - 1, 0, -1)
    ]
    shorter = None
    for length_s in _shorter(heat_length_s):
        shorter = fit(Way.SHORTER_HEATS, length_s, whole, length_s)
        if shorter.fits:
            break
    result += [shorter] if shorter else []
    groups = -(-drivers // lanes)
    if groups > 1:
        result.append(fit(Way.GROUPS, groups, groups * lanes, heat_length_s))
    return tuple(result)


def _shorter(heat_length_s: int) -> Iterator[int]:
    length_s = (heat_length_s - 1) // HEAT_STEP_S * HEAT_STEP_S
    while length_s >= SHORTEST_HEAT_S:
        yield length_s
        length_s -= HEAT_STEP_S


def _ends(pace: Pace, left: Left, *, seed: int, draws: int) -> list[int]:
    """Seconds from now to the end, a night each, from the soonest on."""
    if not 100 <= draws <= 100_000 or not 0 <= left.all_heats <= MOST_HEATS:
        raise ForecastError("bad_count", "A forecast draws 100 to 100,000 nights, of 0 to 10,000 heats.", draws=draws)
    lengths = (left.heat_length_s, *(length_s for _, length_s in left.then))
    counts = (left.heats, *(heats for heats, _ in left.then))
    if min(lengths) < 1 or min(counts) < 0 or left.running_s < 0 or left.changeover_spent_s < 0:
        raise ForecastError("bad_time", "A heat has a length, and no time is below nothing.")
    # Every night has a lot of its own, so that ways with more or fewer heats meet the same nights.
    nights = Lot(seed)
    ends = []
    for _ in range(draws):
        lot = Lot(int(nights.share() * (1 << 52)))
        delay = pace.delay(
            lot, changeovers=left.changeovers, minutes=left.racing_s / 60, spent_s=left.changeover_spent_s
        )
        ends.append(round(left.racing_s + delay))
    return sorted(ends)


def _at(ends: Sequence[int], percent: int) -> int:
    return ends[min(percent * len(ends) // 100, len(ends) - 1)]


def _later(now: datetime, seconds: int) -> datetime:
    if now.utcoffset() is None:
        raise ForecastError("needs_time_zone", "The time now needs a time zone.")
    try:
        return (now.astimezone(UTC) + timedelta(seconds=seconds)).astimezone(now.tzinfo)
    except OverflowError:
        raise ForecastError("too_late", "That is past the end of the calendar.") from None
