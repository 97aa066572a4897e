"""Read the clocks of heats: replay what happened in each, and say which are under way."""

import datetime as dt
import time
from collections import defaultdict
from collections.abc import Iterable
from typing import Any

from django.db.models import OuterRef, Subquery
from django.utils import timezone

from racedesk.models import Event, Heat, HeatEvent, LaneAssignment, Race
from racedesk.timing.events import HeatEvent as ClockEvent
from racedesk.timing.events import event_of
from racedesk.timing.heat_clock import ClockSettings, ClockState, Phase, held_ms, phase_at, replay

# Kinds after which a heat has been driven, at least in part.
DRIVEN_KINDS = ("start", "laps_entered")
# Nobody has driven in such a heat, or what was driven is void.
FRESH_PHASES = (Phase.WAITING, Phase.READY)
OPEN_PHASES = (Phase.COUNTDOWN, Phase.RUNNING, Phase.TRACK_CALL)


def now_ms() -> int:
    """The server's clock, milliseconds since 1970."""
    return time.time_ns() // 1_000_000


def heat_state(heat: Heat, *, race: Race | None = None) -> ClockState:
    """What the heat's events say. Three queries, two with its race given."""
    return heat_states([heat], race=race)[heat.pk]


def heat_states(heats: Iterable[Heat], *, race: Race | None = None) -> dict[int, ClockState]:
    """What the events of these heats of one race say, by heat. Three queries whatever their number.

    race: theirs, where it is loaded with its event's track layout; a query less.
    """
    found = {heat.pk: heat for heat in heats}
    if not found:
        return {}
    lanes: dict[int, set[int]] = defaultdict(set)
    for heat_id, number in LaneAssignment.objects.filter(heat__in=found).values_list("heat_id", "lane__number"):
        lanes[heat_id].add(number)
    rows: dict[int, list[dict[str, Any]]] = defaultdict(list)
    columns = ("heat_id", "number", "kind", "at_ms", "lane__number", "detail", "reason")
    for row in HeatEvent.objects.filter(heat__in=found).order_by("heat_id", "number").values(*columns):
        rows[row["heat_id"]].append(row)
    if race is None:
        race = Race.objects.select_related("event__track_layout").get(stages__draws__heats=next(iter(found)))
    return {pk: replayed(race, lanes[pk], rows[pk]) for pk in found}


def replayed(race: Race, lanes: Iterable[int], rows: list[dict[str, Any]]) -> ClockState:
    """What the event rows of one heat say; rows as heat_states reads them. No query with the track's layout loaded."""
    settings = clock_settings(race, lanes, rows[0]["detail"].get("clock") if rows else None)
    return replay((clock_event(row) for row in rows), settings)


def clock_settings(race: Race, lanes: Iterable[int], kept: dict[str, int] | None = None) -> ClockSettings:
    """How the clock of a heat of this race is set. kept: the settings its first event wrote down.

    A heat that has begun keeps its settings, so that a change of the race's never rewrites what was driven.
    """
    values = kept or {
        "heat_length_ms": race.heat_length_s * 1000,
        "countdown_ms": race.countdown_s * 1000,
        "resume_countdown_ms": race.countdown_s * 1000,
        "power_off_warning_ms": race.power_off_warning_s * 1000,
        "divisor": race.event.track_layout.divisor if race.counts_part_laps else 1,
    }
    return ClockSettings(lanes=frozenset(lanes), **values)


def clock_event(row: dict[str, Any]) -> ClockEvent:
    """A row of the event table as the timing engine reads it."""
    data = row["detail"] | ({"reason": row["reason"]} if row["reason"] else {})
    return event_of(number=row["number"], kind=row["kind"], at_ms=row["at_ms"], lane=row["lane__number"], data=data)


def is_run(heat: Heat) -> bool:
    """Is the heat over, with every lane accounted for? Three queries."""
    return heat_state(heat).phase is Phase.CLOSED


def end_ms(state: ClockState, at_ms: int) -> int:
    """When a heat that has begun ended, or will without another track call."""
    if state.ended_at_ms is not None:
        return state.ended_at_ms
    start = state.first_green_at_ms or state.at_ms
    return start + state.settings.heat_length_ms + held_ms(state, at_ms)


def moment_of(at_ms: int) -> dt.datetime:
    """A reading of the server's clock as a time of day here."""
    return dt.datetime.fromtimestamp(at_ms / 1000, tz=timezone.get_current_timezone())


# --- what runs on a track --------------------------------------------------------------------------------


# The last event of a heat in which cars can move, or will when a call is resumed, is one of these.
_UNDER_WAY_KINDS = ("start", "resume", "call_track", "lane_out", "lane_back")


def heats_under_way(event: Event, *, at_ms: int) -> list[tuple[Heat, ClockState]]:
    """Heats of the event that count down, run or are held by a track call. At most 1 + 3 queries a race."""
    last_kind = HeatEvent.objects.filter(heat=OuterRef("pk")).order_by("-number").values("kind")[:1]
    candidates = (
        Heat.objects.filter(draw__stage__race__event=event, draw__superseded_at__isnull=True)
        .annotate(last_kind=Subquery(last_kind))
        .filter(last_kind__in=_UNDER_WAY_KINDS)
        .select_related("draw__stage__race")
    )
    by_race: dict[int, list[Heat]] = defaultdict(list)
    for heat in candidates:
        by_race[heat.draw.stage.race_id].append(heat)
    found = []
    for group in by_race.values():
        states = heat_states(group)
        found += [(heat, states[heat.pk]) for heat in group if phase_at(states[heat.pk], at_ms) in OPEN_PHASES]
    return found
