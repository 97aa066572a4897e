"""Where the night stands, what it asks of whom, and when it ends."""

import datetime as dt

import pytest
import time_machine
from django.utils import timezone

from inspection.models import Build, Role
from racedesk.heats.selectors import heats_of
from racedesk.models import Entry, Event
from racedesk.raceday.pictures import timeline
from racedesk.raceday.selectors import minutes_words, night_of
from racedesk.results.services import publish_results
from tests import factories, race_factories
from tests.racedesk.raceday import nights
from tests.racedesk.raceday.nights import at

pytestmark = pytest.mark.django_db

NO_TIMES = dict.fromkeys(["doors_at", "tech_opens_at", "tech_closes_at", "racing_at", "hall_closes_at"])


@pytest.fixture(autouse=True)
def _evening():
    with time_machine.travel(at(17), tick=False), timezone.override("Europe/Vienna"):
        yield


@pytest.fixture
def event():
    return nights.event()


def seen(event, hour, minute=0):
    fresh = Event.objects.select_related("club", "track_layout").get(pk=event.pk)
    return night_of(fresh, now=at(hour, minute))


def headline(event, hour, minute=0):
    found = seen(event, hour, minute).headline
    return found.title, found.act.url_name if found.act else None


def words(event, hour, minute=0):
    return [(str(row.word), row.who, row.act.url_name) for row in seen(event, hour, minute).attention]


class TestHeadline:
    def test_asks_for_a_race_when_there_is_none(self, event):
        assert headline(event, 18) == ("No race yet", "race-create")

    def test_says_when_the_night_is_before_the_day(self, event):
        nights.race(event)
        fresh = Event.objects.select_related("club", "track_layout").get(pk=event.pk)

        found = night_of(fresh, now=at(12) - dt.timedelta(days=2)).headline

        assert (found.title, found.act.label) == ("The night is on Friday 27 November", "Enter drivers")

    def test_counts_down_to_the_doors_then_to_tech(self, event):
        nights.enter(nights.race_with_tech(event), 2, state=Entry.State.ENTERED)

        assert headline(event, 17, 15) == ("Doors open in 45 minutes", "entry-list")
        assert headline(event, 18, 20) == ("Tech opens in 10 minutes", "entry-list")
        assert headline(event, 18, 30) == ("Tech closes in 55 minutes", "entry-list")

    def test_sends_to_the_tech_line_once_all_are_checked_in(self, event):
        nights.race_with_tech(event, 3)

        assert headline(event, 19, 0) == ("Tech closes in 25 minutes", "occasion-detail")

    def test_asks_for_the_draw_a_quarter_of_an_hour_before_tech_closes(self, event):
        race = nights.race_with_tech(event, 4)
        who = nights.director(event)
        for entry in race.entries.all()[:2]:
            nights.inspect(entry, who)

        assert headline(event, 19, 9) == ("Tech closes in 16 minutes", "occasion-detail")
        assert headline(event, 19, 18) == ("Tech closes in 7 minutes", "draw-create")
        assert "4 of 4 are checked in, 2 of 4 cars are clear" in seen(event, 19, 18).headline.subtitle
        assert "who is not ready is left out" in seen(event, 19, 18).headline.subtitle

    def test_asks_for_the_draw_at_once_when_everybody_is_ready(self, event):
        nights.race(event, 3)

        assert headline(event, 18, 10)[1] == "draw-create"

    def test_says_that_the_draw_is_not_made_when_nothing_else_is_due(self, event):
        nights.race(event, 3)

        assert headline(event, 19, 40) == ("The draw is not made", "draw-create")

    def test_one_ready_driver_makes_no_draw(self, event):
        nights.race(event, 1)

        assert headline(event, 19, 40) == ("The draw is not made", "entry-list")

    def test_follows_the_heats(self, event):
        race = nights.race(event, 6)
        race_factories.drawn(race)
        first = heats_of(race)[0]

        assert headline(event, 19, 18) == ("Heat 1 of 6 is next", "heat-run")
        assert "in 12 minutes" in seen(event, 19, 18).headline.subtitle
        nights.begin(first, at(19, 30))
        assert headline(event, 19, 31) == ("Heat 1 of 6 runs", "heat-run")
        nights.call_track(first, at(19, 31))
        assert headline(event, 19, 32) == ("Track call in heat 1 of 6", "heat-run")

    def test_asks_for_missing_laps(self, event):
        race = nights.race(event, 6)
        race_factories.drawn(race)
        nights.begin(heats_of(race)[0], at(19, 30))

        assert headline(event, 19, 40) == ("Heat 1 of 6 is over, laps are missing", "heat-laps")

    def test_asks_for_the_result_then_is_done(self, event):
        race = nights.race(event, 6)
        race_factories.drawn(race)
        nights.run_all(race, at(19, 30))

        assert headline(event, 20, 10) == ("Results are not published", "result-preview")
        publish_results(race=race, by=nights.director(event))
        assert headline(event, 20, 11) == ("All results are published", None)

    def test_a_race_that_runs_goes_before_a_result_that_waits(self, event):
        first, second = nights.race(event, 6), nights.race(event, name="Saloon", position=2)
        nights.enter(second, 6)
        for race in (first, second):
            race_factories.drawn(race)
        nights.run_all(first, at(19, 30))
        assert headline(event, 20, 0) == ("Results are not published", "result-preview")

        nights.begin(heats_of(second)[0], at(20, 5))

        assert headline(event, 20, 6) == ("Heat 1 of 6 runs", "heat-run")
        assert ("Not published", "GT 32", "result-preview") in words(event, 20, 6)


