"""Commands and laps become numbered events; what cannot be is refused and nothing is lost."""

import pytest
import time_machine

from inspection.clubs.errors import Refused
from inspection.models import LogEntry, Role
from inspection.models.club import AppendOnlyError
from racedesk.clocks.selectors import heat_state, heats_under_way, is_run
from racedesk.heats.selectors import heats_of, next_heat, unrun_heats
from racedesk.heats.services import draw_heats, rotation_stage
from racedesk.models import Heat, HeatEvent, Race
from racedesk.racecontrol.selectors import scores_of
from racedesk.racecontrol.services import append_event, enter_heat_laps, enter_laps, record_who_drove, start_heat
from racedesk.timing.heat_clock import Phase, left_ms, phase_at
from tests import factories, race_factories

pytestmark = pytest.mark.django_db

T0 = 1_800_000_000_000


@pytest.fixture
def race():
    return race_factories.drawn_race(drivers=8, countdown_s=5, heat_length_s=180)


@pytest.fixture
def heat(race):
    return heats_of(race)[0]


def send(heat, kind, at_ms=T0, **fields):
    return append_event(**({"heat": heat, "kind": kind, "at_ms": at_ms, "by": None} | fields))


def lane_of(heat, number=1):
    return heat.lanes.get(lane__number=number).lane


def laps(heat, text, lane=1, **fields):
    return enter_laps(
        **({"heat": heat, "lane": lane_of(heat, lane), "text": text, "at_ms": T0 + 300_000, "by": None} | fields)
    )


def run_to_the_end(heat, at_ms=T0):
    start_heat(heat=heat, at_ms=at_ms, by=None)
    return at_ms + 5_000 + 180_000


def refused(call, *args, **fields):
    with pytest.raises(Refused) as refusal:
        call(*args, **fields)
    return refusal.value.code


class TestNumbers:
    def test_run_from_one_without_gaps(self, heat):
        send(heat, "ready")
        send(heat, "start", T0 + 1)
        send(heat, "call_track", T0 + 60_000)
        send(heat, "resume", T0 + 82_000)
        assert list(heat.events.values_list("number", "kind")) == [
            (1, "ready"),
            (2, "start"),
            (3, "call_track"),
            (4, "resume"),
        ]

    def test_a_refused_event_takes_no_number(self, heat):
        send(heat, "ready")
        assert refused(send, heat, "resume") == "not_allowed"
        send(heat, "start")
        assert list(heat.events.values_list("number", flat=True)) == [1, 2]

    def test_the_same_press_sent_twice_is_stored_once_and_answered_alike(self, heat):
        start_heat(heat=heat, at_ms=T0, by=None)
        first = send(heat, "call_track", T0 + 10_000, client_key="k1")
        again = send(heat, "call_track", T0 + 12_000, client_key="k1")
        assert first.pk == again.pk
        assert heat.events.filter(kind="call_track").count() == 1

    def test_a_start_sent_twice_starts_once(self, heat):
        first = start_heat(heat=heat, at_ms=T0, client_key="k1", by=None)
        again = start_heat(heat=heat, at_ms=T0 + 900, client_key="k1", by=None)
        assert first.pk == again.pk
        assert heat.events.count() == 2

    def test_a_clock_set_back_does_not_stop_the_race(self, heat):
        start_heat(heat=heat, at_ms=T0, by=None)
        called = send(heat, "call_track", T0 - 3_600_000)
        assert called.at_ms == T0

    def test_an_event_is_never_changed_or_deleted(self, heat):
        event = send(heat, "ready")
        event.reason = "other"
        with pytest.raises(AppendOnlyError):
            event.save()
        with pytest.raises(AppendOnlyError):
            HeatEvent.objects.filter(pk=event.pk).delete()


