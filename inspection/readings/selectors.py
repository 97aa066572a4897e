"""What was typed for a clause: understood exactly, judged by the conformity engine, and explained.

`inspections.services.record_measurement` writes what `understand` returns; a page shows it before it is written.
Nothing here reads the database when clauses are loaded as `rulesheets.selectors.checked_clauses` loads them.
"""

import datetime as dt
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy as _lazy

from inspection.clauses.selectors import clause_for_engine, decision_rule_of, gauge_for, limits_of, reading_unit_of
from inspection.conformity.assess import Assessment, Measurement, Side, Zone, assess
from inspection.conformity.clauses import CharacteristicKind, Comparator, normalize_choice
from inspection.conformity.plausible import check_plausible
from inspection.conformity.probability import conformance_probability
from inspection.conformity.uncertainty import GaugeSpec, expanded_uncertainty
from inspection.conformity.verdicts import Ruling, Verdict, judge_clause, verdict
from inspection.gauges.selectors import (
    calibration_state,
    can_measure,
    gauge_spec,
    kind_of,
    plausible_band_of,
    quantity_kind_of,
    read_stored,
    unit_or_none,
)
from inspection.models import Characteristic, Clause, Finding, Gauge
from inspection.readings.errors import (
    AnswerNotKnown,
    DidYouMean,
    GaugeOfWrongKind,
    GaugeOverdue,
    ReadingNotUnderstood,
    ReasonMissing,
)
from inspection.units import (
    DecimalMark,
    Kind,
    Quantity,
    Unit,
    UnitsError,
    as_unit,
    base_unit,
    format_quantity,
    make_quantity,
    parse_quantity,
    read_exact,
    write_exact,
)
from inspection.wording.selectors import limit_words_short

# ---- what a clause asks for, and what was typed for it --------------------------------------------------------------


class Asks(StrEnum):
    """How a clause is answered."""

    READING = "reading"
    GO_NO_GO = "go_no_go"  # by a gauge that goes or does not; a reading may be typed instead
    YES_NO = "yes_no"
    ONE_OF = "one_of"
    JUDGE = "judge"


# What is stored as the answer, and what else may be typed for it. Stored words are the same in every language.
_WORDS: dict[Asks, dict[str, tuple[bool, frozenset[str]]]] = {
    Asks.YES_NO: {"yes": (True, frozenset({"yes", "y"})), "no": (False, frozenset({"no", "n"}))},
    Asks.GO_NO_GO: {
        "go": (True, frozenset({"go", "goes"})),
        "no-go": (False, frozenset({"no-go", "no go", "nogo", "not go"})),
    },
    Asks.JUDGE: {"pass": (True, frozenset({"pass"})), "fail": (False, frozenset({"fail"}))},
}
ANSWER_WORDS = {
    "yes": _lazy("yes"),
    "no": _lazy("no"),
    "go": _lazy("go"),
    "no-go": _lazy("no-go"),
    "pass": _lazy("judge: pass"),
    "fail": _lazy("judge: fail"),
}


def asks_of(clause: Clause, gauge: Gauge | None = None) -> Asks:
    """How a clause is answered, with its own gauge or the one chosen. No query when they are loaded."""
    match clause.comparator:
        case Comparator.YES_NO:
            return Asks.YES_NO
        case Comparator.ONE_OF | Comparator.AS_SUPPLIED | Comparator.ALL_OF | Comparator.ANY_OF:
            return Asks.ONE_OF
        case Comparator.JUDGE_DECIDES:
            return Asks.JUDGE
    used = gauge or gauge_for(clause)
    return Asks.GO_NO_GO if used is not None and used.kind == Gauge.Kind.GO_NO_GO else Asks.READING


@dataclass(frozen=True, slots=True, kw_only=True)
class Understood:
    """What was typed, as it was understood and judged; not yet recorded.

    answer: as it is stored. measurement: with its exact variance, where something was measured.
    """

    answer: str
    verdict: Verdict
    reading: Quantity | None = None
    measurement: Measurement | None = None
    gauge: Gauge | None = None
    reason: str = ""

    @property
    def variance_text(self) -> str:
        return write_exact(self.measurement.variance) if self.measurement else ""

    @property
    def zone(self) -> str:
        return self.verdict.assessment.zone.value if self.verdict.assessment else ""

    @classmethod
    def ruling(cls, *, passes: bool, reason: str) -> "Understood":
        """A judge's decision."""
        found = Ruling(passes=passes, judge="", reason=reason.strip())
        return cls(answer="pass" if passes else "fail", verdict=verdict(found), reason=found.reason)


