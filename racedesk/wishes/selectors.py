"""What is wished of a draw for single drivers, as a page's address says."""

import re
from dataclasses import dataclass

from django.http import QueryDict

from racedesk.rotation.who import Kind, Seeding

MOST_WISHES = 40


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
