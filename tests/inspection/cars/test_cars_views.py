"""Pages of the register of cars."""

import csv
import io

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inspection.cars.selectors import car_version
from inspection.models import Car, DeclaredValue, Finding, Inspection, Role
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def club():
    return factories.club()


@pytest.fixture
def inspector(club, client):
    user = factories.member(club, Role.TECH_INSPECTOR)
    client.force_login(user)
    return user


@pytest.fixture
def ada(club):
    return factories.driver(club, "Ada Brandt")


def address(name, club, *ids):
    return reverse(name, args=[club.slug, *ids])


def typed(owner, **values):
    return {"number": "27", "name": "Kite", "owner": owner.pk, "is_active": "on"} | values


def queries(client, page):
    with CaptureQueriesContext(connection) as captured:
        assert client.get(page).status_code == 200
    return len(captured)


def numbers(answer):
    return [row.record.number for row in answer.context["table"].rows]


def test_a_car_is_entered(client, club, inspector, ada):
    group = factories.racing_class(club)

    answer = client.post(address("car-create", club), typed(ada, racing_class=group.pk, note="loan"))

    car = Car.objects.of(club).get()
    assert answer.url == address("car-detail", club, car.public_id)
    assert (car.number, car.name, car.owner, car.racing_class, car.note) == (27, "Kite", ada, group, "loan")


def test_the_form_offers_the_lowest_free_number_and_the_owner_asked_for(client, club, inspector, ada):
    factories.car(club, ada, number=1)

    form = client.get(address("car-create", club), {"owner": ada.public_id}).context["form"]

    assert (form["number"].value(), form.initial["owner"]) == (2, ada)


def test_a_taken_number_is_refused_and_the_free_one_is_one_tap_away(client, club, inspector, ada):
    factories.car(club, ada, number=27, name="Kingfisher")

    answer = client.post(address("car-create", club), typed(ada, note="kept"))

    text = answer.content.decode()
    assert answer.status_code == 409
    assert "Number 27 is on “Kingfisher” of Ada Brandt. The next free number is 28." in text
    assert 'name="take_number" value="28"' in text
    assert answer.context["form"]["note"].value() == "kept"
    assert client.post(address("car-create", club), typed(ada, take_number="28")).status_code == 302
    assert Car.objects.of(club).get(name="Kite").number == 28


@pytest.mark.parametrize("number", ["", "-1", "1.5", "1e3", "NaN", "100000", "seven", "²"])
def test_what_is_no_number_is_refused(client, club, inspector, ada, number):
    answer = client.post(address("car-create", club), typed(ada, number=number))

    assert answer.status_code == 422
    assert answer.context["form"]["name"].value() == "Kite"
    assert not Car.objects.exists()


def test_an_owner_or_class_of_another_club_is_refused(client, club, inspector, ada):
    other = factories.club()

    for wrong in (
        typed(factories.driver(other)),
        typed(ada, racing_class=factories.racing_class(other).pk),
    ):
        assert client.post(address("car-create", club), wrong).status_code == 422
    assert not Car.objects.exists()


def test_who_saves_second_is_told_and_can_save_after_all(client, club, inspector, ada):
    car = factories.car(club, ada, number=27)
    opened = car_version(car)
    Car.objects.filter(pk=car.pk).update(note="somebody else was here")
    page = address("car-edit", club, car.public_id)

    answer = client.post(page, typed(ada, note="mine", version=opened))

    assert answer.status_code == 409
    assert "somebody else was here" in answer.content.decode()
    assert answer.context["form"]["note"].value() == "mine"
    again = typed(ada, note="mine", version=answer.context["form"]["version"].value())
    assert client.post(page, again).status_code == 302
    car.refresh_from_db()
    assert car.note == "mine"


def test_a_change_to_a_taken_number_offers_a_free_one_and_then_saves(client, club, inspector, ada):
    factories.car(club, ada, number=28)
    car = factories.car(club, ada, number=27)
    page = address("car-edit", club, car.public_id)

    answer = client.post(page, typed(ada, number="28", version=car_version(car)))
    again = typed(ada, number="28", take_number="29", version=answer.context["form"]["version"].value())

    assert (answer.status_code, client.post(page, again).status_code) == (409, 302)
    car.refresh_from_db()
    assert car.number == 29


def test_the_list_shows_cars_in_use_unless_asked(client, club, inspector, ada):
    factories.car(club, ada, number=1)
    factories.car(club, ada, number=2, is_active=False)

    assert numbers(client.get(address("car-list", club))) == [1]
    assert numbers(client.get(address("car-list", club), {"use": "retired"})) == [2]
    assert numbers(client.get(address("car-list", club), {"use": ""})) == [1, 2]