def understand(
    *,
    clause: Clause,
    text: str,
    gauge: Gauge | None = None,
    decimal_mark: DecimalMark = ".",
    confirmed: bool = False,
    reason: str = "",
    on: dt.date | None = None,
) -> Understood:
    """Read and judge what was typed for a clause; nothing is guessed. No query when the clause is loaded as
    `checked_clauses` loads it.

    gauge: None for the clause's own. on: the day, by which a gauge's calibration may be past its date. Raises an
    AnswerRefused (see `record_measurement`).
    """
    used = gauge or gauge_for(clause)
    asks = asks_of(clause, used)
    typed = " ".join(text.split())
    word = _word(asks, typed)
    if asks is Asks.JUDGE:
        if word is None:
            raise AnswerNotKnown(allowed=_("pass, fail"))
        if not reason.strip():
            raise ReasonMissing
        return Understood.ruling(passes=word[1], reason=reason)
    if asks is Asks.YES_NO:
        if word is None:
            raise AnswerNotKnown(allowed=_("yes, no"))
        return Understood(answer=word[0], verdict=judge_clause(clause_for_engine(clause), word[1]))
    if asks is Asks.ONE_OF:
        if not typed:
            raise AnswerNotKnown(allowed=", ".join(clause.choices))
        return Understood(answer=typed, verdict=judge_clause(clause_for_engine(clause), typed))
    refuse_overdue(clause, used, on)
    if word is not None:  # a gauge said go or no-go: it has decided
        passes = verdict(Ruling(passes=word[1], judge="", reason=""))
        return Understood(answer=word[0], verdict=passes, gauge=used, reason=reason.strip())
    return _measured(clause, text, used, decimal_mark, confirmed=confirmed, reason=reason)


def ruling_typed(*, clause: Clause, text: str, gauge: Gauge | None, reason: str = "") -> Understood | None:
    """What a judge, or a gauge that goes or does not, says of a clause; None when a reading or an answer was typed.

    gauge: the one in use. Raises AnswerNotKnown or ReasonMissing for a judge's clause.
    """
    asks = asks_of(clause, gauge)
    word = _word(asks, " ".join(text.split())) if asks in {Asks.JUDGE, Asks.GO_NO_GO} else None
    if asks is Asks.JUDGE:
        if word is None:
            raise AnswerNotKnown(allowed=_("pass, fail"))
        if not reason.strip():
            raise ReasonMissing
        return Understood.ruling(passes=word[1], reason=reason)
    if word is None:
        return None
    passes = verdict(Ruling(passes=word[1], judge="", reason=""))
    return Understood(answer=word[0], verdict=passes, gauge=gauge, reason=reason.strip())


def overdue_since(gauge: Gauge | None, on: dt.date | None) -> dt.date | None:
    """The day on which the gauge's calibration was due, when that was before this day; else None."""
    if gauge is None or on is None or calibration_state(gauge, on) != "overdue":
        return None
    return gauge.calibration_due


def refuse_overdue(clause: Clause, gauge: Gauge | None, on: dt.date | None) -> None:
    """Raises GaugeOverdue for a gauge past its date, where the sheet allows none such."""
    due = overdue_since(gauge, on)
    if due is not None and not clause.revision.allows_overdue_gauges:
        raise GaugeOverdue(gauge=gauge, due=date_format(due))


def _word(asks: Asks, typed: str) -> tuple[str, bool] | None:
    folded = typed.casefold()
    for stored, (passes, spellings) in _WORDS.get(asks, {}).items():
        if folded in spellings or folded == str(ANSWER_WORDS[stored]).casefold():
            return stored, passes
    return None


def _measured(
    clause: Clause, text: str, gauge: Gauge | None, decimal_mark: DecimalMark, *, confirmed: bool, reason: str
) -> Understood:
    kind = measured_kind(clause)
    spec = spec_for(clause, gauge)
    try:
        reading = parse_quantity(
            text,
            kind,
            default_unit=unit_for(clause, gauge),
            decimal_mark=decimal_mark,
            allow_negative=kind is Kind.TEMPERATURE,
        )
    except UnitsError as error:
        raise ReadingNotUnderstood(error) from error
    note = _plausible_or_note(clause.characteristic, reading, decimal_mark, confirmed=confirmed, note=reason.strip())
    variance = spec.variance if spec else Fraction(0)
    measurement = Measurement(kind=kind, value=reading.base, variance=variance)
    return Understood(
        answer=" ".join(text.split()),
        verdict=judge_clause(clause_for_engine(clause), measurement, decision_rule_of(clause)),
        reading=reading,
        measurement=measurement,
        gauge=gauge,
        reason=note,
    )