class TestAttention:
    @pytest.fixture
    def inspector(self, event):
        return factories.member(event.club, Role.TECH_INSPECTOR)

    @pytest.fixture
    def race(self, event):
        return nights.race_with_tech(event, 6)

    def test_puts_failed_cars_first_and_says_what_failed(self, event, race, inspector):
        first, second, third, fourth, fifth, _sixth = race.entries.order_by("entered_at")
        nights.inspect(first, inspector)
        nights.inspect(second, inspector, width="63.99 mm", looks=None, sign=False)
        nights.inspect(third, inspector, weight="82.2 g", looks=None, sign=False)
        nights.inspect(fourth, inspector, looks=None, sign=False)
        nights.inspect(fifth, inspector, weight="", looks=None, sign=False)

        rows = seen(event, 19).attention

        assert [str(row.word) for row in rows] == ["Fail", "Too close", "Judge decides", "Not checked", "Not checked"]
        assert [row.kind for row in rows] == ["bad", "near", "judge", "unchecked", "unchecked"]
        assert rows[0].who.endswith("Sylvie Arnaud")
        assert rows[0].detail == "Weight 82.2 g, at least 85.0 g"
        assert rows[0].act.url_name == "inspection-detail"
        assert rows[2].act.label == "Decide"
        assert "not seen yet" in rows[3].detail
        assert "begun, not signed" in rows[4].detail

    def test_has_nothing_to_say_of_cars_that_are_clear_or_let_through(self, event, race, inspector):
        entries = list(race.entries.all())
        for entry in entries[:5]:
            nights.inspect(entry, inspector)
        Entry.objects.filter(pk=entries[5].pk).update(
            override_reason="new shell, agreed", override_by=inspector, override_at=at(18)
        )

        assert words(event, 19) == []

    def test_finds_a_signed_car_whose_build_changed(self, event, race, inspector):
        entries = list(race.entries.all())
        for entry in entries:
            nights.inspect(entry, inspector)
        Build.objects.create(car=entries[0].cars.get().car, number=2)

        rows = seen(event, 19).attention

        assert [(str(row.word), row.kind) for row in rows] == [("Changed", "judge")]

    def test_names_six_cars_at_most(self, event):
        nights.race_with_tech(event, 9)

        [row] = seen(event, 18, 30).attention

        assert row.who.startswith("Cars ")
        assert row.who.endswith(" and 4 more")

    def test_calls_who_is_not_checked_in_half_an_hour_before_closing(self, event):
        race = nights.race(event, 3)
        race.entries.filter(pk=race.entries.first().pk).update(state=Entry.State.ENTERED)

        assert words(event, 18, 59) == []
        assert words(event, 19, 0) == [("Not checked in", "Ada Brandt", "entry-list")]

    def test_collects_fees(self, event):
        race = nights.race(event, 2)
        race.entries.update(fee_due=5)
        assert words(event, 18) == [("Unpaid", "Ada Brandt, Bram de Wit", "takings")]
        assert seen(event, 18).attention[0].detail == "10.00 EUR owed"

        race.entries.filter(pk=race.entries.first().pk).update(fee_due=0)

        assert words(event, 18) == [("Unpaid", "Bram de Wit", "entry-payment")]

    def test_moves_up_the_waiting_list_only_when_a_place_is_free(self, event):
        race = nights.race(event, 2, cap=2)
        race_factories.entry(race, factories.driver(event.club, "Lena Late"), state=Entry.State.WAITING)
        assert words(event, 18) == []

        race.entries.filter(pk=race.entries.first().pk).update(state=Entry.State.WITHDRAWN)

        assert words(event, 18) == [("Waiting list", "Lena Late", "entry-list")]

    def test_finds_who_is_ready_but_not_in_the_draw(self, event):
        race = nights.race(event, 6)
        race_factories.drawn(race)
        race_factories.entry(race, factories.driver(event.club, "Lena Late"))
        assert words(event, 19) == [("Not in the draw", "Lena Late", "draw-create")]

        nights.begin(heats_of(race)[0], at(19, 30))

        assert words(event, 19, 31) == [("Not in the draw", "Lena Late", "redraw-create")]

    def test_finds_heats_that_were_passed_over_or_not_typed(self, event):
        race = nights.race(event, 6)
        race_factories.drawn(race)
        heats = heats_of(race)
        nights.run(heats[0], at(19, 30))
        nights.begin(heats[2], at(19, 36))
        nights.run(heats[3], at(19, 42))
        nights.begin(heats[4], at(19, 50))

        assert words(event, 19, 51) == [
            ("Not run", "GT 32, heat 2", "heat-run"),
            ("Laps missing", "GT 32, heat 3", "heat-laps"),
        ]