def test_the_list_is_narrowed_by_number_words_class_and_owner(client, club, inspector, ada):
    group = factories.racing_class(club)
    factories.car(club, ada, number=7, name="Kingfisher", racing_class=group)
    factories.car(club, number=70, name="Kite")
    page = address("car-list", club)

    assert numbers(client.get(page, {"q": "#7"})) == [7]
    assert numbers(client.get(page, {"q": "kit"})) == [70]
    assert numbers(client.get(page, {"q": "brandt king"})) == [7]
    assert numbers(client.get(page, {"racing_class": group.pk})) == [7]
    assert numbers(client.get(page, {"owner": ada.public_id})) == [7]
    assert numbers(client.get(page, {"q": "9" * 30})) == []


def test_the_list_goes_out_and_no_formula_runs(client, club, inspector, ada):
    factories.car(club, ada, number=7, name="=HYPERLINK(1)", note="+1")

    content = client.get(address("car-list", club) + "?export=csv").content.decode("utf-8-sig")

    row = list(csv.reader(io.StringIO(content)))[1]
    assert row[:3] == ["7", "'=HYPERLINK(1)", "Ada Brandt"]
    assert "'+1" in row
    assert client.get(address("car-list", club) + "?export=xlsx").content.startswith(b"PK")


def test_a_car_shows_its_build_in_both_systems_with_gears(client, club, inspector, ada):
    car = factories.car(club, ada)
    factories.build(car)
    build = factories.build(car, motor="Short can")
    for code, kind, unit, text in (
        ("rear-tire-diameter", "length", "mm", "20 mm"),
        ("pinion-teeth", "count", "", "12"),
        ("driven-gear-teeth", "count", "", "32"),
    ):
        what = factories.characteristic(club, code=code, name=code, kind=kind, unit=unit)
        DeclaredValue.objects.create(build=build, characteristic=what, text=text)

    text = client.get(address("car-detail", club, car.public_id)).content.decode()

    # 32/12 = 2.667; pi * 20 mm * 12/32 = 23.56 mm
    for words in ("Build 2", "Short can", "20.00 mm (0.787 in)", "2.667", "23.56 mm (0.928 in)", "Build 1"):
        assert words in text
    assert 'class="qr"' in text


def test_a_car_shows_what_tech_found(client, club, inspector, ada):
    car = factories.car(club, ada)
    occasion = factories.occasion(club)
    failed = Inspection.objects.create(occasion=occasion, car=car, phase="before")
    for clause, outcome in zip(occasion.revision.clauses.all(), ("fail", "pass"), strict=False):
        Finding.objects.create(
            inspection=failed, clause=clause, clause_number="1", subject="w", limit_text="x", answer="1",
            outcome=outcome, is_too_close=outcome == "pass",
        )  # fmt: skip
    Inspection.objects.create(occasion=occasion, car=car, phase="after")

    answer = client.get(address("car-detail", club, car.public_id))

    assert [(line.inspection.phase, line.outcome, line.words) for line in answer.context["cards"]] == [
        ("after", "not_checked", "open, 0 found"),
        ("before", "fail", "1 failed, 1 too close"),
    ]
    assert address("inspection-detail", club, failed.public_id) in answer.content.decode()


@pytest.mark.parametrize("name", ["car-list", "car-detail", "car-edit"])
def test_a_script_is_shown_as_text(client, club, inspector, name):
    script = "<script>alert(1)</script>"
    car = factories.car(club, factories.driver(club, script), name=script, note=script)
    ids = [] if name == "car-list" else [car.public_id]

    text = client.get(address(name, club, *ids)).content.decode()

    assert "<script>alert" not in text
    assert "&lt;script&gt;alert(1)" in text


def test_a_car_of_another_club_is_not_found(client, club, inspector):
    assert client.get(address("car-detail", club, factories.car(factories.club()).public_id)).status_code == 404


def test_two_cars_and_two_hundred_take_as_many_queries(client, club, inspector):
    for _ in range(2):
        factories.build(factories.car(club, racing_class=factories.racing_class(club)))
    few = queries(client, address("car-list", club))
    for _ in range(198):
        factories.build(factories.car(club, racing_class=factories.racing_class(club)))

    assert queries(client, address("car-list", club)) == few


def test_a_car_with_many_builds_and_cards_takes_as_many_queries(client, club, inspector):
    car = factories.car(club)
    what = factories.characteristic(club)

    def grow():
        build = factories.build(car)
        DeclaredValue.objects.create(build=build, characteristic=what, text="63 mm")
        Inspection.objects.create(occasion=factories.occasion(club), car=car, build=build)

    grow()
    few = queries(client, address("car-detail", club, car.public_id))
    for _ in range(12):
        grow()

    assert queries(client, address("car-detail", club, car.public_id)) == few