def measured_kind(clause: Clause) -> Kind:
    """The kind of quantity of a measured clause; published clauses have one."""
    kind = kind_of(clause.characteristic) if clause.characteristic else CharacteristicKind.TEXT
    if kind.quantity_kind is None:
        raise AnswerNotKnown(allowed=limit_words_short(clause))
    return kind.quantity_kind


def spec_for(clause: Clause, gauge: Gauge | None) -> GaugeSpec | None:
    """What is known of the gauge's doubt; None without gauge or statement. A count has no doubt.

    Raises GaugeOfWrongKind when it measures something else.
    """
    kind = measured_kind(clause)
    if gauge is None or kind is Kind.COUNT:
        return None
    if gauge.measures != kind.value:
        raise GaugeOfWrongKind(gauge=gauge)
    return gauge_spec(gauge)


def unit_for(clause: Clause, gauge: Gauge | None) -> Unit:
    """The unit of a reading typed without one: the gauge's if it is of the kind, else the clause's."""
    kind = measured_kind(clause)
    if gauge is not None and gauge.unit:
        try:
            return as_unit(gauge.unit, kind)
        except UnitsError:
            pass  # a gauge of another kind, or an unknown unit: the clause says
    return reading_unit_of(clause) or base_unit(kind)


# ---- what was typed for a characteristic, whatever clauses need it -------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """One reading or answer as it was understood; which clauses it decides, and how, the engine says.

    answer: as it is stored. variance, repeatability: of the reading, in its base unit squared and in its base unit.
    """

    answer: str
    reading: Quantity | None = None
    temperature: Quantity | None = None
    variance: Fraction = Fraction(0)
    repeatability: Fraction = Fraction(0)
    gauge: Gauge | None = None
    reason: str = ""


def asks_for(characteristic: Characteristic) -> Asks:
    """How a characteristic is answered: by a reading, by yes or no, or by words."""
    kind = kind_of(characteristic)
    if kind is CharacteristicKind.YES_NO:
        return Asks.YES_NO
    return Asks.ONE_OF if kind.quantity_kind is None else Asks.READING


def take(
    *,
    characteristic: Characteristic,
    text: str,
    gauge: Gauge | None = None,
    unit: Unit | None = None,
    temperature: str = "",
    decimal_mark: DecimalMark = ".",
    confirmed: bool = False,
    reason: str = "",
    allowed: str = "",
) -> Taken:
    """Read what was typed for a characteristic; nothing is guessed. No query.

    unit: of a reading typed without one. temperature: of a resistance, in degrees Celsius when nothing else is typed.
    confirmed: a reading outside the plausible band is right. allowed: what may be answered, for a refusal.
    Raises ReadingNotUnderstood, DidYouMean, AnswerNotKnown or GaugeOfWrongKind.
    """
    typed = " ".join(text.split())
    asks = asks_for(characteristic)
    if asks is Asks.YES_NO:
        word = _word(asks, typed)
        if word is None:
            raise AnswerNotKnown(allowed=_("yes, no"))
        return Taken(answer=word[0], reason=reason.strip())
    if asks is Asks.ONE_OF:
        if not typed:
            raise AnswerNotKnown(allowed=allowed)
        return Taken(answer=typed, reason=reason.strip())
    kind = kind_of(characteristic).quantity_kind or Kind.COUNT
    if gauge is not None and kind is not Kind.COUNT and not can_measure(gauge, kind):
        raise GaugeOfWrongKind(gauge=gauge)
    spec = gauge_spec(gauge, kind=kind) if gauge is not None and kind is not Kind.COUNT else None
    reading = _quantity(text, kind, unit or _usual_unit(characteristic, gauge, kind), decimal_mark)
    warm = _quantity(temperature, Kind.TEMPERATURE, base_unit(Kind.TEMPERATURE), decimal_mark) if temperature else None
    note = _plausible_or_note(characteristic, reading, decimal_mark, confirmed=confirmed, note=reason.strip())
    return Taken(
        answer=typed,
        reading=reading,
        temperature=warm if kind is Kind.RESISTANCE else None,
        variance=spec.variance if spec else Fraction(0),
        repeatability=spec.repeatability if spec else Fraction(0),
        gauge=gauge,
        reason=note,
    )


def _usual_unit(characteristic: Characteristic, gauge: Gauge | None, kind: Kind) -> Unit:
    shown = unit_or_none(gauge.unit, kind) if gauge is not None and gauge.unit else None
    return shown or unit_or_none(characteristic.unit, kind) or base_unit(kind)


def _quantity(text: str, kind: Kind, unit: Unit, decimal_mark: DecimalMark) -> Quantity:
    try:
        return parse_quantity(
            text, kind, default_unit=unit, decimal_mark=decimal_mark, allow_negative=kind is Kind.TEMPERATURE
        )
    except UnitsError as error:
        raise ReadingNotUnderstood(error) from error


def _plausible_or_note(
    characteristic: Characteristic, reading: Quantity, decimal_mark: DecimalMark, *, confirmed: bool, note: str
) -> str:
    """The note that goes with a reading. Raises DidYouMean for one outside the plausible band, unless confirmed."""
    band = plausible_band_of(characteristic)
    plausible = check_plausible(reading, band) if band is not None else None
    if band is None or plausible is None or plausible.is_plausible:
        return note
    if not confirmed:
        raise DidYouMean(
            plausible.suggestions,
            decimal_mark=decimal_mark,
            reading=reading.canonical.replace(".", decimal_mark),
            low=format_quantity(band.lower, decimal_mark=decimal_mark),
            high=format_quantity(band.upper, decimal_mark=decimal_mark),
            subject=characteristic,
        )
    return _("Outside the plausible band; confirmed.") + (f" {note}" if note else "")


# ---- why it came out so ---------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Why:
    """Behind a verdict: figures and the standards' words, ready to be shown."""

    margin: str  # "0.38 mm to spare"
    margin_other: str  # the same in the other system, or ""
    doubt: str  # expanded uncertainty, k = 2, or ""
    acceptance: str  # the limits that certainly conform, in the reading's unit
    zone: str
    probability: str  # of conforming, or "" where nothing is known of the doubt
    rule: str


