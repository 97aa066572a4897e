"""What is known of car and night besides what tech finds, and how it answers the terms of a condition."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from inspection.conformity.assess import Measurement
from inspection.conformity.clauses import BEFORE
from inspection.conformity.conditions import (
    LISTS,
    ORDER,
    About,
    Answered,
    Lacking,
    Op,
    Term,
    answered,
    in_list,
    in_order,
    unknown,
)
from inspection.conformity.observations import Observation, mean_or_missing, refer_to_20
from inspection.units import Kind


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """What is known of car and night besides what was found at tech. None: not known.

    flags: the words of the night. track_values: by the names of `TRACK_VALUES`, in mm, V or A. declared: what the
    build sheet says; it answers conditions and picks list entries where nothing was found, and never decides a limit.
    """

    racing_class: str | None = None
    scale: str | None = None
    grade: str | None = None
    junior: bool | None = None
    track: str | None = None
    date: dt.date | None = None
    flags: frozenset[str] | None = None
    phase: str = BEFORE
    track_values: Mapping[str, Fraction] = field(default_factory=dict)
    declared: Mapping[str, Observation] = field(default_factory=dict)


def ask_facts(term: Term, facts: Facts) -> Answered:
    """A term about the night, the class or the phase. Raises nothing: what is not known is unknown."""
    texts = {
        About.CLASS: (facts.racing_class, Lacking.CLASS),
        About.SCALE: (facts.scale, Lacking.SCALE),
        About.GRADE: (facts.grade, Lacking.GRADE),
        About.TRACK: (facts.track, Lacking.TRACK),
        About.PHASE: (facts.phase, Lacking.RULE),
    }
    if term.about in texts:
        text, lacking = texts[term.about]
        return unknown(lacking) if text is None else answered(holds=in_list([text], term.op, term.values))
    if term.about is About.DATE:
        if facts.date is None or not term.dates:
            return unknown(Lacking.DATE)
        return answered(holds=in_order(facts.date, term.op, term.dates))
    if term.about is About.JUNIOR:
        return unknown(Lacking.JUNIOR) if facts.junior is None else answered(holds=facts.junior is (term.op is Op.YES))
    if facts.flags is None:
        return unknown(Lacking.FLAG, term.name)
    return answered(holds=in_list([term.name], Op.ONE_OF, facts.flags) is (term.op is Op.YES))


def answer_by(term: Term, observed: Observation | None) -> Answered | None:
    """The answer by what was found or declared, or None when that says nothing about it."""
    if observed is None:
        return None
    if term.op in {Op.YES, Op.NO}:
        return None if observed.answer is None else answered(holds=observed.answer is (term.op is Op.YES))
    if observed.answers is not None:  # none at all is an answer, too: it is none of them
        return answered(holds=in_list(observed.answers, term.op, term.values)) if term.op in LISTS else None
    if observed.readings:
        mean = mean_or_missing(term.name, tuple(refer_to_20(reading) for reading in observed.readings))
        return ask_quantity(term, mean.kind, mean.value) if isinstance(mean, Measurement) else None
    return None


def ask_quantity(term: Term, kind: Kind, value: Fraction) -> Answered | None:
    if term.op not in ORDER | LISTS or not term.quantities:
        return None
    if any(quantity.kind is not kind for quantity in term.quantities):
        return None
    return answered(holds=in_order(value, term.op, [quantity.base for quantity in term.quantities]))
