"""A class sheet upon a general sheet: clause by number it overrides, adds or strikes, and the rest is inherited."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from typing import Final, Generic, Protocol, TypeVar


class Numbered(Protocol):
    """A clause, stored or the engine's."""

    @property
    def number(self) -> str: ...

    @property
    def is_struck(self) -> bool: ...


class Origin(StrEnum):
    """Where a clause of an effective sheet comes from."""

    INHERITED = "inherited"  # the general sheet's, unchanged
    OVERRIDES = "overrides"  # the class sheet's, instead of the general sheet's of that number
    ADDED = "added"  # the class sheet's own


Row = TypeVar("Row", bound=Numbered)


@dataclass(frozen=True, slots=True)
class Placed(Generic[Row]):
    """A clause in an effective sheet. replaced: the general sheet's clause that it stands for."""

    clause: Row
    origin: Origin
    replaced: Row | None = None


@dataclass(frozen=True, slots=True)
class Effective(Generic[Row]):
    """An effective sheet in the order of its numbers, and the general sheet's clauses that it strikes."""

    clauses: tuple[Placed[Row], ...]
    struck: tuple[Row, ...]


_RUN: Final = re.compile(r"[0-9]+|[^0-9]+")


def number_order(number: str) -> tuple[tuple[int, int, str], ...]:
    """By which clause numbers are sorted: 4.2 before 4.10, 12 before 12a, numbers before letters."""
    runs = _RUN.findall(number.strip().casefold())
    return tuple(
        (0, int(run), "") if run.isascii() and run.isdigit() else (1, 0, run.strip(" .-")) for run in runs if run != "."
    )


def effective_sheet(parent: Iterable[Row], child: Iterable[Row]) -> Effective[Row]:
    """The clauses that hold for a class: the general sheet's, but for those that the class sheet overrides or strikes
    by number, and the class sheet's own. In the order of their numbers; where a sheet gives a number twice, both stay.

    Without a parent (no clauses) it is the class sheet without its struck ones.
    """
    general, own = list(parent), list(child)
    replaced: dict[str, Row] = {}
    for clause in general:
        replaced.setdefault(clause.number.strip(), clause)
    struck_numbers = {clause.number.strip() for clause in own if clause.is_struck}
    own_numbers = {clause.number.strip() for clause in own if not clause.is_struck}
    placed = [
        Placed(clause, Origin.INHERITED)
        for clause in general
        if not clause.is_struck and clause.number.strip() not in struck_numbers | own_numbers
    ]
    for clause in own:
        if not clause.is_struck:
            stands_for = replaced.get(clause.number.strip())
            placed.append(Placed(clause, Origin.OVERRIDES if stands_for is not None else Origin.ADDED, stands_for))
    placed.sort(key=lambda one: number_order(one.clause.number))
    struck = tuple(clause for clause in general if clause.number.strip() in struck_numbers - own_numbers)
    return Effective(tuple(placed), struck)
