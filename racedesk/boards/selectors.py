"""Read what the director's table and the wall show."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from django.db.models import Count, Max, Sum
from django.utils.translation import gettext_lazy

from inspection.models import Lane
from racedesk.clocks.selectors import heat_state, heats_under_way, moment_of
from racedesk.heats.selectors import HeatCard, LaneCard, PostCard, drivers_of, heat_cards, heats_of, next_heat
from racedesk.models import Draw, Event, Heat, HeatEvent, Penalty, Race
from racedesk.posts.selectors import missed_in
from racedesk.racecontrol.selectors import EntryScore, scores_of
from racedesk.timing.events import EventKind
from racedesk.timing.heat_clock import ClockState
from racedesk.timing.laps import LapCount
from racedesk.turns.selectors import turns_of


def feed_version(event: Event) -> str:
    """Changes whenever anything that the table or the wall shows changes. Two queries."""
    events = HeatEvent.objects.filter(heat__draw__stage__race__event=event).aggregate(n=Count("pk"), last=Max("pk"))
    draws = Draw.objects.filter(stage__race__event=event).aggregate(
        last=Max("pk"), drove=Sum("heats__lanes__drove_id"), lanes=Count("heats__lanes")
    )
    values = (events["n"], events["last"], draws["last"], draws["drove"], draws["lanes"], event.takes_turns)
    return "-".join(str(int(value or 0)) for value in values)


def clock_facts(state: ClockState) -> dict[str, Any]:
    """What a page needs to go on with the clock by itself: plain JSON values, times by the server's clock."""
    settings = state.settings
    return {
        "phase": str(state.phase),
        "length_ms": settings.heat_length_ms,
        "warning_ms": settings.power_off_warning_ms,
        "run_ms": state.run_ms,
        "green_at_ms": state.green_at_ms,
        "ended_at_ms": state.ended_at_ms,
        "is_timed_elsewhere": state.is_timed_elsewhere,
        "calls": [
            {"at_ms": call.at_ms, "heat_ms": call.heat_ms, "until_ms": call.until_ms, "ground": call.ground}
            for call in state.calls
        ],
    }


@dataclass(frozen=True, slots=True)
class TableRow:
    """A lane at the director's table. so_far: the entry's laps over all lanes whose laps are in."""

    card: LaneCard
    so_far: LapCount | None
    lanes_driven: int
    lanes_drawn: int
    field: str = ""


@dataclass(frozen=True, slots=True)
class OnDuty:
    """A marshal of the heat at the table. missed: the penalty for not being there."""

    post: PostCard
    missed: Penalty | None


@dataclass(frozen=True, slots=True)
class Table:
    """Everything the director's table shows about one heat. next_race: of the next heat when it is another race's."""

    card: HeatCard
    rows: tuple[TableRow, ...]
    next_card: HeatCard | None
    next_race: Race | None
    changeover_until_ms: int | None
    is_last: bool
    empty_lanes: tuple[Lane, ...] = ()
    marshals: tuple[OnDuty, ...] = ()


def table_of(race: Race, heat: Heat, *, at_ms: int) -> Table | None:
    """The heat, the heat after it and who stands where; None for a heat of an older draw.

    22 queries at most; on a night whose races take turns those of turns_of more, and of heat_cards for another race.
    """
    cards = heat_cards(race, at_ms=at_ms)
    place = next((i for i, card in enumerate(cards) if card.heat.pk == heat.pk), None)
    if place is None:
        return None
    card = cards[place]
    scores = {score.seat_number: score for score in scores_of(race)}
    later = [each for each in cards[place + 1 :] if not each.is_closed]
    free = [each for each in cards if not each.is_closed and each.heat.pk != heat.pk]
    used = {each.lane.pk for each in card.lanes}
    following = Following(next(iter(later or free), None), None, _latest_end_ms(cards), is_last=not free)
    if race.event.takes_turns:
        following = _following_in_turn(race, cards, card, following, at_ms=at_ms)
    return Table(
        card=card,
        rows=tuple(_table_row(each, scores.get(each.seat_number)) for each in card.lanes),
        next_card=following.card,
        next_race=following.race,
        changeover_until_ms=_changeover_until(race, card, following.latest_end_ms),
        is_last=following.is_last,
        empty_lanes=tuple(lane for lane in race.event.track_layout.lanes.all() if lane.pk not in used),
        marshals=_on_duty(race, card),
    )


def _on_duty(race: Race, card: HeatCard) -> tuple[OnDuty, ...]:
    missed = missed_in(race)
    return tuple(
        OnDuty(each, missed.get((each.entry.pk, card.heat.pk)) if each.entry else None) for each in card.marshals
    )


def _table_row(card: LaneCard, score: EntryScore | None) -> TableRow:
    if score is None or not score.lanes_driven:
        return TableRow(card, None, 0, score.lanes_drawn if score else 0, f"laps-{card.lane.number}")
    return TableRow(card, score.total, score.lanes_driven, score.lanes_drawn, f"laps-{card.lane.number}")


def _latest_end_ms(cards: Sequence[HeatCard]) -> int | None:
    return max((each.state.ended_at_ms for each in cards if each.state.ended_at_ms is not None), default=None)


