"""Cars are entered and changed; no two have one number, and nobody's work is lost."""

import pytest

from inspection.cars.errors import CarChangedMeanwhile, NumberTaken, OwnerOfOtherClub
from inspection.cars.selectors import car_version, next_free_number
from inspection.cars.services import CarContent, change_car, create_car
from inspection.models import Car, LogEntry
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def club():
    return factories.club()


@pytest.fixture
def owner(club):
    return factories.driver(club, "Ada Brandt")


def test_a_car_is_entered_with_all_that_was_given_and_logged(club, owner):
    group = factories.racing_class(club, "GT")
    by = factories.member(club)

    car = create_car(
        club=club, content=CarContent(number=27, name="Kite", owner=owner, racing_class=group, note="loan"), by=by
    )

    car.refresh_from_db()
    assert (car.number, car.name, car.owner, car.racing_class, car.note) == (27, "Kite", owner, group, "loan")
    entry = LogEntry.objects.of(club).get(action="entered car")
    assert (entry.by, entry.summary) == (by, "27 Kite")


def test_a_number_is_given_once_and_the_refusal_names_the_next_free_one(club, owner):
    for number in (27, 28, 30):
        factories.car(club, owner, number=number, name=f"No. {number}")

    with pytest.raises(NumberTaken) as refusal:
        create_car(club=club, content=CarContent(number=27, name="Kite", owner=owner), by=None)

    assert refusal.value.params == {"number": 27, "car": "No. 27", "owner": owner, "free": 29}
    assert "next free number is 29" in str(refusal.value)
    assert Car.objects.of(club).count() == 3


def test_a_retired_car_keeps_its_number(club, owner):
    factories.car(club, owner, number=1, is_active=False)

    assert next_free_number(club) == 2


def test_two_clubs_number_their_cars_apart(club, owner):
    other = factories.club()
    factories.car(other, number=27)

    assert create_car(club=club, content=CarContent(number=27, name="Kite", owner=owner), by=None).number == 27


def test_an_owner_of_another_club_is_refused(club):
    stranger = factories.driver(factories.club())

    with pytest.raises(OwnerOfOtherClub):
        create_car(club=club, content=CarContent(number=1, name="Kite", owner=stranger), by=None)


def test_changing_a_car_may_keep_its_number_and_logs(club, owner):
    car = factories.car(club, owner, number=7)

    change_car(car=car, content=CarContent(number=7, name="New name", owner=owner), version=car_version(car), by=None)

    car.refresh_from_db()
    assert car.name == "New name"
    assert LogEntry.objects.of(club).filter(action="changed car").count() == 1


def test_the_second_of_two_who_save_is_told_who_was_first(club, owner):
    car = factories.car(club, owner, number=7)
    opened = car_version(car)
    first = factories.member(club, name="Noor Haddad")
    change_car(car=car, content=CarContent(number=7, name="First", owner=owner), version=opened, by=first)

    with pytest.raises(CarChangedMeanwhile) as refusal:
        change_car(car=car, content=CarContent(number=7, name="Second", owner=owner), version=opened, by=None)

    assert "Noor Haddad" in str(refusal.value)
    car.refresh_from_db()
    assert car.name == "First"
