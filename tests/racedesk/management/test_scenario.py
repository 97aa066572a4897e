"""The demo's scenario is a whole invented club on a whole invented night, made without breaking a rule of its own.

Loading takes a while, so it is loaded once, by one test, which names each thing that does not hold.
"""

import datetime as dt
from collections import Counter
from zoneinfo import ZoneInfo

import pytest
from django.contrib.auth.password_validation import validate_password
from django.core.management.base import CommandError
from django.utils import timezone

from inspection.calibrations.selectors import checks_tonight
from inspection.gauges.selectors import calibration_state
from inspection.models import (
    Car,
    ChoiceListRevision,
    Club,
    Driver,
    Finding,
    Gauge,
    GaugeStudy,
    Inspection,
    LogEntry,
    MarshalPost,
    Role,
    RuleSheetRevision,
    TechOccasion,
    TrackLayout,
    User,
)
from inspection.studies.selectors import progress_of
from inspection.studyoutcomes.selectors import outcome_of
from racedesk.entries.selectors import clearance_of, entries_of
from racedesk.heats.selectors import current_draw, unrun_heats
from racedesk.management import scenario_tonight, server
from racedesk.management.scenario_clock import ScenarioClock
from racedesk.models import (
    Entry,
    Event,
    HeatEvent,
    LaneAssignment,
    Payment,
    Penalty,
    Race,
    ResultSheet,
    Season,
    TechCall,
)
from racedesk.seasons.selectors import standings_of
from racedesk.takings.selectors import takings_of
from tests.scenario_file import kept_at, load

CLEAR = {
    "Gus Petrakis",
    "Ada Brandt",
    "Pia Lindqvist",
    "Zoë O'Hanlon",
    "Lill Quarrie",
    "Ottoline Marsh",
    "Sylvie Arnaud",
}


# ---- what must hold -------------------------------------------------------------------------------------------------


def the_club_says_that_it_is_invented():
    assert Club.objects.get().is_invented


def four_people_sign_in_each_in_a_role_of_his_own():
    roles = {user.username: set(user.memberships.values_list("role", flat=True)) for user in User.objects.all()}
    assert roles == {
        "director": {Role.OWNER, Role.RACE_DIRECTOR},
        "inspector": {Role.TECH_INSPECTOR},
        "desk": {Role.ENTRY_DESK},
        "driver": {Role.DRIVER},
    }
    for user in User.objects.all():
        assert user.check_password("race-night")
        validate_password("race-night", user)
    assert Driver.objects.get(user__username="driver").name == "Pia Lindqvist"


def there_are_sixteen_drivers_of_varied_names_and_one_junior():
    names = list(Driver.objects.values_list("name", flat=True))
    assert len(names) == 16
    assert max(len(name) for name in names) >= 25
    assert any(not name.isascii() for name in names)
    junior = Driver.objects.get(is_junior=True)
    assert junior.public_name
    assert junior.public_name != junior.name


def the_track_has_six_colored_lanes_with_lengths_and_a_post_for_adults():
    layout = TrackLayout.objects.order_by("-number").first()
    lanes = list(layout.lanes.all())
    assert [lane.number for lane in lanes] == [1, 2, 3, 4, 5, 6]
    assert len({lane.color for lane in lanes}) == 6
    assert all(lane.length_m for lane in lanes)
    assert layout.slot_depth_mm
    assert MarshalPost.objects.filter(layout=layout, adults_only=True).count() == 1


def three_classes_have_a_published_sheet_and_one_has_two_revisions():
    published = Counter(RuleSheetRevision.objects.published().values_list("rule_sheet__racing_class__name", flat=True))
    assert len(published) == 3
    assert sorted(published.values()) == [1, 1, 2]


def next_years_class_is_a_draft_upon_a_general_sheet_and_names_a_list():
    draft = RuleSheetRevision.objects.exclude(state=RuleSheetRevision.State.PUBLISHED).get()
    assert (draft.rule_sheet.name, draft.rule_sheet.parent.name) == ("Open Motors 1:32", "Newcomers, loan cars")
    assert draft.clauses.get().parts[0]["choice_list"] == "Motors for club racing"
    assert ChoiceListRevision.objects.filter(choice_list__name="Motors for club racing").count() == 2


def one_class_has_limits_in_inches():
    steel = RuleSheetRevision.objects.get(rule_sheet__name="Steel Chassis 1:24")
    assert steel.clauses.filter(upper="3 1/4 in").exists()


