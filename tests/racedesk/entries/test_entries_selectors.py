"""Who is ready, who is not and why, and whom the desk may mean."""

import datetime as dt

import pytest

from inspection.models import Finding, Inspection
from racedesk.checkin.services import override_tech
from racedesk.entries.selectors import (
    candidates,
    clearance_of,
    entries_of,
    entry_lines,
    ready_entries,
    unready_entries,
)
from racedesk.models import Entry, EntryCar
from tests import factories, race_factories

pytestmark = pytest.mark.django_db


def card(entry, *, signed_clear=None, outcomes=()):
    """A card of the entry's car with these outcomes, signed or not."""
    occasion = entry.race.tech_occasion
    row = entry.cars.get(is_spare=False)
    made = Inspection.objects.create(occasion=occasion, car=row.car, build=row.build)
    for clause, outcome in zip(occasion.revision.clauses.all(), outcomes, strict=False):
        Finding.objects.create(
            inspection=made, clause=clause, clause_number=clause.number, subject="Width", limit_text="at most 64.00 mm",
            answer="63.00", outcome=outcome,
        )  # fmt: skip
    if signed_clear is not None:
        made.signed_by, made.signed_clear = factories.user(), signed_clear
        made.signed_at = dt.datetime(2026, 11, 27, 18, tzinfo=dt.UTC)
        made.save()
    return made


def test_without_tech_all_who_are_checked_in_are_ready():
    race = race_factories.race()
    here = race_factories.entry(race, with_car=False)
    coming = race_factories.entry(race, state=Entry.State.ENTERED)
    waiting = race_factories.entry(race, state=Entry.State.WAITING)
    race_factories.entry(race, state=Entry.State.WITHDRAWN)
    race_factories.entry(race, state=Entry.State.NO_SHOW)

    assert ready_entries(race) == [here]
    assert {(row.entry, row.code) for row in unready_entries(race)} == {
        (coming, "not_checked_in"),
        (waiting, "waiting"),
    }


def test_with_tech_only_a_card_signed_clear_or_the_director_makes_ready():
    race = race_factories.race_with_tech()
    clear, failed, begun, unseen, overridden = race_factories.entries(race, 5)
    without_car = race_factories.entry(race, with_car=False)
    card(clear, signed_clear=True, outcomes=["pass"] * 3)
    card(failed, outcomes=["pass", "fail"])
    card(begun, outcomes=["pass", "pass", "pass"])
    card(overridden, outcomes=["fail"])
    override_tech(entry=overridden, reason="scale battery is flat", by=factories.user())

    assert ready_entries(race) == [clear, overridden]
    assert {row.entry: row.code for row in unready_entries(race)} == {
        failed: "failed",
        begun: "open",
        unseen: "not_checked",
        without_car: "no_car",
    }
    assert clearance_of(entries_of(race))[failed.pk].fails == ("2 Width",)


def test_a_car_rebuilt_after_it_was_signed_is_not_ready():
    race = race_factories.race_with_tech()
    entry = race_factories.entry(race)
    card(entry, signed_clear=True, outcomes=["pass"] * 3)
    assert ready_entries(race) == [entry]

    factories.build(entry.cars.get().car)

    assert [row.code for row in unready_entries(race)] == ["build_changed"]


def test_the_spare_does_not_clear_the_car():
    race = race_factories.race_with_tech()
    entry = race_factories.entry(race)
    spare = factories.car(race.event.club)
    EntryCar.objects.create(entry=entry, race=race, car=spare, is_spare=True)
    Inspection.objects.create(
        occasion=race.tech_occasion, car=spare, signed_by=factories.user(), signed_clear=True,
        signed_at=dt.datetime(2026, 11, 27, 18, tzinfo=dt.UTC),
    )  # fmt: skip

    assert ready_entries(race) == []


@pytest.mark.parametrize("read", [ready_entries, unready_entries, lambda race: entry_lines(race, for_desk=True)])
def test_readiness_and_list_run_no_more_queries_with_more_entries(read, django_assert_max_num_queries):
    race = race_factories.race_with_tech()
    race_factories.entries(race, 2)
    with django_assert_max_num_queries(9):
        read(race)

    race_factories.entries(race, 60)
    with django_assert_max_num_queries(9):
        read(race)


def test_three_letters_find_who_raced_last_time_with_the_car_of_last_time():
    club = factories.club()
    racing_class = factories.racing_class(club)
    before = race_factories.race(race_factories.event(club, date=dt.date(2026, 10, 30)), racing_class=racing_class)
    race = race_factories.race(race_factories.event(club), racing_class=racing_class)
    newcomer = factories.driver(club, "Brandon Marsh")
    ada = factories.driver(club, "Ada Brandt")
    raced = race_factories.entry(before, ada)

    found = candidates(race, "bra")

    assert [one.driver for one in found] == [ada, newcomer]
    assert (found[0].car, found[0].car_is_last) == (raced.cars.get().car, True)
    assert (found[1].car, found[1].car_is_last) == (None, False)


def test_a_driver_with_one_car_of_the_class_is_offered_with_it():
    club = factories.club()
    racing_class = factories.racing_class(club)
    race = race_factories.race(race_factories.event(club), racing_class=racing_class)
    ada = factories.driver(club, "Ada Brandt")
    car = factories.car(club, ada, racing_class=racing_class)
    factories.car(club, ada, racing_class=factories.racing_class(club))

    assert candidates(race, "ada")[0].car == car


def test_a_car_that_is_in_the_race_already_is_not_offered_again():
    club = factories.club()
    before = race_factories.race(race_factories.event(club, date=dt.date(2026, 10, 30)))
    race = race_factories.race(race_factories.event(club))
    ada = factories.driver(club, "Ada Brandt")
    car = race_factories.entry(before, ada).cars.get().car
    other = race_factories.entry(race, with_car=False)
    EntryCar.objects.create(entry=other, race=race, car=car)

    assert candidates(race, "ada")[0].car is None


def test_who_is_entered_already_is_found_last_and_said_to_be():
    race = race_factories.race()
    club = race.event.club
    race_factories.entry(race, factories.driver(club, "Anna Arnaud"))
    free = factories.driver(club, "Anna Zell")

    found = candidates(race, "anna")

    assert found[0].driver == free
    assert [str(one.entered) for one in found] == ["", "checked in"]


def test_candidates_run_no_more_queries_when_more_are_found(django_assert_max_num_queries):
    race = race_factories.race(racing_class=None)
    for n in range(8):
        race_factories.entry(
            race_factories.race(race_factories.event(race.event.club, date=dt.date(2026, 10, 1))),
            factories.driver(race.event.club, f"Ann{n} Zell"),
        )

    with django_assert_max_num_queries(8):
        assert len(candidates(race, "ann")) == 8
