"""The line of cars: who waits, who failed, who is clear; found by number or by letters."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inspection.inspections import selectors, services
from inspection.inspections.errors import CarNotFound, SeveralCars
from inspection.inspections.selectors import Standing
from inspection.models import Role
from tests import factories
from tests.inspection.inspections import worlds

pytestmark = pytest.mark.django_db


@pytest.fixture
def club():
    return factories.club()


@pytest.fixture
def inspector(club):
    return factories.member(club, Role.TECH_INSPECTOR)


@pytest.fixture
def occasion(club):
    return worlds.occasion(club, worlds.WIDTH, worlds.TIRE)


def inspected(occasion, inspector, *texts, signs=False):
    card = services.open_inspection(occasion=occasion, car=factories.car(occasion.club), by=inspector)
    for clause, text in zip(worlds.clauses_of(occasion), texts, strict=False):
        services.record_measurement(inspection=card, clause=clause, text=text, by=inspector)
    if signs:
        services.sign_card(inspection=card, not_clear=len(texts) < 2, by=inspector)
    return card


def test_who_races_by_a_recorded_decision_needs_no_attention(occasion, inspector):
    failed = inspected(occasion, inspector, "65", "19.4")
    other = inspected(occasion, inspector, "65", "19.4")
    line = selectors.tech_line(occasion, excused={failed.car_id})
    assert [row.inspection for row in line.excused] == [failed]
    assert [row.inspection for row in line.attention] == [other]


def test_who_waits_stands_by_class(club, occasion, inspector):
    classes = [factories.racing_class(club, name) for name in ("GT 32", "Sprint")]
    for racing_class in (*classes, classes[0]):
        car = factories.car(club, racing_class=racing_class)
        services.open_inspection(occasion=occasion, car=car, by=inspector)
    found = [(name, len(rows)) for name, rows in selectors.tech_line(occasion).waiting_by_class]
    assert found == [("GT 32", 2), ("Sprint", 1)]


def test_what_needs_somebody_stands_first(occasion, inspector):
    failed = inspected(occasion, inspector, "65", "19.4")
    changed = inspected(occasion, inspector, "63", "19.4", signs=True)
    factories.build(changed.car)
    not_clear = inspected(occasion, inspector, "63", signs=True)
    ready = inspected(occasion, inspector, "63", "19.4")
    on_the_table = inspected(occasion, inspector, "63")
    waiting = inspected(occasion, inspector)
    clear = inspected(occasion, inspector, "63", "19.4", signs=True)
    line = selectors.tech_line(occasion)
    found = {name: [row.inspection for row in getattr(line, name)] for name in line.__dataclass_fields__}
    assert found == {
        "attention": [failed, changed, not_clear],
        "ready": [ready],
        "open": [on_the_table],
        "waiting": [waiting],
        "clear": [clear],
        "excused": [],
    }
    assert line.total == 7


def test_clearance_answers_for_every_car_asked_for(occasion, inspector):
    clear = inspected(occasion, inspector, "63", "19.4", signs=True)
    failed = inspected(occasion, inspector, "65", "18")
    stranger = factories.car(occasion.club)
    found = selectors.clearances(occasion, [clear.car_id, failed.car_id, stranger.pk])
    assert [found[pk].is_clear for pk in (clear.car_id, failed.car_id, stranger.pk)] == [True, False, False]
    assert found[failed.car_id].fails == ("1 Overall width", "2 Rear tire diameter")
    assert (found[stranger.pk].state, found[stranger.pk].not_checked) == (Standing.WAITING, 2)
    assert found[clear.car_id].inspection_public_id == clear.public_id
    assert found[stranger.pk].inspection_public_id == ""


def test_a_card_with_everything_passed_clears_nothing_before_it_is_signed(occasion, inspector):
    card = inspected(occasion, inspector, "63", "19.4")
    assert not selectors.clearances(occasion, [card.car_id])[card.car_id].is_clear


def test_clearance_before_the_race_says_nothing_of_after_it(occasion, inspector):
    card = inspected(occasion, inspector, "63", "19.4", signs=True)
    assert selectors.clearances(occasion, [card.car_id], phase="after")[card.car_id].state is Standing.WAITING


@pytest.mark.parametrize("ask", ["line", "clearances"])
def test_sixty_cars_take_as_many_queries_as_two(club, inspector, ask):
    def queries(count):
        occasion = worlds.occasion(club, worlds.WIDTH)
        cars = [inspected(occasion, inspector, "63").car_id for _ in range(count)]
        with CaptureQueriesContext(connection) as caught:
            if ask == "line":
                assert len(selectors.tech_line(occasion).ready) == count
            else:
                assert len(selectors.clearances(occasion, cars)) == count
        return len(caught)

    assert queries(2) == queries(60) <= 4


def test_a_car_is_found_by_its_number(club):
    car = factories.car(club, number=27)
    factories.car(factories.club(), number=27)
    assert selectors.find_car(club, " #27 ") == car


def test_a_car_is_found_by_the_first_letters_of_its_driver(club):
    car = factories.car(club, owner=factories.driver(club, "Mo Fairweather"))
    factories.car(club, owner=factories.driver(club, "Noor Haddad"))
    assert selectors.find_car(club, "fai") == car


def test_several_cars_are_left_to_the_inspector(club):
    mo = factories.driver(club, "Mo Fairweather")
    factories.car(club, owner=mo)
    factories.car(club, owner=mo)
    with pytest.raises(SeveralCars):
        selectors.find_car(club, "mo")
    assert len(selectors.cars_found(club, "mo")) == 2


@pytest.mark.parametrize("text", ["", "99", "zz", "999999999999999999999999", "<script>", "٣"])
def test_what_fits_no_car_is_said(club, text):
    factories.car(club, number=1)
    with pytest.raises(CarNotFound):
        selectors.find_car(club, text)


def test_the_list_of_tech_days_takes_one_query_whatever_its_length(club, django_assert_num_queries):
    revision = factories.published_sheet(club)
    for _ in range(5):
        factories.occasion(club, revision)
    with django_assert_num_queries(1):
        days = list(selectors.occasion_list(club))
        assert {(day.club.slug, day.revision.rule_sheet.name, day.card_count) for day in days} == {
            (club.slug, revision.rule_sheet.name, 0)
        }