def the_gauges_are_studied_and_checked_tonight():
    studies = {study.name: progress_of(study) for study in GaugeStudy.objects.all()}
    assert Counter(progress.is_complete for progress in studies.values()) == {True: 2, False: 1}
    assert all(outcome_of(progress) for progress in studies.values() if progress.is_complete)
    assert not GaugeStudy.objects.filter(adopted_at__isnull=False).exists(), "the cards stand on the makers' figures"
    tonight = checks_tonight(Club.objects.get(), TechOccasion.objects.latest("pk").date)
    assert {each.gauge.name for each in tonight if each.check and each.check.is_within} == {"Caliper", "Scale"}


def one_gauge_is_past_its_calibration():
    states = [calibration_state(gauge, timezone.localdate()) for gauge in Gauge.objects.all()]
    assert states.count("overdue") == 1
    assert "valid" in states


def every_car_has_a_build_and_some_have_been_rebuilt():
    builds = [car.builds.count() for car in Car.objects.all()]
    assert len(builds) == 24
    assert min(builds) == 1
    assert max(builds) == 3


def four_rounds_are_run_and_published_and_the_fifth_is_tonight():
    season = Season.objects.get()
    rounds = list(season.rounds.select_related("race__event").order_by("number"))
    assert [each.number for each in rounds] == [1, 2, 3, 4, 5]
    assert all(ResultSheet.objects.filter(race=each.race).exists() for each in rounds[:4])
    assert not ResultSheet.objects.filter(race=rounds[4].race).exists()
    assert rounds[4].race.event.date == server.today()
    assert len(standings_of(season).rows) == 16


def every_heat_of_the_past_has_its_laps():
    for race in past_races():
        assert unrun_heats(race) == [], race


def everybody_drives_every_lane_exactly_once():
    for race in Race.objects.filter(stages__draws__isnull=False):
        lanes = Counter(
            LaneAssignment.objects.filter(heat__draw=current_draw(race)).values_list("seat_id", "lane__number")
        )
        assert set(lanes.values()) == {1}, race
        seats = {seat for seat, _lane in lanes}
        assert len(lanes) == 6 * len(seats), race


def events_of_a_heat_are_numbered_without_gaps_and_go_forward():
    by_heat = {}
    for heat, number, at_ms in HeatEvent.objects.order_by("heat", "number").values_list("heat", "number", "at_ms"):
        by_heat.setdefault(heat, []).append((number, at_ms))
    for rows in by_heat.values():
        assert [number for number, _at in rows] == list(range(1, len(rows) + 1))
        assert [at for _number, at in rows] == sorted(at for _number, at in rows)


def heats_were_run_on_the_evening_of_their_night():
    rows = HeatEvent.objects.filter(kind="start").values_list("at_ms", "heat__draw__stage__race__event__date")
    zone = server.local_zone()
    for at_ms, date in rows:
        at = dt.datetime.fromtimestamp(at_ms / 1000, tz=zone)
        assert at.date() == date
        assert dt.time(19, 30) < at.time() < dt.time(23)


def laps_are_what_such_a_track_gives_and_differ():
    found = HeatEvent.objects.filter(
        kind="laps_entered", heat__draw__stage__race__racing_class__name="Grand Touring 1:32"
    ).values_list("detail", flat=True)
    laps = [detail["laps"] + detail["sections"] / detail["divisor"] for detail in found]
    assert len(laps) > 250
    assert 14.5 < min(laps) < max(laps) < 20
    assert 17 < sum(laps) / len(laps) < 19
    assert len(set(laps)) > 40


def last_month_s_result_was_corrected_and_holds_a_penalty():
    race = last_night().races.get(position=1)
    first, second = race.result_sheets.order_by("number")
    assert second.change_note
    assert first.superseded_at is not None
    assert second.published_at.date() == race.event.date + dt.timedelta(days=1)
    penalty = Penalty.objects.get()
    assert penalty.race == race
    assert penalty.finding.outcome == Finding.Outcome.FAIL
    assert penalty.finding.inspection.phase == Inspection.Phase.AFTER
    assert second.rows.filter(penalty_laps=2).count() == 1


def the_same_seed_gives_the_same_night():
    rows = last_night().races.get(position=1).result_sheets.get(number=2).rows.all()
    placed = [(row.driver_name, row.sections / row.divisor) for row in rows if row.place]
    assert placed[:3] == THE_FIRST_THREE_OF_ROUND_4


