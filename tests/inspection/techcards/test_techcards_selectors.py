"""What a card shows, and how many queries that takes."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inspection.inspections import services
from inspection.models import Role
from inspection.techcards.selectors import blank_card, card
from tests import factories
from tests.inspection.inspections import worlds

pytestmark = pytest.mark.django_db


@pytest.fixture
def club():
    return factories.club()


@pytest.fixture
def inspector(club):
    return factories.member(club, Role.TECH_INSPECTOR)


def opened(club, inspector, *specs):
    occasion = worlds.occasion(club, *specs)
    return services.open_inspection(occasion=occasion, car=factories.car(club), by=inspector)


def answer(inspection, number, text, by, **more):
    clause = inspection.occasion.revision.clauses.get(number=number)
    services.record_measurement(inspection=inspection, clause=clause, text=text, by=by, **more)


def ahead_of(shown, text, gauge=None):
    """What the first clause of a card would come to by what is being typed."""
    typed = {"clause": shown.clauses[0].clause, "text": text, "gauge": gauge}
    return shown.assess(typed | {"characteristic": None, "number": None, "temperature": ""})


def test_clauses_stand_in_measuring_order_under_the_place_where_they_are_checked(club, inspector):
    shown = card(opened(club, inspector, worlds.WEIGHT, worlds.WIDTH, worlds.LABEL))
    assert [(group, [line.subject for line in lines]) for group, lines in shown.groups] == [
        ("Across the car", ["Overall width"]),
        ("On the scale", ["Weight"]),
        ("Everything else", ["Motor label readable"]),
    ]


def test_each_mark_says_how_its_clause_stands(club, inspector):
    specs = [worlds.WIDTH, worlds.TIRE, worlds.TIRE, worlds.LABEL, worlds.LOOKS]
    inspection = opened(club, inspector, *specs)
    answer(inspection, "1", "63.4", inspector)
    answer(inspection, "2", "18", inspector)
    answer(inspection, "3", "19.01", inspector, gauge=worlds.caliper(club))
    shown = card(inspection)
    assert [line.state for line in shown.clauses] == ["pass", "fail", "too_close", "not_checked", "judge_decides"]
    assert shown.counts == {"pass": 1, "fail": 1, "too_close": 1, "not_checked": 1, "judge_decides": 1}
    assert (shown.to_go, len(shown.failed), len(shown.too_close)) == (2, 1, 1)


def test_a_correction_keeps_the_old_reading_in_sight(club, inspector):
    inspection = opened(club, inspector, worlds.WIDTH)
    answer(inspection, "1", "65", inspector)
    answer(inspection, "1", "63.4", inspector)
    line = card(inspection).clauses[0]
    assert (line.answer, [finding.answer for finding in line.struck]) == ("63.4", ["65"])


def test_next_is_what_is_not_found_yet_and_then_the_signature(club, inspector):
    inspection = opened(club, inspector, worlds.WIDTH, worlds.TIRE, worlds.WEIGHT)
    answer(inspection, "2", "19.4", inspector)
    shown = card(inspection)
    assert shown.after(1).subject == "Weight"
    assert shown.after(3).subject == "Overall width"
    assert [follows and follows.place for _line, follows in shown.panes] == [3, 3, 1]
    answer(inspection, "1", "63", inspector)
    answer(inspection, "3", "91", inspector)
    assert card(inspection).after(1) is None


@pytest.mark.parametrize(
    ("spec", "other"),
    [
        (worlds.WIDTH, "2.520 in"),
        (worlds.TIRE | {"comparator": "between", "upper": "20 mm"}, "0.748 \N{EN DASH} 0.787 in"),
        (worlds.WEIGHT, "2.998 oz"),
        (worlds.PINION, ""),
        (worlds.LABEL, ""),
    ],
)
def test_limits_are_given_in_the_other_system_too(club, inspector, spec, other):
    assert card(opened(club, inspector, spec)).clauses[0].limit_other == other


def test_a_card_takes_as_many_queries_for_sixty_clauses_as_for_six(club, inspector):
    def queries(count):
        inspection = opened(club, inspector, *([worlds.WIDTH] * count))
        for number in range(1, count + 1):
            answer(inspection, str(number), "63.4", inspector)
        with CaptureQueriesContext(
            connection,
        ) as caught:
            shown = card(inspection)
            assert [line.answer and line.picture and line.why for line in shown.clauses]
        return len(caught)

    six, sixty = queries(6), queries(60)
    assert six == sixty == 10


def test_a_blank_card_has_the_clauses_and_nothing_found(club, django_assert_max_num_queries):
    occasion = worlds.occasion(club, worlds.WIDTH, worlds.LABEL)
    with django_assert_max_num_queries(3):
        shown = blank_card(occasion)
    assert [line.state for line in shown.clauses] == ["not_checked", "not_checked"]


def test_only_the_clauses_of_the_phase_are_on_the_card(club, inspector):
    shown = card(opened(club, inspector, worlds.WIDTH, worlds.TIRE | {"phases": ["after"]}))
    assert [line.subject for line in shown.clauses] == ["Overall width"]


def test_looking_ahead_says_verdict_margin_and_the_other_unit(club, inspector):
    shown = card(opened(club, inspector, worlds.TIRE))
    ahead = ahead_of(shown, "19.38", worlds.caliper(club))
    assert (ahead.state, ahead.margin, ahead.other_reading) == ("pass", "0.38 mm to spare", "0.763 in")
    assert ahead.picture.reading.text == "19.38 ± 0.036"
    assert ahead_of(shown, "19.01", worlds.caliper(club)).state == "too_close"


def test_a_count_has_no_picture(club, inspector):
    inspection = opened(club, inspector, worlds.PINION)
    answer(inspection, "1", "12", inspector)
    shown = card(inspection)
    assert shown.clauses[0].picture is None
    assert ahead_of(shown, "11").state == "fail"
