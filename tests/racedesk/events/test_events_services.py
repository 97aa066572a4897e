"""Plan nights and races; what stands on them stays."""

import datetime as dt
from decimal import Decimal

import pytest

from inspection.clubs.errors import ChangedMeanwhile
from inspection.models import Inspection, LogEntry, RuleSheetRevision, TechOccasion, Track
from racedesk.events.errors import (
    FixedByTech,
    FixedByTheDraw,
    FixedByTheHeats,
    NoRuleSheetGiven,
    NoRuleSheetInForce,
    RaceNameTaken,
    TrackWithoutLayout,
)
from racedesk.events.selectors import event_version, race_version
from racedesk.events.services import EventContent, RaceContent, change_event, change_race, create_event, create_race
from racedesk.models import HeatEvent
from tests import factories, race_factories

pytestmark = pytest.mark.django_db
FRIDAY = dt.date(2026, 11, 27)


def content(event, **changed):
    times = {name: getattr(event, name) for name in EventContent.TIMES}
    plain = {"name": event.name, "date": event.date, "track": event.track_layout.track, "note": event.note}
    return EventContent(**(plain | times | changed))


def race_content(race, **changed):
    plain = {name: getattr(race, name) for name in RaceContent.PLAIN}
    sheet = race.rule_revision.rule_sheet if race.rule_revision else None
    return RaceContent(**(plain | {"rule_sheet": sheet} | changed))


def edit(race, **changed):
    race.refresh_from_db()
    return change_race(race=race, content=race_content(race, **changed), version=race_version(race), by=None)


def newer(revision, *, effective_from):
    return RuleSheetRevision.objects.create(
        rule_sheet=revision.rule_sheet,
        number=revision.number + 1,
        state="published",
        effective_from=effective_from,
        published_at=dt.datetime(2026, 6, 1, tzinfo=dt.UTC),
    )


def test_a_night_takes_the_latest_layout_of_its_track():
    club = factories.club()
    layout = factories.track_layout(club)
    latest = layout.track.layouts.create(number=2)

    event = create_event(club=club, content=EventContent("Friday", FRIDAY, layout.track), by=None)

    assert event.track_layout == latest
    assert LogEntry.objects.get(subject_id=event.public_id).action == "planned event"


def test_a_night_is_refused_on_a_track_without_a_layout():
    club = factories.club()
    track = Track.objects.create(club=club, name="Not built yet")

    with pytest.raises(TrackWithoutLayout):
        create_event(club=club, content=EventContent("Friday", FRIDAY, track), by=None)


def test_a_race_with_tech_pins_the_revision_in_force_on_the_night():
    event = race_factories.event(date=FRIDAY)
    first = factories.published_sheet(event.club)
    newer(first, effective_from=dt.date(2026, 12, 1))

    race = create_race(event=event, content=RaceContent("Saloon", rule_sheet=first.rule_sheet, fee=Decimal(5)), by=None)

    assert race.rule_revision == first
    assert race.tech_occasion.revision == first
    assert race.tech_occasion.date == FRIDAY
    assert race.tech_occasion.track_layout == event.track_layout


def test_a_race_without_tech_has_neither_sheet_nor_occasion():
    race = create_race(event=race_factories.event(), content=RaceContent("Names", needs_tech=False), by=None)

    assert (race.rule_revision, race.tech_occasion) == (None, None)


def test_a_race_with_tech_but_no_sheet_is_refused():
    with pytest.raises(NoRuleSheetGiven):
        create_race(event=race_factories.event(), content=RaceContent("Saloon"), by=None)


def test_a_race_by_a_sheet_that_is_not_in_force_yet_is_refused():
    event = race_factories.event(date=dt.date(2025, 1, 1))
    sheet = factories.published_sheet(event.club).rule_sheet

    with pytest.raises(NoRuleSheetInForce):
        create_race(event=event, content=RaceContent("Saloon", rule_sheet=sheet), by=None)


def test_two_races_by_one_revision_share_the_tech_so_that_a_car_is_inspected_once():
    event = race_factories.event()
    sheet = factories.published_sheet(event.club).rule_sheet

    first = create_race(event=event, content=RaceContent("A", rule_sheet=sheet), by=None)
    second = create_race(event=event, content=RaceContent("B", rule_sheet=sheet), by=None)

    assert first.tech_occasion == second.tech_occasion
    assert [first.position, second.position] == [1, 2]


def test_two_races_of_a_night_have_two_names():
    race = race_factories.race(name="Saloon")

    with pytest.raises(RaceNameTaken):
        create_race(event=race.event, content=RaceContent("SALOON", needs_tech=False), by=None)


