"""Drawing heats: one transaction, from those who are ready, as revisions."""

import pytest

from inspection.clubs.errors import Refused
from inspection.models import LogEntry, Role
from racedesk.clocks.selectors import heat_state
from racedesk.heats.services import draw_heats, rotation_stage
from racedesk.models import Draw, Entry, Heat, LaneAssignment, MarshalDuty, Seat
from racedesk.racecontrol.services import start_heat
from tests import factories, race_factories

pytestmark = pytest.mark.django_db


def draw(race, **fields):
    return draw_heats(**({"stage": rotation_stage(race=race), "preset": "opponents", "seed": 1, "by": None} | fields))


def code_of(refusal):
    return refusal.value.code


def test_everybody_drives_every_lane_exactly_once():
    race = race_factories.race()
    race_factories.entries(race, 14)
    made = draw(race)
    assert made.heats.count() == 14
    pairs = list(LaneAssignment.objects.filter(heat__draw=made).values_list("seat__number", "lane__number"))
    assert sorted(pairs) == [(seat, lane) for seat in range(1, 15) for lane in range(1, 7)]


def test_nobody_marshals_while_driving():
    race = race_factories.race()
    race_factories.entries(race, 14)
    made = draw(race)
    driving = set(LaneAssignment.objects.filter(heat__draw=made).values_list("heat_id", "seat_id"))
    on_post = set(MarshalDuty.objects.filter(heat__draw=made).values_list("heat_id", "seat_id"))
    assert len(on_post) == 14 * 4
    assert not driving & on_post


def test_only_those_who_are_ready_get_a_seat():
    race = race_factories.race()
    ready = race_factories.entries(race, 3)
    race_factories.entry(race, state=Entry.State.ENTERED)
    race_factories.entry(race, state=Entry.State.WITHDRAWN)
    race_factories.entry(race, state=Entry.State.WAITING)
    draw(race)
    assert [seat.entry for seat in Seat.objects.filter(stage__race=race)] == ready


def test_the_same_seed_draws_the_same_heats():
    lines = []
    for _ in range(2):
        race = race_factories.race()
        race_factories.entries(race, 9)
        made = draw(race, seed=4471)
        lines.append(
            list(
                LaneAssignment.objects.filter(heat__draw=made)
                .order_by("heat__number", "lane__number")
                .values_list("heat__number", "lane__number", "seat__number")
            )
        )
    assert lines[0] == lines[1]


def test_the_report_seed_and_steps_are_kept_with_the_draw():
    race = race_factories.race()
    race_factories.entries(race, 14)
    made = Draw.objects.get(pk=draw(race, seed=99).pk)
    assert (made.seed, made.number, made.preset) == (99, 1, "opponents")
    assert made.steps > 0
    assert made.report["meetings_min"] == 2
    assert made.report["meetings_max"] == 3
    assert made.report["seats"] == list(range(1, 15))
    assert sum(made.report["duties"]) == 14 * 4


def test_fewer_than_two_drivers_are_refused_and_nothing_is_kept():
    race = race_factories.race()
    race_factories.entry(race)
    stage = rotation_stage(race=race)
    with pytest.raises(Refused) as refusal:
        draw(race)
    assert code_of(refusal) == "too_few_drivers"
    assert "at least 2 drivers" in str(refusal.value)
    assert not stage.seats.exists()
    assert not stage.draws.exists()


def test_a_seed_beyond_what_is_stored_is_refused():
    race = race_factories.race()
    race_factories.entries(race, 2)
    with pytest.raises(Refused) as refusal:
        draw(race, seed=2**63)
    assert code_of(refusal) == "bad_seed"


def test_drawing_again_needs_a_reason_and_supersedes_the_first_draw():
    race = race_factories.race()
    entries = race_factories.entries(race, 5)
    first = draw(race)
    with pytest.raises(Refused) as refusal:
        draw(race)
    assert code_of(refusal) == "redraw_needs_reason"
    entries[0].state = Entry.State.WITHDRAWN
    entries[0].save()
    late = race_factories.entry(race)
    second = draw(race, reason="one went home, one came")
    first.refresh_from_db()
    assert first.superseded_at is not None
    assert (second.number, second.reason) == (2, "one went home, one came")
    assert first.heats.count() == 6  # an older draw stays as it was
    assert second.report["seats"] == [2, 3, 4, 5, 6]
    assert Seat.objects.get(stage__race=race, number=6).entry == late


def test_a_draw_stands_once_a_heat_has_begun():
    race = race_factories.drawn_race()
    start_heat(heat=Heat.objects.get(draw__stage__race=race, number=1), at_ms=1_000, by=None)
    with pytest.raises(Refused) as refusal:
        draw(race, reason="we want other lanes")
    assert code_of(refusal) == "heat_has_begun"
    assert Draw.objects.filter(stage__race=race).count() == 1


def test_the_second_of_two_people_drawing_at_once_is_told():
    race = race_factories.race()
    race_factories.entries(race, 5)
    draw(race, replaces=0)
    with pytest.raises(Refused) as refusal:
        draw(race, replaces=0, reason="mine")
    assert code_of(refusal) == "draw_changed_meanwhile"


def test_a_track_with_its_own_lane_order_is_drawn_by_it():
    race = race_factories.race(lanes=3)
    layout = race.event.track_layout
    type(layout).objects.filter(pk=layout.pk).update(lane_order=[1, 2, 3])
    race_factories.entries(race, 3)
    made = draw(race, preset="usual")
    lanes = LaneAssignment.objects.filter(heat__draw=made).order_by("heat__number")
    moves = {tuple(lanes.filter(seat__number=n).values_list("lane__number", flat=True)) for n in (1, 2, 3)}
    assert moves == {(1, 2, 3), (2, 3, 1), (3, 1, 2)}


def test_juniors_stay_off_posts_for_adults():
    race = race_factories.race(posts=1)
    race.event.track_layout.posts.update(adults_only=True)
    juniors = [race_factories.entry(race, factories.driver(race.event.club, is_junior=True)) for _ in range(4)]
    race_factories.entries(race, 4)
    made = draw(race)
    on_post = MarshalDuty.objects.filter(heat__draw=made)
    assert on_post.exists()
    assert not on_post.filter(seat__entry__in=juniors).exists()


def test_the_log_says_who_drew_and_why_again():
    race = race_factories.race()
    race_factories.entries(race, 3)
    director = factories.member(race.event.club, Role.RACE_DIRECTOR)
    draw(race, by=director)
    draw(race, by=director, reason="wrong preset")
    newest, first = LogEntry.objects.filter(club=race.event.club, action__startswith="drew")
    assert (first.action, first.by) == ("drew heats", director)
    assert (newest.action, newest.reason) == ("drew heats again", "wrong preset")


def test_a_draw_takes_no_more_queries_with_more_drivers(django_assert_max_num_queries):
    for drivers in (4, 40):
        race = race_factories.race()
        race_factories.entries(race, drivers)
        stage = rotation_stage(race=race)
        with django_assert_max_num_queries(32):
            draw_heats(stage=stage, preset="opponents", seed=1, by=None)


@pytest.mark.parametrize(("method", "divisor"), [("lane_by_lane", 20), ("carried", 20), ("whole_laps", 1)])
def test_where_only_whole_laps_count_a_lap_has_one_section(method, divisor):
    race = race_factories.race(lap_method=method)
    race_factories.entries(race, 3)
    heat = draw(race).heats.first()

    start_heat(heat=heat, at_ms=0, by=None)

    assert heat_state(heat).settings.divisor == divisor
