"""Check in, withdraw, put back, override: each step recorded, each place that frees given on."""

import pytest

from inspection.models import LogEntry
from racedesk.checkin.errors import NoTechTonight, NotInThisState, ReasonNeeded
from racedesk.checkin.services import change_car, check_in, mark_no_show, override_tech, put_back, withdraw
from racedesk.entries.errors import CarAlreadyEntered
from racedesk.entries.services import NewCar
from racedesk.models import Entry
from tests import factories, race_factories

pytestmark = pytest.mark.django_db
State = Entry.State


def stands(entry):
    entry.refresh_from_db()
    return entry.state


def test_checking_in_twice_changes_nothing():
    entry = race_factories.entry(race_factories.race(), state=State.ENTERED)

    check_in(entry=entry, by=None)
    check_in(entry=entry, by=None)

    assert stands(entry) == State.CHECKED_IN
    assert LogEntry.objects.filter(action="checked in").count() == 1


@pytest.mark.parametrize("state", [State.WAITING, State.WITHDRAWN, State.NO_SHOW])
def test_who_has_no_place_cannot_check_in(state):
    entry = race_factories.entry(race_factories.race(), state=state)

    with pytest.raises(NotInThisState):
        check_in(entry=entry, by=None)


def test_a_withdrawal_needs_its_reason_and_keeps_the_entry():
    entry = race_factories.entry(race_factories.race())

    with pytest.raises(ReasonNeeded):
        withdraw(entry=entry, reason="  ", by=None)
    withdraw(entry=entry, reason="motor burnt out", by=None)

    assert stands(entry) == State.WITHDRAWN
    assert entry.state_reason == "motor burnt out"
    assert entry.cars.count() == 1
    with pytest.raises(NotInThisState):
        withdraw(entry=entry, reason="again", by=None)


@pytest.mark.parametrize(
    "leave", [lambda e: withdraw(entry=e, reason="ill", by=None), lambda e: mark_no_show(entry=e, by=None)]
)
def test_a_place_that_frees_goes_to_who_has_waited_longest(leave):
    race = race_factories.race(cap=2)
    first, _ = race_factories.entries(race, 2, state=State.ENTERED)
    waiting = race_factories.entries(race, 2, state=State.WAITING)

    leave(first)

    assert [stands(entry) for entry in waiting] == [State.ENTERED, State.WAITING]
    assert LogEntry.objects.get(action="moved up from waiting list").subject_id == waiting[0].public_id


def test_once_the_heats_are_drawn_nobody_moves_up_by_himself():
    race = race_factories.race(cap=3)
    entries = race_factories.entries(race, 3)
    waiting = race_factories.entry(race, state=State.WAITING)
    race_factories.drawn(race)

    withdraw(entry=entries[0], reason="ill", by=None)

    assert stands(waiting) == State.WAITING


def test_each_step_can_be_undone():
    race = race_factories.race()
    here = race_factories.entry(race)
    gone = race_factories.entry(race, state=State.WITHDRAWN)
    absent = race_factories.entry(race, state=State.NO_SHOW)

    for entry in (here, gone, absent):
        put_back(entry=entry, by=None)

    assert [stands(entry) for entry in (here, gone, absent)] == [State.ENTERED] * 3
    with pytest.raises(NotInThisState):
        put_back(entry=here, by=None)


def test_who_is_put_back_into_a_full_race_waits():
    race = race_factories.race(cap=1)
    race_factories.entry(race)
    gone = race_factories.entry(race, state=State.WITHDRAWN)

    put_back(entry=gone, by=None)

    assert stands(gone) == State.WAITING


def test_undoing_a_check_in_keeps_the_place_in_a_full_race():
    race = race_factories.race(cap=1)
    here = race_factories.entry(race)

    put_back(entry=here, by=None)

    assert stands(here) == State.ENTERED


def test_the_directors_decision_is_signed_and_logged_with_its_reason():
    entry = race_factories.entry(race_factories.race_with_tech())
    director = factories.user()

    with pytest.raises(ReasonNeeded):
        override_tech(entry=entry, reason="", by=director)
    override_tech(entry=entry, reason="scale battery is flat", by=director)

    entry.refresh_from_db()
    assert (entry.override_by, entry.override_reason) == (director, "scale battery is flat")
    assert entry.override_at is not None
    line = LogEntry.objects.get(action="overrode tech")
    assert (line.by, line.reason) == (director, "scale battery is flat")


def test_there_is_nothing_to_override_without_tech_or_for_who_is_out():
    director = factories.user()
    with pytest.raises(NoTechTonight):
        override_tech(entry=race_factories.entry(race_factories.race()), reason="why not", by=director)
    gone = race_factories.entry(race_factories.race_with_tech(), state=State.WITHDRAWN)
    with pytest.raises(NotInThisState):
        override_tech(entry=gone, reason="why not", by=director)


def test_another_car_comes_with_its_latest_build_and_ends_the_decision_for_the_old_one():
    race = race_factories.race_with_tech()
    entry = race_factories.entry(race)
    override_tech(entry=entry, reason="scale battery is flat", by=factories.user())
    car = factories.car(race.event.club)
    build = factories.build(car)

    change_car(entry=entry, car=car, spare=None, by=None)

    entry.refresh_from_db()
    assert [(row.car, row.build) for row in entry.cars.all()] == [(car, build)]
    assert (entry.override_at, entry.override_by, entry.override_reason) == (None, None, "")


def test_a_spare_added_to_the_same_car_leaves_the_decision_standing():
    race = race_factories.race_with_tech()
    entry = race_factories.entry(race)
    override_tech(entry=entry, reason="scale battery is flat", by=factories.user())

    change_car(entry=entry, car=entry.cars.get().car, spare=factories.car(race.event.club), by=None)

    entry.refresh_from_db()
    assert entry.override_at is not None
    assert entry.cars.count() == 2


def test_a_car_of_another_entry_is_refused_and_the_old_one_stays():
    race = race_factories.race()
    entry, other = race_factories.entries(race, 2)
    car = entry.cars.get().car

    with pytest.raises(CarAlreadyEntered):
        change_car(entry=entry, car=other.cars.get().car, spare=None, by=None)
    with pytest.raises(CarAlreadyEntered):
        change_car(entry=entry, car=car, spare=car, by=None)
    assert entry.cars.get().car == car


def test_a_new_car_is_made_for_the_driver_of_the_entry():
    entry = race_factories.entry(race_factories.race(), with_car=False)

    change_car(entry=entry, car=NewCar(77, "Theta"), spare=None, by=None)

    assert entry.cars.get().car.owner == entry.drivers.get().driver
