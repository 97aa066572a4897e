"""Enter drivers and cars: once each, in time, under the cap, for the right fee."""

import datetime as dt
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction

from inspection.cars.errors import NumberTaken
from inspection.drivers.errors import SpellingTaken
from inspection.drivers.services import DriverContent
from inspection.models import Car, Driver, LogEntry
from racedesk.entries.errors import (
    AlreadyEntered,
    CarAlreadyEntered,
    EntriesClosed,
    EntriesClosedByDraw,
    NotOfThisClub,
)
from racedesk.entries.services import NewCar, enter_driver, enter_newcomer, move_up_waiting
from racedesk.models import Entry, EntryDriver
from tests import factories, race_factories

pytestmark = pytest.mark.django_db
NOW = dt.datetime(2026, 11, 27, 17, 30, tzinfo=dt.UTC)


def enter(race, driver=None, **more):
    driver = driver or factories.driver(race.event.club)
    return enter_driver(race=race, driver=driver, **({"by": None, "now": NOW} | more))


def test_an_entry_has_the_driver_the_car_with_its_latest_build_and_the_fee():
    race = race_factories.race(fee=Decimal("7.50"))
    car = factories.car(race.event.club)
    factories.build(car)
    latest = factories.build(car)

    entry = enter(race, car=car)

    assert entry.state == Entry.State.ENTERED
    assert entry.fee_due == Decimal("7.50")
    assert [(row.car, row.build, row.is_spare) for row in entry.cars.all()] == [(car, latest, False)]
    assert LogEntry.objects.get(subject_id=entry.public_id).action == "entered"


def test_a_spare_is_entered_beside_the_car():
    race = race_factories.race()
    car, spare = factories.car(race.event.club), factories.car(race.event.club)

    entry = enter(race, car=car, spare=spare)

    assert [(row.car, row.is_spare) for row in entry.cars.all()] == [(car, False), (spare, True)]


def test_a_junior_pays_the_fee_for_juniors_where_there_is_one():
    race = race_factories.race(fee=Decimal(8), junior_fee=Decimal(3))
    same_for_all = race_factories.race(fee=Decimal(8))
    free = race_factories.race(fee=Decimal(8), junior_fee=Decimal(0))

    fees = [enter(r, factories.driver(r.event.club, is_junior=True)).fee_due for r in (race, same_for_all, free)]

    assert fees == [3, 8, 0]


def test_a_driver_is_entered_once_a_race():
    race = race_factories.race()
    entry = enter(race)

    with pytest.raises(AlreadyEntered, match="entered"):
        enter(race, entry.drivers.get().driver)
    assert race.entries.count() == 1


def test_a_driver_who_withdrew_is_told_to_be_there_already():
    race = race_factories.race()
    entry = race_factories.entry(race, state=Entry.State.WITHDRAWN)

    with pytest.raises(AlreadyEntered, match="withdrawn"):
        enter(race, entry.drivers.get().driver)


def test_a_driver_may_race_twice_a_night_in_two_races():
    race = race_factories.race()
    driver = factories.driver(race.event.club)

    enter(race, driver)
    enter(race_factories.race(race.event), driver)

    assert driver.entries.count() == 2


def test_a_car_is_entered_once_a_race_as_car_or_as_spare():
    race = race_factories.race()
    car = factories.car(race.event.club)
    enter(race, car=car)

    with pytest.raises(CarAlreadyEntered):
        enter(race, spare=car)
    other = factories.car(race.event.club)
    with pytest.raises(CarAlreadyEntered):
        enter(race, car=other, spare=other)


def test_the_database_itself_refuses_the_same_driver_twice():
    race = race_factories.race()
    entry = enter(race)
    other = Entry.objects.create(race=race)

    with pytest.raises(IntegrityError), transaction.atomic():
        EntryDriver.objects.create(entry=other, race=race, driver=entry.drivers.get().driver)


