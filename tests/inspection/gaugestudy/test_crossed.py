"""The crossed study: the manual's figures by both methods, and what no change of names or units may change."""

from fractions import Fraction
from itertools import permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspection.gaugestudy.crossed import (
    CrossedReadings,
    Method,
    anova_table,
    arrange,
    by_anova,
    by_average_and_range,
    range_figures,
)
from inspection.gaugestudy.errors import StudyCode, StudyError
from inspection.gaugestudy.order import Place
from tests.inspection.gaugestudy import aiag

# AIAG MSA 4th ed., Figures III-B 15 to 18 and Table III-B 7; read second-hand (checks G01 to G02c).


def sd(variance):
    return float(variance) ** 0.5


@pytest.fixture(scope="module")
def ranges():
    return by_average_and_range(aiag.crossed())


@pytest.fixture(scope="module")
def pooled():
    return by_anova(aiag.crossed())


def test_average_and_range_gives_the_manuals_figures(ranges):
    figures = range_figures(aiag.crossed())
    assert f"{float(figures.mean_range):.4f}" == "0.3417"
    assert f"{float(figures.inspector_difference):.4f}" == "0.4447"
    assert f"{float(figures.part_range):.3f}" == "3.511"
    assert f"{sd(ranges.repeatability):.4f}" == "0.2019"
    assert f"{sd(ranges.reproducibility):.4f}" == "0.2297"
    assert f"{sd(ranges.gauge):.4f}" == "0.3058"
    assert f"{sd(ranges.part):.4f}" == "1.1046"
    assert f"{sd(ranges.total):.4f}" == "1.1461"
    assert f"{ranges.percent_of_study(ranges.repeatability):.2f}" == "17.61"
    assert f"{ranges.percent_of_study(ranges.reproducibility):.2f}" == "20.04"
    assert f"{ranges.percent_of_study(ranges.gauge):.2f}" == "26.68"
    # the manual cuts 96.376 to 96.37
    assert ranges.percent_of_study(ranges.part) == pytest.approx(96.376, abs=0.0005)


def test_the_means_and_ranges_of_each_inspector_are_the_manuals():
    figures = range_figures(aiag.crossed())
    # from memory (check G01b)
    assert [f"{float(each):.3f}" for each in figures.inspector_ranges] == ["0.184", "0.513", "0.328"]
    assert [f"{float(each):.4f}" for each in figures.inspector_means] == ["0.1903", "0.0683", "-0.2543"]


def test_the_analysis_of_variance_gives_the_manuals_table():
    part, inspector, interaction, repeats, total = anova_table(aiag.crossed())
    assert [row.degrees for row in (part, inspector, interaction, repeats, total)] == [9, 2, 18, 60, 89]
    assert f"{float(part.squares):.3f} {float(part.mean_square):.3f}" == "88.362 9.818"
    assert f"{float(inspector.squares):.3f} {float(inspector.mean_square):.3f}" == "3.167 1.584"
    assert f"{float(interaction.squares):.3f} {float(interaction.mean_square):.5f}" == "0.359 0.01994"
    assert f"{float(repeats.squares):.3f} {float(repeats.mean_square):.5f}" == "2.759 0.04598"
    assert f"{float(total.squares):.3f}" == "94.647"
    # F and p recomputed, not printed
    assert interaction.f == pytest.approx(0.43372, abs=5e-6)
    assert interaction.p == pytest.approx(0.97411, abs=5e-6)


def test_the_pooled_components_are_the_manuals(pooled):
    assert pooled.is_pooled
    assert f"{float(pooled.repeatability):.4f}" == "0.0400"
    assert f"{float(pooled.reproducibility):.4f}" == "0.0515"
    assert f"{float(pooled.gauge):.4f}" == "0.0914"
    assert f"{float(pooled.part):.3f}" == "1.086"
    assert float(pooled.total) == pytest.approx(0.0914 + 1.086, abs=0.0006)
    assert pooled.percent_of_study(pooled.gauge) == pytest.approx(27.861, abs=0.0005)
    assert pooled.percent_contribution(pooled.gauge) == pytest.approx(7.762, abs=0.0005)


def test_not_pooled_a_component_below_0_is_0():
    # derived, no publication claims it (check G02c)
    found = by_anova(aiag.crossed(), pool=False)
    assert found.interaction == 0
    assert float(found.repeatability) == pytest.approx(0.0459822, abs=5e-8)
    assert float(found.inspector) == pytest.approx(0.0521229, abs=5e-8)
    assert float(found.gauge) == pytest.approx(0.0981051, abs=5e-8)
    assert float(found.part) == pytest.approx(1.0886721, abs=5e-8)
    assert found.percent_of_study(found.gauge) == pytest.approx(28.7516, abs=5e-5)


def test_the_trap_the_same_data_tell_five_sizes_apart_by_range_and_four_by_variance(ranges, pooled):
    assert (ranges.distinct_categories, pooled.distinct_categories) == (5, 4)
    assert by_anova(aiag.crossed(), pool=False).distinct_categories == 4


def test_an_interaction_that_is_no_chance_is_kept_and_counts_with_the_inspectors():
    # inspector 2 reads part 2 one unit high, every time
    values = tuple(
        tuple(
            tuple(Fraction(part * 10 + (1 if i == part == 1 else 0)) + Fraction(trial, 100) for trial in range(2))
            for part in range(3)
        )
        for i in range(2)
    )
    found = by_anova(CrossedReadings(values))
    assert not found.is_pooled
    assert found.interaction > 0
    assert found.reproducibility == found.inspector + found.interaction


