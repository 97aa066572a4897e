"""What is known of a club's gauges in use: the checks before the cars, and the calibration sheet."""

import datetime as dt
from dataclasses import dataclass
from fractions import Fraction

from django.db.models import OuterRef, Subquery
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from inspection.conformity.uncertainty import GaugeSpec, expanded_uncertainty
from inspection.gauges.selectors import calibration_state, gauge_spec, gauges_in_use, gauges_of, shown_text
from inspection.models import Club, Gauge, GaugeCheck, GaugeStudy, User
from inspection.studies.selectors import quantity_of, unit_shown
from inspection.studyoutcomes.selectors import exact_words, expanded
from inspection.units import Quantity, Unit, make_quantity

# Checks at the start of a night. It may begin just after midnight, and run on past the next.
GOT_READY = dt.timedelta(hours=1)
PAST_MIDNIGHT = dt.timedelta(hours=6)


def last_check_of(gauge: Gauge) -> GaugeCheck | None:
    """The latest check of a gauge, which knows the size of the check piece. One query."""
    return gauge.checks.select_related("by").first()


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckRow:
    """A check as the club writes numbers."""

    at: dt.datetime
    nominal_shown: str
    reading_shown: str
    is_within: bool
    note: str
    by: User | None


def check_rows(gauge: Gauge, most: int) -> list[CheckRow]:
    """The latest checks of a gauge, the newest first. One query."""
    mark = gauge.club.decimal_mark
    return [
        CheckRow(
            at=check.at,
            nominal_shown=shown_text(check.nominal, decimal_mark=mark),
            reading_shown=shown_text(check.reading, decimal_mark=mark),
            is_within=check.is_within,
            note=check.note,
            by=check.by,
        )
        for check in gauge.checks.select_related("by")[:most]
    ]


def gauge_facts(gauge: Gauge, state: str) -> list[tuple[str, str]]:
    """What is kept of a gauge, as (what, text); what is not known is left out. No query."""
    mark = gauge.club.decimal_mark
    due = date_format(gauge.calibration_due, "j F Y") if gauge.calibration_due else ""
    words = {
        "none": _("no date kept"),
        "valid": due,
        "soon": _("{day}: soon").format(day=due),
        "overdue": _("{day}: overdue").format(day=due),
    }
    facts = [
        (_("Kind"), gauge.get_kind_display()),
        (_("Smallest step"), shown_text(gauge.resolution, decimal_mark=mark)),
        (_("Largest error"), shown_text(gauge.max_permissible_error, decimal_mark=mark)),
        (_("One inspector, by study"), shown_text(gauge.repeatability, decimal_mark=mark)),
        (_("Between inspectors, by study"), shown_text(gauge.reproducibility, decimal_mark=mark)),
        (_("Bias, by study"), shown_text(gauge.bias, decimal_mark=mark)),
        (_("Calibrated on"), date_format(gauge.calibrated_on, "j F Y") if gauge.calibrated_on else ""),
        (_("Calibration due"), words[state]),
        (_("Note"), gauge.note),
    ]
    return [(what, text) for what, text in facts if text]


def is_within(gauge: Gauge, nominal: Quantity, reading: Quantity) -> bool | None:
    """Is a reading of a check piece within the gauge's permissible error? Decided exactly; on it is within.

    None where the gauge states no error.
    """
    error = quantity_of(gauge.max_permissible_error, gauge)  # a difference: the zero of its unit does not matter
    return None if error is None else abs(reading.base - nominal.base) <= error.magnitude * error.unit.factor


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugeTonight:
    """A gauge that can be checked, its latest check of the day, if any, and whether its calibration is overdue."""

    gauge: Gauge
    check: GaugeCheck | None
    is_overdue: bool


def checks_tonight(club: Club, date: dt.date) -> list[GaugeTonight]:
    """The gauges in use that give a reading and have a permissible error, with their last check of that day. 2 queries.

    A night may run past midnight, and one that begins just after it is got ready before: the day has these hours too.
    Those not yet checked come first, then those that read wrong, then the rest by name.
    """
    gauges = [gauge for gauge in gauges_in_use(club) if quantity_of(gauge.max_permissible_error, gauge) is not None]
    latest: dict[int, GaugeCheck] = {}
    midnight = timezone.make_aware(dt.datetime.combine(date, dt.time.min))
    hours = (midnight - GOT_READY, midnight + dt.timedelta(days=1) + PAST_MIDNIGHT)
    for check in GaugeCheck.objects.of(club).filter(at__gte=hours[0], at__lt=hours[1]).order_by("at", "pk"):
        latest[check.gauge_id] = check
    tonight = [
        GaugeTonight(gauge=gauge, check=latest.get(gauge.pk), is_overdue=calibration_state(gauge, date) == "overdue")
        for gauge in gauges
    ]
    return sorted(tonight, key=lambda each: (each.check is not None, bool(each.check and each.check.is_within)))


# The calibration sheet.


def standard(spec: GaugeSpec, unit: Unit) -> Quantity:
    """u of a gauge in a unit, to two digits, rounded up."""
    return make_quantity(expanded_uncertainty(spec.variance / unit.factor**2, Fraction(1)), unit)


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetRow:
    """A gauge on the calibration sheet; what is not known is empty."""

    gauge: Gauge
    step: str
    error: str
    u: str
    expanded: str
    repeatability: str
    reproducibility: str
    bias: str
    state: str
    study: GaugeStudy | None
    check: GaugeCheck | None
    nominal: str
    reading: str


def calibration_sheet(club: Club, on: dt.date) -> list[SheetRow]:
    """Every gauge of a club with what is known of it, those in use first. 3 queries."""
    mark = club.decimal_mark
    newest_check = GaugeCheck.objects.filter(gauge=OuterRef("pk")).order_by("-at", "-pk").values("pk")[:1]
    newest_study = GaugeStudy.objects.filter(gauge=OuterRef("pk"), adopted_at__isnull=False)
    gauges = list(
        gauges_of(club).annotate(
            check_pk=Subquery(newest_check), study_pk=Subquery(newest_study.order_by("-adopted_at").values("pk")[:1])
        )
    )
    checks = GaugeCheck.objects.in_bulk([gauge.check_pk for gauge in gauges if gauge.check_pk])
    studies = GaugeStudy.objects.in_bulk([gauge.study_pk for gauge in gauges if gauge.study_pk])
    rows = []
    for gauge in gauges:
        spec, unit, check = gauge_spec(gauge), unit_shown(gauge), checks.get(gauge.check_pk)
        rows.append(
            SheetRow(
                gauge=gauge,
                step=shown_text(gauge.resolution, decimal_mark=mark),
                error=shown_text(gauge.max_permissible_error, decimal_mark=mark),
                u=exact_words(standard(spec, unit), mark) if spec else "",
                expanded=exact_words(expanded(spec, unit), mark) if spec else "",
                repeatability=shown_text(gauge.repeatability, decimal_mark=mark),
                reproducibility=shown_text(gauge.reproducibility, decimal_mark=mark),
                bias=shown_text(gauge.bias, decimal_mark=mark),
                state=calibration_state(gauge, on),
                study=studies.get(gauge.study_pk),
                check=check,
                nominal=shown_text(check.nominal, decimal_mark=mark) if check else "",
                reading=shown_text(check.reading, decimal_mark=mark) if check else "",
            )
        )
    return rows
