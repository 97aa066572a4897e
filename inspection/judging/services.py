"""Decide a card: write what every clause comes to, with all that it was decided from.

A decision is a finding; it is never changed. When readings change, what they decided is struck through and decided
anew.
"""

from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from django.db import transaction
from django.utils import timezone

from inspection.conformity.results import ClauseResult
from inspection.conformity.verdicts import Outcome
from inspection.gauges.selectors import unit_or_none
from inspection.judging.selectors import (
    DECLARED,
    FOUND,
    IS_DECIDED,
    Judged,
    judge_card,
    limit_here,
    ruling_in,
)
from inspection.models import Characteristic, Clause, Finding, Inspection, Reading, User
from inspection.readings.selectors import Taken
from inspection.units import (
    Quantity,
    base_unit,
    format_quantity,
    from_base,
    make_quantity,
    round_half_even,
    write_exact,
)
from inspection.wording.selectors import limit_words

DOES_NOT_APPLY = "does not apply"


@dataclass(frozen=True, slots=True, kw_only=True)
class Decided:
    """What deciding a card came to. made, struck: findings by clause id. judged: the card as it was judged."""

    judged: Judged
    made: dict[int, Finding]
    struck: dict[int, Finding]


@transaction.atomic
def decide(
    *,
    card: Inspection,
    answered: Clause | None = None,
    client_key: str = "",
    reason: str = "",
    by: User | None,
) -> Decided:
    """Decide every clause of a card that is held, by its readings as they stand.

    card: as `held_card` or `loaded_card` gives it.
    answered: the clause whose input was just recorded: it gets a new finding even when nothing changes. Findings of
    judges and of gauges that go or do not stand until they are struck through; so do those that rest on no reading.
    """
    current = {finding.clause_id: finding for finding in _standing(card)}
    kept = [finding for pk, finding in current.items() if answered is None or pk != answered.pk]
    judged = judge_card(card, kept)
    made: dict[int, Finding] = {}
    struck: dict[int, Finding] = {}
    for clause in judged.clauses:
        is_answered = answered is not None and clause.pk == answered.pk
        standing = current.get(clause.pk)
        if standing is not None and not is_answered and (ruling_in(standing) or not standing.inputs):
            continue
        wanted = _content(judged, clause)
        if standing is not None and not is_answered and wanted and _says(standing) == wanted:
            continue
        if standing is None and not wanted:
            continue
        if standing is not None and (wanted or standing.inputs):
            standing.superseded_at = timezone.now()
            standing.save(update_fields=["superseded_at"])
            struck[clause.pk] = standing
        if wanted:
            more = {"client_key": client_key[:120], "reason": reason[:500]} if is_answered else {}
            made[clause.pk] = _write(judged, clause, wanted | more, by)
    return Decided(judged=judged, made=made, struck=struck)


def keep_reading(
    *, card: Inspection, characteristic: Characteristic, number: int, taken: Taken, client_key: str, by: User | None
) -> Reading:
    """Write one reading or answer, and strike through the one it takes the place of."""
    now = timezone.now()
    current = card.readings.filter(characteristic=characteristic, number=number, superseded_at__isnull=True)
    current.update(superseded_at=now)
    return Reading.objects.create(
        inspection=card,
        characteristic=characteristic,
        number=number,
        attempt=card.attempt,
        typed=taken.answer[:500],
        reading=taken.reading.canonical[:80] if taken.reading else "",
        temperature=taken.temperature.canonical[:30] if taken.temperature else "",
        gauge=taken.gauge,
        gauge_name=taken.gauge.name if taken.gauge else "",
        variance=write_exact(taken.variance)[:200],
        repeatability=write_exact(taken.repeatability)[:100],
        reason=taken.reason[:500],
        at=now,
        by=by,
        client_key=client_key[:120],
    )


def _standing(card: Inspection) -> list[Finding]:
    return list(card.findings.filter(superseded_at__isnull=True).select_related("by", "gauge"))


_SAID = ("outcome", "is_too_close", "zone", "answer", "reading", "unit", "inputs")


def _says(finding: Finding) -> dict[str, Any]:
    said = {name: getattr(finding, name) for name in _SAID}
    return said | {"gauge_name": finding.gauge_name, "variance": finding.variance, "gauge": finding.gauge}


