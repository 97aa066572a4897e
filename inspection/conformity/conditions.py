"""When a clause, a part or a limit holds: conditions with three values, which name what is not known.

"If open cockpit", "at this track", "from that date on": a tree of terms joined by "all" and "any". A term that
cannot be answered is unknown, and so is the whole unless the rest settles it (Kleene's strong logic: no and
anything is no, yes or anything is yes). What is unknown is named, so that a person can find it out.
"""

import datetime as dt
import unicodedata
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from typing import Final, TypeVar

from inspection.units import Quantity


class About(StrEnum):
    """What a term asks about."""

    CHARACTERISTIC = "characteristic"  # name: its code
    CLAUSE = "clause"  # name: its number
    RESTRICTED = "restricted"  # name: a characteristic's code; does another clause of the sheet limit it?
    CLASS = "class"
    SCALE = "scale"
    GRADE = "grade"
    JUNIOR = "junior"
    TRACK = "track"
    DATE = "date"
    FLAG = "flag"  # name: a word of the night
    PHASE = "phase"


class Op(StrEnum):
    ONE_OF = "one_of"
    NONE_OF = "none_of"
    AT_LEAST = "at_least"
    AT_MOST = "at_most"
    BELOW = "below"
    ABOVE = "above"
    BETWEEN = "between"  # both ends included
    YES = "yes"
    NO = "no"
    PASSED = "passed"
    FAILED = "failed"


NAMED: Final = frozenset({About.CHARACTERISTIC, About.CLAUSE, About.RESTRICTED, About.FLAG})
LISTS: Final = frozenset({Op.ONE_OF, Op.NONE_OF})
ORDER: Final = frozenset({Op.AT_LEAST, Op.AT_MOST, Op.BELOW, Op.ABOVE, Op.BETWEEN})
ANSWERS: Final = frozenset({Op.YES, Op.NO})
# What may be asked about each; of a characteristic it depends on its kind as well.
OPERATORS: Final[dict[About, frozenset[Op]]] = {
    About.CHARACTERISTIC: LISTS | ORDER | ANSWERS,
    About.CLAUSE: frozenset({Op.PASSED, Op.FAILED}),
    About.RESTRICTED: ANSWERS,
    About.CLASS: LISTS,
    About.SCALE: LISTS,
    About.GRADE: LISTS,
    About.JUNIOR: ANSWERS,
    About.TRACK: LISTS,
    About.DATE: LISTS | ORDER,
    About.FLAG: ANSWERS,
    About.PHASE: LISTS,
}


class Truth(StrEnum):
    YES = "yes"
    NO = "no"
    UNKNOWN = "unknown"


class Lacking(StrEnum):
    """What sort of thing is not known."""

    CHARACTERISTIC = "characteristic"  # nothing was found for it
    READINGS = "readings"  # fewer than the clause wants
    FITTING = "fitting"  # what was found does not fit, such as an answer where a length is wanted
    GAUGE = "gauge"  # taken with a gauge past its date, which the sheet does not allow
    CLAUSE = "clause"  # has no result yet
    CLASS = "class"
    SCALE = "scale"
    GRADE = "grade"
    JUNIOR = "junior"
    TRACK = "track"
    TRACK_VALUE = "track_value"  # name: of `TRACK_VALUES`
    DATE = "date"
    FLAG = "flag"
    RULE = "rule"  # the rule itself cannot be read, or goes round in a circle


@dataclass(frozen=True, slots=True)
class Missing:
    """One thing that is not known. name: a code, a clause number, a word; "" where there is only one such thing."""

    lacking: Lacking
    name: str = ""


@dataclass(frozen=True, slots=True)
class Answered:
    """The truth of a condition, and what would have to be known when it is unknown."""

    truth: Truth
    missing: tuple[Missing, ...] = ()


YES: Final = Answered(Truth.YES)
NO: Final = Answered(Truth.NO)


def unknown(lacking: Lacking, name: str = "") -> Answered:
    return Answered(Truth.UNKNOWN, (Missing(lacking, name),))


def answered(*, holds: bool) -> Answered:
    return YES if holds else NO


@dataclass(frozen=True, slots=True)
class Term:
    """One question. values: as written; quantities, dates: the same, read, where they are quantities or dates."""

    about: About
    op: Op
    name: str = ""
    values: tuple[str, ...] = ()
    quantities: tuple[Quantity, ...] = ()
    dates: tuple[dt.date, ...] = ()


@dataclass(frozen=True, slots=True)
class AllOf:
    parts: tuple["Condition", ...]


@dataclass(frozen=True, slots=True)
class AnyOf:
    parts: tuple["Condition", ...]


Condition = Term | AllOf | AnyOf


def evaluate(condition: Condition, ask: Callable[[Term], Answered]) -> Answered:
    """The truth of a condition, each term answered by `ask`. All of nothing is yes, any of nothing is no."""
    match condition:
        case Term():
            return ask(condition)
        case AllOf():
            return _all([evaluate(part, ask) for part in condition.parts])
        case AnyOf():
            return negate(_all([negate(evaluate(part, ask)) for part in condition.parts]))


def negate(found: Answered) -> Answered:
    """Not: yes and no change places, unknown stays."""
    if found.truth is Truth.UNKNOWN:
        return found
    return NO if found.truth is Truth.YES else YES


def both(one: Answered, other: Answered) -> Answered:
    """And."""
    return _all([one, other])


def _all(parts: Iterable[Answered]) -> Answered:
    missing: dict[Missing, None] = {}
    for part in parts:
        if part.truth is Truth.NO:
            return NO
        missing.update(dict.fromkeys(part.missing))
    return Answered(Truth.UNKNOWN, tuple(missing)) if missing else YES


def terms_of(condition: Condition | None) -> Iterator[Term]:
    """Every term of a condition, from the left."""
    match condition:
        case Term():
            yield condition
        case AllOf() | AnyOf():
            for part in condition.parts:
                yield from terms_of(part)


Comparable = TypeVar("Comparable", Fraction, dt.date)


def in_order(value: Comparable, op: Op, limits: Sequence[Comparable]) -> bool:
    """Whether a value stands to the limits as an operator of `ORDER`, or of `LISTS`, says."""
    holds = {
        Op.AT_LEAST: value >= limits[0],
        Op.ABOVE: value > limits[0],
        Op.AT_MOST: value <= limits[0],
        Op.BELOW: value < limits[0],
        Op.BETWEEN: limits[0] <= value <= limits[-1],
        Op.NONE_OF: value not in limits,
    }
    return holds.get(op, value in limits)


def normalize_choice(text: str) -> str:
    """A choice as it is compared: without regard to case, width of letters and runs of blanks."""
    return " ".join(unicodedata.normalize("NFKC", text).casefold().split())


def in_list(texts: Iterable[str], op: Op, values: Iterable[str]) -> bool:
    """Whether one of the texts is one of the values (`one_of`), or none of them is (`none_of`)."""
    listed = {normalize_choice(value) for value in values}
    found = any(normalize_choice(text) in listed for text in texts)
    return found is (op is Op.ONE_OF)


def simplify(condition: Condition) -> Condition:
    """A group of one is that one."""
    match condition:
        case AllOf(parts=(only,)) | AnyOf(parts=(only,)):
            return simplify(only)
        case AllOf():
            return AllOf(tuple(simplify(part) for part in condition.parts))
        case AnyOf():
            return AnyOf(tuple(simplify(part) for part in condition.parts))
        case _:
            return condition