class TestForecast:
    def test_adds_heats_and_change_overs_from_the_time_racing_begins(self, event):
        nights.race(event, 8)  # 8 heats of 3:00 and 7 change-overs of 1:15

        night = seen(event, 19)

        assert night.finish == at(19, 30) + dt.timedelta(minutes=24, seconds=525)
        assert night.spans[0].heats == 8
        assert night.finish_note == "hall closes 23:00"

    def test_needs_as_many_heats_as_lanes_for_a_small_field(self, event):
        nights.race(event, 3)

        assert seen(event, 19).spans[0].heats == 6

    def test_moves_with_the_clock_while_nothing_runs(self, event):
        nights.race(event, 6)

        night = seen(event, 19, 50)

        assert night.spans[0].start == at(19, 50)
        assert night.lines[-1].stands == "20 minutes behind the plan"

    def test_goes_on_from_what_was_driven(self, event):
        race = nights.race(event, 6)
        race_factories.drawn(race)
        nights.run(heats_of(race)[0], at(19, 28))

        night = seen(event, 19, 32)

        # green at 19:28:05, over at 19:31:05; five heats and five change-overs are to come
        assert night.finish == at(19, 31) + dt.timedelta(seconds=5 + 5 * (180 + 75))
        assert night.lines[-1].stands == "2 minutes in hand"

    def test_counts_a_track_call_as_long_as_it_lasts(self, event):
        race = nights.race(event, 6)
        race_factories.drawn(race)
        heat = heats_of(race)[0]
        nights.begin(heat, at(19, 30))
        nights.call_track(heat, at(19, 31))

        early, late = seen(event, 19, 32).finish, seen(event, 19, 36).finish

        assert late - early == dt.timedelta(minutes=4)

    def test_puts_the_second_race_behind_the_first(self, event):
        nights.race(event, 6)
        nights.enter(nights.race(event, name="Saloon", position=2), 6)

        first, second = seen(event, 19).spans

        assert second.start == first.end + dt.timedelta(seconds=75)

    def test_says_that_the_hall_will_have_closed(self, event):
        nights.race(event, 8, heat_length_s=1800)

        night = seen(event, 19)

        assert night.finish > at(23)
        assert night.finish_note.endswith("after the hall closes at 23:00")

    def test_forecasts_nothing_for_a_night_that_is_long_past(self, event):
        nights.race(event, 6)
        fresh = Event.objects.select_related("club", "track_layout").get(pk=event.pk)

        assert night_of(fresh, now=at(12) + dt.timedelta(days=9)).finish is None

    def test_forecasts_nothing_when_no_time_is_given_before_the_day(self):
        event = nights.event(
            racing_at=None, doors_at=None, tech_opens_at=None, tech_closes_at=None, hall_closes_at=None
        )
        nights.race(event, 6)
        fresh = Event.objects.select_related("club", "track_layout").get(pk=event.pk)

        assert night_of(fresh, now=at(12) - dt.timedelta(days=1)).finish is None
        assert seen(event, 19).finish == at(19) + dt.timedelta(seconds=6 * 180 + 5 * 75)


