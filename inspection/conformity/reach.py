"""Whether a condition can hold at all: contradictions between its own terms, and with others.

Cautious: what it calls impossible is impossible for a car of which each thing has one value (one motor, one body);
what it cannot follow it takes for possible.
"""

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import pairwise
from typing import Final

from inspection.conformity.conditions import (
    About,
    AllOf,
    AnyOf,
    Condition,
    Op,
    Term,
    in_order,
    normalize_choice,
)

_MOST_CASES: Final = 400  # beyond, the search stops and the condition is taken for possible
_OPPOSITE: Final = {
    Op.ONE_OF: Op.NONE_OF, Op.NONE_OF: Op.ONE_OF, Op.AT_LEAST: Op.BELOW, Op.BELOW: Op.AT_LEAST,
    Op.AT_MOST: Op.ABOVE, Op.ABOVE: Op.AT_MOST, Op.YES: Op.NO, Op.NO: Op.YES,
}  # fmt: skip

ALWAYS: Final = AllOf(())
NEVER: Final = AnyOf(())


def opposite(condition: Condition) -> Condition:
    """When it does not hold. What has no plain opposite (a clause that has not passed) becomes "always"."""
    match condition:
        case AllOf():
            return AnyOf(tuple(opposite(part) for part in condition.parts))
        case AnyOf():
            return AllOf(tuple(opposite(part) for part in condition.parts))
    if condition.op is Op.BETWEEN:
        return AnyOf((_with(condition, Op.BELOW, slice(0, 1)), _with(condition, Op.ABOVE, slice(1, 2))))
    if condition.op in _OPPOSITE:
        return _with(condition, _OPPOSITE[condition.op], slice(None))
    return ALWAYS


def _with(term: Term, op: Op, which: slice) -> Term:
    return Term(term.about, op, term.name, term.values[which], term.quantities[which], term.dates[which])


def can_hold(conditions: Iterable[Condition]) -> bool:
    """Can all of these hold at once?"""
    try:
        return any(_is_possible(case) for case in _cases(AllOf(tuple(conditions))))
    except _TooManyError:
        return True


class _TooManyError(Exception):
    pass


def _cases(condition: Condition) -> list[tuple[Term, ...]]:
    """The condition as cases, each of terms that hold together (disjunctive normal form)."""
    match condition:
        case Term():
            return [(condition,)]
        case AnyOf():
            return [case for part in condition.parts for case in _cases(part)]
    cases: list[tuple[Term, ...]] = [()]
    for part in condition.parts:
        cases = [(*case, *more) for case in cases for more in _cases(part)]
        if len(cases) > _MOST_CASES:
            raise _TooManyError
    return cases


@dataclass(slots=True)
class _Asked:
    """All that the terms of a case say about one thing."""

    ops: set[Op] = field(default_factory=set)
    among: set[str] | None = None
    barred: set[str] = field(default_factory=set)
    bounds: list[tuple[Op, Sequence[Fraction] | Sequence[dt.date]]] = field(default_factory=list)


def _is_possible(case: tuple[Term, ...]) -> bool:
    asked: dict[tuple[About, str], _Asked] = {}
    for term in case:
        name = normalize_choice(term.name) if term.about is About.FLAG else term.name
        _take(asked.setdefault((term.about, name), _Asked()), term)
    return all(_agree(one) for one in asked.values())


def _take(asked: _Asked, term: Term) -> None:
    asked.ops.add(term.op)
    numbers: Sequence[Fraction] | Sequence[dt.date] = term.dates or [one.base for one in term.quantities]
    if numbers:
        asked.bounds.append((term.op, numbers))
    elif term.op in {Op.ONE_OF, Op.NONE_OF}:
        values = {normalize_choice(value) for value in term.values}
        if term.op is Op.NONE_OF:
            asked.barred |= values
        else:
            asked.among = values if asked.among is None else asked.among & values


def _agree(asked: _Asked) -> bool:
    if {Op.YES, Op.NO} <= asked.ops or {Op.PASSED, Op.FAILED} <= asked.ops:
        return False
    if asked.among is not None and not asked.among - asked.barred:
        return False
    dates = [(op, limits) for op, limits in asked.bounds if limits and isinstance(limits[0], dt.date)]
    sizes = [(op, limits) for op, limits in asked.bounds if limits and isinstance(limits[0], Fraction)]
    return _has_a_date(dates) and _has_a_size(sizes)


def _has_a_size(bounds: Sequence[tuple[Op, Sequence[Fraction] | Sequence[dt.date]]]) -> bool:
    """Is there a number in all the bounds? It is enough to try their ends, and a number between and beyond them."""
    ends = sorted({end for _, limits in bounds for end in limits if isinstance(end, Fraction)})
    if not ends:
        return True
    between = [(low + high) / 2 for low, high in pairwise(ends)]
    tried = [*ends, *between, ends[0] - 1, ends[-1] + 1]
    exact = [(op, [end for end in limits if isinstance(end, Fraction)]) for op, limits in bounds]
    return any(all(in_order(value, op, limits) for op, limits in exact) for value in tried)


def _has_a_date(bounds: Sequence[tuple[Op, Sequence[Fraction] | Sequence[dt.date]]]) -> bool:
    ends = {end for _, limits in bounds for end in limits if isinstance(end, dt.date)}
    exact = [(op, [end for end in limits if isinstance(end, dt.date)]) for op, limits in bounds]
    return not ends or any(all(in_order(day, op, limits) for op, limits in exact) for day in _days_about(ends))


def _days_about(ends: Iterable[dt.date]) -> Iterator[dt.date]:
    for end in ends:
        yield end
        for days in (-1, 1):
            try:
                yield end + dt.timedelta(days=days)
            except OverflowError:
                continue


def applies(applies_when: Condition | None, unless: Condition | None) -> list[Condition]:
    """When a clause applies, as conditions that must all hold."""
    conditions: list[Condition] = [] if applies_when is None else [applies_when]
    return conditions if unless is None else [*conditions, opposite(unless)]