def tonight_is_half_way_through_tech():
    now = timezone.now()
    event = tonight()
    assert event.tech_opens_at < now < event.tech_closes_at < event.racing_at < event.hall_closes_at
    entries = list(entries_of(event.races.get(position=1)))
    states = {str(entry): found.state for entry, found in with_clearance(entries)}
    assert {name for name, state in states.items() if state == "clear"} == CLEAR
    assert states["Noor Haddad"] == "failed"
    assert states["Mo Fairweather"] == "overridden"
    assert states["Ferdinand Ochoa"] == "not_checked"
    assert {states[name] for name in ("Jun Hara", "Bram de Wit", "Ines Caldera")} == {"open"}
    too_close = {str(entry) for entry, found in with_clearance(entries) if found.too_close}
    assert too_close == {"Jun Hara"}


def one_car_stands_in_impound_with_its_seal():
    (card,) = Inspection.objects.filter(occasion__races__event=tonight()).exclude(seal_number="")
    assert (str(card.car.owner), card.seal_number, card.signed_clear) == ("Ada Brandt", "0417", True)
    assert card.impounded_at == card.signed_at


def the_car_that_fails_has_until_a_time_to_be_cured_and_a_picture():
    (card,) = Inspection.objects.filter(occasion__races__event=tonight(), cure_by__isnull=False)
    assert card.car.owner.name == "Noor Haddad"
    assert timezone.now() < card.cure_by < timezone.now() + dt.timedelta(minutes=20)
    (photo,) = card.photos.all()
    assert photo.media_type == "image/png"
    assert card.findings.get(clause=photo.clause).outcome == Finding.Outcome.FAIL


def tonight_s_sheet_compares_asks_by_condition_and_names_a_list():
    revision = TechOccasion.objects.get(races__event=tonight()).revision
    compared = revision.clauses.get(other__code="overall-width")
    conditional = revision.clauses.exclude(applies_when={}).get()
    assert revision.clauses.get(characteristic__code="tire-material").choice_list.name == "Tire materials"
    found = Finding.objects.filter(superseded_at__isnull=True, inspection__occasion__revision=revision)
    assert set(found.filter(clause=compared).values_list("outcome", flat=True)) == {"pass"}
    zones = set(found.filter(clause=conditional).values_list("zone", flat=True))
    assert "not_applicable" in zones
    assert len(zones) > 1


def the_first_three_and_one_by_lot_were_called_after_the_last_race():
    call = TechCall.objects.get()
    assert call.race == last_night().races.get(position=1)
    called = call.entries.select_related("entry").order_by("position")
    assert [one.why for one in called] == ["place", "place", "place", "drawn"]
    cards = Inspection.objects.filter(occasion=call.race.tech_occasion, phase=Inspection.Phase.AFTER)
    assert cards.count() == 4
    assert Penalty.objects.get().entry == called[3].entry


def one_car_was_cured_and_inspected_again():
    card = Inspection.objects.get(occasion__races__event=tonight(), attempt=2)
    struck = card.findings.filter(superseded_at__isnull=False).select_related("clause")
    assert [one.outcome for one in struck if one.clause.other_id is None] == [Finding.Outcome.FAIL]
    assert [one.clause.other.code for one in struck if one.clause.other_id] == ["overall-width"], "compared anew"
    assert card.signed_clear


def one_clause_waits_for_a_judge():
    card = Inspection.objects.get(occasion__races__event=tonight(), car__number=12)
    judged = card.occasion.revision.clauses.get(comparator="judge_decides")
    assert card.findings.count() == 23
    assert not card.findings.filter(clause=judged).exists()


def the_desk_has_taken_fees_in_every_way():
    entries = Entry.objects.filter(race__event=tonight(), race__position=1)
    assert Counter(entries.values_list("state", flat=True)) == {
        "checked_in": 13,
        "entered": 1,
        "waiting": 1,
        "withdrawn": 1,
    }
    kinds = set(Payment.objects.filter(event=tonight()).values_list("kind", flat=True))
    assert kinds == {"paid", "waived", "credit_used"}
    assert Payment.objects.filter(event=tonight(), corrects__isnull=False).count() == 1
    assert takings_of(tonight()).owed > 0


