"""From places to points: tables by place, shared places, extras.

Points are decimals. What is not a whole number of hundredths (three share the first three places) is rounded
half up to the stated decimals once, when it is awarded, so that a season adds what the result sheets show.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal, localcontext
from enum import StrEnum
from fractions import Fraction

from .errors import ScoringError, refuse_no_number
from .ties import Key

NO_POINTS = Decimal(0)


@dataclass(frozen=True, slots=True)
class PlaceTable:
    """Points by place, first place first, and what every place beyond the list gets.

    Raises ScoringError with code bad_points.
    """

    by_place: tuple[Decimal, ...]
    beyond: Decimal = NO_POINTS

    def __post_init__(self) -> None:
        refuse_no_number([*self.by_place, self.beyond])

    def points_for(self, place: int, field_size: int) -> Fraction:
        """Points of a place, 1 or more, the same in a field of any size."""
        return Fraction(self.by_place[place - 1] if place <= len(self.by_place) else self.beyond)


@dataclass(frozen=True, slots=True)
class FieldFormula:
    """((N - place) / N) x scale + base for N entries, common practice with scale 10 and base 1."""

    scale: Decimal = Decimal(10)
    base: Decimal = Decimal(1)

    def __post_init__(self) -> None:
        refuse_no_number([self.scale, self.base])

    def points_for(self, place: int, field_size: int) -> Fraction:
        """Points of a place, 1 or more, in a field of field_size entries, 1 or more. Exact."""
        return Fraction(field_size - place, field_size) * Fraction(self.scale) + Fraction(self.base)


@dataclass(frozen=True, slots=True)
class LowPoints:
    """As many points as the place, the fewest win. Without a place: one more than there are entries.

    Source: Racing Rules of Sailing, Appendix A, A4.
    """

    def points_for(self, place: int, field_size: int) -> Fraction:
        """Points of a place, 1 or more, the same in a field of any size."""
        return Fraction(place)


PointsTable = PlaceTable | FieldFormula | LowPoints


class SharedPlaces(StrEnum):
    """What those who share a place get."""

    AVERAGE = "average"  # the points of the places they take up, divided among them
    EACH = "each"  # each the points of the place


@dataclass(frozen=True, slots=True)
class Extra:
    """A plain addition, such as pole position or fastest lap. Below zero for a deduction."""

    code: str
    points: Decimal


@dataclass(frozen=True, slots=True)
class Placed:
    """A key with its place, None for no place. factor: share of the place's points, such as 0.5 for a
    withdrawal at half points.
    """

    key: Key
    place: int | None
    factor: Decimal = Decimal(1)


@dataclass(frozen=True, slots=True)
class Award:
    """What one key gets in one race."""

    key: Key
    place: int | None
    place_points: Decimal
    extras: tuple[Extra, ...]

    @property
    def points(self) -> Decimal:
        """Place points and extras together."""
        return sum((extra.points for extra in self.extras), self.place_points)


def award_points(
    placed: Sequence[Placed],
    *,
    table: PointsTable,
    shared: SharedPlaces = SharedPlaces.AVERAGE,
    extras: Mapping[Key, Sequence[Extra]] | None = None,
    unplaced: Decimal = NO_POINTS,
    decimals: int = 2,
) -> tuple[Award, ...]:
    """The awards, in the order given. N of a formula is how many have a place.

    unplaced: points of an entry without a place; under LowPoints it is entries + 1 instead.
    Raises ScoringError with code duplicate_key, bad_place (places that no classification gives, such as 1, 3 or
    two firsts and a second), unknown_key (an extra for somebody who is not in the race), bad_points (not a number)
    or bad_decimals.
    """
    if not 0 <= decimals <= 6:
        raise ScoringError("bad_decimals", "Points have 0 to 6 decimals.", decimals=decimals)
    extras = extras or {}
    _refuse_bad_places(placed)
    keys = {entry.key for entry in placed}
    if strangers := [key for key in extras if key not in keys]:
        raise ScoringError("unknown_key", f"{strangers[0]} is not in this race.", key=strangers[0])
    amounts = [unplaced, *(entry.factor for entry in placed)]
    amounts += [extra.points for each in extras.values() for extra in each]
    refuse_no_number(amounts)
    by_place = _points_by_place(placed, table, shared)
    without_place = Fraction(len(placed) + 1) if isinstance(table, LowPoints) else Fraction(unplaced)
    return tuple(
        Award(
            entry.key,
            entry.place,
            round_points(by_place.get(entry.place, without_place) * Fraction(entry.factor), decimals),
            tuple(extras.get(entry.key, ())),
        )
        for entry in placed
    )


def _points_by_place(placed: Sequence[Placed], table: PointsTable, shared: SharedPlaces) -> dict[int | None, Fraction]:
    places = sorted(entry.place for entry in placed if entry.place is not None)
    points: dict[int | None, Fraction] = {}
    for place in set(places):
        taken = range(place, place + places.count(place))
        if shared is SharedPlaces.EACH:
            taken = range(place, place + 1)
        total = sum((table.points_for(each, len(places)) for each in taken), Fraction(0))
        points[place] = total / len(taken)
    return points


def _refuse_bad_places(placed: Sequence[Placed]) -> None:
    keys: set[Key] = set()
    for entry in placed:
        if entry.key in keys:
            raise ScoringError("duplicate_key", f"{entry.key} is in the list twice.", key=entry.key)
        keys.add(entry.key)
    places = sorted(entry.place for entry in placed if entry.place is not None)
    for index, place in enumerate(places):
        if place != places.index(place) + 1 or place > index + 1:
            raise ScoringError("bad_place", f"Place {place} cannot follow the places before it.", place=place)


def round_points(points: Fraction, decimals: int) -> Decimal:
    """Exact points rounded half up (away from zero) to so many decimals."""
    with localcontext(prec=100):
        scaled = points * 10**decimals
        whole = int(abs(scaled) + Fraction(1, 2))
        return Decimal(-whole if scaled < 0 else whole).scaleb(-decimals)


def format_points(points: Decimal) -> str:
    """As a table shows them: 25, 8.5, 19.33."""
    text = f"{points:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def table_of(*points: int, beyond: int = 0) -> PlaceTable:
    """A table of whole points, first place first."""
    return PlaceTable(tuple(Decimal(each) for each in points), Decimal(beyond))


# Tables in common use (trade practice), under plain names.
TABLES: Mapping[str, PointsTable] = {
    "steep": table_of(25, 18, 15, 12, 10, 8, 6, 4, 2, 1),
    "steep_to_12th": table_of(25, 20, 18, 15, 12, 10, 8, 6, 5, 3, 2, 1),
    "first_six": table_of(9, 6, 4, 3, 2, 1),
    "flat": table_of(25, 22, 20, 18, *range(16, 0, -1)),
    "floor": table_of(*range(15, 6, -1), beyond=6),
    "by_field": FieldFormula(),
    "low": LowPoints(),
}
