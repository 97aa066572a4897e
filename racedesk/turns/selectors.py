"""Read in which turn the heats of all races of a night are run, and when."""

import datetime as dt
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from racedesk.clocks.selectors import FRESH_PHASES, end_ms, heat_states, moment_of
from racedesk.models import Event, Heat, LaneAssignment
from racedesk.rotation.interleave import Drivers, interleave, is_exact, runs_on_end

# The same heats give the same turns, and long classes take a while: each page of a night asks again.
_interleave = lru_cache(maxsize=64)(interleave)


@dataclass(frozen=True, slots=True)
class Turns:
    """The heats of a night in turn. begun: as they were run; coming: those to come; whole: had none begun.

    latest_end_ms: when the last heat that has begun ended or will; None before the first. again: by heat to come the
    drivers who drove in the one before it. one_after_another: how many those would be were the races run one after
    the other. shared: drivers who race in more than one. is_least: have no turns fewer on end?
    """

    whole: tuple[Heat, ...]
    begun: tuple[Heat, ...]
    coming: tuple[Heat, ...]
    latest_end_ms: int | None
    again: dict[int, Drivers]
    one_after_another: int
    shared: int
    is_least: bool

    @property
    def on_end(self) -> int:
        """How often somebody drives in two heats on end."""
        return sum(map(len, self.again.values()))

    def after(self, heat: Heat) -> Heat | None:
        """The next heat to be run when this one is over; None when there is none."""
        return next((each for each in self.coming if each.pk != heat.pk), None)

    def times(self, racing_at: dt.datetime | None, at_ms: int) -> dict[int, dt.datetime]:
        """When each heat to come should begin, by heat: after what was run, or from racing_at on; not before now."""
        at = racing_at
        if self.latest_end_ms is not None:
            at = moment_of(self.latest_end_ms + self.begun[-1].draw.stage.race.changeover_s * 1000)
        return starts_of(self.coming, max(at, moment_of(at_ms))) if at else {}


def turns_of(event: Event, *, at_ms: int) -> Turns:
    """The heats of the night's current draws in turn. Two queries, and three for each drawn race.

    Each race keeps its own order. Once heats have begun the turns of the whole night go on as long as they are kept;
    when something else was run, the rest is put in turn anew.
    """
    races = _heats_by_race(event)
    states = {pk: state for heats in races for pk, state in heat_states(heats).items()}
    drivers = _drivers_of([heat for heats in races for heat in heats])
    begun = sorted(
        (heat for heats in races for heat in heats if states[heat.pk].phase not in FRESH_PHASES),
        key=lambda heat: states[heat.pk].first_green_at_ms or states[heat.pk].at_ms,
    )
    over = {heat.pk for heat in begun}
    waiting = [[heat for heat in heats if heat.pk not in over] for heats in races]
    before = drivers[begun[-1].pk] if begun else frozenset()
    whole = _in_turn(races, drivers)
    is_kept = over == {heat.pk for heat in whole[: len(begun)]}
    coming = whole[len(begun) :] if is_kept else _in_turn(waiting, drivers, before=before)
    people = _people(waiting, drivers)
    straight = [(number, place) for number, heats in enumerate(waiting) for place in range(len(heats))]
    fields = [frozenset().union(*(drivers[heat.pk] for heat in heats)) for heats in races]
    return Turns(
        whole=tuple(whole),
        begun=tuple(begun),
        coming=tuple(coming),
        latest_end_ms=max((end_ms(states[heat.pk], at_ms) for heat in begun), default=None),
        again=_again(coming, drivers, before),
        one_after_another=runs_on_end(straight, people, before=before),
        shared=sum(1 for who in frozenset().union(*fields) if sum(who in each for each in fields) > 1),
        is_least=is_exact(people),
    )


def _heats_by_race(event: Event) -> list[list[Heat]]:
    heats = Heat.objects.filter(draw__stage__race__event=event, draw__superseded_at__isnull=True)
    by_race: dict[int, list[Heat]] = defaultdict(list)
    order = ("draw__stage__race__position", "draw__stage__race_id", "draw__stage__position", "number")
    for heat in heats.select_related("draw__stage__race").order_by(*order):
        by_race[heat.draw.stage.race_id].append(heat)
    return list(by_race.values())


def _drivers_of(heats: Sequence[Heat]) -> dict[int, Drivers]:
    rows = LaneAssignment.objects.filter(heat__in=heats, seat__entry__drivers__isnull=False)
    found: dict[int, set[int]] = {heat.pk: set() for heat in heats}
    for heat_id, driver_id in rows.values_list("heat_id", "seat__entry__drivers__driver_id"):
        found[heat_id].add(driver_id)
    return {pk: frozenset(drivers) for pk, drivers in found.items()}


def _people(races: Sequence[Sequence[Heat]], drivers: dict[int, Drivers]) -> tuple[tuple[Drivers, ...], ...]:
    return tuple(tuple(drivers[heat.pk] for heat in heats) for heats in races)


def _in_turn(
    races: Sequence[Sequence[Heat]], drivers: dict[int, Drivers], *, before: Drivers = frozenset()
) -> list[Heat]:
    return [races[number][place] for number, place in _interleave(_people(races, drivers), before=before)]


def _again(heats: Sequence[Heat], drivers: dict[int, Drivers], before: Drivers) -> dict[int, Drivers]:
    """By heat, who drove in the one before it."""
    found = {}
    for heat in heats:
        found[heat.pk] = drivers[heat.pk] & before
        before = drivers[heat.pk]
    return found


def turn_times(event: Event, *, at_ms: int) -> dict[int, dt.datetime]:
    """When each heat to come should begin, by heat; empty when nobody said when racing starts. Queries as turns_of."""
    return turns_of(event, at_ms=at_ms).times(event.racing_at, at_ms)


def starts_of(heats: Sequence[Heat], at: dt.datetime) -> dict[int, dt.datetime]:
    """When each heat of these begins when the first does then: each a heat and a change-over after the one before."""
    times = {}
    for heat in heats:
        times[heat.pk] = at
        race = heat.draw.stage.race
        at += dt.timedelta(seconds=race.heat_length_s + race.changeover_s)
    return times
