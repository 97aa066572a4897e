"""The stations of the tech table, each with its gauge and its phone; and what a cure may have touched. Read only."""

from collections.abc import Iterable, Mapping, MutableMapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from django.utils.translation import gettext_lazy as _lazy

from inspection.gauges.selectors import quantity_kind_of
from inspection.models import Characteristic, Clause
from inspection.readings.selectors import Asks, asks_for, asks_of
from inspection.units import Kind


class Station(StrEnum):
    """A place at the tech table with its gauge and its phone."""

    BLOCK = "block"
    CALIPER = "caliper"
    SCALE = "scale"
    BENCH = "bench"
    EYE = "eye"


STATION_WORDS = {
    Station.BLOCK: _lazy("Plate and blocks"),
    Station.CALIPER: _lazy("Caliper"),
    Station.SCALE: _lazy("Scale"),
    Station.BENCH: _lazy("Motor bench"),
    Station.EYE: _lazy("By eye"),
}
_BENCH_KINDS = frozenset({Kind.ROTATION_SPEED, Kind.VOLTAGE, Kind.CURRENT, Kind.RESISTANCE, Kind.TEMPERATURE})


def station_of_phone(session: MutableMapping[str, Any], asked: str | None) -> str:
    """The station at which a phone stands: `asked` when an address names one, and from then on; "" for all of them."""
    if asked is not None:
        session["station"] = asked if asked in set(Station) else ""
    return str(session.get("station", ""))


def station_of(clause: Clause, register: Mapping[str, Characteristic] | None = None) -> Station:
    """Where a clause is looked at; one of several things where the first of them that takes a gauge is measured.

    register: the characteristics that its parts, comparisons and derivations name, by code; without it such a clause
    is looked at by eye. No query when the clause is loaded as `checked_clauses` loads it.
    """
    asks = asks_of(clause)
    of = clause.characteristic
    if clause.parts or (of and of.derivation):
        inputs = _codes_in(clause.parts) if clause.parts else [str(code) for code in of.derivation.get("of", ())]
        found = (_station_of_input(register, code) for code in inputs) if register else ()
        return next((station for station in found if station is not Station.EYE), Station.EYE)
    if of is None or asks not in {Asks.READING, Asks.GO_NO_GO}:
        return Station.EYE
    return _station(of, asks)


def asks_of_several(clauses: Iterable[Clause]) -> bool:
    """Does any of them ask of several things, so that their stations need the register? No query."""
    return any(clause.parts or (clause.characteristic and clause.characteristic.derivation) for clause in clauses)


def _codes_in(parts: Iterable[Mapping[str, Any]]) -> list[str]:
    """The characteristics of parts that take a value, from the first to the last, nested ones included."""
    return [
        code
        for part in parts
        for code in (_codes_in(part["parts"]) if part.get("parts") else [str(part.get("characteristic") or "")])
    ]


def _station_of_input(register: Mapping[str, Characteristic], code: str) -> Station:
    one = register.get(code)
    if one is None:
        return Station.EYE
    if one.derivation:
        found = (_station_of_input(register, str(part)) for part in one.derivation.get("of", ()))
        return next((station for station in found if station is not Station.EYE), Station.EYE)
    return _station(one, asks_for(one))


def _station(one: Characteristic, asks: Asks) -> Station:
    kind = quantity_kind_of(one)
    if kind is None or kind is Kind.COUNT:
        return Station.EYE
    if kind in {Kind.MASS, Kind.MAGNETIC_PULL, Kind.FORCE}:
        return Station.SCALE
    if kind in _BENCH_KINDS:
        return Station.BENCH
    on_plate = one.group == Characteristic.Group.PLATE
    return Station.BLOCK if on_plate or asks is Asks.GO_NO_GO else Station.CALIPER


def group_of(clause: Clause) -> str:
    """Where on the car a clause is checked."""
    return clause.characteristic.group if clause.characteristic else Characteristic.Group.OTHER


# ---- what a cure touches --------------------------------------------------------------------------------------------

# New tires change width, clearance and weight; ballast changes the ride height; a body only itself and the weight.
_Group = Characteristic.Group
_TOUCHES: dict[str, frozenset[str]] = {
    _Group.PLATE: frozenset({_Group.PLATE, _Group.ACROSS}),
    _Group.ACROSS: frozenset({_Group.ACROSS, _Group.PLATE, _Group.SCALE}),
    _Group.SCALE: frozenset({_Group.SCALE, _Group.PLATE}),
    _Group.DRIVE: frozenset({_Group.DRIVE, _Group.SCALE}),
    _Group.CHASSIS: frozenset({_Group.CHASSIS, _Group.PLATE, _Group.SCALE}),
    _Group.BODY: frozenset({_Group.BODY, _Group.ACROSS, _Group.SCALE}),
    _Group.OTHER: frozenset({_Group.OTHER}),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class CureGroup:
    """Clauses found to pass that the cure may have touched, by where they are checked. likely: ticked beforehand."""

    group: str
    words: str
    clauses: tuple[Clause, ...]
    likely: bool


def cure_groups(failed: Iterable[Clause], passed: Iterable[Clause]) -> list[CureGroup]:
    """What to ask when a car comes back, in measuring order. No query when the characteristics are loaded."""
    touched = frozenset().union(*(_TOUCHES.get(group_of(clause), frozenset()) for clause in failed))
    found: dict[str, list[Clause]] = {}
    for clause in passed:
        found.setdefault(group_of(clause), []).append(clause)
    return [
        CureGroup(
            group=group,
            words=str(Characteristic.Group(group).label),
            clauses=tuple(clauses),
            likely=group in touched and any(clause.comparator not in _BY_EYE for clause in clauses),
        )
        for group, clauses in found.items()
    ]


_BY_EYE = frozenset({Clause.Comparator.YES_NO, Clause.Comparator.ONE_OF, Clause.Comparator.JUDGE})
