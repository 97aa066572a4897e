"""Where at the tech table a clause is looked at, and what a cure may have touched."""

import pytest

from inspection.inspections import services
from inspection.inspections.selectors import tech_line
from inspection.models import Characteristic, Role
from inspection.stations.selectors import Station, cure_groups, station_of, station_of_phone
from inspection.techcards.selectors import card
from tests import factories
from tests.inspection.inspections import worlds

pytestmark = pytest.mark.django_db

RPM = {"comparator": "at_most", "upper": "25000 rpm", "of": {"kind": "rotation_speed", "unit": "rpm"}}
CLEARANCE = {"comparator": "at_least", "lower": "1 mm", "of": {"name": "Ground clearance", "group": "plate"}}


@pytest.fixture
def club():
    return factories.club()


@pytest.fixture
def inspector(club):
    return factories.member(club, Role.TECH_INSPECTOR)


@pytest.mark.parametrize(
    ("spec", "station"),
    [
        (worlds.WIDTH, Station.CALIPER),
        (worlds.WEIGHT, Station.SCALE),
        (CLEARANCE, Station.BLOCK),
        (RPM, Station.BENCH),
        (worlds.LABEL, Station.EYE),
        (worlds.PINION, Station.EYE),
        (worlds.LOOKS, Station.EYE),
    ],
    ids=lambda value: str(value)[:20],
)
def test_a_clause_is_looked_at_where_its_gauge_lies(club, spec, station):
    assert station_of(worlds.clauses_of(worlds.occasion(club, spec))[0]) is station


def test_a_gauge_that_goes_or_does_not_lies_with_the_blocks(club):
    ring = worlds.caliper(club, kind="go_no_go", unit="", resolution="", max_permissible_error="")
    assert station_of(worlds.clauses_of(worlds.occasion(club, worlds.TIRE | {"gauge": ring}))[0]) is Station.BLOCK


def test_one_of_several_things_is_looked_at_where_the_first_that_takes_a_gauge_is_measured(club, inspector):
    factories.characteristic(club, name="Motor", code="motor", kind="choice", unit="")
    factories.characteristic(club, name="Motor speed", code="rpm", kind="rotation_speed", unit="rpm")
    speed = {"characteristic": "rpm", "comparator": "at_most", "upper": "25000 rpm"}
    listed = {"characteristic": "motor", "comparator": "one_of", "choices": ["Wren"]}
    either = {"comparator": "any_of", "characteristic": None}
    nested = [{"comparator": "all_of", "parts": [listed, speed]}]
    occasion = worlds.occasion(
        club, either | {"parts": [listed, speed]}, either | {"parts": [listed]}, either | {"parts": nested}
    )
    register = {one.code: one for one in Characteristic.objects.of(club)}
    found = [station_of(clause, register) for clause in worlds.clauses_of(occasion)]
    assert found == [Station.BENCH, Station.EYE, Station.BENCH]
    inspection = services.open_inspection(occasion=occasion, car=factories.car(club), by=inspector)
    assert [line.station for line in card(inspection).clauses] == ["bench", "eye", "bench"]
    second = worlds.clauses_of(occasion)[1]
    services.record_measurement(inspection=inspection, clause=second, text="Another", by=inspector)
    (row,) = tech_line(occasion).attention
    assert dict(row.stations) == {"bench": 1}, "the nested one fails by its motor already"


def test_what_is_worked_out_is_looked_at_where_what_it_comes_from_is_measured(club):
    for code in ("front", "rear"):
        factories.characteristic(club, name=code, code=code, kind="mass", unit="g")
    share = {"name": "Share", "kind": "ratio", "unit": "", "derivation": {"form": "share", "of": ["rear", "front"]}}
    occasion = worlds.occasion(club, {"comparator": "at_least", "lower": "0.5", "of": share})
    register = {one.code: one for one in Characteristic.objects.of(club)}
    assert station_of(worlds.clauses_of(occasion)[0], register) is Station.SCALE


def test_a_phone_keeps_its_station_until_it_is_given_another():
    session = {}
    assert station_of_phone(session, None) == ""
    assert station_of_phone(session, "scale") == "scale"
    assert station_of_phone(session, None) == "scale"
    assert station_of_phone(session, "elsewhere") == ""


def test_each_phone_is_led_through_its_own_clauses(club, inspector):
    occasion = worlds.occasion(club, worlds.WIDTH, worlds.WEIGHT, worlds.TIRE, worlds.LABEL)
    inspection = services.open_inspection(occasion=occasion, car=factories.car(club), by=inspector)
    scale, caliper = card(inspection, station="scale"), card(inspection, station="caliper")
    assert scale.next_to_find.subject == "Weight"
    assert scale.after(scale.next_to_find.place).subject == "Weight"
    assert [line.subject for line in caliper.missing_here] == ["Overall width", "Rear tire diameter"]
    clause = occasion.revision.clauses.get(number="2")
    services.record_measurement(inspection=inspection, clause=clause, text="91", by=inspector)
    assert card(inspection, station="scale").next_to_find is None
    (row,) = tech_line(occasion).open
    assert dict(row.stations) == {"caliper": 2, "eye": 1}


def test_new_tires_touch_width_clearance_and_weight_and_nothing_seen_by_eye(club):
    occasion = worlds.occasion(club, worlds.TIRE, worlds.WIDTH, worlds.WEIGHT, CLEARANCE, worlds.LABEL, worlds.PINION)
    failed, *passed = worlds.clauses_of(occasion)
    found = {each.group: each.likely for each in cure_groups([failed], passed)}
    assert found == {"across": True, "scale": True, "plate": True, "other": False}


def test_what_the_cure_touched_is_found_anew_beside_what_failed(club, inspector):
    occasion = worlds.occasion(club, worlds.TIRE, worlds.WIDTH, worlds.LABEL)
    inspection = services.open_inspection(occasion=occasion, car=factories.car(club), by=inspector)
    tire, width, label = worlds.clauses_of(occasion)
    for clause, text in ((tire, "18"), (width, "63"), (label, "yes")):
        services.record_measurement(inspection=inspection, clause=clause, text=text, by=inspector)
    services.inspect_again(inspection=inspection, touched=[width.pk], by=inspector)
    assert {line.subject for line in card(inspection).missing} == {"Overall width", "Rear tire diameter"}
