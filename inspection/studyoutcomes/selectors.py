"""What a finished study has found: in figures, in plain words, and as what its gauge would take over."""

from dataclasses import dataclass
from fractions import Fraction
from math import inf

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from inspection.conformity.uncertainty import GaugeSpec, expanded_uncertainty, root_rounded_up
from inspection.gauges.selectors import gauge_spec
from inspection.gaugestudy.bias import BiasResult, bias_against
from inspection.gaugestudy.crossed import CrossedReadings, CrossedResult, arrange, by_anova, by_average_and_range
from inspection.models import Gauge, GaugeStudy
from inspection.studies.selectors import Progress, quantity_of, unit_shown
from inspection.units import DecimalMark, Quantity, Unit, format_decimal, format_quantity, make_quantity

# What of a gauge follows from studies, and what its doubt follows from besides.
FED_BY_STUDIES = ("repeatability", "reproducibility", "bias")
_SPEC = ("kind", "measures", "unit", "resolution", "max_permissible_error")


@dataclass(frozen=True, slots=True, kw_only=True)
class CrossedOutcome:
    """A finished crossed study, in the unit of the gauge. tolerance: its width in that unit.

    given: what it would put into the gauge, by field. doubt: the expanded uncertainty of a reading with that.
    """

    readings: CrossedReadings
    unit: Unit
    anova: CrossedResult
    ranges: CrossedResult
    tolerance: Fraction | None
    given: dict[str, str]
    doubt: Quantity | None


@dataclass(frozen=True, slots=True, kw_only=True)
class BiasOutcome:
    """A finished bias study, in the unit of the gauge."""

    readings: tuple[Fraction, ...]
    reference: Fraction
    unit: Unit
    result: BiasResult
    given: dict[str, str]
    doubt: Quantity | None


def outcome_of(progress: Progress) -> CrossedOutcome | BiasOutcome | None:
    """What a study has found; None while readings are missing. No query."""
    study = progress.study
    if not progress.is_complete:
        return None
    unit = unit_shown(study.gauge)
    values = {
        place: quantity.to(unit).magnitude
        for place, row in progress.readings.items()
        if (quantity := quantity_of(row.reading, study.gauge)) is not None
    }
    if len(values) != progress.total:  # the gauge measures something else since: what was read means nothing now
        return None
    if study.kind == GaugeStudy.Kind.BIAS:
        return _bias_outcome(study, unit, tuple(values[place] for place in progress.order))
    readings = arrange(values, parts=len(study.parts), inspectors=len(study.inspectors), trials=study.trials)
    anova = by_anova(readings)
    given = {
        "repeatability": _rounded_up(anova.repeatability, unit).canonical,
        "reproducibility": _rounded_up(anova.reproducibility, unit).canonical,
    }
    width = quantity_of(study.tolerance, study.gauge)
    return CrossedOutcome(
        readings=readings,
        unit=unit,
        anova=anova,
        ranges=by_average_and_range(readings),
        tolerance=width.to(unit).magnitude if width else None,
        given=given,
        doubt=_doubt_with(study.gauge, given),
    )


def _bias_outcome(study: GaugeStudy, unit: Unit, values: tuple[Fraction, ...]) -> BiasOutcome | None:
    reference = quantity_of(study.reference, study.gauge)
    if reference is None:
        return None
    size = reference.to(unit).magnitude
    result = bias_against(values, size)
    found = _rounded_up(result.bias**2, unit)
    given = {"bias": make_quantity(-found.magnitude if result.bias < 0 else found.magnitude, unit).canonical}
    return BiasOutcome(
        readings=values,
        reference=size,
        unit=unit,
        result=result,
        given=given,
        doubt=_doubt_with(study.gauge, given),
    )


def _rounded_up(square: Fraction, unit: Unit) -> Quantity:
    """The root of an exact square to three digits, rounded up, so that the gauge never claims more than was found."""
    digits, exponent = root_rounded_up(square, digits=3)
    return make_quantity(digits * Fraction(10) ** exponent, unit)


