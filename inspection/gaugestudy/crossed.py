"""The crossed study: every inspector measures every part several times over.

By average-and-range and by analysis of variance, as AIAG Measurement Systems Analysis, 4th ed. 2010, chapter III
section B works them (the worked figures read second-hand; they are the tests). Words: repeatability is the spread of
one inspector on one part (EV), reproducibility that between inspectors (AV), and both together are the gauge (GRR);
PV is the spread between the parts, TV all of it.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from math import inf, isqrt, sqrt
from typing import Final

from inspection.gaugestudy.distributions import f_above
from inspection.gaugestudy.errors import StudyCode, StudyError
from inspection.gaugestudy.order import Place
from inspection.gaugestudy.ranges import inspector_factor, part_factor, trial_factor

ALPHA: Final = 0.05  # an interaction whose F is likelier than this by chance is pooled with repeatability
_CATEGORIES: Final = Fraction("1.41")  # the manual's figure for the square root of 2


@dataclass(frozen=True, slots=True)
class CrossedReadings:
    """All readings of a complete study, [inspector][part][trial], in one unit.

    Raises StudyError too_few_inspectors, too_few_parts, too_few_trials, missing_readings.
    """

    values: tuple[tuple[tuple[Fraction, ...], ...], ...]

    def __post_init__(self) -> None:
        if not self.values:
            raise StudyError(StudyCode.TOO_FEW_INSPECTORS)
        parts = max(len(by_part) for by_part in self.values)
        if parts < 2:
            raise StudyError(StudyCode.TOO_FEW_PARTS)
        trials = max(len(cell) for by_part in self.values for cell in by_part)
        if trials < 2:
            raise StudyError(StudyCode.TOO_FEW_TRIALS)
        wanted = len(self.values) * parts * trials
        found = sum(len(cell) for by_part in self.values for cell in by_part)
        if found != wanted:
            raise StudyError(StudyCode.MISSING_READINGS, missing=str(wanted - found), wanted=str(wanted))

    @property
    def inspectors(self) -> int:
        return len(self.values)

    @property
    def parts(self) -> int:
        return len(self.values[0])

    @property
    def trials(self) -> int:
        return len(self.values[0][0])

    def of_part(self, part: int) -> list[Fraction]:
        """Every reading of one part."""
        return [value for by_part in self.values for value in by_part[part]]

    def of_inspector(self, inspector: int) -> list[Fraction]:
        """Every reading of one inspector."""
        return [value for cell in self.values[inspector] for value in cell]


def arrange(readings: Mapping[Place, Fraction], *, parts: int, inspectors: int, trials: int) -> CrossedReadings:
    """The readings of a study by place; places outside it are left out.

    Raises StudyError missing_readings (how many), too_few_inspectors, too_few_parts, too_few_trials.
    """
    places = [[[Place(i, p, t) for t in range(trials)] for p in range(parts)] for i in range(inspectors)]
    missing = sum(place not in readings for by_part in places for cell in by_part for place in cell)
    if missing:
        wanted = parts * inspectors * trials
        raise StudyError(StudyCode.MISSING_READINGS, missing=str(missing), wanted=str(wanted))
    return CrossedReadings(
        tuple(tuple(tuple(readings[place] for place in cell) for cell in by_part) for by_part in places)
    )


class Method(StrEnum):
    AVERAGE_AND_RANGE = "average_and_range"
    ANOVA = "anova"


@dataclass(frozen=True, slots=True, kw_only=True)
class CrossedResult:
    """Variances, in the unit of the readings squared, each 0 or more.

    interaction: how differently the inspectors read different parts; part of reproducibility; 0 where it was pooled
    and by average-and-range, which cannot see it. is_pooled: by ANOVA, whether the interaction was pooled.
    """

    method: Method
    repeatability: Fraction
    inspector: Fraction
    interaction: Fraction
    part: Fraction
    is_pooled: bool = False
    table: "tuple[AnovaRow, ...]" = ()

    @property
    def reproducibility(self) -> Fraction:
        return self.inspector + self.interaction

    @property
    def gauge(self) -> Fraction:
        """GRR: repeatability and reproducibility together."""
        return self.repeatability + self.reproducibility

    @property
    def total(self) -> Fraction:
        return self.gauge + self.part

    @property
    def distinct_categories(self) -> int | None:
        """ndc: how many sizes the gauge tells apart among these parts, 1.41 PV / GRR cut to a whole number, 1 at least.

        None without any spread of the gauge: nothing says where its telling apart would end.
        """
        if not self.gauge:
            return None
        return max(isqrt(int(_CATEGORIES**2 * self.part / self.gauge)), 1)

    def percent_of_study(self, variance: Fraction) -> float | None:
        """100 times the standard deviation over that of all the spread; None when there is no spread."""
        return 100 * sqrt(variance / self.total) if self.total else None

    def percent_contribution(self, variance: Fraction) -> float | None:
        """100 times the variance over that of all the spread; None when there is no spread."""
        return float(100 * variance / self.total) if self.total else None

    @staticmethod
    def percent_of_tolerance(variance: Fraction, tolerance: Fraction) -> float:
        """100 times six standard deviations over the width of a tolerance. Raises StudyError bad_tolerance."""
        if tolerance <= 0:
            raise StudyError(StudyCode.BAD_TOLERANCE)
        return 600 * sqrt(variance / tolerance**2)


@dataclass(frozen=True, slots=True, kw_only=True)
class RangeFigures:
    """What the average-and-range method stands on, as a sheet worked by hand shows it."""

    inspector_means: tuple[Fraction, ...]
    inspector_ranges: tuple[Fraction, ...]
    part_means: tuple[Fraction, ...]
    mean_range: Fraction
    inspector_difference: Fraction
    part_range: Fraction


def range_figures(readings: CrossedReadings) -> RangeFigures:
    """The means and ranges of a study."""
    means = tuple(_mean(readings.of_inspector(i)) for i in range(readings.inspectors))
    ranges = tuple(_mean([_range(cell) for cell in by_part]) for by_part in readings.values)
    parts = tuple(_mean(readings.of_part(p)) for p in range(readings.parts))
    return RangeFigures(
        inspector_means=means,
        inspector_ranges=ranges,
        part_means=parts,
        mean_range=_mean(ranges),
        inspector_difference=_range(means),
        part_range=_range(parts),
    )


def by_average_and_range(readings: CrossedReadings) -> CrossedResult:
    """EV = R K1; AV^2 = (Xdiff K2)^2 - EV^2 / (parts trials), 0 where that is below 0; PV = Rp K3."""
    figures = range_figures(readings)
    k1 = trial_factor(readings.trials, readings.parts * readings.inspectors)
    repeatability = (figures.mean_range * k1) ** 2
    between = (figures.inspector_difference * inspector_factor(readings.inspectors)) ** 2
    return CrossedResult(
        method=Method.AVERAGE_AND_RANGE,
        repeatability=repeatability,
        inspector=max(between - repeatability / (readings.parts * readings.trials), Fraction(0)),
        interaction=Fraction(0),
        part=(figures.part_range * part_factor(readings.parts)) ** 2,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class AnovaRow:
    """One row of the table. name: part, inspector, interaction, repeatability or total. squares: sum of squares.

    f, p: of the mean square against repeatability; None for repeatability, the total, and without degrees of freedom.
    """

    name: str
    degrees: int
    squares: Fraction
    f: float | None = None
    p: float | None = None

    @property
    def mean_square(self) -> Fraction | None:
        return self.squares / self.degrees if self.degrees else None


def anova_table(readings: CrossedReadings) -> tuple[AnovaRow, ...]:
    """The table of a crossed study with two random factors: part, inspector, interaction, repeatability, total."""
    n, k, r = readings.parts, readings.inspectors, readings.trials
    parts = [_mean(readings.of_part(p)) for p in range(n)]
    inspectors = [_mean(readings.of_inspector(i)) for i in range(k)]
    everything = _mean(inspectors)
    of_parts = k * r * sum(((mean - everything) ** 2 for mean in parts), Fraction(0))
    of_inspectors = n * r * sum(((mean - everything) ** 2 for mean in inspectors), Fraction(0))
    of_cells = of_repeats = Fraction(0)
    for by_part in readings.values:
        for cell in by_part:
            mean = _mean(cell)
            of_cells += r * (mean - everything) ** 2
            of_repeats += sum(((value - mean) ** 2 for value in cell), Fraction(0))
    repeats = AnovaRow(name="repeatability", degrees=n * k * (r - 1), squares=of_repeats)
    return (
        _against(repeats, "part", n - 1, of_parts),
        _against(repeats, "inspector", k - 1, of_inspectors),
        _against(repeats, "interaction", (n - 1) * (k - 1), of_cells - of_parts - of_inspectors),
        repeats,
        AnovaRow(name="total", degrees=n * k * r - 1, squares=of_cells + of_repeats),
    )


def _against(repeats: AnovaRow, name: str, degrees: int, squares: Fraction) -> AnovaRow:
    if not degrees:
        return AnovaRow(name=name, degrees=0, squares=squares)
    f = _ratio(squares / degrees, repeats.squares / repeats.degrees)
    return AnovaRow(name=name, degrees=degrees, squares=squares, f=f, p=f_above(f, degrees, repeats.degrees))


def _ratio(square: Fraction, within: Fraction) -> float:
    """F; without any spread within, infinite, and 0 where there is none at all."""
    if within:
        return float(square / within)
    return inf if square else 0.0


def by_anova(readings: CrossedReadings, *, alpha: float = ALPHA, pool: bool | None = None) -> CrossedResult:
    """Variance components from the mean squares; what comes out below 0 is 0.

    The interaction is pooled with repeatability unless its F is rarer than alpha by chance; pool says otherwise.
    """
    n, k, r = readings.parts, readings.inspectors, readings.trials
    table = anova_table(readings)
    part, inspector, interaction, repeats, _total = table
    pooled = pool if pool is not None else (interaction.p is None or interaction.p > alpha)
    if pooled or not interaction.degrees:
        within = (interaction.squares + repeats.squares) / (interaction.degrees + repeats.degrees)
        between, crossing = within, Fraction(0)
    else:
        within = repeats.squares / repeats.degrees
        between = interaction.squares / interaction.degrees
        crossing = _not_below_0((between - within) / r)
    return CrossedResult(
        method=Method.ANOVA,
        repeatability=within,
        interaction=crossing,
        inspector=_component(inspector, between, n * r),
        part=_component(part, between, k * r),
        is_pooled=pooled,
        table=table,
    )


def _component(row: AnovaRow, against: Fraction, times: int) -> Fraction:
    mean_square = row.mean_square
    return Fraction(0) if mean_square is None else _not_below_0((mean_square - against) / times)


def _not_below_0(value: Fraction) -> Fraction:
    return max(value, Fraction(0))


def _mean(values: Sequence[Fraction]) -> Fraction:
    return sum(values, Fraction(0)) / len(values)


def _range(values: Iterable[Fraction]) -> Fraction:
    found = list(values)
    return max(found) - min(found)