class TestClock:
    def test_starting_a_waiting_heat_makes_it_ready_first(self, heat):
        start_heat(heat=heat, at_ms=T0, by=None)
        assert list(heat.events.values_list("kind", flat=True)) == ["ready", "start"]

    def test_goes_on_after_a_restart_from_nothing_but_the_events(self, heat):
        start_heat(heat=heat, at_ms=T0, by=None)
        send(heat, "call_track", T0 + 5_000 + 40_000)
        send(heat, "resume", T0 + 5_000 + 62_000)
        state = heat_state(Heat.objects.get(pk=heat.pk))
        green_again = T0 + 5_000 + 62_000 + 5_000
        assert phase_at(state, green_again + 1_000) is Phase.RUNNING
        assert left_ms(state, green_again + 1_000) == 180_000 - 41_000
        assert phase_at(state, green_again + 140_000) is Phase.ENDED

    def test_a_heat_that_has_begun_keeps_its_length_when_the_race_is_changed(self, heat, race):
        start_heat(heat=heat, at_ms=T0, by=None)
        Race.objects.filter(pk=race.pk).update(heat_length_s=60)
        state = heat_state(Heat.objects.get(pk=heat.pk))
        assert left_ms(state, T0 + 5_000 + 100_000) == 80_000

    def test_a_second_heat_cannot_start_while_one_runs(self, race):
        first, second, *_ = heats_of(race)
        start_heat(heat=first, at_ms=T0, by=None)
        assert refused(start_heat, heat=second, at_ms=T0 + 30_000, by=None) == "another_heat_runs"
        send(first, "call_track", T0 + 31_000)
        assert refused(start_heat, heat=second, at_ms=T0 + 32_000, by=None) == "another_heat_runs"
        assert not second.events.exists()

    def test_the_next_heat_starts_once_time_has_run_out(self, race):
        first, second, *_ = heats_of(race)
        end = run_to_the_end(first)
        start_heat(heat=second, at_ms=end + 1, by=None)
        assert second.events.count() == 2

    def test_a_heat_of_another_race_on_the_same_track_holds_it_back_too(self, heat, race):
        other = race_factories.race(race.event)
        race_factories.entries(other, 3)
        race_factories.drawn(other)
        start_heat(heat=heat, at_ms=T0, by=None)
        assert refused(start_heat, heat=heats_of(other)[0], at_ms=T0 + 1_000, by=None) == "another_heat_runs"

    def test_the_track_call_keeps_ground_and_caller(self, heat):
        start_heat(heat=heat, at_ms=T0, by=None)
        send(heat, "call_track", T0 + 10_000, detail={"ground": "car on the floor", "called_by": "post 2"})
        call = heat_state(heat).calls[0]
        assert (call.ground, call.called_by, call.heat_ms) == ("car on the floor", "post 2", 5_000)

    def test_running_a_heat_again_needs_a_reason_and_keeps_what_was(self, heat):
        run_to_the_end(heat)
        laps(heat, "15")
        assert refused(send, heat, "void", T0 + 310_000) == "reason_missing"
        send(heat, "void", T0 + 310_000, reason="a lane had no power")
        state = heat_state(heat)
        assert (state.phase, state.run, state.laps) == (Phase.WAITING, 2, ())
        assert heat.events.filter(kind="laps_entered").count() == 1
        start_heat(heat=heat, at_ms=T0 + 400_000, by=None)
        assert phase_at(heat_state(heat), T0 + 406_000) is Phase.RUNNING

    def test_a_heat_of_an_older_draw_is_no_longer_raced(self, race):
        old = heats_of(race)[0]
        draw_heats(stage=rotation_stage(race=race), preset="rest", seed=2, reason="late entry", by=None)
        assert refused(start_heat, heat=old, at_ms=T0, by=None) == "draw_superseded"
        assert refused(laps, old, "3") == "draw_superseded"

    def test_who_drives_which_car_is_written_down_at_the_start(self, heat):
        assert not heat.lanes.filter(drove__isnull=False).exists()
        start_heat(heat=heat, at_ms=T0, by=None)
        for each in heat.lanes.all():
            assert each.drove == each.seat.entry.drivers.get().driver
            assert each.car == each.seat.entry.cars.get().car
            assert each.build == each.seat.entry.cars.get().build

    def test_only_heats_whose_cars_can_move_are_under_way(self, race, heat):
        assert heats_under_way(race.event, at_ms=T0) == []
        end = run_to_the_end(heat)
        assert [found.pk for found, _state in heats_under_way(race.event, at_ms=end - 1)] == [heat.pk]
        assert heats_under_way(race.event, at_ms=end) == []


