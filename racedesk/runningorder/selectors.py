"""Read the heats of a night's races and put those to come in turn."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from racedesk.heats.selectors import FRESH_PHASES, HeatCard, heat_cards
from racedesk.models import Event, Race
from racedesk.rotation.interleave import interleave, is_exact, runs_on_end


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
    """A night's heats in turn. on_end, one_after_another: runs on end to come, in turn and were the races run one after
    the other. shared: how many drivers race in more than one. is_least: have no turns fewer?
    """

    turns: tuple[Turn, ...]
    on_end: int
    one_after_another: int
    shared: int
    is_least: bool


def drawn_races(event: Event) -> list[Race]:
    """The races of a night that have heats. One query."""
    races = event.races.select_related("event__club", "event__track_layout__track").order_by("position", "pk")
    return list(races.filter(stages__draws__superseded_at__isnull=True, stages__draws__isnull=False).distinct())


def running_order(event: Event) -> RunningOrder:
    """Heats that have begun, as they were run; then those to come, in turn. Eleven queries a race."""
    races = drawn_races(event)
    cards = [heat_cards(race) for race in races]
    begun = sorted(
        ((race, card) for race, own in zip(races, cards, strict=True) for card in own if not _is_fresh(card)),
        key=lambda pair: (pair[1].state.first_green_at_ms or pair[1].state.at_ms, pair[0].position, pair[1].number),
    )
    waiting = [[card for card in own if _is_fresh(card)] for own in cards]
    people = [[_drivers(card) for card in own] for own in waiting]
    last = _drivers(begun[-1][1]) if begun else frozenset()
    order = interleave(people, before=last)
    straight = [(number, heat) for number, own in enumerate(waiting) for heat in range(len(own))]
    turns = [Turn(race, card, (), card.about, is_over=True) for race, card in begun]
    before = last
    for (number, heat), about in zip(order, _times(races, waiting, order), strict=True):
        card = waiting[number][heat]
        turns.append(Turn(races[number], card, _again(card, before), about, is_over=False))
        before = people[number][heat]
    everybody = [frozenset().union(*map(_drivers, own)) for own in cards]
    return RunningOrder(
        turns=tuple(turns),
        on_end=runs_on_end(order, people, before=last),
        one_after_another=runs_on_end(straight, people, before=last),
        shared=len({who for who in frozenset().union(*everybody) if sum(who in own for own in everybody) > 1}),
        is_least=is_exact(people),
    )


def _is_fresh(card: HeatCard) -> bool:
    return card.state.phase in FRESH_PHASES


def _drivers(card: HeatCard) -> frozenset[int]:
    return frozenset(each.driver_id for lane in card.lanes if lane.entry for each in lane.entry.drivers.all())


def _again(card: HeatCard, before: frozenset[int]) -> tuple[str, ...]:
    found = []
    for lane in card.lanes:
        own = {each.driver_id for each in lane.entry.drivers.all()} if lane.entry else set()
        if own & before:
            found.append(lane.name)
    return tuple(found)


def _times(
    races: Sequence[Race], waiting: Sequence[Sequence[HeatCard]], order: Sequence[tuple[int, int]]
) -> list[dt.datetime | None]:
    """When each heat to come should begin: the first as the earliest of them would, each next a heat and a change-over
    later."""
    firsts = [own[0].about for own in waiting if own and own[0].about is not None]
    if not firsts:
        return [None] * len(order)
    at = min(firsts)
    times: list[dt.datetime | None] = []
    for number, _heat in order:
        times.append(at)
        at += dt.timedelta(seconds=races[number].heat_length_s + races[number].changeover_s)
    return times