def _content(judged: Judged, clause: Clause) -> dict[str, Any]:
    """What the finding of a clause says; empty when the clause is not decided."""
    result = judged.results.get(clause.pk)
    if result is None or result.outcome not in IS_DECIDED:
        return {}
    reading = _reading_of(judged, result)
    quantity = _quantity_of(judged, result, reading)
    variance = result.assessment.measurement.variance if result.assessment else None
    if result.outcome is Outcome.NOT_APPLICABLE:
        zone = Outcome.NOT_APPLICABLE.value
    else:
        zone = result.zone.value if result.zone else ""
    return {
        "outcome": Finding.Outcome.PASS if result.clears else Finding.Outcome.FAIL,
        "is_too_close": result.too_close,
        "zone": zone,
        "answer": _answer_of(judged, result, reading, quantity)[:80],
        "reading": reading.reading if reading else _rounded(quantity).canonical if quantity else "",
        "unit": quantity.unit.symbol if quantity else "",
        "inputs": _inputs_of(judged, result),
        "gauge": reading.gauge if reading else None,
        "gauge_name": reading.gauge_name if reading else "",
        "variance": _short_enough(write_exact(variance)) if variance is not None else "",
    }


def _reading_of(judged: Judged, result: ClauseResult) -> Reading | None:
    """The reading that counted, where one did; None for a mean, a worked-out value and an answer."""
    if result.assessment is None or result.reading is None:
        return None
    one = judged.register.get(result.clause.code)
    rows = judged.readings.get(one.pk, ()) if one else ()
    return rows[result.reading] if result.reading < len(rows) else None


def _quantity_of(judged: Judged, result: ClauseResult, reading: Reading | None) -> Quantity | None:
    """What was compared with the limit, in the unit that was typed, or in that of the clause."""
    if result.assessment is None:
        return None
    one = judged.register.get(result.clause.code)
    rows = judged.readings.get(one.pk, ()) if one else ()
    shown = reading or (rows[0] if rows else None)
    measurement = result.assessment.measurement
    unit = result.clause.unit
    if shown is not None:
        symbol = shown.reading.rpartition(" ")[2] if " " in shown.reading else ""
        unit = unit_or_none(symbol, measurement.kind) or unit
    return from_base(measurement.value, unit or base_unit(measurement.kind))


def _rounded(quantity: Quantity) -> Quantity:
    """A mean or a worked-out value for people, to one place more than the unit's own; what was decided was exact."""
    step = Fraction(1, 10 ** (max(quantity.unit.places, 2) + 1))
    return make_quantity(round_half_even(quantity.magnitude, step), quantity.unit)


def _short_enough(exact: str) -> str:
    """An exact number if it fits; the doubt of a worked-out value can have more digits than anybody keeps."""
    return exact if len(exact) <= 200 else ""


def _answer_of(judged: Judged, result: ClauseResult, reading: Reading | None, quantity: Quantity | None) -> str:
    if result.outcome is Outcome.NOT_APPLICABLE:
        return DOES_NOT_APPLY
    if reading is not None:
        return reading.typed
    if quantity is not None:
        mark = judged.card.occasion.club.decimal_mark
        return format_quantity(quantity, places=max(quantity.unit.places, 2), decimal_mark=mark)
    if result.answers:
        return "; ".join(result.answers)
    if result.parts:
        texts = [_answer_of(judged, part, _reading_of(judged, part), None) for part in result.parts]
        return "; ".join(dict.fromkeys(text for text in texts if text and text != DOES_NOT_APPLY))
    readings = judged.readings.get(getattr(judged.register.get(result.clause.code), "pk", 0), ())
    return "; ".join(row.typed for row in readings)


def _inputs_of(judged: Judged, result: ClauseResult) -> list[dict[str, Any]]:
    """What a decision rests on, as text: readings with gauge and doubt, answers, and what the build sheet declares."""
    said = []
    for code in result.inputs:
        one = judged.register.get(code)
        rows = judged.readings.get(one.pk, ()) if one else ()
        if one is None or not rows:
            if code in judged.facts.declared and one is not None:
                said.append({"code": code, "name": one.name, "source": DECLARED, "readings": []})
            continue
        said.append(
            {
                "code": code,
                "name": one.name,
                "source": FOUND,
                "readings": [row.typed for row in rows],
                "gauge": ", ".join(dict.fromkeys(row.gauge_name for row in rows if row.gauge_name)),
                "variance": rows[0].variance,
            }
        )
    # A decision by the facts of the night alone rests on something, too: it is made anew when they change.
    return said or [{"code": "", "name": "", "source": "facts", "readings": []}]


def _write(judged: Judged, clause: Clause, says: dict[str, Any], by: User | None) -> Finding:
    card = judged.card
    return Finding.objects.create(
        inspection=card,
        clause=clause,
        attempt=card.attempt,
        clause_number=clause.number,
        subject=str(clause.characteristic or clause.text)[:80],
        limit_text=_limit_text(judged, clause)[:200],
        at=timezone.now(),
        by=by,
        **says,
    )


def _limit_text(judged: Judged, clause: Clause) -> str:
    """The limit as printed, and what it comes to on this car where it depends on something."""
    words = limit_words(clause, decimal_mark=judged.card.occasion.club.decimal_mark)
    here = limit_here(judged, clause)
    return f"{words} [{here}]" if here else words