class TestLaps:
    def test_are_read_back_as_they_were_understood(self, heat):
        run_to_the_end(heat)
        understood = laps(heat, " 18,45 ")
        assert understood.echo == "18 laps and 9 of 20 sections (18.45)"
        event = heat.events.get(kind="laps_entered")
        assert event.detail == {"laps": 18, "sections": 9, "divisor": 20, "text": "18,45"}

    @pytest.mark.parametrize(
        ("text", "code"),
        [
            ("-3", "negative"),
            ("", "empty"),
            ("NaN", "not_a_number"),
            ("1e999", "not_a_number"),
            ("many", "not_understood"),
            ("18.47", "part_not_on_track"),
            ("18 + 9/30", "other_division"),
            ("18/20", "section_too_big"),
            ("100000000", "absurd"),
            ("400", "more_laps_than_time"),
            ("<script>alert(1)</script>", "not_understood"),
        ],
    )
    def test_that_cannot_be_are_refused_and_nothing_is_saved(self, heat, text, code):
        run_to_the_end(heat)
        before = heat.events.count()
        assert refused(laps, heat, text) == code
        assert refused(laps, heat, text, confirmed=True) == code
        assert heat.events.count() == before

    def test_that_are_unlikely_are_asked_about_once(self, heat):
        run_to_the_end(heat)
        assert refused(laps, heat, "140") == "laps_need_confirming"
        laps(heat, "140", confirmed=True)
        assert heat_state(heat).laps_on(1).laps.laps == 140

    def test_cannot_be_typed_while_the_heat_runs(self, heat):
        start_heat(heat=heat, at_ms=T0, by=None)
        assert refused(laps, heat, "3", at_ms=T0 + 20_000) == "not_allowed"

    def test_typed_again_the_same_change_nothing(self, heat):
        run_to_the_end(heat)
        laps(heat, "17.50")
        laps(heat, "17 + 10/20")
        assert heat.events.filter(kind__startswith="laps").count() == 1

    def test_are_corrected_with_a_reason_and_the_first_count_stays_on_record(self, heat, race):
        director = factories.member(race.event.club, Role.RACE_DIRECTOR)
        run_to_the_end(heat)
        laps(heat, "17")
        assert refused(laps, heat, "18") == "reason_missing"
        laps(heat, "18", reason="counter missed one", by=director)
        typed = heat_state(heat).laps_on(1)
        assert (typed.laps.laps, typed.corrections, typed.reason) == (18, 1, "counter missed one")
        assert heat.events.filter(kind="laps_entered").get().detail["laps"] == 17
        log = LogEntry.objects.get(action="corrected laps")
        assert (log.by, log.reason, log.detail["before"], log.detail["after"]) == (
            director,
            "counter missed one",
            "17.00",
            "18.00",
        )

    def test_of_all_lanes_close_the_heat(self, heat, race):
        run_to_the_end(heat)
        enter_heat_laps(heat=heat, typed={n: str(10 + n) for n in range(1, 6)}, at_ms=T0 + 300_000, by=None)
        assert not is_run(heat)
        assert heat.number in unrun_heats(race)
        laps(heat, "16", lane=6)
        assert is_run(heat)
        assert heat.number not in unrun_heats(race)

    def test_of_several_lanes_are_saved_all_or_not_at_all(self, heat):
        run_to_the_end(heat)
        before = heat.events.count()
        assert refused(enter_heat_laps, heat=heat, typed={1: "17", 2: "-1"}, at_ms=T0 + 300_000, by=None) == "negative"
        assert heat.events.count() == before

    def test_of_a_lane_that_nobody_drives_are_refused(self, heat):
        run_to_the_end(heat)
        assert refused(enter_heat_laps, heat=heat, typed={9: "17"}, at_ms=T0 + 300_000, by=None) == "not_in_heat"

    def test_of_a_heat_timed_by_another_clock_may_be_typed_at_once(self, heat):
        enter_heat_laps(heat=heat, typed=dict.fromkeys(range(1, 7), "12"), at_ms=T0, by=None)
        assert is_run(heat)

    def test_of_a_car_that_is_out_need_not_be_typed(self, heat):
        start_heat(heat=heat, at_ms=T0, by=None)
        send(heat, "lane_out", T0 + 20_000, lane=lane_of(heat, 6), reason="axle broke")
        enter_heat_laps(heat=heat, typed=dict.fromkeys(range(1, 6), "12"), at_ms=T0 + 300_000, by=None)
        assert is_run(heat)
        score = next(s for s in scores_of(heat.draw.stage.race) if s.lanes[0].is_out)
        assert score.lanes[0].laps is None

    def test_parts_wait_for_the_last_lane_where_the_part_is_carried(self):
        race = race_factories.drawn_race(drivers=6, lap_method=Race.LapMethod.CARRIED)
        heats = heats_of(race)
        assert refused(laps, heats[0], "12.50") == "part_before_last_lane"
        laps(heats[0], "12")
        laps(heats[-1], "12.50")
        assert heat_state(heats[-1]).laps_on(1).laps.sections == 10

    @pytest.mark.parametrize("method", [Race.LapMethod.WHOLE_LAPS, Race.LapMethod.COMPLETED])
    def test_parts_are_refused_where_whole_laps_count(self, method):
        race = race_factories.drawn_race(drivers=3, lap_method=method)
        assert refused(laps, heats_of(race)[0], "12.5", lane=race_lane(race)) == "part_not_counted"

    def test_a_comma_club_types_commas(self):
        race = race_factories.drawn_race(drivers=3)
        type(race.event.club).objects.update(decimal_mark=",")
        heat = heats_of(race)[0]
        assert laps(heat, "12,45", lane=race_lane(race)).echo == "12 laps and 9 of 20 sections (12,45)"


