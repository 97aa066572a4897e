"""Breaking ties by stated rules, one after another. Used for a race and for a season alike."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby
from typing import Generic, TypeVar

Key = int | str  # what the caller knows an entry or a driver by

T = TypeVar("T")
R = TypeVar("R")
SortKey = tuple[Fraction, ...]
RuleKeys = Callable[[Sequence[T]], Sequence[SortKey] | None]


@dataclass(frozen=True, slots=True)
class Level(Generic[T, R]):
    """Members that no rule could part (one member, if all went well).

    decided_by: the rule that put them behind the level in front, for the first level ahead of the next; None
    when no rule parted anything.
    """

    members: tuple[T, ...]
    decided_by: R | None


def break_ties(tied: Sequence[T], rules: Sequence[tuple[R, RuleKeys[T]]]) -> list[Level[T, R]]:
    """The tied members in levels, best first.

    A rule gives each member of a group a key (smaller is better) or None when it does not apply to the group,
    for example because somebody has no lap time. Rules go in the order stated; members still level after a
    rule go on to the next one, never back to an earlier one.
    """
    groups: list[tuple[list[T], R | None]] = [(list(tied), None)]
    for rule, keys_of in rules:
        groups = [part for group in groups for part in _part(group, rule, keys_of)]
    levels = [Level(tuple(members), decided_by) for members, decided_by in groups]
    if len(levels) > 1:
        levels[0] = Level(levels[0].members, levels[1].decided_by)
    return levels


def _part(group: tuple[list[T], R | None], rule: R, keys_of: RuleKeys[T]) -> list[tuple[list[T], R | None]]:
    members, decided_before = group
    keys = keys_of(members) if len(members) > 1 else None
    if keys is None:
        return [group]
    in_order = sorted(zip(keys, members, strict=True), key=lambda pair: pair[0])
    parts = [[member for _, member in pairs] for _, pairs in groupby(in_order, key=lambda pair: pair[0])]
    return [(part, rule if number else decided_before) for number, part in enumerate(parts)]


def key_order(key: Key) -> tuple[bool, int, str]:
    """A fixed order of keys, for members that stay level: numbers first, by value, then text."""
    return (True, 0, key) if isinstance(key, str) else (False, key, "")