def test_share_of_a_tolerance_is_six_standard_deviations_over_its_width(ranges):
    assert ranges.percent_of_tolerance(Fraction(1, 4), Fraction(6)) == pytest.approx(50)
    for width in (Fraction(0), Fraction(-1)):
        with pytest.raises(StudyError) as refused:
            ranges.percent_of_tolerance(Fraction(1), width)
        assert refused.value.code is StudyCode.BAD_TOLERANCE


@pytest.mark.parametrize("method", [by_average_and_range, by_anova])
def test_without_any_spread_nothing_is_divided_by_0(method):
    found = method(CrossedReadings((((Fraction(1), Fraction(1)),) * 2,) * 2))
    assert found.total == 0
    assert found.distinct_categories is None
    assert found.percent_of_study(found.gauge) is None
    assert found.percent_contribution(found.part) is None


@pytest.mark.parametrize("method", [by_average_and_range, by_anova])
def test_a_perfect_gauge_leaves_all_the_spread_to_the_parts(method):
    found = method(CrossedReadings((((Fraction(1), Fraction(1)), (Fraction(2), Fraction(2))),) * 2))
    assert (found.gauge, found.distinct_categories) == (0, None)
    assert found.percent_of_study(found.part) == 100


def test_a_club_of_one_inspector_studies_too():
    values = ((tuple(map(Fraction, (1, 2))), tuple(map(Fraction, (5, 6))), tuple(map(Fraction, (9, 9)))),)
    for method in (by_average_and_range, by_anova):
        found = method(CrossedReadings(values))
        assert found.reproducibility == 0
        assert found.repeatability > 0
        assert found.part > found.gauge


@pytest.mark.parametrize(
    ("shape", "code"),
    [
        ((), StudyCode.TOO_FEW_INSPECTORS),
        (((),), StudyCode.TOO_FEW_PARTS),
        ((((1, 2),),), StudyCode.TOO_FEW_PARTS),
        ((((1,), (2,)),), StudyCode.TOO_FEW_TRIALS),
        ((((1, 2), (2,)),), StudyCode.MISSING_READINGS),
        ((((1, 2), (2, 3)), ((1, 2),)), StudyCode.MISSING_READINGS),
    ],
)
def test_an_incomplete_study_says_what_it_lacks(shape, code):
    with pytest.raises(StudyError) as refused:
        CrossedReadings(tuple(tuple(tuple(map(Fraction, cell)) for cell in by_part) for by_part in shape))
    assert refused.value.code is code


def test_arranging_says_how_many_readings_are_missing():
    with pytest.raises(StudyError) as refused:
        arrange({Place(0, 0, 0): Fraction(1)}, parts=2, inspectors=2, trials=2)
    assert str(refused.value) == "7 of 8 readings are missing."


# Whatever the readings.

tenths = st.integers(-500, 500).map(lambda n: Fraction(n, 10))


@st.composite
def studies(draw):
    inspectors, parts, trials = draw(st.integers(1, 3)), draw(st.integers(2, 4)), draw(st.integers(2, 3))
    cell = st.lists(tenths, min_size=trials, max_size=trials).map(tuple)
    by_part = st.lists(cell, min_size=parts, max_size=parts).map(tuple)
    return CrossedReadings(tuple(draw(st.lists(by_part, min_size=inspectors, max_size=inspectors))))


def each(readings, change):
    return CrossedReadings(
        tuple(tuple(tuple(change(value) for value in cell) for cell in by_part) for by_part in readings.values)
    )


def variances(result):
    return (result.repeatability, result.inspector, result.interaction, result.part, result.is_pooled)


def both(readings):
    return [variances(method(readings)) for method in (by_average_and_range, by_anova)]


@given(readings=studies(), shift=tenths)
def test_a_shift_of_all_readings_changes_nothing(readings, shift):
    assert both(each(readings, lambda value: value + shift)) == both(readings)


@given(readings=studies(), factor=st.sampled_from([Fraction(254, 10), Fraction(-3), Fraction(1, 7)]))
def test_another_unit_scales_the_variances_by_its_square_exactly(readings, factor):
    for found, plain in zip(both(each(readings, lambda value: value * factor)), both(readings), strict=True):
        assert found[:4] == tuple(factor**2 * each_variance for each_variance in plain[:4])
        assert found[4] == plain[4]


@given(readings=studies(), which=st.randoms(use_true_random=False))
def test_it_does_not_matter_who_or_what_comes_first(readings, which):
    inspectors = which.choice(list(permutations(range(readings.inspectors))))
    parts = which.choice(list(permutations(range(readings.parts))))
    trials = which.choice(list(permutations(range(readings.trials))))
    mixed = CrossedReadings(
        tuple(tuple(tuple(readings.values[i][p][t] for t in trials) for p in parts) for i in inspectors)
    )
    assert both(mixed) == both(readings)


@given(readings=studies())
def test_the_table_adds_up_and_nothing_is_below_0(readings):
    *rows, total = anova_table(readings)
    assert sum(row.squares for row in rows) == total.squares
    assert sum(row.degrees for row in rows) == total.degrees
    for result in (by_anova(readings), by_anova(readings, pool=False), by_average_and_range(readings)):
        assert min(result.repeatability, result.inspector, result.interaction, result.part) >= 0
        assert result.distinct_categories is None or result.distinct_categories >= 1
        if result.total:
            assert result.percent_contribution(result.gauge) + result.percent_contribution(
                result.part
            ) == pytest.approx(100)


def test_a_result_knows_its_method(ranges, pooled):
    assert (ranges.method, pooled.method) == (Method.AVERAGE_AND_RANGE, Method.ANOVA)
