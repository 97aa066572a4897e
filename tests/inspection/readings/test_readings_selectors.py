"""What stands under "why", and what is said of a reading too close to its limit."""

from fractions import Fraction

import pytest

from inspection.clauses.selectors import checked_clauses
from inspection.models import Finding
from inspection.readings import selectors
from inspection.readings.selectors import Asks
from tests import factories
from tests.inspection.inspections import worlds

pytestmark = pytest.mark.django_db


@pytest.fixture
def club():
    return factories.club()


def clause_of(club, spec):
    return checked_clauses(worlds.occasion(club, spec).revision, "before")[0]


def judged(club, spec, text, gauge=None):
    understood = selectors.understand(clause=clause_of(club, spec), text=text, gauge=gauge)
    return understood.verdict.assessment, understood.reading


@pytest.mark.parametrize(
    ("spec", "text", "words"),
    [
        (worlds.TIRE, "19.38", "0.38 mm to spare"),
        (worlds.TIRE, "18.76", "0.24 mm below the limit"),
        (worlds.TIRE, "19", "exactly on the limit"),
        (worlds.WIDTH, "64.24", "0.24 mm above the limit"),
        (worlds.WIDTH, "2.5 in", "0.020 in to spare"),
        (worlds.WIDTH, "63.999", "0.001 mm to spare"),
        (worlds.WEIGHT, "84.2", "0.8 g below the limit"),
    ],
)
def test_the_margin_is_said_in_the_unit_of_the_reading(club, spec, text, words):
    assert selectors.margin_words(*judged(club, spec, text)) == words


def test_why_gives_margin_in_both_systems_doubt_acceptance_zone_and_probability(club):
    why = selectors.explain(*judged(club, worlds.TIRE, "19.02", worlds.caliper(club)))
    assert (why.margin, why.margin_other) == ("0.02 mm to spare", "0.001 in to spare")
    assert (why.doubt, why.acceptance, why.zone) == ("0.036 mm", "from 19.00 mm", "conforming")
    # (19.02 - 19.00) / u = 0.02 / 0.0175594 = 1.13899; the standard normal distribution up to there is 0.8726
    assert why.probability == "87.3%"


def test_why_says_when_nothing_is_known_of_the_doubt(club):
    why = selectors.explain(*judged(club, worlds.TIRE, "19.02"))
    assert (why.doubt, why.probability) == ("", "")


def test_the_guard_band_of_a_cautious_sheet_moves_what_is_accepted(club):
    spec = worlds.TIRE | {"decision_rule": "certain_pass"}
    why = selectors.explain(*judged(club, spec, "19.02", worlds.caliper(club)))
    # w = 1.65 * 0.0175594 mm = 0.0289730 mm
    assert (why.acceptance, why.zone) == ("from 19.03 mm", "indeterminate")


def test_too_close_says_where_it_lies_how_sure_the_gauge_is_and_what_to_do(club):
    caliper = worlds.caliper(club)
    words = selectors.advice_words(*judged(club, worlds.TIRE, "19.02", caliper))
    assert words == "0.02 mm above the limit; this gauge is sure to 0.036 mm. Use a finer gauge, or measure again."
    assert selectors.advice_words(*judged(club, worlds.WIDTH, "64.01", caliper)).startswith("0.01 mm above the limit;")
    assert selectors.advice_words(*judged(club, worlds.TIRE, "19", caliper)).startswith("Exactly on the limit;")
    assert selectors.advice_words(*judged(club, worlds.TIRE, "19.38", caliper)) == ""


def test_a_clause_is_asked_for_as_its_comparator_and_gauge_say(club):
    block = worlds.caliper(club, kind="go_no_go", unit="", resolution="", max_permissible_error="")
    specs = {
        Asks.READING: worlds.WIDTH,
        Asks.GO_NO_GO: worlds.WIDTH | {"gauge": block},
        Asks.YES_NO: worlds.LABEL,
        Asks.ONE_OF: worlds.TIRES,
        Asks.JUDGE: worlds.LOOKS,
    }
    assert {asks: selectors.asks_of(clause_of(club, spec)) for asks, spec in specs.items()} == {
        asks: asks for asks in specs
    }


def test_a_stored_finding_is_judged_again_to_the_same_result(club):
    clause = clause_of(club, worlds.TIRE)
    understood = selectors.understand(clause=clause, text="19 1/64", gauge=worlds.caliper(club))
    finding = finding_of(understood, clause)
    assessment, reading = selectors.assessment_of(finding, clause)
    assert assessment == understood.verdict.assessment
    assert reading == understood.reading


def finding_of(understood, clause):
    return Finding(
        clause=clause,
        reading=understood.reading.canonical,
        variance=understood.variance_text,
        outcome="pass",
    )


def test_looking_ahead_reads_nothing_from_the_database(club, django_assert_num_queries):
    clause = clause_of(club, worlds.TIRE)
    caliper = worlds.caliper(club)
    with django_assert_num_queries(0):
        selectors.understand(clause=clause, text="19.38", gauge=caliper)


def test_a_club_with_a_decimal_comma_is_answered_with_one(club):
    clause = clause_of(club, worlds.TIRE)
    understood = selectors.understand(clause=clause, text="19,38", gauge=worlds.caliper(club), decimal_mark=",")
    assert understood.reading.base == Fraction(1938, 100)
    words = selectors.margin_words(understood.verdict.assessment, understood.reading, decimal_mark=",")
    assert words == "0,38 mm to spare"
    assert selectors.explain(understood.verdict.assessment, understood.reading, decimal_mark=",").doubt == "0,036 mm"
