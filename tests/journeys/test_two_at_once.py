"""Two people do the same thing at the same moment, on SQLite and on PostgreSQL: one wins, one is told, nothing doubles.

Each does it on a thread with a connection of its own, as two stations of one night do. What heats do under many
presses stands in tests/racedesk/racecontrol/test_pressing_at_once.py.
"""

import datetime as dt
import threading
from decimal import Decimal

import pytest
from django.db import connection

from inspection.clauses.services import change_clause
from inspection.clubs.errors import Refused
from inspection.contents.selectors import content_of, version_of
from inspection.drivers.services import DriverContent, create_driver
from inspection.inspections.services import open_inspection, record_measurement, sign_card
from inspection.models import Car, Driver, Finding, Role, RuleSheet, RuleSheetRevision, TechOccasion
from inspection.rulesheets.services import publish_rule_sheet, start_next_draft
from racedesk.checkin.services import put_back, withdraw
from racedesk.entries.services import NewCar, enter_driver, enter_newcomer, move_up_waiting
from racedesk.entrylists.selectors import TypedRow
from racedesk.entrylists.services import enter_import, keep_import
from racedesk.events.services import RaceContent, create_race
from racedesk.heats.selectors import heats_of
from racedesk.heats.services import draw_heats, rotation_stage
from racedesk.models import Draw, Entry, Payment, Race, ResultSheet
from racedesk.racecontrol.services import enter_heat_laps
from racedesk.results.services import publish_results
from racedesk.takings.services import record_payment, take_back_payment
from tests import factories, race_factories

pytestmark = pytest.mark.django_db(transaction=True)

NOW = dt.datetime(2026, 11, 20, 12, tzinfo=dt.UTC)


def at_once(*deeds):
    """What became of each deed, sorted: "done", or the code of its refusal. Anything else is raised."""
    found, broken = [], []
    gate = threading.Barrier(len(deeds))

    def run(deed):
        try:
            gate.wait(timeout=20)
            deed()
            found.append("done")
        except Refused as refusal:
            found.append(refusal.code)
        except Exception as error:  # noqa: BLE001  raised below, where the test sees it
            broken.append(error)
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=(deed,)) for deed in deeds]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    if broken:
        raise broken[0]
    return sorted(found)


def test_the_last_place_under_the_cap_goes_to_one_and_the_other_waits():
    race = race_factories.race(cap=2)
    race_factories.entry(race)
    club = race.event.club
    drivers = [factories.driver(club) for _ in range(4)]

    outcome = at_once(*[lambda who=who: enter_driver(race=race, driver=who, by=None, now=NOW) for who in drivers])

    assert outcome == ["done"] * 4
    assert sorted(race.entries.values_list("state", flat=True)) == ["checked_in", "entered", *["waiting"] * 3]


def test_a_place_that_comes_free_is_given_once():
    race = race_factories.race(cap=1)
    leaving = race_factories.entry(race, state=Entry.State.ENTERED)
    waiting = [race_factories.entry(race, state=Entry.State.WAITING) for _ in range(3)]

    at_once(
        lambda: withdraw(entry=leaving, reason="ill", by=None),
        lambda: move_up_waiting(race=race, by=None),
        lambda: put_back(entry=race_factories.entry(race, state=Entry.State.NO_SHOW), by=None),
    )

    assert Entry.objects.filter(race=race).racing().count() == 1
    assert len(waiting) == 3


def test_one_driver_entered_at_two_desks_is_entered_once():
    race = race_factories.race()
    driver = factories.driver(race.event.club)

    outcome = at_once(*[lambda: enter_driver(race=race, driver=driver, by=None, now=NOW)] * 2)

    assert outcome == ["already_entered", "done"]


def test_newcomers_at_two_desks_get_two_car_numbers_and_one_name_is_one_driver():
    club = factories.club()
    races = [race_factories.race(race_factories.event(club)) for _ in range(2)]

    def arrive(race, name):
        car = NewCar(None, "")
        return lambda: enter_newcomer(race=race, driver=DriverContent(name=name), car=car, by=None, now=NOW)

    assert at_once(*[arrive(race, f"New {n}") for n, race in enumerate(races)]) == ["done", "done"]
    assert Car.objects.of(club).values("number").distinct().count() == 2

    outcome = at_once(*[arrive(race, "Same Name") for race in races])
    assert outcome == ["done", "spelling_taken"]
    assert Driver.objects.of(club).filter(name="Same Name").count() == 1


def test_one_file_confirmed_twice_and_a_desk_beside_it_make_no_double():
    race = race_factories.race()
    club = race.event.club
    rows = [TypedRow(row=n, name=f"Listed {n}", typed={}) for n in range(2, 30)]
    kept = keep_import(race=race, file_name="list.csv", rows=rows, by=None)

    outcome = at_once(
        lambda: enter_import(entry_import=kept, choices={}, by=None, now=NOW),
        lambda: enter_import(entry_import=kept, choices={}, by=None, now=NOW),
        lambda: create_driver(club=club, content=DriverContent(name="Somebody Else"), by=None),
    )

    assert outcome == ["already_imported", "done", "done"]
    assert race.entries.count() == 28


