"""A club that has one of everything, for tests that walk every address."""

import datetime as dt
from decimal import Decimal

import pytest
from django.db import transaction

from inspection.choicelists.selectors import EntryContent
from inspection.choicelists.services import create_choice_list
from inspection.clauses.services import add_clause
from inspection.contents.selectors import ClauseContent
from inspection.exchange.services import create_rule_sheet
from inspection.inspections.services import open_inspection, record_measurement
from inspection.models import Inspection, Photo, PrepTemplate, Role
from inspection.papers import documents
from inspection.rulesheets.services import publish_rule_sheet, start_next_draft
from racedesk.models import CalledEntry, EntryImport, MarshalHelper, Payment, Penalty, TechCall
from racedesk.results.services import publish_results
from racedesk.seasons.services import add_round, create_season
from tests import factories, race_factories
from tests.racedesk.results.test_results_services import run


@pytest.fixture
def club(db):
    """A club that has one of everything."""
    return club_with_everything()


@pytest.fixture
def undrawn_paper(monkeypatch):
    """Paper is not drawn: who is given it and what it asks the database is known before. test_papers.py draws it."""
    monkeypatch.setattr(documents, "pdf_bytes", str.encode)


@pytest.fixture(scope="module")
def kept_club(django_db_setup, django_db_blocker):
    """The same, made once for a whole module and taken back after it; the module's tests need `taken_back`."""
    with django_db_blocker.unblock(), transaction.atomic():
        yield club_with_everything()
        transaction.set_rollback(True)


@pytest.fixture
def taken_back(kept_club, django_db_blocker):
    """What a test does to the kept club does not outlive it. A module's own `_django_db_helper` asks for this one."""
    with django_db_blocker.unblock(), transaction.atomic():
        yield
        transaction.set_rollback(True)


def build_on_general_sheet(club, general, owner):
    """A class sheet as a draft upon a published sheet, with a clause of its own."""
    draft = create_rule_sheet(club=club, name="Narrow class", by=owner)
    sheet = draft.rule_sheet
    sheet.parent = general
    sheet.save()
    add_clause(revision=draft, content=ClauseContent(number="77", text="Any paint."), by=owner)


def club_with_everything(*, drivers=4, before=lambda club, event: None):
    """drivers: how many race in the race that is drawn, run and published, which is the club's newest.

    before: makes more, of the club and its night, while that race and its season are still to come.
    """
    made = factories.club()
    owner = factories.member(made, Role.OWNER)
    factories.member(made, Role.DRIVER)
    event = race_factories.event(made, lanes=3)
    before(made, event)
    race_factories.entries(race_factories.race(event), 2)
    race = race_factories.race_with_tech(event)
    for entry in race_factories.entries(race, drivers):
        entry.override_by, entry.override_at, entry.override_reason = owner, entry.entered_at, "friendly night"
        entry.save()
    race_factories.drawn(race, by=owner)
    factories.gauge_study(factories.gauge(made))
    factories.chassis(made)
    factories.motor_unit(made)
    factories.job_line(made)
    create_choice_list(club=made, name="Motors", entries=[EntryContent(value="Swift 20")], by=owner)
    car = race.entries.first().cars.get().car
    card = open_inspection(occasion=race.tech_occasion, car=car, phase=Inspection.Phase.BEFORE, by=owner)
    record_measurement(inspection=card, clause=card.occasion.revision.clauses.first(), text="63.10", by=owner)
    Photo.objects.create(inspection=card, data=b"\xff\xd8\xff", media_type="image/jpeg", by=owner)
    sheet = race.rule_revision.rule_sheet
    start_next_draft(rule_sheet=sheet, by=owner)
    publish_rule_sheet(rule_sheet=sheet, effective_from=dt.date(2027, 1, 1), change_note="a new year", by=owner)
    start_next_draft(rule_sheet=sheet, by=owner)
    build_on_general_sheet(made, sheet, owner)
    EntryImport.objects.create(race=race, file_name="entries.csv", rows=[])
    entry = race.entries.first()
    driver = entry.drivers.get().driver
    Payment.objects.create(event=event, driver=driver, entry=entry, kind="paid", amount=Decimal(5), by=owner)
    Penalty.objects.create(race=race, entry=entry, laps=1, reason="missed duty", by=owner)
    MarshalHelper.objects.create(race=race, post=event.track_layout.posts.first(), name="Mara Lind")
    run(race)
    publish_results(race=race, by=owner)
    call = TechCall.objects.create(race=race, first_places=1, drawn=0, seed="4471", by=owner)
    CalledEntry.objects.create(call=call, entry=entry, why="place", position=1)
    sheet_of_bench = factories.bench_sheet(car)
    PrepTemplate.objects.create(club=made, name="Ours", steps=[{"title": "Look"}])
    for _ in range(2):
        factories.run(car, sheet=sheet_of_bench, track_layout=event.track_layout, lane=1)
    factories.driver(made)
    factories.racing_class(made)
    season = create_season(club=made, name="Winter", points=[Decimal(9)], by=owner)
    add_round(season=season, race=race, number=1, by=owner)
    return made
