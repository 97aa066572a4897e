"""Work out what fits before a time: the night as planned, and each race that has not begun in other ways."""

import datetime as dt
from dataclasses import dataclass

from racedesk.events.selectors import clock_text
from racedesk.forecast.outlook import DRAWS, Fit, Outlook, chance_by, look_out, what_fits
from racedesk.models import Event, Race
from racedesk.raceday.selectors import RaceSpan, RestOfNight, rest_of, spans_of

SEED = 1


@dataclass(frozen=True, slots=True)
class RaceFits:
    """A race that has not begun, and the ways to run it, each with its heat length in words; the first is as planned.

    lanes: of the track.
    """

    race: Race
    drivers: int
    lanes: int
    fits: tuple[tuple[Fit, str], ...]


@dataclass(frozen=True, slots=True)
class NightFits:
    """What fits. outlook: the night as planned. chance: in how many of 100 nights that ends in time.

    nights, tonight: past races and heats of tonight that it is learned from. is_plan: neither is enough.
    """

    until: dt.datetime
    outlook: Outlook
    chance: int
    nights: int
    tonight: int
    is_plan: bool
    races: tuple[RaceFits, ...]
    seed: int = SEED
    draws: int = DRAWS


def fits_before(event: Event, until: dt.datetime, *, now: dt.datetime) -> NightFits | None:
    """What fits before `until`; None when nothing is left to race, or nobody can know when it begins.

    As spans_of and rest_of: 2 queries, 4 for each drawn race, 2 or 5 for past nights.
    """
    spans = spans_of(event, now=now)
    rest = rest_of(event, spans, now=now)
    if rest is None:
        return None
    pace = rest.known.pace
    lanes = max(1, event.track_layout.lanes.count())
    races = [
        RaceFits(
            race=span.race,
            drivers=span.race.entries_racing,
            lanes=lanes,
            fits=tuple((fit, clock_text(fit.heat_length_s)) for fit in _ways(span, rest, lanes=lanes, until=until)),
        )
        for span in rest.coming
        if span.race.entries_racing
    ]
    return NightFits(
        until=until,
        outlook=look_out(pace, now=rest.start, left=rest.left, seed=SEED),
        chance=chance_by(pace, now=rest.start, until=until, left=rest.left, seed=SEED),
        nights=rest.known.nights,
        tonight=rest.known.tonight,
        is_plan=rest.known.is_plan,
        races=tuple(races),
    )


def _ways(span: RaceSpan, rest: RestOfNight, *, lanes: int, until: dt.datetime) -> tuple[Fit, ...]:
    return what_fits(
        rest.known.pace,
        now=rest.start,
        until=until,
        drivers=span.race.entries_racing,
        lanes=lanes,
        heat_length_s=span.race.heat_length_s,
        besides=rest.without(span),
        seed=SEED,
    )
