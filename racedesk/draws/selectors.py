"""In which way a draw is to be made, as the page's address says; what the club chose last."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any
from urllib.parse import urlencode

from django.http import QueryDict

from inspection.models import Club, Lane
from racedesk.models import Draw
from racedesk.rotation.criteria import Criterion
from racedesk.rotation.draw import MOST_ROUNDS
from racedesk.wishes.selectors import Wishes


@dataclass(frozen=True, slots=True)
class Way:
    """Rotations on end, how many lanes everybody drives in each (None for all), and the lanes left empty by number.

    order: what the heats are arranged by, the most important first; only where this is one rotation on every lane.
    """

    rounds: int = 1
    lanes_each: int | None = None
    empty: tuple[int, ...] = ()
    order: tuple[Criterion, ...] = ()

    @property
    def is_whole(self) -> bool:
        """Is this one rotation on every lane?"""
        return (self.rounds, self.lanes_each, self.empty) == (1, None, ())

    def arguments(self) -> dict[str, Any]:
        """What `plan_heats` takes."""
        return {"rounds": self.rounds, "lanes_each": self.lanes_each, "empty": self.empty}

    def pairs(self) -> list[tuple[str, str]]:
        """The way as names and values of an address; nothing where it is one rotation on every lane."""
        pairs = [("rounds", str(self.rounds))] if self.rounds > 1 else []
        pairs += [("each", str(self.lanes_each))] if self.lanes_each else []
        pairs += [("first", str(criterion)) for criterion in self.order]
        return pairs + [("empty", str(lane)) for lane in self.empty]


def way_in(query: QueryDict, lanes: Sequence[Lane]) -> Way:
    """The way that an address names; what it does not name well, or no lane of the track has, is passed over."""
    rounds, each = _number(query.get("rounds", "")), _number(query.get("each", ""))
    asked = {_number(text) for text in query.getlist("empty")}
    empty = tuple(lane.number for lane in lanes if lane.number in asked)
    if len(empty) == len(lanes):
        empty = ()
    used = len(lanes) - len(empty)
    way = Way(
        rounds=rounds if 1 <= rounds <= MOST_ROUNDS else 1,
        lanes_each=each if 1 <= each < used else None,
        empty=empty,
    )
    order = dict.fromkeys(Criterion(name) for name in query.getlist("first") if name in set(Criterion))
    return replace(way, order=tuple(order)) if way.is_whole else way


def address_of(way: Way, wishes: Wishes) -> str:
    """Both as they stand in an address."""
    return urlencode([*way.pairs(), *wishes.pairs()])


def _number(text: str) -> int:
    return int(text) if re.fullmatch(r"\d{1,3}", text, re.ASCII) else 0


def last_preset(club: Club) -> str:
    """The preset of the club's last draw, which the next page opens with; opponents where it has none. One query."""
    draws = Draw.objects.of(club).order_by("-drawn_at", "-pk")
    return draws.values_list("preset", flat=True).first() or Draw.Preset.OPPONENTS.value