def the_second_race_tonight_needs_no_tech_and_is_drawn():
    race = tonight().races.get(position=2)
    assert not race.needs_tech
    assert current_draw(race).heats.count() == 8
    assert not HeatEvent.objects.filter(heat__draw__stage__race=race).exists()


def nothing_has_happened_that_is_still_to_come():
    now = timezone.now()
    for model, name in (
        (LogEntry, "at"), (Finding, "at"), (Payment, "at"), (Inspection, "signed_at"), (Entry, "entered_at"),
        (ResultSheet, "published_at"), (RuleSheetRevision, "published_at"),
    ):  # fmt: skip
        assert not model.objects.filter(**{f"{name}__gt": now}).exists(), model
    assert HeatEvent.objects.order_by("-at_ms").first().at_ms < now.timestamp() * 1000


def every_night_is_written_in_the_log_of_its_own_day():
    zone = server.local_zone()
    for event in Event.objects.all():
        days = {entry.at.astimezone(zone).date() for entry in LogEntry.objects.filter(action="opened card")}
        assert event.date in days or event == tonight()
    assert LogEntry.objects.count() > 500
    founding = LogEntry.objects.filter(by__isnull=True).values_list("action", flat=True)
    assert set(founding) == {"founded club", "added member", "gave role"}


def nobody_enters_in_the_middle_of_the_night():
    zone = ZoneInfo(Club.objects.get().time_zone)
    hours = {entry.entered_at.astimezone(zone).hour for entry in Entry.objects.all()}
    assert hours <= set(range(7, 23))


CHECKS = [
    check for name, check in list(globals().items()) if callable(check) and getattr(check, "__module__", "") == __name__
]
THE_FIRST_THREE_OF_ROUND_4 = [("Bram de Wit", 115.1), ("Ada Brandt", 114.3), ("Sylvie Arnaud", 114.3)]


def tonight():
    return Event.objects.order_by("date").last()


def last_night():
    return Event.objects.order_by("-date")[1]


def past_races():
    return Race.objects.filter(event__date__lt=tonight().date)


def with_clearance(entries):
    found = clearance_of(entries)
    return [(entry, found[entry.pk]) for entry in entries]


# ---- tests ----------------------------------------------------------------------------------------------------------


@pytest.mark.long
@pytest.mark.django_db(transaction=True)
def test_the_scenario_is_a_whole_club_on_a_whole_night(tmp_path_factory, worker_id):
    steps = []
    before = timezone.now()

    kept = kept_at(tmp_path_factory, worker_id)
    load(kept, progress=lambda done, total, what: steps.append((done, total, what)), anew=True)

    assert timezone.now() >= before, "the clock goes on by itself again"
    assert [done for done, _total, _what in steps] == list(range(1, steps[-1][1] + 1))
    broken = {}
    for check in CHECKS:
        try:
            check()
        except (AssertionError, LookupError, TypeError, ValueError) as error:
            broken[check.__name__] = f"{type(error).__name__}: {error}"
    assert broken == {}


@pytest.mark.parametrize("hour", range(0, 24, 3))
@pytest.mark.parametrize("minute", [0, 14, 59])
def test_half_way_through_tech_is_now_at_any_time_of_day(hour, minute):
    zone = ZoneInfo("Europe/Vienna")
    now = dt.datetime(2026, 11, 25, hour, minute, 30, tzinfo=zone)
    world = type("World", (), {"zone": zone})

    times = scenario_tonight.times_around(world, now)

    assert times.doors < times.tech < now < times.tech_closes < times.racing < times.hall_closes
    assert times.tech_closes - now > dt.timedelta(minutes=14)
    assert now - times.tech > scenario_tonight.AT_THE_TABLE + dt.timedelta(minutes=10)


def test_the_scenario_s_clock_moves_only_as_it_is_told():
    at = dt.datetime(2026, 10, 28, 19, 45, tzinfo=dt.UTC)

    with ScenarioClock(at) as clock:
        assert timezone.now() == at
        clock.forward(90)
        assert timezone.now() == at + dt.timedelta(seconds=90)
        assert clock.ms == 1793216790000 + 0

    assert abs((timezone.now() - dt.datetime.now(dt.UTC)).total_seconds()) < 5


def test_the_real_clock_comes_back_when_loading_fails():
    with pytest.raises(CommandError), ScenarioClock(dt.datetime(2020, 1, 1, tzinfo=dt.UTC)):
        raise CommandError("broken off")

    assert timezone.now().year > 2020