def _doubt_with(gauge: Gauge, given: dict[str, str]) -> Quantity | None:
    """The expanded uncertainty of one reading, were this put into the gauge."""
    known = {name: getattr(gauge, name) for name in (*_SPEC, *FED_BY_STUDIES)}
    spec = gauge_spec(Gauge(**known | given))
    return None if spec is None else expanded(spec, unit_shown(gauge))


def expanded(spec: GaugeSpec, unit: Unit) -> Quantity:
    """U = 2 u of a gauge in a unit, to two digits, rounded up."""
    return make_quantity(expanded_uncertainty(spec.variance / unit.factor**2), unit)


# In words and figures.


def exact_words(quantity: Quantity, decimal_mark: DecimalMark) -> str:
    """A rounded figure with all of its digits and none more."""
    places = 0
    while (quantity.magnitude * 10**places).denominator != 1:
        places += 1
    return format_quantity(quantity, places=places, decimal_mark=decimal_mark)


@dataclass(frozen=True, slots=True, kw_only=True)
class SpreadRow:
    """One line of a crossed study, as text: standard deviations by both methods, shares in percent by variance.

    short: the manual's letters. bar: the share of the spread, 0 to 100, to draw it.
    """

    key: str
    words: str
    short: str
    sd: str
    sd_by_ranges: str
    of_study: str
    of_study_by_ranges: str
    of_variance: str
    of_tolerance: str
    bar: float


def spread_rows(outcome: CrossedOutcome, *, decimal_mark: DecimalMark) -> list[SpreadRow]:
    """Where the spread comes from: one inspector, between inspectors, the gauge in all, the parts, everything."""
    anova, ranges, width = outcome.anova, outcome.ranges, outcome.tolerance
    places = max(outcome.unit.places, 2) + 2

    def sd(variance: Fraction) -> str:
        digits, exponent = root_rounded_up(variance, digits=8)
        return format_decimal(digits * Fraction(10) ** exponent, places=places, decimal_mark=decimal_mark)

    def percent(share: float | None) -> str:
        return "" if share is None else format_decimal(Fraction(share), places=1, decimal_mark=decimal_mark)

    def row(key: str, short: str, words: str) -> SpreadRow:
        variance, by_ranges = getattr(anova, key), getattr(ranges, key)
        of_study = anova.percent_of_study(variance)
        return SpreadRow(
            key=key,
            words=words,
            short=short,
            sd=sd(variance),
            sd_by_ranges=sd(by_ranges),
            of_study=percent(of_study),
            of_study_by_ranges=percent(ranges.percent_of_study(by_ranges)),
            of_variance=percent(anova.percent_contribution(variance)),
            of_tolerance=percent(anova.percent_of_tolerance(variance, width) if width else None),
            bar=round(of_study or 0, 1),
        )

    return [
        row("repeatability", "EV", _("One inspector on one part")),
        row("reproducibility", "AV", _("Between inspectors")),
        row("gauge", "GRR", _("The gauge in all")),
        row("part", "PV", _("Between the parts")),
        row("total", "TV", _("Everything")),
    ]


def anova_rows(outcome: CrossedOutcome, *, decimal_mark: DecimalMark) -> list[tuple[str, ...]]:
    """The table of the analysis of variance as text: source, degrees, sum of squares, mean square, F, p."""
    words = {
        "part": _("parts"),
        "inspector": _("inspectors"),
        "interaction": _("parts by inspectors"),
        "repeatability": _("repeatability"),
        "total": _("total"),
    }
    places = 2 * max(outcome.unit.places, 2) + 2

    def text(value: Fraction | float | None, digits: int) -> str:
        if value is None or value == inf:
            return "" if value is None else "∞"
        return format_decimal(Fraction(value), places=digits, decimal_mark=decimal_mark)

    return [
        (
            words[row.name],
            str(row.degrees),
            text(row.squares, places),
            text(None if row.name == "total" else row.mean_square, places),
            text(row.f, 2),
            text(row.p, 4),
        )
        for row in outcome.anova.table
    ]