def _changeover_until(race: Race, card: HeatCard, latest_end_ms: int | None) -> int | None:
    """When the change-over before this heat, or after it, is over by the server's clock."""
    ended = (card.state.ended_at_ms if card.is_over else None) or latest_end_ms
    return ended + race.changeover_s * 1000 if ended else None


@dataclass(frozen=True, slots=True)
class Following:
    """What comes after a heat. race: of the next heat when it is another one's."""

    card: HeatCard | None
    race: Race | None
    latest_end_ms: int | None
    is_last: bool


def _following_in_turn(
    race: Race, cards: Sequence[HeatCard], card: HeatCard, alone: Following, *, at_ms: int
) -> Following:
    """The same on a night whose races take turns. alone: what would follow were there no other race."""
    turns = turns_of(race.event, at_ms=at_ms)
    ended = max((end for end in (alone.latest_end_ms, turns.latest_end_ms) if end is not None), default=None)
    heat = turns.after(card.heat)
    if heat is None:
        return replace(alone, latest_end_ms=ended)
    other = heat.draw.stage.race if heat.draw.stage.race_id != race.pk else None
    if other:
        loaded = Race.objects.select_related("event__track_layout").get(pk=other.pk)
        cards = heat_cards(loaded, with_times=False, at_ms=at_ms)
    found = next(each for each in cards if each.heat.pk == heat.pk)
    here = frozenset().union(*map(drivers_of, card.lanes))
    lanes = tuple(replace(lane, is_again=bool(drivers_of(lane) & here)) for lane in found.lanes)
    about = turns.times(race.event.racing_at, at_ms).get(heat.pk)
    return Following(replace(found, lanes=lanes, about=about), other, ended, is_last=False)


@dataclass(frozen=True, slots=True)
class Board:
    """Everything the wall shows: the heat that is on, or the next one."""

    race: Race
    table: Table


def board_of(event: Event, *, at_ms: int) -> Board | None:
    """The night's heat for the wall: of the race under way, else of the first that is not over. None before a draw."""
    races = list(event.races.select_related("event__club", "event__track_layout"))
    under_way = {heat.draw.stage.race_id: heat for heat, _state in heats_under_way(event, at_ms=at_ms)}
    last = None
    coming = turns_of(event, at_ms=at_ms).coming if event.takes_turns else ()
    first = coming[0].draw.stage.race_id if coming else None
    for race in sorted(races, key=lambda race: (race.pk not in under_way, race.pk != first)):
        heat = under_way.get(race.pk) or next_heat(race)
        if heat is not None:
            table = table_of(race, heat, at_ms=at_ms)
            return Board(race, table) if table else None
        last = (heats_of(race) or [last])[-1]
    return _board_of_last(last, at_ms=at_ms) if last else None


def _board_of_last(heat: Heat, *, at_ms: int) -> Board | None:
    race = Race.objects.select_related("event__club", "event__track_layout").get(stages__draws__heats=heat)
    table = table_of(race, heat, at_ms=at_ms)
    return Board(race, table) if table else None


EVENT_WORDS = {
    EventKind.READY: gettext_lazy("Cars on the line"),
    EventKind.STAND_DOWN: gettext_lazy("Not ready after all"),
    EventKind.START: gettext_lazy("Start"),
    EventKind.CALL_TRACK: gettext_lazy("Track call"),
    EventKind.RESUME: gettext_lazy("Resume"),
    EventKind.END: gettext_lazy("Ended"),
    EventKind.LANE_OUT: gettext_lazy("Car out"),
    EventKind.LANE_BACK: gettext_lazy("Car back"),
    EventKind.LAPS_ENTERED: gettext_lazy("Laps typed"),
    EventKind.LAPS_CORRECTED: gettext_lazy("Laps corrected"),
    EventKind.CLOSE: gettext_lazy("All laps in"),
    EventKind.VOID: gettext_lazy("To be run again"),
}


@dataclass(frozen=True, slots=True)
class EventLine:
    """A line of what happened in a heat. at: the time of day; left: on the heat's clock, for track calls."""

    number: int
    at: dt.datetime
    words: str
    lane: Lane | None
    laps: str
    left: str
    reason: str
    by: str


def event_lines(heat: Heat) -> list[EventLine]:
    """Everything that happened in a heat, the latest first. Four queries."""
    state = heat_state(heat)
    length = state.settings.heat_length_ms
    left_at = {call.at_ms: length - call.heat_ms for call in state.calls}
    lines = []
    for event in heat.events.select_related("lane", "by").order_by("-number"):
        detail = event.detail
        laps = LapCount(detail["laps"], detail["sections"], detail["divisor"]) if "laps" in detail else None
        left = left_at.get(event.at_ms) if event.kind == EventKind.CALL_TRACK else None
        lines.append(
            EventLine(
                number=event.number,
                at=moment_of(event.at_ms),
                words=str(EVENT_WORDS[EventKind(event.kind)]),
                lane=event.lane,
                laps=str(laps) if laps else "",
                left="" if left is None else f"{left // 60_000}:{left // 1000 % 60:02d}",
                reason=event.reason or detail.get("ground", ""),
                by=str(event.by) if event.by else "",
            )
        )
    return lines