def test_two_stations_find_one_clause_and_both_findings_are_kept():
    club = factories.club()
    inspector = factories.member(club, Role.TECH_INSPECTOR)
    occasion = factories.occasion(club)
    clause = occasion.revision.clauses.first()
    car = factories.car(club)

    cards = []
    assert at_once(*[lambda: cards.append(open_inspection(occasion=occasion, car=car, by=inspector))] * 3) == (
        ["done"] * 3
    )
    assert len({card.pk for card in cards}) == 1

    def find(text):
        return lambda: record_measurement(inspection=cards[0], clause=clause, text=text, by=inspector)

    assert at_once(find("63.10"), find("63.20"), find("64.70")) == ["done"] * 3
    findings = Finding.objects.filter(inspection=cards[0], clause=clause)
    assert findings.count() == 3
    assert findings.filter(superseded_at__isnull=True).count() == 1


def test_one_answer_sent_twice_is_one_finding():
    club = factories.club()
    occasion = factories.occasion(club)
    card = open_inspection(occasion=occasion, car=factories.car(club), by=None)
    clause = occasion.revision.clauses.first()

    def send():
        record_measurement(inspection=card, clause=clause, text="63.10", client_key="one-tap", by=None)

    assert at_once(send, send, send) == ["done"] * 3
    assert Finding.objects.filter(inspection=card).count() == 1


def test_a_card_is_never_signed_clear_over_a_failing_reading():
    club = factories.club()
    inspector = factories.member(club, Role.TECH_INSPECTOR)
    occasion = factories.occasion(club)
    for _ in range(3):
        card = open_inspection(occasion=occasion, car=factories.car(club), by=inspector)
        first, *_ = clauses = list(occasion.revision.clauses.all())
        for clause in clauses:
            record_measurement(inspection=card, clause=clause, text="63.10", by=inspector)

        at_once(
            lambda card=card: sign_card(inspection=card, by=inspector),
            lambda card=card, first=first: record_measurement(
                inspection=card, clause=first, text="65.00", by=inspector
            ),
        )

        card.refresh_from_db()
        assert not card.signed_clear


def test_a_result_is_published_once():
    race = race_factories.drawn_race(drivers=3, lanes=3)
    for heat in heats_of(race):
        typed = {each.lane.number: "10.00" for each in heat.lanes.select_related("lane")}
        enter_heat_laps(heat=heat, typed=typed, confirmed=True, at_ms=1_795_804_200_000, by=None)

    outcome = at_once(*[lambda: publish_results(race=race, by=None)] * 3)

    assert outcome == ["already_published", "already_published", "done"]
    assert ResultSheet.objects.filter(race=race).count() == 1


def test_heats_are_drawn_once_and_a_race_that_is_drawn_keeps_its_entries():
    race = race_factories.race(cap=4)
    race_factories.entries(race, 4)
    stage = rotation_stage(race=race)

    def draw():
        draw_heats(stage=stage, preset="opponents", seed=1, replaces=0, by=None)

    assert at_once(draw, draw, draw) == ["done", "draw_changed_meanwhile", "draw_changed_meanwhile"]
    assert Draw.objects.filter(stage=stage).count() == 1


def test_a_sheet_is_published_as_it_was_checked():
    club = factories.club()
    director = factories.member(club, Role.RACE_DIRECTOR)
    sheet = factories.published_sheet(club).rule_sheet
    draft = start_next_draft(rule_sheet=sheet, by=director)
    clause = draft.clauses.select_related("characteristic", "gauge").first()
    content = content_of(clause)

    def publish():
        publish_rule_sheet(
            rule_sheet=sheet, effective_from=dt.date(2026, 12, 1), change_note="looked over", by=director
        )

    def rewrite():
        change_clause(clause=clause, content=content, version=version_of(clause), by=director)

    outcome = at_once(publish, publish, rewrite)

    assert outcome in (["done", "done", "not_a_draft"], ["done", "not_a_draft", "published_is_final"])
    assert RuleSheetRevision.objects.filter(rule_sheet=sheet, state="published").count() == 2
    assert at_once(*[lambda: start_next_draft(rule_sheet=sheet, by=director)] * 3) == ["done"] * 3
    assert RuleSheet.objects.get(pk=sheet.pk).revisions.filter(state="draft").count() == 1


def test_one_payment_sent_twice_is_written_down_once_and_credit_is_spent_once():
    club = factories.club()
    driver = factories.driver(club)
    one, two = (
        race_factories.entry(race_factories.race(race_factories.event(club)), driver, fee_due=Decimal(8))
        for _ in range(2)
    )

    def pay(entry, amount, kind, version=""):
        return lambda: record_payment(entry=entry, kind=kind, amount=Decimal(amount), version=version, by=None)

    assert at_once(*[pay(one, 8, "paid", "8.00/0")] * 3) == ["done", "owed_changed", "owed_changed"]

    pay(one, 8, "credit_given")()
    outcome = at_once(pay(one, 8, "credit_used"), pay(two, 8, "credit_used"))
    assert outcome == ["credit_not_there", "done"]

    paid = Payment.objects.get(entry=one, kind="paid")
    outcome = at_once(pay(one, 8, "paid_back"), lambda: take_back_payment(payment=paid, reason="wrong driver", by=None))
    assert outcome == ["done", "more_than_paid"]


def test_races_planned_at_once_share_one_tech_occasion_and_no_name():
    club = factories.club()
    event = race_factories.event(club)
    sheet = factories.published_sheet(club).rule_sheet

    def plan(name):
        content = RaceContent(name=name, rule_sheet=sheet)
        return lambda: create_race(event=event, content=content, by=None)

    assert at_once(plan("Novice"), plan("Open"), plan("Open")) == ["done", "done", "race_name_taken"]
    assert TechOccasion.objects.filter(club=club).count() == 1
    assert sorted(Race.objects.filter(event=event).values_list("position", flat=True)) == [1, 2]
