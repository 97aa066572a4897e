"""Zones, margins and what clears, at, about and far from the limits, in exact arithmetic."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspection.conformity.assess import (
    BENEFIT_OF_DOUBT,
    CERTAIN_PASS,
    SIMPLE_ACCEPTANCE,
    Assessment,
    DecisionRule,
    Limits,
    Measurement,
    Reason,
    RuleStyle,
    Side,
    Zone,
    assess,
    make_limits,
    make_measurement,
)
from inspection.conformity.errors import ConformityCode, ConformityError
from inspection.conformity.uncertainty import GaugeSpec
from inspection.units import Kind, Quantity, accepted_units, make_quantity, parse_quantity, unit_of
from tests.benchmarks.verdicts import disagreements

RULES = [SIMPLE_ACCEPTANCE, BENEFIT_OF_DOUBT, CERTAIN_PASS]
CALIPER = GaugeSpec(kind=Kind.LENGTH, resolution=Fraction(1, 100), max_permissible_error=Fraction(2, 100))

numbers = st.fractions(min_value=-1000, max_value=1000, max_denominator=10000)
variances = st.one_of(st.just(Fraction(0)), st.fractions(min_value=0, max_value=100, max_denominator=10000))
rules = st.sampled_from(RULES)


def length(text: str) -> Quantity:
    return parse_quantity(text, Kind.LENGTH, default_unit="mm")


def limits_of(lower: str | None = None, upper: str | None = None) -> Limits:
    return make_limits(lower=length(lower) if lower else None, upper=length(upper) if upper else None)


def measured(value: Fraction | str, variance: Fraction | str = "0") -> Measurement:
    return Measurement(kind=Kind.LENGTH, value=Fraction(value), variance=Fraction(variance))


@st.composite
def any_limits(draw: st.DrawFn) -> Limits:
    ends = sorted([draw(numbers), draw(numbers)])
    which = draw(st.sampled_from(["lower", "upper", "both"]))
    return Limits(
        kind=Kind.LENGTH,
        lower=None if which == "upper" else ends[0],
        upper=None if which == "lower" else ends[1],
    )


def zone_of_one_side(inside: Fraction, guard_squared: Fraction) -> Zone:
    """The zones by their definition, written apart from the engine: y against T - w and T + w."""
    if inside >= 0 and inside**2 >= guard_squared:
        return Zone.CONFORMING
    if inside < 0 and inside**2 > guard_squared:
        return Zone.NONCONFORMING
    return Zone.INDETERMINATE


class TestSimpleAcceptance:
    @pytest.mark.parametrize(
        ("limits", "value", "zone"),
        [
            (limits_of(upper="65"), "65", Zone.CONFORMING),
            (limits_of(upper="65"), "65.0000000001", Zone.NONCONFORMING),
            (limits_of(upper="65"), "64.9999999999", Zone.CONFORMING),
            (limits_of(lower="1"), "1", Zone.CONFORMING),
            (limits_of(lower="1"), "0.9999999999", Zone.NONCONFORMING),
            (limits_of("15.8", "16.5"), "15.8", Zone.CONFORMING),
            (limits_of("15.8", "16.5"), "16.5", Zone.CONFORMING),
            (limits_of("15.8", "16.5"), "16.51", Zone.NONCONFORMING),
            (limits_of("16", "16"), "16", Zone.CONFORMING),
            (limits_of("16", "16"), "16.01", Zone.NONCONFORMING),
        ],
    )
    def test_exactly_on_the_limit_passes_and_any_excess_fails(self, limits, value, zone):
        for variance in ("0", "0.0001"):
            assessment = assess(measured(value, variance), limits)
            assert assessment.zone is zone
            assert assessment.clears is (zone is Zone.CONFORMING)

    def test_a_car_of_82_53_mm_passes_the_inch_rule_and_fails_its_metric_rounding(self):
        """Printed 3.25 in = "82.5 mm" (common practice of the trade, no source); exactly 82.55 mm."""
        assert assess(measured("82.53"), limits_of(upper="3.25 in")).clears
        assert not assess(measured("82.53"), limits_of(upper="82.5 mm")).clears

    def test_an_inch_limit_passes_its_own_fraction(self):
        assert assess(make_measurement(length("9/16 in")), limits_of(upper="0.5625 in")).margin == 0

    def test_close_to_the_limit_is_said_beside_the_result(self):
        """u2 of the caliper is 17/120000: U = 2u = 0.0238 mm."""
        limits = limits_of(upper="65")
        for reading, too_close, clears in [
            ("64.97", False, True),
            ("64.98", True, True),
            ("65.00", True, True),
            ("65.02", True, False),
            ("65.03", False, False),
        ]:
            assessment = assess(make_measurement(length(reading), CALIPER), limits)
            assert (assessment.too_close, assessment.clears) == (too_close, clears)
            assert (Reason.WITHIN_DOUBT in assessment.reasons) is too_close

    def test_exactly_the_expanded_uncertainty_away_is_still_too_close(self):
        assert assess(measured("63", "1"), limits_of(upper="65")).too_close
        assert not assess(measured("62.9999", "1"), limits_of(upper="65")).too_close
        assert assess(measured("67", "1"), limits_of(upper="65")).too_close

    def test_nothing_is_too_close_where_nothing_is_known_of_the_doubt(self):
        assessment = assess(measured("65"), limits_of(upper="65"))
        assert not assessment.too_close
        assert assessment.reasons == (Reason.ON_THE_LIMIT, Reason.DOUBT_UNKNOWN)

    def test_a_count_has_no_doubt(self):
        four = parse_quantity("4", Kind.COUNT, default_unit=None)
        assessment = assess(make_measurement(four), make_limits(lower=four, upper=four))
        assert assessment.reasons == (Reason.ON_THE_LIMIT,)

    @given(numbers, any_limits(), variances)
    def test_the_doubt_never_changes_the_decision(self, value, limits, variance):
        assessment = assess(measured(value, variance), limits)
        inside = (limits.lower is None or value >= limits.lower) and (limits.upper is None or value <= limits.upper)
        assert assessment.zone is (Zone.CONFORMING if inside else Zone.NONCONFORMING)
        assert assessment.clears is inside


class TestGuardBands:
    @pytest.mark.parametrize(
        ("value", "zone"),
        [
            ("8.35", Zone.CONFORMING),
            ("8.3500001", Zone.INDETERMINATE),
            ("10", Zone.INDETERMINATE),
            ("11.65", Zone.INDETERMINATE),
            ("11.6500001", Zone.NONCONFORMING),
        ],
    )
    def test_a_maximum_conforms_at_its_acceptance_limit_and_fails_beyond_the_other(self, value, zone):
        """y <= T - w conforms, y > T + w does not; T = 10, u = 1, w = 1.65."""
        for rule in (BENEFIT_OF_DOUBT, CERTAIN_PASS):
            assert assess(measured(value, "1"), limits_of(upper="10"), rule).zone is zone

    @pytest.mark.parametrize(
        ("value", "zone"),
        [
            ("11.65", Zone.CONFORMING),
            ("11.6499999", Zone.INDETERMINATE),
            ("8.35", Zone.INDETERMINATE),
            ("8.3499999", Zone.NONCONFORMING),
        ],
    )
    def test_a_minimum_is_the_mirror_image(self, value, zone):
        assert assess(measured(value, "1"), limits_of(lower="10"), CERTAIN_PASS).zone is zone

    def test_a_band_needs_both_limits_and_fails_by_either(self):
        limits = limits_of("10", "20")
        for value, zone in [
            ("8.34", Zone.NONCONFORMING),
            ("10", Zone.INDETERMINATE),
            ("11.65", Zone.CONFORMING),
            ("18.35", Zone.CONFORMING),
            ("18.36", Zone.INDETERMINATE),
            ("21.66", Zone.NONCONFORMING),
        ]:
            assert assess(measured(value, "1"), limits, CERTAIN_PASS).zone is zone

    def test_a_band_narrower_than_twice_the_guard_band_passes_nothing(self):
        limits = limits_of("10", "13.2")
        zones = {assess(measured(Fraction(n, 100), "1"), limits, CERTAIN_PASS).zone for n in range(800, 1600)}
        assert zones == {Zone.INDETERMINATE, Zone.NONCONFORMING}

    def test_a_root_that_is_not_a_fraction_decides_exactly(self):
        """u2 = 2, g = 1: the acceptance limit 10 - sqrt 2 lies between these two fractions of its expansion."""
        rule = DecisionRule(RuleStyle.CERTAIN_PASS, Fraction(1))
        below, above = Fraction(1607521, 1136689), Fraction(3880899, 2744210)
        assert below**2 < 2 < above**2
        assert assess(measured(10 - below, "2"), limits_of(upper="10"), rule).zone is Zone.INDETERMINATE
        assert assess(measured(10 - above, "2"), limits_of(upper="10"), rule).zone is Zone.CONFORMING

    def test_what_is_indeterminate_clears_by_the_rule_alone(self):
        doubtful, limits = measured("10.1", "1"), limits_of(upper="10")
        for rule, clears, reason in [
            (BENEFIT_OF_DOUBT, True, Reason.DOUBT_CLEARS),
            (CERTAIN_PASS, False, Reason.DOUBT_DOES_NOT_CLEAR),
        ]:
            assessment = assess(doubtful, limits, rule)
            assert (assessment.zone, assessment.clears) == (Zone.INDETERMINATE, clears)
            assert assessment.too_close
            assert assessment.reasons == (Reason.ABOVE_UPPER, Reason.WITHIN_GUARD_BAND, reason)

    @pytest.mark.parametrize(
        ("style", "guard", "coverage"),
        [
            (RuleStyle.SIMPLE_ACCEPTANCE, 1, 2),
            (RuleStyle.CERTAIN_PASS, -1, 2),
            (RuleStyle.BENEFIT_OF_DOUBT, 1, -2),
        ],
    )
    def test_a_rule_that_means_nothing_is_refused(self, style, guard, coverage):
        with pytest.raises(ConformityError) as refused:
            DecisionRule(style, Fraction(guard), Fraction(coverage))
        assert refused.value.code is ConformityCode.BAD_RULE

    def test_acceptance_limits_are_shown_and_never_too_generous(self):
        assessment = assess(measured("8", "2"), limits_of("1", "10"), CERTAIN_PASS)
        assert assessment.guard_band == Fraction("2.33346")  # 1.65 * sqrt 2 = 2.333452...
        assert assessment.acceptance_lower == Fraction("3.33346")
        assert assessment.acceptance_upper == Fraction("7.66654")
        simple = assess(measured("8", "2"), limits_of(upper="10"))
        assert (simple.guard_band, simple.acceptance_lower, simple.acceptance_upper) == (0, None, 10)
        assert assess(measured("8"), limits_of(lower="10"), CERTAIN_PASS).acceptance_lower == 10

    @given(numbers, any_limits(), variances, st.fractions(min_value=0, max_value=4, max_denominator=100))
    def test_every_value_lies_in_the_zone_of_its_definition(self, value, limits, variance, factor):
        rule = DecisionRule(RuleStyle.CERTAIN_PASS, factor)
        zone = assess(measured(value, variance), limits, rule).zone
        sides = []
        if limits.lower is not None:
            sides.append(zone_of_one_side(value - limits.lower, factor**2 * variance))
        if limits.upper is not None:
            sides.append(zone_of_one_side(limits.upper - value, factor**2 * variance))
        if Zone.NONCONFORMING in sides:
            assert zone is Zone.NONCONFORMING
        elif Zone.INDETERMINATE in sides:
            assert zone is Zone.INDETERMINATE
        else:
            assert zone is Zone.CONFORMING


class TestProperties:
    @given(numbers, any_limits(), variances, rules, st.data())
    def test_a_change_of_unit_never_changes_a_result(self, value, limits, variance, rule, data):
        """The same reading, limits and gauge written in two units each come to the same assessment."""
        units = st.sampled_from(accepted_units(Kind.LENGTH))
        millimeter = unit_of("mm", Kind.LENGTH)

        def rewritten(base: Fraction | None) -> Quantity | None:
            return None if base is None else make_quantity(base, millimeter).to(data.draw(units))

        again = make_limits(lower=rewritten(limits.lower), upper=rewritten(limits.upper))
        reading = rewritten(value)
        moved = Measurement(kind=Kind.LENGTH, value=reading.base, variance=variance)
        assert outcome(assess(moved, again, rule)) == outcome(assess(measured(value, variance), limits, rule))

    @given(numbers, any_limits(), variances, rules, st.fractions(min_value=Fraction(1, 1000), max_value=1000))
    def test_a_change_of_scale_never_changes_a_result(self, value, limits, variance, rule, scale):
        scaled = Limits(
            kind=Kind.LENGTH,
            lower=None if limits.lower is None else limits.lower * scale,
            upper=None if limits.upper is None else limits.upper * scale,
        )
        one = assess(measured(value, variance), limits, rule)
        other = assess(measured(value * scale, variance * scale**2), scaled, rule)
        assert other.margin == one.margin * scale
        assert outcome(other)[1:] == outcome(one)[1:]

    @given(numbers, numbers, numbers, variances, rules, st.sampled_from(["lower", "upper"]))
    def test_zones_are_monotone_in_the_reading(self, limit, one, other, variance, rule, side):
        limits = Limits(kind=Kind.LENGTH, **{side: limit})
        better, worse = sorted([one, other], reverse=side == "lower")
        order = [Zone.CONFORMING, Zone.INDETERMINATE, Zone.NONCONFORMING]
        assert order.index(assess(measured(better, variance), limits, rule).zone) <= order.index(
            assess(measured(worse, variance), limits, rule).zone
        )

    @given(numbers, any_limits(), variances, variances, rules)
    def test_greater_uncertainty_moves_a_result_only_towards_indeterminate(self, value, limits, one, other, rule):
        less, more = sorted([one, other])
        sure = assess(measured(value, less), limits, rule)
        unsure = assess(measured(value, more), limits, rule)
        assert unsure.zone in {sure.zone, Zone.INDETERMINATE}
        if sure.too_close:
            assert unsure.too_close

    @given(numbers, any_limits(), variances, rules)
    def test_the_margin_is_the_distance_to_the_nearest_limit(self, value, limits, variance, rule):
        assessment = assess(measured(value, variance), limits, rule)
        ends = {side: end for side, end in [(Side.LOWER, limits.lower), (Side.UPPER, limits.upper)] if end is not None}
        assert abs(assessment.margin) == min(abs(value - end) for end in ends.values())
        assert abs(value - ends[assessment.nearest]) == abs(assessment.margin)
        inside = all(value >= end if side is Side.LOWER else value <= end for side, end in ends.items())
        assert (assessment.margin >= 0) is inside

    @given(numbers, any_limits(), variances, rules)
    def test_a_certain_pass_passes_by_every_rule_and_a_fail_fails_by_every_rule(self, value, limits, variance, rule):
        certain = assess(measured(value, variance), limits, CERTAIN_PASS)
        generous = assess(measured(value, variance), limits, BENEFIT_OF_DOUBT)
        between = assess(measured(value, variance), limits, rule)
        assert certain.clears <= between.clears <= generous.clears

    @given(numbers, any_limits(), variances, rules)
    def test_the_first_reason_says_where_the_reading_lies(self, value, limits, variance, rule):
        assessment = assess(measured(value, variance), limits, rule)
        above, below = (
            limits.upper is not None and value > limits.upper,
            limits.lower is not None and value < limits.lower,
        )
        on_a_limit = value in {limits.lower, limits.upper}
        expected = (
            Reason.ABOVE_UPPER if above
            else Reason.BELOW_LOWER if below
            else Reason.ON_THE_LIMIT if on_a_limit
            else Reason.WITHIN_LIMITS
        )  # fmt: skip
        assert assessment.reasons[0] is expected


def test_midway_the_lower_limit_is_called_the_nearest():
    assert assess(measured("15"), limits_of("10", "20")).nearest is Side.LOWER
    assert assess(measured("15.0001"), limits_of("10", "20")).nearest is Side.UPPER


def outcome(assessment: Assessment) -> tuple:
    return (
        assessment.margin,
        assessment.zone,
        assessment.clears,
        assessment.too_close,
        assessment.nearest,
        assessment.reasons,
    )


class TestRefusals:
    def test_a_length_is_not_compared_with_a_mass(self):
        mass = make_limits(upper=parse_quantity("100 g", Kind.MASS, default_unit=None))
        with pytest.raises(ConformityError) as refused:
            assess(measured("65"), mass)
        assert refused.value.code is ConformityCode.WRONG_KIND
        assert str(refused.value) == "A length cannot be compared with a mass."

    def test_a_scale_does_not_measure_a_length(self):
        scale = GaugeSpec(kind=Kind.MASS, resolution=Fraction(1), max_permissible_error=Fraction(1))
        with pytest.raises(ConformityError) as refused:
            make_measurement(length("65"), scale)
        assert refused.value.code is ConformityCode.WRONG_KIND

    def test_limits_of_two_kinds_are_refused(self):
        with pytest.raises(ConformityError) as refused:
            make_limits(lower=length("1"), upper=parse_quantity("1 g", Kind.MASS, default_unit=None))
        assert refused.value.code is ConformityCode.WRONG_KIND

    def test_limits_need_a_limit_in_the_right_order(self):
        for options, code in [
            ({}, ConformityCode.NO_LIMIT),
            ({"lower": length("2"), "upper": length("1")}, ConformityCode.LOWER_ABOVE_UPPER),
        ]:
            with pytest.raises(ConformityError) as refused:
                make_limits(**options)
            assert refused.value.code is code
        with pytest.raises(ConformityError):
            Limits(kind=Kind.LENGTH)

    def test_a_variance_is_not_below_zero(self):
        with pytest.raises(ConformityError) as refused:
            measured("1", "-1")
        assert refused.value.code is ConformityCode.NEGATIVE_UNCERTAINTY

    def test_limits_keep_how_they_were_written(self):
        limits = limits_of("9/16 in", "63,4 mm")
        assert (limits.lower_written.canonical, limits.upper_written.canonical) == ("9/16 in", "63.4 mm")
        assert limits.lower == Fraction(Decimal("14.2875"))


def test_the_engine_agrees_with_plain_fractions_in_everything():
    """A sample of what the benchmark tries a million times: random readings, on a limit, on a guard band's edge."""
    assert list(disagreements(3000, seed=7)) == []
