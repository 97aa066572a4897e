"""What a study has found, in figures and in plain words."""

from fractions import Fraction

import pytest

from inspection.studies.selectors import progress_of
from inspection.studyoutcomes import selectors
from inspection.studyoutcomes.pictures import LEFT, WIDTH, bias_picture, readings_picture
from tests import factories
from tests.inspection.studies.measured import manual_bias_study, manual_study, measured

pytestmark = pytest.mark.django_db


@pytest.fixture
def gauge():
    return factories.gauge(factories.club(), name="Caliper")


def outcome(study):
    return selectors.outcome_of(progress_of(study))


def test_the_manuals_study_comes_through_text_to_its_own_figures(gauge):
    found = outcome(manual_study(gauge, tolerance="6 mm"))

    assert (found.anova.distinct_categories, found.ranges.distinct_categories) == (4, 5)
    rows = {row.short: row for row in selectors.spread_rows(found, decimal_mark=".")}
    assert (rows["EV"].sd_by_ranges, rows["AV"].sd_by_ranges, rows["GRR"].sd_by_ranges) == (
        "0.2019", "0.2297", "0.3058",
    )  # fmt: skip
    assert (rows["GRR"].of_study, rows["GRR"].of_variance, rows["TV"].of_study) == ("27.9", "7.8", "100.0")
    assert rows["GRR"].of_tolerance == "30.2"  # 6 * 0.302371 / 6


def test_the_words_begin_with_what_the_gauge_can_decide(gauge):
    found = outcome(manual_study(gauge, tolerance="6 mm"))

    words = selectors.crossed_words(found, gauge, decimal_mark=",")

    # U = 2 sqrt(0.2^2 + 0.227^2 + 0.00030833): 0.6061
    assert words[0] == "Caliper, as you use it, can decide limits to 0,61 mm."
    assert words[1] == "28 % of the spread seen is the gauge, the rest is the parts."
    assert words[2] == "It tells 4 sizes apart among these parts."
    assert words[3] == "Six of its standard deviations take 30 % of a tolerance 6,00 mm wide: not fit for it."


def test_the_table_of_variance_is_the_manuals(gauge):
    rows = selectors.anova_rows(outcome(manual_study(gauge)), decimal_mark=".")

    assert rows[2] == ("parts by inspectors", "18", "0.358982", "0.019943", "0.43", "0.9741")
    assert rows[-1] == ("total", "89", "94.647112", "", "", "")


def test_without_spread_within_f_has_no_end(gauge):
    perfect = outcome(measured(factories.gauge_study(gauge), lambda place: 10 + place.part))

    assert selectors.anova_rows(perfect, decimal_mark=".")[0][-2:] == ("∞", "0.0000")


@pytest.mark.parametrize(("width", "grade"), [("20 mm", "good"), ("9 mm", "may do"), ("1 mm", "not fit for it")])
def test_the_share_of_a_tolerance_has_the_usual_three_steps(gauge, width, grade):
    words = selectors.crossed_words(outcome(manual_study(gauge, tolerance=width)), gauge, decimal_mark=".")

    assert words[-1].endswith(f"{grade}.")


def test_a_bias_that_chance_could_make_is_called_so(gauge):
    found = outcome(manual_bias_study(gauge))

    words = selectors.bias_words(found, gauge, decimal_mark=".")

    assert words[1:] == [
        "On average it reads 0.00667 mm high.",
        "Chance alone could do that: these readings do not tell it from none.",
    ]
    figures = dict(selectors.bias_figures(found, decimal_mark="."))
    assert (figures["Mean of 15 readings"], figures["95 % interval"]) == ("6.0067 mm", "-0.1107 mm to 0.1241 mm")
    assert (figures["Standard deviation"], figures["Student's t"]) == ("0.2120 mm", "0.12")


def test_a_bias_beyond_chance_says_what_to_do(gauge):
    words = selectors.bias_words(outcome(manual_bias_study(gauge, reference="7 mm")), gauge, decimal_mark=".")

    assert words[1] == "On average it reads 0.994 mm low."
    assert words[2].startswith("That is more than chance")


def test_readings_all_alike_show_no_spread(gauge):
    flat = measured(factories.gauge_study(gauge), lambda _place: 10)
    found = outcome(flat)

    assert selectors.crossed_words(found, gauge, decimal_mark=".")[1].startswith("Every reading was the same")
    assert selectors.spread_rows(found, decimal_mark=".")[0].of_study == ""
    assert readings_picture(found, flat, decimal_mark=".").marks


def test_a_gauge_that_reads_the_same_each_time_has_no_end_of_telling_apart(gauge):
    words = selectors.crossed_words(
        outcome(measured(factories.gauge_study(gauge), lambda place: 10 + place.part)), gauge, decimal_mark="."
    )

    assert words[2].startswith("It read the same each time")


def test_without_the_makers_figures_it_says_what_to_enter(gauge):
    gauge.resolution = ""
    gauge.save()
    study = manual_study(gauge)

    assert selectors.crossed_words(outcome(study), gauge, decimal_mark=".")[0].startswith("Enter its smallest step")


def test_a_gauge_that_measures_something_else_since_has_no_outcome(gauge):
    study = manual_study(gauge)
    gauge.measures, gauge.unit = "mass", "g"
    gauge.save()
    study.refresh_from_db()

    assert outcome(study) is None


def test_the_pictures_stay_within_their_frame(gauge):
    study = manual_study(gauge)
    crossed = readings_picture(outcome(study), study, decimal_mark=".")
    bias = bias_picture(outcome(manual_bias_study(gauge)), decimal_mark=".")

    assert len(crossed.marks) == 90
    assert [name for name, _mark in crossed.key] == ["A", "B", "C"]
    assert [column.label for column in crossed.columns] == [str(n) for n in range(1, 11)]
    assert all(LEFT <= column.x < WIDTH for column in crossed.columns)
    assert 0 <= bias.interval[0] < bias.reference < bias.interval[1] <= WIDTH
    assert len(bias.marks) == 15


def test_short_names_of_parts_stand_under_their_columns(gauge):
    study = measured(factories.gauge_study(gauge), lambda place: Fraction(10 + place.part))

    labels = [column.label for column in readings_picture(outcome(study), study, decimal_mark=".").columns]

    assert labels == ["A", "B", "C"]
