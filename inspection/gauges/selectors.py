"""What a club measures, and with what: the register of characteristics, and how far each gauge can be trusted.

Stored quantities are canonical text: decimal point, unit written, fractions kept ("63.40 mm", "2 1/16 in"). They are
read exactly, whatever decimal mark a club types and sees.
"""

import datetime as dt
import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

from django.db import models
from django.db.models import F, QuerySet
from django.utils.translation import gettext

from inspection.conformity.clauses import CharacteristicKind, PlausibleBand
from inspection.conformity.errors import ConformityError
from inspection.conformity.uncertainty import GaugeSpec, describe_gauge, expanded_uncertainty
from inspection.models import Characteristic, Club, Gauge, LogEntry
from inspection.units import (
    MESSAGES,
    DecimalMark,
    Kind,
    Quantity,
    Unit,
    UnitsError,
    as_unit,
    format_quantity,
    make_quantity,
    parse_quantity,
)

DATA = Path(__file__).parent / "data"

# The register.


@cache
def built_in_register() -> dict[str, list[dict[str, Any]]]:
    """The characteristics and gauges that every club starts with: {"gauges": [...], "characteristics": [...]}."""
    return json.loads((DATA / "register.json").read_text(encoding="utf-8"))


@dataclass(frozen=True, slots=True, kw_only=True)
class CharacteristicContent:
    """What the register says of a characteristic. unit: a symbol of `inspection.units`, or ""."""

    name: str
    kind: CharacteristicKind
    unit: str = ""
    measuring_point: str = ""
    group: str = Characteristic.Group.OTHER
    plausible_low: Quantity | None = None
    plausible_high: Quantity | None = None
    on_build_sheet: bool = False
    default_gauge: Gauge | None = None
    counts_with: str = ""
    drawing: str = ""
    derivation: Mapping[str, Any] = field(default_factory=dict)


def kind_of(characteristic: Characteristic) -> CharacteristicKind:
    """What the value of a characteristic is; text where the stored word is not known."""
    try:
        return CharacteristicKind(characteristic.kind)
    except ValueError:
        return CharacteristicKind.TEXT


def quantity_kind_of(characteristic: Characteristic) -> Kind | None:
    """The kind of quantity, or None for a choice, a yes or no, and a text."""
    return kind_of(characteristic).quantity_kind


def units_words(error: UnitsError) -> str:
    """What is wrong with a typed quantity, in the language of the page."""
    return gettext(MESSAGES[error.code]) % error.params


def read_typed(
    text: str, *, kind: Kind | None, unit: str = "", decimal_mark: DecimalMark = ".", allow_negative: bool = False
) -> Quantity:
    """A quantity as typed. kind None: nothing says yet what is measured, so the unit typed must tell.

    unit: the one meant when none is typed. Raises UnitsError.
    """
    if kind is not None:
        default = as_unit(unit, kind) if unit else None
        return parse_quantity(
            text, kind, default_unit=default, decimal_mark=decimal_mark, allow_negative=allow_negative
        )
    refusal: UnitsError | None = None
    for guess in Kind:
        if guess in {Kind.RATIO, Kind.COUNT}:
            continue
        try:
            return parse_quantity(
                text, guess, default_unit=None, decimal_mark=decimal_mark, allow_negative=allow_negative
            )
        except UnitsError as error:
            refusal = refusal or error
    try:  # a bare number, or a percentage
        return parse_quantity(text, Kind.RATIO, default_unit=None, decimal_mark=decimal_mark)
    except UnitsError as error:
        raise (refusal or error) from error


@lru_cache(maxsize=8192)
def read_stored(text: str, kind: Kind | None, unit: str) -> Quantity | None:
    """A stored quantity. One that is not of the kind comes back as what it is, so that it can be shown as a problem.

    None when there is no text, or none that can be read.
    """
    if not text.strip():
        return None
    for guess in (kind, None) if kind is not None else (None,):
        try:
            return read_typed(text, kind=guess, unit=unit if guess else "", allow_negative=True)
        except UnitsError:
            continue
    return None


def plausible_band_of(characteristic: Characteristic) -> PlausibleBand | None:
    """The range in which a reading can sensibly lie, or None when the register does not say."""
    kind = quantity_kind_of(characteristic)
    lower, upper = (
        read_stored(text, kind, characteristic.unit)
        for text in (characteristic.plausible_low, characteristic.plausible_high)
    )
    if kind is None or lower is None or upper is None or {lower.kind, upper.kind} != {kind}:
        return None
    return PlausibleBand(lower=lower, upper=upper)


def unit_or_none(symbol: str, kind: Kind) -> Unit | None:
    """A unit of the kind by its symbol, or None when the kind has none such."""
    try:
        return as_unit(symbol, kind)
    except UnitsError:
        return None


def characteristics_of(club: Club) -> QuerySet[Characteristic]:
    """A club's register in measuring order, with the default gauges. One query when read."""
    return Characteristic.objects.of(club).select_related("default_gauge").order_by("position", "name")


# Gauges.


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugeContent:
    """What is known of a gauge. resolution, max_permissible_error: of the kind it measures, None when not stated."""

    name: str
    kind: str
    measures: Kind
    unit: str = ""
    resolution: Quantity | None = None
    max_permissible_error: Quantity | None = None
    calibrated_on: dt.date | None = None
    calibration_due: dt.date | None = None
    note: str = ""


