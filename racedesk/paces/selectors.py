"""Read how heats went on past nights of a club and tonight, for the forecast to learn from.

What a past night showed does not change, but for a correction, which is an event more: so it is kept in the cache under
the number of its last event, and read again in bulk where it is not there.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from django.core.cache import cache
from django.db.models import Max

from racedesk.clocks.selectors import replayed
from racedesk.forecast.pace import Pace, learn
from racedesk.forecast.seen import SeenHeat, SeenNight, Settings
from racedesk.models import Event, HeatEvent, LaneAssignment, Race
from racedesk.timing.heat_clock import ClockState, ends_at_ms

MOST_NIGHTS = 20
ENOUGH_TONIGHT = 3
"""So many heats tonight are a forecast's worth where the club has no past night."""
LONGEST_MS = 2 * 3600 * 1000
"""What takes longer is no change-over and no call, but a clock that somebody left."""
KEPT_S = 7 * 24 * 3600

Driven = tuple[int, ClockState]
"""A race's id, and a heat of it as its events tell."""
Plain = tuple[tuple[tuple[int, tuple[int, ...], int | None], ...], ...]
"""By race, by heat: seconds run, seconds of each call, seconds of the change-over. Plain values for the cache."""


@dataclass(frozen=True, slots=True)
class Known:
    """What a forecast can rest on. nights: past races with heats. tonight: heats that are over."""

    pace: Pace
    nights: int
    tonight: int

    @property
    def is_plan(self) -> bool:
        """Is there too little to forecast from, so that only the race's own settings speak?"""
        return not self.nights and self.tonight < ENOUGH_TONIGHT


def known_of(event: Event, race: Race, tonight: Iterable[Driven], *, at_ms: int) -> Known:
    """The pace of this club, with tonight's heats weighed in.

    race: whose settings stand in where nothing was seen. Two queries, and three where the cache is cold.
    """
    past = past_nights(event)
    seen = _seen(tonight, at_ms=at_ms)
    # Races follow each other on one track: tonight is all of their heats in order.
    own = [heat for night in seen for heat in _heats(night)]
    settings = Settings(heat_length_s=race.heat_length_s, changeover_s=race.changeover_s)
    return Known(learn(past=past, tonight=own, settings=settings), len(past), len(own))


def past_nights(event: Event) -> list[SeenNight]:
    """The latest nights of the club before this one, a race each. Two queries, and three where the cache is cold."""
    before = Event.objects.filter(club=event.club_id, date__lte=event.date).exclude(pk=event.pk)
    latest = list(before.order_by("-date", "-pk").values_list("pk", flat=True)[:MOST_NIGHTS])
    path = "heat__draw__stage__race__event"
    rows = HeatEvent.objects.filter(**{f"{path}__in": latest}, heat__draw__superseded_at__isnull=True)
    last = dict(rows.order_by().values_list(path).annotate(last=Max("pk")))
    keys = {pk: f"seen-{pk}-{last[pk]}" for pk in latest if pk in last}
    kept: dict[str, Plain] = cache.get_many(keys.values())
    missing = {pk: key for pk, key in keys.items() if key not in kept}
    if missing:
        read = _read(list(missing))
        fresh = {key: read.get(pk, ()) for pk, key in missing.items()}
        cache.set_many(fresh, KEPT_S)
        kept |= fresh
    return [SeenNight(_heats(night)) for pk in keys for night in kept[keys[pk]] if night]


def _heats(night: tuple[tuple[int, tuple[int, ...], int | None], ...]) -> tuple[SeenHeat, ...]:
    return tuple(SeenHeat(length_s, tuple(calls_s), changeover_s) for length_s, calls_s, changeover_s in night)


def _read(events: Sequence[int]) -> dict[int, Plain]:
    """What the heats of these nights were like, by night. Three queries."""
    races = {
        race.pk: race for race in Race.objects.filter(event__in=events).select_related("event__track_layout").iterator()
    }
    lanes: dict[int, set[int]] = defaultdict(set)
    heats: dict[int, int] = {}
    current = {"heat__draw__stage__race__in": races, "heat__draw__superseded_at__isnull": True}
    drawn = LaneAssignment.objects.filter(**current).order_by()
    for heat, race, lane in drawn.values_list("heat_id", "heat__draw__stage__race_id", "lane__number"):
        lanes[heat].add(lane)
        heats[heat] = race
    rows: dict[int, list[dict[str, Any]]] = defaultdict(list)
    columns = ("heat_id", "number", "kind", "at_ms", "lane__number", "detail", "reason")
    for row in HeatEvent.objects.filter(**current).order_by("heat_id", "number").values(*columns):
        rows[row["heat_id"]].append(row)
    driven: dict[int, list[Driven]] = defaultdict(list)
    for heat, own in rows.items():
        race = races[heats[heat]]
        driven[race.event_id].append((race.pk, replayed(race, lanes[heat], own)))
    return {event: _seen(own) for event, own in driven.items()}


def _seen(driven: Iterable[Driven], *, at_ms: int | None = None) -> Plain:
    """Heats that the clock of this tool has timed and that are over, by race in the order they were driven.

    at_ms: now, by when a heat must be over; None for a night long past. Heats of different races on one track have
    no change-over between them, and one that nobody ended for hours is left out.
    """
    timed: list[tuple[int, int, int, ClockState]] = []
    for race, state in driven:
        end_ms = state.ended_at_ms or ends_at_ms(state)
        if state.first_green_at_ms is None or end_ms is None or state.is_timed_elsewhere:
            continue
        if at_ms is None or end_ms <= at_ms:
            timed.append((state.first_green_at_ms, end_ms, race, state))
    timed.sort(key=lambda each: each[:3])
    nights: dict[int, list[tuple[int, tuple[int, ...], int | None]]] = {}
    for place, (start_ms, end_ms, race, state) in enumerate(timed):
        calls = [call.held_ms(end_ms) for call in state.calls]
        length_ms = end_ms - start_ms - sum(calls)
        if not 1000 <= length_ms <= LONGEST_MS or max(calls, default=0) > LONGEST_MS:
            continue
        follows = timed[place + 1] if place + 1 < len(timed) else None
        gap_ms = follows[0] - end_ms if follows and follows[2] == race else -1
        changeover = gap_ms // 1000 if 0 <= gap_ms <= LONGEST_MS else None
        own = nights.setdefault(race, [])
        own.append((length_ms // 1000, tuple(call // 1000 for call in calls), changeover))
    return tuple(tuple(own) for own in nights.values())