def test_the_second_to_save_is_told_who_was_first():
    race = race_factories.race()
    race.refresh_from_db()
    director = factories.member(race.event.club, name="ada")
    opened = race_version(race)
    change_race(race=race, content=race_content(race, cap=10), version=opened, by=director)

    with pytest.raises(ChangedMeanwhile, match="ada"):
        change_race(race=race, content=race_content(race, cap=12), version=opened, by=None)
    race.refresh_from_db()
    assert race.cap == 10


def test_the_second_to_save_a_night_is_told_too():
    event = race_factories.event()
    opened = event_version(event)
    change_event(event=event, content=content(event, note="Bring chairs"), version=opened, by=None)

    with pytest.raises(ChangedMeanwhile):
        change_event(event=event, content=content(event, note="No chairs"), version=opened, by=None)


def test_once_the_heats_are_drawn_the_class_stays_but_the_fee_may_change():
    race = race_factories.drawn_race(drivers=4)
    racing_class = factories.racing_class(race.event.club)

    with pytest.raises(FixedByTheDraw):
        edit(race, racing_class=racing_class)
    assert edit(race, fee=Decimal("7.50"), heat_length_s=120).fee == Decimal("7.50")


def test_once_the_heats_are_drawn_the_night_keeps_its_track_and_date():
    race = race_factories.drawn_race(drivers=4)
    event = race.event
    other = factories.track_layout(event.club).track
    version = event_version(event)

    for changed in ({"track": other}, {"date": event.date + dt.timedelta(days=7)}):
        with pytest.raises(FixedByTheDraw):
            change_event(event=event, content=content(event, **changed), version=version, by=None)


def test_once_a_heat_was_started_its_length_and_the_tie_rule_stay():
    race = race_factories.drawn_race(drivers=4)
    heat = race.stages.get().draws.get().heats.first()
    HeatEvent.objects.create(heat=heat, number=1, kind="ready", at_ms=0)

    with pytest.raises(FixedByTheHeats):
        edit(race, heat_length_s=60)
    with pytest.raises(FixedByTheHeats):
        edit(race, tie_rule="shared")


def test_moving_a_night_moves_closing_times_and_pins_the_sheet_anew():
    event = race_factories.event(date=FRIDAY)
    revision = factories.published_sheet(event.club)
    later = newer(revision, effective_from=dt.date(2026, 12, 1))
    closes = dt.datetime(2026, 11, 27, 18, tzinfo=dt.UTC)
    content_ = RaceContent("Saloon", rule_sheet=revision.rule_sheet, entries_close_at=closes)
    race = create_race(event=event, content=content_, by=None)

    moved = content(event, date=dt.date(2026, 12, 4))
    change_event(event=event, content=moved, version=event_version(event), by=None)

    race.refresh_from_db()
    assert race.rule_revision == later
    assert race.tech_occasion.revision == later
    assert race.entries_close_at == dt.datetime(2026, 12, 4, 18, tzinfo=dt.UTC)


def test_a_closing_time_stays_by_the_halls_clock_when_the_clocks_change():
    # In Vienna summer time ends on 25 October 2026: seven in the evening is 17:00 UTC before it, 18:00 UTC after it.
    event = race_factories.event(date=dt.date(2026, 10, 23))
    closes = dt.datetime(2026, 10, 23, 17, tzinfo=dt.UTC)
    race = create_race(event=event, content=RaceContent("Open", needs_tech=False, entries_close_at=closes), by=None)

    moved = content(event, date=dt.date(2026, 10, 30))
    change_event(event=event, content=moved, version=event_version(event), by=None)

    race.refresh_from_db()
    assert race.entries_close_at == dt.datetime(2026, 10, 30, 18, tzinfo=dt.UTC)


def test_a_night_whose_cars_were_inspected_keeps_its_date_and_sheet():
    event = race_factories.event(date=FRIDAY)
    sheet = factories.published_sheet(event.club).rule_sheet
    race = create_race(event=event, content=RaceContent("Saloon", rule_sheet=sheet), by=None)
    Inspection.objects.create(occasion=race.tech_occasion, car=factories.car(event.club))

    with pytest.raises(FixedByTech):
        change_event(
            event=event, content=content(event, date=dt.date(2026, 12, 4)), version=event_version(event), by=None
        )
    with pytest.raises(FixedByTech):
        edit(race, needs_tech=False)
    race.refresh_from_db()
    assert race.needs_tech


def test_turning_tech_off_takes_the_unused_occasion_away():
    event = race_factories.event()
    sheet = factories.published_sheet(event.club).rule_sheet
    race = create_race(event=event, content=RaceContent("Saloon", rule_sheet=sheet), by=None)

    edit(race, needs_tech=False)

    assert not TechOccasion.objects.of(event.club).exists()