ZONE_WORDS = {
    Zone.CONFORMING: _lazy("conforming"),
    Zone.NONCONFORMING: _lazy("nonconforming"),
    Zone.INDETERMINATE: _lazy("indeterminate"),
}


def _size(base: Fraction, unit: Unit) -> Quantity:
    """A difference in the base unit, as a difference in `unit` (a temperature's zero does not count)."""
    return make_quantity(base / unit.factor, unit)


def _difference_words(size: Fraction, unit: Unit, decimal_mark: DecimalMark, places: int) -> str:
    quantity = _size(abs(size), unit)
    return format_quantity(quantity, places=max(unit.places, places), decimal_mark=decimal_mark)


def margin_words(
    found: Assessment, reading: Quantity, *, decimal_mark: DecimalMark = ".", unit: Unit | None = None
) -> str:
    """How far from the limit: "0.38 mm to spare", "0.24 mm above the limit", "exactly on the limit"."""
    if found.margin == 0:
        return _("exactly on the limit")
    shown = unit or reading.unit
    size = _difference_words(found.margin, shown, decimal_mark, 0 if unit else reading.places)
    if found.margin > 0:
        return _("{size} to spare").format(size=size)
    if found.nearest is Side.LOWER:
        return _("{size} below the limit").format(size=size)
    return _("{size} above the limit").format(size=size)


def doubt_quantity(variance: Fraction, unit: Unit) -> Quantity | None:
    """Expanded uncertainty, k = 2, in a unit, rounded up to two digits; None when nothing is known."""
    if not variance:
        return None
    return make_quantity(expanded_uncertainty(variance / unit.factor**2), unit)


