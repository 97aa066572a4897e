"""In which way a draw is to be made, as it stands in the page's address, and what the club chose last."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from django.http import QueryDict

from inspection.models import Club, Lane
from racedesk.models import Draw
from racedesk.rotation.draw import MOST_ROUNDS


@dataclass(frozen=True, slots=True)
class Way:
    """Rotations on end, how many lanes everybody drives in each (None for all), and the lanes left empty by number."""

    rounds: int = 1
    lanes_each: int | None = None
    empty: tuple[int, ...] = ()

    @property
    def is_whole(self) -> bool:
        """Is this one rotation on every lane?"""
        return self == Way()

    def arguments(self) -> dict[str, Any]:
        """What `plan_heats` takes."""
        return {"rounds": self.rounds, "lanes_each": self.lanes_each, "empty": self.empty}

    def pairs(self) -> list[tuple[str, str]]:
        """The way as names and values of an address; nothing where it is one rotation on every lane."""
        pairs = [("rounds", str(self.rounds))] if self.rounds > 1 else []
        pairs += [("each", str(self.lanes_each))] if self.lanes_each else []
        return pairs + [("empty", str(lane)) for lane in self.empty]

    def address(self) -> str:
        """The way as it stands in an address."""
        return urlencode(self.pairs())


def way_in(query: QueryDict, lanes: Sequence[Lane]) -> Way:
    """The way that an address names; what it does not name well, or no lane of the track has, is passed over."""
    rounds, each = _number(query.get("rounds", "")), _number(query.get("each", ""))
    asked = {_number(text) for text in query.getlist("empty")}
    empty = tuple(lane.number for lane in lanes if lane.number in asked)
    if len(empty) == len(lanes):
        empty = ()
    used = len(lanes) - len(empty)
    return Way(
        rounds=rounds if 1 <= rounds <= MOST_ROUNDS else 1,
        lanes_each=each if 1 <= each < used else None,
        empty=empty,
    )


def _number(text: str) -> int:
    return int(text) if re.fullmatch(r"\d{1,3}", text, re.ASCII) else 0


def last_preset(club: Club) -> str:
    """The preset of the club's last draw, which the next page opens with; opponents where it has none. One query."""
    draws = Draw.objects.of(club).order_by("-drawn_at", "-pk")
    return draws.values_list("preset", flat=True).first() or Draw.Preset.OPPONENTS.value
