"""What holds of every reading: zones are monotone, doubt only makes unsure, units do not matter."""

from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from inspection.conformity.assess import BENEFIT_OF_DOUBT, CERTAIN_PASS, SIMPLE_ACCEPTANCE, Zone
from inspection.conformity.observations import Reading, make_reading, measured
from inspection.conformity.parse import parse_clause
from inspection.conformity.results import ClauseResult
from inspection.conformity.sheet import Sheet, judge_sheet
from inspection.conformity.subjects import CharacteristicKind, Subject
from inspection.conformity.uncertainty import GaugeSpec
from inspection.conformity.verdicts import Outcome
from inspection.units import Kind, as_unit, parse_quantity

PASS, FAIL = Outcome.PASS, Outcome.FAIL
CALIPER = GaugeSpec(kind=Kind.LENGTH, resolution=Fraction("0.01"), max_permissible_error=Fraction("0.02"))
REGISTER = {
    code: Subject(code=code, name=code, kind=CharacteristicKind.LENGTH, unit=as_unit("mm", Kind.LENGTH))
    for code in ("width", "rear-width")
}


def judged(rule, found, decision) -> ClauseResult:
    clause = parse_clause({"number": "1", "text": "As said.", "characteristic": "width", **rule}, REGISTER)
    (result,) = judge_sheet(Sheet(clauses=(clause,), register=REGISTER, decision=decision), found)
    return result


SIZES = st.fractions(min_value=0, max_value=100, max_denominator=1000)
VARIANCES = st.fractions(min_value=0, max_value=1, max_denominator=1000)
DECISIONS = st.sampled_from([SIMPLE_ACCEPTANCE, BENEFIT_OF_DOUBT, CERTAIN_PASS])
ORDER = {Zone.NONCONFORMING: 0, Zone.INDETERMINATE: 1, Zone.CONFORMING: 2}
KINDS = st.sampled_from(
    [
        ({"comparator": "at_most", "upper": "50 mm"}, -1),
        ({"comparator": "at_least", "lower": "50 mm"}, 1),
        ({"comparator": "at_most", "other": "rear-width", "factor": "1/2", "offset": "1 mm"}, -1),
        ({"comparator": "at_least", "other": "rear-width", "factor": "2", "offset": "-1 in"}, 1),
    ]
)


def width_judged(rule, size, other, variance, decision, scale=Fraction(1)):
    found = {
        code: measured(Reading(kind=Kind.LENGTH, value=value * scale, variance=variance * scale**2))
        for code, value in (("width", size), ("rear-width", other))
    }
    return judged(rule, found, decision)


@settings(max_examples=150, deadline=None)
@given(KINDS, SIZES, SIZES, SIZES, VARIANCES, DECISIONS)
def test_zones_of_a_one_sided_clause_are_monotone_in_the_reading(kind, one, two, other, variance, decision):
    rule, better = kind
    low, high = sorted((one, two))
    zones = [ORDER[width_judged(rule, size, other, variance, decision).zone] for size in (low, high)]
    assert (zones[1] - zones[0]) * better >= 0


@settings(max_examples=150, deadline=None)
@given(KINDS, SIZES, SIZES, VARIANCES, VARIANCES, DECISIONS)
def test_greater_uncertainty_moves_a_result_only_towards_indeterminate(kind, size, other, one, two, decision):
    rule, _ = kind
    small, large = sorted((one, two))
    sure, unsure = (width_judged(rule, size, other, variance, decision).zone for variance in (small, large))
    assert unsure is sure or unsure is Zone.INDETERMINATE


@settings(max_examples=150, deadline=None)
@given(KINDS, SIZES, SIZES, VARIANCES, DECISIONS)
def test_zones_partition_the_line(kind, size, other, variance, decision):
    """A reading lies in one zone, and people read what the zone says."""
    result = width_judged(kind[0], size, other, variance, decision)
    assert result.outcome is {
        Zone.CONFORMING: PASS, Zone.NONCONFORMING: FAIL, Zone.INDETERMINATE: Outcome.TOO_CLOSE,
    }[result.zone]  # fmt: skip
    margin, doubt = result.assessment.margin, decision.guard_factor**2 * result.assessment.measurement.variance
    is_sure = margin**2 > doubt or (margin >= 0 and margin**2 == doubt)
    expected = Zone.INDETERMINATE if not is_sure else Zone.CONFORMING if margin >= 0 else Zone.NONCONFORMING
    assert result.zone is expected


@settings(max_examples=150, deadline=None)
@given(
    st.integers(0, 4000),
    st.sampled_from(["at_most", "at_least", "equal_within", "between"]),
    st.sampled_from(["mm", "in", "thou", "cm"]),
    st.sampled_from(["mm", "in", "thou", "cm"]),
    DECISIONS,
)
def test_a_change_of_unit_never_changes_a_result(thousandths, comparator, written, typed, decision):
    """Limits and reading written out in other units, exactly; 2 in is the limit or an end of it."""

    def size(thou: int, unit: str) -> str:
        exact = parse_quantity(f"{thou} thou", Kind.LENGTH, default_unit=None).to(unit)
        return exact.canonical

    limits = {
        "at_most": {"upper": 2000}, "at_least": {"lower": 2000}, "between": {"lower": 1900, "upper": 2000},
        "equal_within": {"nominal": 2000, "tolerance": 10},
    }[comparator]  # fmt: skip

    def outcome(limit_unit: str, reading_unit: str) -> tuple[Outcome, bool, bool, Fraction]:
        rule = {name: size(value, limit_unit) for name, value in limits.items()}
        reading = parse_quantity(size(thousandths, reading_unit), Kind.LENGTH, default_unit=None)
        found = {"width": measured(make_reading(reading, CALIPER))}
        result = judged({"comparator": comparator, **rule}, found, decision)
        return result.outcome, result.clears, result.too_close, result.assessment.margin

    assert outcome(written, typed) == outcome("thou", "thou")
