"""What a clause says, exactly to the engine and in words to people."""

import pytest

from inspection.clauses import selectors
from inspection.conformity.assess import BENEFIT_OF_DOUBT, CERTAIN_PASS
from inspection.contents.selectors import ClauseContent
from inspection.models import Characteristic, Clause, Gauge, RuleSheet, RuleSheetRevision
from tests import factories

WIDTH = Characteristic(
    code="w", name="Width", kind="length", unit="mm", plausible_low="20 mm", plausible_high="130 mm", group="across"
)
TEETH = Characteristic(code="t", name="Pinion", kind="count")
TIRES = Characteristic(code="m", name="Tire material", kind="choice")
DRIVER = Characteristic(code="d", name="Driver figure", kind="yes_no")


def clause(**fields):
    return Clause(**{"number": "1", "text": "Words.", "measuring_point": "at the widest"} | fields)


def test_an_inch_limit_is_exact_to_the_engine():
    limits = selectors.limits_of(clause(characteristic=WIDTH, comparator="at_most", upper="2 1/16 in"))

    assert limits.upper * 10000 == 523875


@pytest.mark.parametrize(
    "fields",
    [
        {"characteristic": WIDTH, "comparator": "at_most", "upper": "85 g"},
        {"characteristic": WIDTH, "comparator": "at_most", "upper": "no number"},
        {"characteristic": DRIVER, "comparator": "yes_no"},
        {},
    ],
)
def test_what_cannot_be_compared_has_no_limits(fields):
    assert selectors.limits_of(clause(**fields)) is None


@pytest.mark.parametrize(
    ("fields", "code"),
    [
        ({"characteristic": WIDTH, "lower": "7 mm"}, "comparator_missing"),
        ({"lower": "7 mm"}, "comparator_missing"),
        (
            {"characteristic": WIDTH, "comparator": "at_least", "lower": "25 mm", "measuring_point": ""},
            "measuring_point_missing",
        ),
        ({"characteristic": WIDTH, "comparator": "at_least", "lower": "85 g"}, "unit_of_wrong_kind"),
        (
            {"characteristic": WIDTH, "comparator": "between", "lower": "64 mm", "upper": "2 1/2 in"},
            "lower_above_upper",
        ),
        ({"characteristic": WIDTH, "comparator": "judge_decides", "nominal": ".9 in"}, "reason_missing"),
        ({"characteristic": TIRES, "comparator": "one_of"}, "choices_missing"),
        ({"characteristic": TIRES, "comparator": "at_least"}, "kind_does_not_fit"),
    ],
)
def test_what_keeps_a_clause_from_publication(fields, code):
    problems = selectors.problems_of([selectors.content_of(clause(**fields))])[0]

    assert code in {problem.code for problem in problems if problem.blocking}
    assert all("%(" not in problem.message for problem in problems)


def test_a_number_given_twice_is_a_problem_of_both_clauses():
    contents = [ClauseContent(number="1", text="One."), ClauseContent(number="1", text="Two.")]

    assert [[one.code for one in found] for found in selectors.problems_of(contents)] == [["duplicate_number"]] * 2


def test_a_judge_may_decide_what_has_no_comparator_when_the_clause_says_why():
    stored = clause(
        characteristic=WIDTH, comparator="judge_decides", nominal=".9 in", judge_reason="No comparator is printed."
    )

    assert selectors.problems_of([selectors.content_of(stored)]) == [[]]


def test_the_gauge_is_the_clause_s_own_or_the_usual_one():
    usual, own = Gauge(pk=1, name="Caliper", unit="mm"), Gauge(pk=2, name="Ring", unit="in")
    width = Characteristic(name="Width", kind="length", unit="mm", default_gauge=usual)

    assert selectors.gauge_for(clause(characteristic=width)) is usual
    assert selectors.gauge_for(clause(characteristic=width, gauge=own)) is own
    assert selectors.reading_unit_of(clause(characteristic=width, gauge=own)).symbol == "in"
    assert selectors.gauge_for(clause()) is None


def test_a_bare_reading_is_in_the_characteristic_s_unit_when_the_gauge_shows_another_kind():
    scale = Gauge(pk=3, name="Scale", unit="g")

    assert selectors.reading_unit_of(clause(characteristic=WIDTH, gauge=scale)).symbol == "mm"


def test_a_clause_follows_its_sheet_s_decision_rule_unless_it_has_its_own():
    revision = RuleSheetRevision(rule_sheet=RuleSheet(), decision_rule="benefit_of_doubt")

    assert selectors.decision_rule_of(clause(revision=revision)) == BENEFIT_OF_DOUBT
    assert selectors.decision_rule_of(clause(revision=revision, decision_rule="certain_pass")) == CERTAIN_PASS


def test_motor_tests_carry_their_cautions_and_a_text_clause_none():
    speed = Characteristic(code="motor-speed", kind="rotation_speed", unit="rpm")

    words = selectors.cautions_for([clause(characteristic=speed, comparator="at_most", upper="22000 rpm")])

    assert "turning gears" in words[0]
    assert words[-1].startswith("Local codes")
    assert selectors.cautions_for([clause(characteristic=speed), clause()]) == []


@pytest.mark.django_db
def test_checked_clauses_stand_in_measuring_order_with_one_query(django_assert_num_queries):
    club = factories.club()
    revision = RuleSheetRevision.objects.create(rule_sheet=RuleSheet.objects.create(club=club, name="S"), number=1)
    weight = factories.characteristic(club, group="scale", position=10)
    width = factories.characteristic(club, group="across", position=20)
    height = factories.characteristic(club, group="plate", position=30)
    for place, (subject, phases, comparator) in enumerate(
        [
            (weight, ["before"], "at_least"),
            (width, [], "at_most"),
            (height, ["before", "after"], "at_most"),
            (None, ["before"], "judge_decides"),
            (height, ["after"], "at_most"),
            (width, ["before"], ""),
        ],
        start=1,
    ):
        Clause.objects.create(
            revision=revision, position=place, number=str(place), text="x", characteristic=subject, phases=phases,
            comparator=comparator,
        )  # fmt: skip

    with django_assert_num_queries(1):
        found = selectors.checked_clauses(revision, "before")
        for one in found:
            selectors.clause_for_engine(one)
            selectors.gauge_for(one)
            selectors.decision_rule_of(one)

    assert [one.number for one in found] == ["3", "2", "1", "4"]
    assert [one.number for one in selectors.checked_clauses(revision, "after")] == ["3", "5"]


@pytest.mark.django_db
def test_the_next_number_follows_the_highest_plain_one():
    revision = factories.published_sheet(factories.club(), clauses=0)
    for number in ("2", "10", "4.1", "A"):
        Clause.objects.create(revision=revision, number=number, text="x")

    assert selectors.next_clause_number(revision) == "11"