def crossed_words(outcome: CrossedOutcome, gauge: Gauge, *, decimal_mark: DecimalMark) -> list[str]:
    """The outcome in plain sentences, the one that matters at the table first."""
    found = _decides(gauge, outcome.doubt, decimal_mark)
    percent = outcome.anova.percent_of_study(outcome.anova.gauge)
    if percent is None:
        return [*found, _("Every reading was the same: the gauge and these parts show no spread at all.")]
    found.append(
        _("{percent} % of the spread seen is the gauge, the rest is the parts.").format(
            percent=format_decimal(Fraction(percent), places=0, decimal_mark=decimal_mark)
        )
    )
    count = outcome.anova.distinct_categories
    if count is None:
        found.append(_("It read the same each time: nothing says how many sizes it could tell apart."))
    else:
        words = ngettext(
            "It tells {count} size apart among these parts.",
            "It tells {count} sizes apart among these parts.",
            count,
        )
        found.append(words.format(count=count))
    if outcome.tolerance:
        share = outcome.anova.percent_of_tolerance(outcome.anova.gauge, outcome.tolerance)
        found.append(
            _("Six of its standard deviations take {percent} % of a tolerance {width} wide: {verdict}.").format(
                percent=format_decimal(Fraction(share), places=0, decimal_mark=decimal_mark),
                width=format_quantity(make_quantity(outcome.tolerance, outcome.unit), decimal_mark=decimal_mark),
                verdict=_grade(share),
            )
        )
    return found


def _grade(percent: float) -> str:
    """The usual three steps of a share of the tolerance (AIAG MSA 4th ed., chapter II section D)."""
    if percent < 10:
        return _("good")
    return _("may do") if percent <= 30 else _("not fit for it")


def bias_words(outcome: BiasOutcome, gauge: Gauge, *, decimal_mark: DecimalMark) -> list[str]:
    """The outcome in plain sentences."""
    off = quantity_of(outcome.given["bias"], gauge)
    found = _decides(gauge, outcome.doubt, decimal_mark)
    if off is None or not off.magnitude:
        return [*found, _("On average it reads the check block's own size.")]
    size = exact_words(make_quantity(abs(off.magnitude), off.unit), decimal_mark)
    words = _("On average it reads {size} high.") if off.magnitude > 0 else _("On average it reads {size} low.")
    found.append(words.format(size=size))
    found.append(
        _("That is more than chance: put it right, or live with the wider doubt.")
        if outcome.result.is_found
        else _("Chance alone could do that: these readings do not tell it from none.")
    )
    return found


def _decides(gauge: Gauge, doubt: Quantity | None, decimal_mark: DecimalMark) -> list[str]:
    if doubt is None:
        return [_("Enter its smallest step and largest error to see which limits it can decide.")]
    words = _("{gauge}, as you use it, can decide limits to {doubt}.")
    return [words.format(gauge=gauge.name, doubt=exact_words(doubt, decimal_mark))]


def bias_figures(outcome: BiasOutcome, *, decimal_mark: DecimalMark) -> list[tuple[str, str]]:
    """The figures of a bias study as (what, text)."""
    result, unit = outcome.result, outcome.unit
    places = unit.places + 2

    def figure(value: Fraction) -> str:
        return f"{format_decimal(value, places=places, decimal_mark=decimal_mark)} {unit.symbol}".strip()

    digits, exponent = root_rounded_up(result.variance, digits=8)
    low, high = figure(Fraction(result.low)), figure(Fraction(result.high))
    return [
        (_("True size"), format_quantity(make_quantity(outcome.reference, unit), decimal_mark=decimal_mark)),
        (_("Mean of {count} readings").format(count=result.readings), figure(result.mean)),
        (_("Bias"), figure(result.bias)),
        (
            _("95 % interval"),
            _("{low} to {high}").format(low=low, high=high),
        ),
        (_("Standard deviation"), figure(digits * Fraction(10) ** exponent)),
        (_("Student's t"), f"{result.t:.2f}".replace(".", decimal_mark)),
    ]