class TestTimetable:
    def test_marks_what_is_on_and_what_is_over(self, event):
        nights.race_with_tech(event, 6)

        lines = seen(event, 19).lines

        assert [line.what for line in lines] == ["Doors, practice", "Tech, 6 cars", "GT 32, 6 heats", "Finish"]
        assert [line.is_past for line in lines] == [True, False, False, False]
        assert [line.is_now for line in lines] == [False, True, False, False]
        assert lines[1].stands == "0 clear, 6 open"
        assert lines[2].stands == "draw not made"

    def test_leaves_tech_out_of_a_night_without(self, event):
        nights.race(event, 6)

        assert [line.what for line in seen(event, 19).lines] == ["Doors, practice", "GT 32, 6 heats", "Finish"]


class TestPicture:
    def test_is_to_scale(self, event):
        nights.race(event, 6)

        picture = timeline(seen(event, 19, 0))

        # from 18:00 to 23:30: 19:00 stands at 60 of 330 minutes
        assert picture.now.x == f"{100 * 60 / 330:.2f}%"
        assert picture.closes.x == f"{100 * 300 / 330:.2f}%"
        assert [bar.label for bar in picture.bars] == ["Doors", "GT 32"]
        assert picture.bars[0].gone == f"{100 * 60 / 330:.2f}%"
        assert picture.bars[1].gone == "0.00%"

    def test_leaves_out_the_hour_that_would_lie_under_now(self, event):
        nights.race(event, 6)

        labels = [tick.label for tick in timeline(seen(event, 19, 3)).ticks]

        assert "19:00" not in labels
        assert "22:00" in labels

    def test_marks_no_now_on_another_day(self, event):
        nights.race(event, 6)
        fresh = Event.objects.select_related("club", "track_layout").get(pk=event.pk)

        assert timeline(night_of(fresh, now=at(12) - dt.timedelta(days=3))).now is None

    def test_is_not_drawn_without_times(self):
        event = nights.event(
            racing_at=None, doors_at=None, tech_opens_at=None, tech_closes_at=None, hall_closes_at=None
        )

        assert timeline(seen(event, 19)) is None

    def test_lifts_a_label_that_would_lie_on_another(self, event):
        nights.race(event, 6, name="A race with a rather long name", heat_length_s=30, changeover_s=10)
        nights.enter(nights.race(event, name="Saloon", position=2), 6)

        assert [bar.row for bar in timeline(seen(event, 19)).bars] == [0, 0, 1]


@pytest.mark.parametrize(
    ("seconds", "expected"),
    [(1, "1 minute"), (60, "1 minute"), (61, "2 minutes"), (89 * 60, "89 minutes"), (7500, "2 h 5 min")],
)
def test_lengths_of_time_are_said_in_whole_minutes(seconds, expected):
    assert minutes_words(dt.timedelta(seconds=seconds)) == expected