def test_at_the_closing_time_entries_are_closed():
    race = race_factories.race(entries_close_at=NOW)
    with pytest.raises(EntriesClosed, match="18:30"):  # the club's clock stands an hour ahead of UTC
        enter(race)

    enter(race, now=NOW - dt.timedelta(seconds=1))


def test_a_late_entry_keeps_the_reason():
    race = race_factories.race(entries_close_at=NOW)

    entry = enter(race, late_reason="train was late")

    assert (entry.is_late, entry.late_reason) == (True, "train was late")
    assert LogEntry.objects.get(subject_id=entry.public_id).reason == "train was late"


def test_a_reason_given_in_time_does_not_make_an_entry_late():
    entry = enter(race_factories.race(), late_reason="just in case")

    assert (entry.is_late, entry.late_reason) == (False, "")


def test_once_the_heats_are_drawn_entries_are_closed():
    race = race_factories.drawn_race(drivers=3)

    with pytest.raises(EntriesClosedByDraw):
        enter(race)
    assert enter(race, late_reason="came with the trailer").is_late


def test_beyond_the_cap_drivers_wait_and_move_up_in_order():
    race = race_factories.race(cap=2)
    entries = [enter(race, now=NOW + dt.timedelta(minutes=n)) for n in range(4)]
    assert [entry.state for entry in entries] == ["entered", "entered", "waiting", "waiting"]

    race.cap = 3
    race.save()
    moved = move_up_waiting(race=race, by=None)

    assert moved == [entries[2]]
    assert move_up_waiting(race=race, by=None) == []
    assert LogEntry.objects.filter(action="moved up from waiting list").count() == 1


def test_who_waits_goes_before_who_comes_now():
    race = race_factories.race(cap=1)
    first, second = enter(race), enter(race)
    race.cap = 2
    race.save()

    third = enter(race)

    second.refresh_from_db()
    assert (first.state, second.state, third.state) == ("entered", "entered", "waiting")


def test_a_driver_or_a_car_of_another_club_is_refused():
    race = race_factories.race()
    other = factories.club()

    with pytest.raises(NotOfThisClub):
        enter(race, factories.driver(other))
    with pytest.raises(NotOfThisClub):
        enter(race, car=factories.car(other))


def test_a_new_driver_with_a_new_car_is_entered_in_one_step():
    race = race_factories.race()

    entry = enter_newcomer(
        race=race, driver=DriverContent(name="Ada Brandt", is_junior=True), car=NewCar(27, "Zeta"), by=None, now=NOW
    )

    car = entry.cars.get().car
    assert str(entry) == "Ada Brandt"
    assert (car.number, car.name, car.owner.name) == (27, "Zeta", "Ada Brandt")


def test_a_new_car_without_a_number_gets_the_next_free_one():
    race = race_factories.race()
    owner = factories.car(race.event.club, number=1).owner
    factories.car(race.event.club, number=3, is_active=False)

    entry = enter_newcomer(race=race, driver=owner, car=NewCar(None, "Zeta"), by=None, now=NOW)

    assert entry.cars.get().car.number == 2


def test_a_duplicate_car_number_is_refused_and_nothing_is_half_saved():
    race = race_factories.race()
    factories.car(race.event.club, number=27, name="Zeta")

    with pytest.raises(NumberTaken, match="27 is on “Zeta”"):
        enter_newcomer(race=race, driver=DriverContent(name="Jun Hara"), car=NewCar(27, "Eta"), by=None, now=NOW)

    assert not Driver.objects.of(race.event.club).filter(name="Jun Hara").exists()
    assert Car.objects.of(race.event.club).count() == 1


def test_a_new_driver_whose_name_is_known_is_refused():
    race = race_factories.race()
    factories.driver(race.event.club, "Zoë O'Brien")

    with pytest.raises(SpellingTaken):
        enter_newcomer(race=race, driver=DriverContent(name="zoe obrien"), car=None, by=None, now=NOW)
