"""In which way a draw is to be made and with which wishes, as the page's address says; what the club chose last."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from django.http import QueryDict

from inspection.models import Club, Lane
from racedesk.models import Draw
from racedesk.rotation.draw import MOST_ROUNDS
from racedesk.rotation.who import Kind, Seeding

MOST_WISHES = 40


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


@dataclass(frozen=True, slots=True)
class Asked:
    """A wish of an address. entry: whose, by public id. value: a heat, a lane's number, or the other's public id."""

    kind: Kind
    entry: str
    value: str
    is_hard: bool = True

    def written(self) -> str:
        """As it stands in the address."""
        return ".".join((self.kind, self.entry, self.value, *(() if self.is_hard else ("soft",))))


@dataclass(frozen=True, slots=True)
class Wishes:
    """All that is wished of a draw. seeding: whom the fast ones should meet, None for no matter."""

    asked: tuple[Asked, ...] = ()
    seeding: Seeding | None = None

    def __bool__(self) -> bool:
        return bool(self.asked) or self.seeding is not None

    def pairs(self) -> list[tuple[str, str]]:
        """The wishes as names and values of an address."""
        seeding = [("seeding", str(self.seeding))] if self.seeding else []
        return [("wish", each.written()) for each in self.asked] + seeding

    def but(self, asked: Asked) -> "Wishes":
        """The wishes without this one."""
        return Wishes(tuple(each for each in self.asked if each != asked), self.seeding)

    def and_also(self, asked: Asked) -> "Wishes":
        """The wishes and this one; of one driver one of a kind, apart from whom to be apart from."""
        kept = (e for e in self.asked if asked.kind is Kind.APART or (e.kind, e.entry) != (asked.kind, asked.entry))
        return Wishes((*(each for each in kept if each != asked), asked), self.seeding)


_WISH = re.compile(r"(not_before|not_after|first_lane|apart)\.([a-z0-9]{4,24})\.([a-z0-9]{1,24})(\.soft)?", re.ASCII)


def wishes_in(query: QueryDict) -> Wishes:
    """The wishes that an address names; what it does not name well is passed over."""
    found = []
    for text in query.getlist("wish")[:MOST_WISHES]:
        if match := _WISH.fullmatch(text):
            kind, entry, value, soft = match.groups()
            if kind == Kind.APART or re.fullmatch(r"[1-9]\d{0,3}", value):
                found.append(Asked(Kind(kind), entry, value, is_hard=soft is None))
    seeding = query.get("seeding", "")
    return Wishes(tuple(dict.fromkeys(found)), Seeding(seeding) if seeding in set(Seeding) else None)


def address_of(way: Way, wishes: Wishes) -> str:
    """Both as they stand in an address."""
    return urlencode([*way.pairs(), *wishes.pairs()])


def _number(text: str) -> int:
    return int(text) if re.fullmatch(r"\d{1,3}", text, re.ASCII) else 0


def last_preset(club: Club) -> str:
    """The preset of the club's last draw, which the next page opens with; opponents where it has none. One query."""
    draws = Draw.objects.of(club).order_by("-drawn_at", "-pk")
    return draws.values_list("preset", flat=True).first() or Draw.Preset.OPPONENTS.value
