"""Groups as the page shows them."""

import datetime as dt
from dataclasses import dataclass
from typing import Any

from racedesk.entries.selectors import shown_name
from racedesk.forecast.timetable import heat_starts
from racedesk.groups.selectors import Field
from racedesk.heats.selectors import race_start
from racedesk.rotation.groups import Groups


@dataclass(frozen=True, slots=True)
class Member:
    """A driver of a group. strength: which share of the field he left behind, in percent; None where unknown."""

    number: int
    name: str
    strength: int | None


@dataclass(frozen=True, slots=True)
class GroupCard:
    """A group as it races. rank: 1 for the fastest. turn: 1 for the group that races first."""

    rank: int
    turn: int
    members: tuple[Member, ...]
    first_heat: int
    last_heat: int
    about: dt.datetime | None


def group_cards(field: Field, groups: Groups, report: dict[str, Any]) -> list[GroupCard]:
    """The groups, in the order in which they race. Two queries at most."""
    names = {number: shown_name(entry) for number, entry in zip(field.numbers, field.entries, strict=True)}
    race, start = field.race, race_start(field.race)
    times = (
        heat_starts(
            start=start, heats=report["heats"], heat_length_s=race.heat_length_s, changeover_s=race.changeover_s
        )
        if start is not None
        else ()
    )
    ranks = {frozenset(group): rank for rank, group in enumerate(groups, start=1)}
    cards = []
    for turn, kept in enumerate(report["groups"], start=1):
        first = kept["first_heat"]
        members = [Member(number, names[number], _strength(field, number)) for number in kept["seats"]]
        cards.append(
            GroupCard(
                rank=ranks[frozenset(kept["seats"])],
                turn=turn,
                members=tuple(members),
                first_heat=first,
                last_heat=first + kept["heats"] - 1,
                about=times[first - 1] if times else None,
            )
        )
    return cards


def _strength(field: Field, number: int) -> int | None:
    return round(100 * (1 - field.results[number])) if number in field.results else None