def race_lane(race):
    return heats_of(race)[0].lanes.first().lane.number


class TestWhoDrove:
    def test_a_substitute_is_recorded_with_a_reason(self, heat, race):
        stand_in = factories.driver(race.event.club)
        record_who_drove(heat=heat, lane=lane_of(heat), driver=stand_in, reason="called away", by=None)
        assert heat.lanes.get(lane__number=1).drove == stand_in
        start_heat(heat=heat, at_ms=T0, by=None)
        assert heat.lanes.get(lane__number=1).drove == stand_in
        assert LogEntry.objects.get(action="recorded who drove").reason == "called away"

    def test_nobody_drives_two_lanes_of_a_heat(self, heat):
        busy = heat.lanes.get(lane__number=2).seat.entry.drivers.get().driver
        assert (
            refused(record_who_drove, heat=heat, lane=lane_of(heat), driver=busy, reason="x", by=None)
            == "not_a_driver_here"
        )

    def test_a_driver_of_another_club_is_refused(self, heat):
        other = factories.driver(factories.club())
        assert (
            refused(record_who_drove, heat=heat, lane=lane_of(heat), driver=other, reason="x", by=None)
            == "not_a_driver_here"
        )


class TestScores:
    def test_parts_are_added_lane_by_lane(self):
        race = race_factories.drawn_race(drivers=2, lanes=2)
        for heat in heats_of(race):
            enter_heat_laps(heat=heat, typed={1: "10.50", 2: "11.75"}, at_ms=T0, by=None)
        for score in scores_of(race):
            assert str(score.total) == "22.25"
            assert (score.lanes_driven, score.lanes_drawn) == (2, 2)

    def test_the_carried_part_is_counted_once(self):
        race = race_factories.drawn_race(drivers=2, lanes=2, lap_method=Race.LapMethod.CARRIED)
        first, last = heats_of(race)
        enter_heat_laps(heat=first, typed={1: "10", 2: "11"}, at_ms=T0, by=None)
        enter_heat_laps(heat=last, typed={1: "10.50", 2: "11.25"}, at_ms=T0 + 1, by=None)
        assert sorted(str(score.total) for score in scores_of(race)) == ["21.25", "21.50"]

    def test_what_is_not_typed_yet_is_none(self, race):
        score = scores_of(race)[0]
        assert {lane.laps for lane in score.lanes} == {None}
        assert score.lanes_driven == 0

    def test_no_more_queries_with_more_drivers(self, django_assert_max_num_queries):
        for drivers in (3, 40):
            race = race_factories.drawn_race(drivers=drivers)
            with django_assert_max_num_queries(9):
                assert len(scores_of(race)) == drivers


def test_the_next_heat_is_the_one_on_until_its_laps_are_in(race):
    first, second, *_ = heats_of(race)
    assert next_heat(race) == first
    with time_machine.travel((T0 + 400_000) / 1000):
        run_to_the_end(first)
        assert next_heat(race) == first
        enter_heat_laps(heat=first, typed=dict.fromkeys(range(1, 7), "12"), by=None)
        assert next_heat(race) == second
