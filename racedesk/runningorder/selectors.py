"""Read the heats of a night's races in turn, as a page shows them."""

import datetime as dt
from dataclasses import dataclass

from racedesk.clocks.selectors import moment_of, now_ms
from racedesk.heats.selectors import HeatCard, drivers_of, heat_cards
from racedesk.models import Event, Race
from racedesk.turns.selectors import Turns, turns_of


@dataclass(frozen=True, slots=True)
class Turn:
    """A heat in its turn. again: who drives in it right after the heat before, by name. about: when it should begin."""

    race: Race
    card: HeatCard
    again: tuple[str, ...]
    about: dt.datetime | None
    is_over: bool


@dataclass(frozen=True, slots=True)
class RunningOrder:
    """A night's heats in turn: first as they were run, then those to come."""

    rows: tuple[Turn, ...]
    turns: Turns


def drawn_races(event: Event) -> list[Race]:
    """The races of a night that have heats. One query."""
    races = event.races.select_related("event__club", "event__track_layout__track").order_by("position", "pk")
    return list(races.filter(stages__draws__superseded_at__isnull=True, stages__draws__isnull=False).distinct())


def running_order(event: Event) -> RunningOrder:
    """Heats that have begun, as they were run; then those to come, in turn. Queries as turns_of, and 11 a race."""
    at_ms = now_ms()
    turns = turns_of(event, at_ms=at_ms)
    times = turns.times(event.racing_at, at_ms)
    cards = {
        card.heat.pk: (race, card)
        for race in drawn_races(event)
        for card in heat_cards(race, with_times=False, at_ms=at_ms)
    }
    rows = []
    for heat in (*turns.begun, *turns.coming):
        race, card = cards[heat.pk]
        again = turns.again.get(heat.pk, frozenset())
        names = tuple(lane.name for lane in card.lanes if drivers_of(lane) & again)
        began = card.state.first_green_at_ms
        about = times.get(heat.pk) if heat.pk in turns.again else moment_of(began) if began else None
        rows.append(Turn(race, card, names, about, is_over=heat.pk not in turns.again))
    return RunningOrder(tuple(rows), turns)