def gauges_of(club: Club) -> QuerySet[Gauge]:
    """All gauges of a club by name, those in use first. One query when read."""
    return Gauge.objects.of(club).order_by(F("retired_at").asc(nulls_first=True), "name")


def gauges_in_use(club: Club, *, measures: str | None = None) -> QuerySet[Gauge]:
    """The gauges that are not retired, by name; measures: only those for one kind of quantity."""
    found = Gauge.objects.of(club).filter(retired_at__isnull=True)
    return found.filter(measures=measures) if measures else found


_SAID_OF = {
    Gauge: (
        *("name", "kind", "measures", "unit", "resolution", "max_permissible_error"),
        *("calibrated_on", "calibration_due", "note"),
    ),
    Characteristic: (
        *("name", "kind", "unit", "measuring_point", "group", "plausible_low", "plausible_high"),
        *("on_build_sheet", "default_gauge_id", "counts_with", "drawing", "derivation"),
    ),
}


def version_of(row: Gauge | Characteristic) -> str:
    """A short mark of what a form shows of a row, by which it knows that somebody else has saved meanwhile."""
    said = [str(getattr(row, name)) for name in _SAID_OF[type(row)]]
    return hashlib.sha256(json.dumps(said).encode()).hexdigest()[:16]


def can_measure(gauge: Gauge, kind: Kind) -> bool:
    """Is the gauge for this kind of quantity? A scale reads magnetic pull too: both are grams."""
    return gauge.measures == kind or (gauge.measures == Kind.MASS and kind is Kind.MAGNETIC_PULL)


def gauge_spec(gauge: Gauge, *, kind: Kind | None = None) -> GaugeSpec | None:
    """The gauge as the engine reads it, with what studies have found, for readings of a kind (by default its own).

    None when it only goes or does not go, when resolution or error is not stated, and for another kind.
    """
    own = _gauge_kind(gauge)
    if own is None or gauge.kind != Gauge.Kind.READING or (kind is not None and not can_measure(gauge, kind)):
        return None
    names = ("resolution", "max_permissible_error", "repeatability", "bias", "reproducibility")
    known = {name: read_stored(getattr(gauge, name), own, gauge.unit) for name in names}
    if known["resolution"] is None or known["max_permissible_error"] is None:
        return None
    try:
        spec = describe_gauge(**known)
    except ConformityError:
        return None
    # Mass and magnetic pull have the same base unit, so the figures stand as they are.
    return replace(spec, kind=kind or spec.kind)


def _gauge_kind(gauge: Gauge) -> Kind | None:
    try:
        return Kind(gauge.measures)
    except ValueError:
        return None


def doubt_of(gauge: Gauge) -> Quantity | None:
    """Expanded uncertainty (k = 2) of one reading in the unit the gauge shows, rounded up to two digits."""
    spec = gauge_spec(gauge)
    if spec is None:
        return None
    unit = unit_or_none(gauge.unit, spec.kind) or unit_or_none(gauge.resolution.rpartition(" ")[2], spec.kind)
    if unit is None:
        return None
    doubt = expanded_uncertainty(spec.variance / unit.factor**2)
    return make_quantity(Fraction(doubt), unit)


def doubt_words(gauge: Gauge, *, decimal_mark: DecimalMark = ".") -> str:
    """How far a reading can be trusted: "sure to 0.036 mm"."""
    if gauge.kind == Gauge.Kind.GO_NO_GO:
        return gettext("goes or does not go")
    doubt = doubt_of(gauge)
    if doubt is None:
        return gettext("doubt not known")
    return gettext("sure to %(doubt)s") % {"doubt": _two_digits(doubt, decimal_mark)}


def _two_digits(doubt: Quantity, decimal_mark: DecimalMark) -> str:
    """All the digits of a rounded doubt, and none that only look exact."""
    places = 0
    while (doubt.magnitude * 10**places).denominator != 1:
        places += 1
    return format_quantity(doubt, places=places, decimal_mark=decimal_mark)


def last_editor_of(club: Club, row: models.Model) -> str:
    """Who last changed a row, by the club's log; "Somebody" when it does not say. One query."""
    entry = (
        LogEntry.objects.of(club)
        .filter(subject_type=type(row).__name__, subject_id=str(getattr(row, "public_id", row.pk)))
        .select_related("by")
        .first()
    )
    return str(entry.by) if entry and entry.by else gettext("Somebody")


def shown_text(text: str, *, decimal_mark: DecimalMark = ".") -> str:
    """A stored quantity as this club writes numbers, with the decimals it was stored with."""
    return text.replace(".", decimal_mark)


SOON = dt.timedelta(days=30)


def calibration_state(gauge: Gauge, on: dt.date) -> str:
    """ "none" when no date is kept, else "valid", "soon" (due within 30 days) or "overdue"."""
    if gauge.calibration_due is None:
        return "none"
    if gauge.calibration_due < on:
        return "overdue"
    return "soon" if gauge.calibration_due - on <= SOON else "valid"


def gauges_to_calibrate(gauges: Iterable[Gauge], on: dt.date) -> list[Gauge]:
    """Those in use whose calibration is overdue or due within 30 days, the most pressing first. No query."""
    pressing = [one for one in gauges if not one.retired_at and calibration_state(one, on) in {"soon", "overdue"}]
    return sorted(pressing, key=lambda one: (one.calibration_due, one.name))
