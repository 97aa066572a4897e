"""What must be known to decide a clause, and which clauses ask about each other."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from inspection.conformity.clauses import Clause, Comparator
from inspection.conformity.conditions import About, Condition, terms_of
from inspection.conformity.subjects import Register, expand


@dataclass(frozen=True, slots=True, kw_only=True)
class Inputs:
    """What must be known to decide a clause. found: codes that a person finds at tech. asked: codes that conditions
    and keyed lists ask for, and that may be declared. clauses: numbers of others whose outcome is asked for."""

    found: tuple[str, ...]
    asked: tuple[str, ...] = ()
    clauses: tuple[str, ...] = ()


def inputs_of(clause: Clause, register: Register) -> Inputs:
    """What must be found by a person, after derivations and comparisons; and what conditions ask."""
    found: list[str] = []
    asked: list[str] = []
    clauses: dict[str, None] = {}
    for one in with_parts(clause):
        if one.comparator and not one.comparator.is_group and one.comparator is not Comparator.JUDGE_DECIDES:
            found.append(one.code)
        if one.reference:
            found.append(one.reference.code)
        for condition in conditions_of(one):
            for term in terms_of(condition):
                if term.about is About.CHARACTERISTIC:
                    asked.append(term.name)
                elif term.about is About.CLAUSE:
                    clauses[term.name] = None
        asked.append(one.list_key)
    to_find = expand(found, register)
    to_ask = tuple(code for code in expand(asked, register) if code not in to_find)
    return Inputs(found=to_find, asked=to_ask, clauses=tuple(clauses))


def circular_clauses(clauses: Iterable[Clause]) -> frozenset[str]:
    """The numbers of the clauses whose conditions ask, directly or by way of others, about themselves."""
    asks: dict[str, set[str]] = {}
    for clause in clauses:
        names = asks.setdefault(clause.number, set())
        for one in with_parts(clause):
            for condition in conditions_of(one):
                names.update(term.name for term in terms_of(condition) if term.about is About.CLAUSE)
    return frozenset(number for number, names in asks.items() if number in _reached(names, asks))


def _reached(names: Iterable[str], asks: Mapping[str, set[str]]) -> set[str]:
    reached: set[str] = set()
    waiting = list(names)
    while waiting:
        name = waiting.pop()
        if name not in reached:
            reached.add(name)
            waiting += asks.get(name, ())
    return reached


def with_parts(clause: Clause) -> Iterable[Clause]:
    yield clause
    for part in clause.parts:
        yield from with_parts(part)


def conditions_of(clause: Clause) -> Iterable[Condition]:
    if clause.applies_when is not None:
        yield clause.applies_when
    if clause.unless is not None:
        yield clause.unless
    for row in clause.rows:
        yield row.when