def explain(found: Assessment, reading: Quantity, *, decimal_mark: DecimalMark = ".") -> Why:
    """Everything behind a verdict on a reading."""
    unit = reading.unit
    other = as_unit(unit.counterpart, unit.kind) if unit.counterpart else None
    doubt = doubt_quantity(found.measurement.variance, unit)
    ends = [
        (words, value)
        for words, value in (
            (_("from {limit}"), found.acceptance_lower),
            (_("up to {limit}"), found.acceptance_upper),
        )
        if value is not None
    ]
    acceptance = " ".join(
        words.format(
            limit=format_quantity(make_quantity((value - unit.offset) / unit.factor, unit), decimal_mark=decimal_mark)
        )
        for words, value in ends
    )
    probability = ""
    if found.measurement.variance:
        probability = f"{conformance_probability(found.measurement, found.limits):.1%}".replace(".", decimal_mark)
    rules = {
        "simple_acceptance": _("simple acceptance: the reading decides, on the limit passes"),
        "benefit_of_doubt": _("benefit of the doubt: what the gauge cannot decide passes"),
        "certain_pass": _("certain pass: what the gauge cannot decide does not pass"),
    }
    return Why(
        margin=margin_words(found, reading, decimal_mark=decimal_mark),
        margin_other=margin_words(found, reading, decimal_mark=decimal_mark, unit=other)
        if other and found.margin
        else "",
        doubt=format_quantity(doubt, decimal_mark=decimal_mark) if doubt else "",
        acceptance=acceptance,
        zone=str(ZONE_WORDS[found.zone]),
        probability=probability,
        rule=rules[found.rule.style.value],
    )


def advice_words(found: Assessment, reading: Quantity, *, decimal_mark: DecimalMark = ".") -> str:
    """What to do about a reading that is too close to its limit; "" when it is not."""
    doubt = doubt_quantity(found.measurement.variance, reading.unit)
    if not found.too_close or doubt is None:
        return ""
    if found.margin == 0:
        where = _("Exactly on the limit")
    else:
        size = _difference_words(found.margin, reading.unit, decimal_mark, reading.places)
        is_above = (found.nearest is Side.LOWER) == (found.margin > 0)
        words = _("{size} above the limit") if is_above else _("{size} below the limit")
        where = words.format(size=size)
    return _("{where}; this gauge is sure to {doubt}. Use a finer gauge, or measure again.").format(
        where=where, doubt=format_quantity(doubt, decimal_mark=decimal_mark)
    )


def assessment_of(finding: Finding, clause: Clause) -> tuple[Assessment, Quantity] | None:
    """The stored reading judged again by its stored doubt, or None where nothing was measured. No query."""
    limits = limits_of(clause)
    if not finding.reading or limits is None:
        return None
    reading = parse_quantity(finding.reading, limits.kind, default_unit=None, allow_negative=True)
    variance = read_exact(finding.variance) if finding.variance else Fraction(0)
    measurement = Measurement(kind=limits.kind, value=reading.base, variance=variance)
    return assess(measurement, limits, decision_rule_of(clause)), reading


def state_of_finding(finding: Finding | None, clause: Clause) -> str:
    """pass, fail, too_close, not_checked or judge_decides: the mark on the card."""
    if finding is None:
        return "judge_decides" if clause.comparator == Comparator.JUDGE_DECIDES else "not_checked"
    return "too_close" if finding.is_too_close else finding.outcome


def answer_text(finding: Finding, *, decimal_mark: DecimalMark = ".") -> str:
    """What was found, for people: the number as typed without its unit, or the word."""
    if not finding.reading:
        return str(ANSWER_WORDS.get(finding.answer, finding.answer))
    number = finding.reading.removesuffix(finding.unit).strip() if finding.unit else finding.reading
    return number.replace(".", decimal_mark)


def other_system(reading: Quantity, *, decimal_mark: DecimalMark = ".") -> str:
    """A reading in the other system of measures: "0.763 in"; "" for a kind that has one system."""
    if not reading.unit.counterpart:
        return ""
    return format_quantity(reading, unit=reading.unit.counterpart, decimal_mark=decimal_mark)


def differs(declared: str, finding: Finding, clause: Clause) -> bool:
    """Was something else found than was declared? A reading differs by more than its expanded uncertainty (k = 2).

    By squares, so that the doubt needs no root. A word differs without regard to case and blanks. No query.
    """
    kind = quantity_kind_of(clause.characteristic) if clause.characteristic else None
    if kind is None or not finding.reading:
        return not finding.reading and normalize_choice(declared) != normalize_choice(finding.answer)
    said = read_stored(declared.replace(",", "."), kind, clause.characteristic.unit)
    if said is None or said.kind is not kind:
        return False
    found = parse_quantity(finding.reading, kind, default_unit=None, allow_negative=True)
    variance = read_exact(finding.variance) if finding.variance else Fraction(0)
    return (found.base - said.base) ** 2 > 4 * variance
