"""A night that bends: who left, who came late, a lane out; what was run stays, and nobody is over-written."""

import datetime as dt
import json
from collections import Counter
from functools import partial

import pytest
from django.http import QueryDict
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from inspection.models import LogEntry, Role
from racedesk.checkin.services import withdraw
from racedesk.clocks.selectors import now_ms
from racedesk.heats.errors import RedrawNeedsReason
from racedesk.heats.selectors import current_draw, heats_of
from racedesk.heats.services import draw_heats, plan_heats, rotation_stage
from racedesk.models import Draw, Entry, Heat, LaneAssignment, MarshalDuty
from racedesk.racecontrol.errors import DrawSuperseded
from racedesk.racecontrol.services import append_event, start_heat
from racedesk.redraws.documents import rest_words
from racedesk.redraws.errors import NightWentOn, NothingToRedraw
from racedesk.redraws.services import accept_rest
from racedesk.restplans.selectors import Choices, address_of, choices_before, choices_in, night_of, plan_rest
from racedesk.rotation.statefile import read_state
from racedesk.timing.events import EventKind
from tests import factories, race_factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def race():
    return race_factories.drawn_race(drivers=8)


@pytest.fixture
def director(race):
    return factories.member(race.event.club, Role.RACE_DIRECTOR)


def run(race, heats, by):
    for heat in heats_of(race)[:heats]:
        race_factories.driven(heat, by=by)


def accept(race, by, choices=None, **changed):
    choices = choices or Choices()
    night = night_of(race, choices)
    values = {"steps": 0, "seen": night.seen if night else "", "reason": "a lane died"} | changed
    return accept_rest(race=race, choices=choices, by=by, **values)


def runs_of(draw):
    """(heat, lane, number in the draw) of every run of a draw."""
    found = LaneAssignment.objects.filter(heat__draw=draw)
    return list(
        found.order_by("heat__number", "lane__number").values_list("heat__number", "lane__number", "seat__number")
    )


def test_wishes_of_the_draw_that_had_to_be_met_hold_on(race, director):
    draw = current_draw(race)
    draw.report["wishes"] = [
        {"kind": "not_before", "driver": 2, "value": 4, "hard": True, "missed": 0, "asked": ""},
        {"kind": "apart", "driver": 1, "value": 3, "hard": True, "missed": 0, "asked": ""},
        {"kind": "apart", "driver": 4, "value": 5, "hard": True, "missed": 2, "asked": ""},
        {"kind": "not_after", "driver": 6, "value": 4, "hard": False, "missed": 0, "asked": ""},
        {"kind": "first_lane", "driver": 6, "value": 4, "hard": True, "missed": 0, "asked": ""},
    ]
    seats = draw.report["seats"]

    found = choices_before(draw)

    assert (found.later, found.until, found.apart) == (((seats[1], 4),), (), ((seats[0], seats[2]),))


def test_before_a_heat_has_begun_there_is_nothing_to_draw_again(race, director):
    assert night_of(race, Choices()) is None
    with pytest.raises(NothingToRedraw):
        accept(race, director)


def test_what_was_run_stays_and_the_rest_is_drawn_for_those_who_go_on(race, director):
    run(race, 3, director)
    before = current_draw(race)
    frozen = [each for each in runs_of(before) if each[0] <= 3]
    laps = {heat.pk: heat.events.count() for heat in heats_of(race)[:3]}
    gone = before.stage.seats.get(number=5).entry

    made = accept(race, director, Choices(out=(5,)), reason="car broke")

    after = runs_of(made)
    assert [each for each in after if each[0] <= 3] == frozen
    assert {heat.pk: heat.events.count() for heat in heats_of(race)[:3]} == laps
    assert 5 not in {number for heat, _lane, number in after if heat > 3}
    for number in (1, 2, 3, 4, 6, 7, 8):
        assert sorted(lane for _heat, lane, seat in after if seat == number) == [1, 2, 3, 4, 5, 6]
    heats = [heat for heat, _lane, _seat in after]
    assert sorted(set(heats)) == list(range(1, max(heats) + 1))
    assert len({(heat, seat) for heat, _lane, seat in after}) == len(after)
    gone.refresh_from_db()
    assert (gone.state, gone.state_reason) == (Entry.State.WITHDRAWN, "car broke")
    before.refresh_from_db()
    assert before.superseded_at is not None
    assert made.number == before.number + 1
    assert LogEntry.objects.filter(club=race.event.club, action="drew the rest of the heats again").count() == 1


def test_the_heats_to_come_are_the_fewest_and_marshals_do_not_drive(race, director):
    run(race, 3, director)
    made = accept(race, director, Choices(out=(5,)))

    assert made.report["redraw"]["fewest"] == made.heats.filter(number__gt=3).count()
    driving = set(LaneAssignment.objects.filter(heat__draw=made).values_list("heat_id", "seat_id"))
    standing = set(MarshalDuty.objects.filter(heat__draw=made).values_list("heat_id", "seat_id"))
    assert standing
    assert not driving & standing
    turns = made.report["duties"]
    assert sum(turns) == MarshalDuty.objects.filter(heat__draw=made).exclude(seat__number=5).count()


def test_what_is_kept_with_the_draw_is_the_state_file_of_the_night(race, director):
    run(race, 2, director)
    choices = Choices(out=(5,), lanes_out=(2,), later=((3, 5),))
    night = night_of(race, choices)
    made = accept(race, director, choices)

    kept = {name: value for name, value in made.report["redraw"].items() if name not in {"fewest", "owed", "deviation"}}
    assert read_state(json.dumps(kept)) == night.state
    assert {each["lane"] for each in made.report["redraw"]["owed"]} == {2}
    again = choices_before(made)
    assert (again.lanes_out, again.later, again.out) == ((2,), ((3, 5),), ())


def test_who_is_short_of_a_lane_is_listed_with_the_laps_owed(race, director):
    run(race, 2, director)
    rest = plan_rest(night_of(race, Choices(lanes_out=(2,))), steps=0)

    owed = rest_words(rest).owed
    on_it = LaneAssignment.objects.filter(heat__in=rest.night.frozen, lane__number=2)
    driven = set(on_it.values_list("seat__number", flat=True))
    listed = [int(who.split()[0]) for one in owed for who in one.names.split(", ")]
    assert sorted(listed) == sorted(set(range(1, 9)) - driven)
    assert {one.lanes for one in owed} == {str(rest.night.lanes[1])}
    assert {one.laps for one in owed} == {"20"}


def test_a_late_joiner_drives_every_lane_or_as_many_as_the_others_have_left(race, director):
    run(race, 4, director)
    late = race_factories.entry(race)
    joins = plan_rest(night_of(race, Choices()), steps=0)
    short = plan_rest(night_of(race, Choices(late_rest=True)), steps=0)

    assert joins.night.joined == (9,)
    assert [driver for heat in joins.plan.heats for driver in heat].count(9) == 6
    others = [sum(row.count(number) for row in short.night.state.run) for number in range(1, 9)]
    assert [driver for heat in short.plan.heats for driver in heat].count(9) == 6 - min(others)
    assert plan_rest(night_of(race, Choices(stay=(9,))), steps=0).going_on == (1, 2, 3, 4, 5, 6, 7, 8)

    made = accept(race, director)
    assert made.stage.seats.get(number=9).entry == late
    assert LaneAssignment.objects.filter(heat__draw=made, seat__number=9).count() == 6


def test_a_lane_let_off_stays_let_off_at_the_next_redraw(race, director):
    run(race, 4, director)
    race_factories.entry(race)
    first = accept(race, director, Choices(late_rest=True))
    driven = LaneAssignment.objects.filter(heat__draw=first, seat__number=9).count()

    second = plan_rest(night_of(race, Choices()), steps=0)

    assert driven < 6
    assert [driver for heat in second.plan.heats for driver in heat].count(9) == driven


def test_a_voided_heat_is_drawn_again_with_the_rest(race, director):
    run(race, 3, director)
    third = heats_of(race)[2]
    append_event(heat=third, kind=EventKind.VOID, reason="power cut", at_ms=now_ms(), by=director)

    made = accept(race, director)

    assert sorted(set(made.heats.values_list("number", flat=True)))[:2] == [1, 2]
    assert Heat.objects.get(pk=third.pk).draw_id != made.pk
    for number in range(1, 9):
        assert LaneAssignment.objects.filter(heat__draw=made, seat__number=number).count() == 6


def test_where_all_that_had_begun_is_void_everything_is_drawn_again(race, director):
    run(race, 1, director)
    append_event(heat=heats_of(race)[0], kind=EventKind.VOID, reason="power cut", at_ms=now_ms(), by=director)

    made = accept(race, director, Choices(out=(5,)))

    assert [heat.number for heat in made.heats.order_by("number")] == list(range(1, made.heats.count() + 1))
    assert LaneAssignment.objects.filter(heat__draw=made).count() == 7 * 6


def test_a_heat_that_runs_stays_and_can_be_driven_on(race, director):
    run(race, 1, director)
    second = heats_of(race)[1]
    start_heat(heat=second, at_ms=now_ms(), by=director)

    made = accept(race, director, Choices(out=(5,)))

    assert Heat.objects.get(pk=second.pk).draw_id == made.pk
    append_event(heat=second, kind=EventKind.CALL_TRACK, at_ms=now_ms(), by=director)


def test_a_heat_of_the_old_draw_cannot_be_started_any_more(race, director):
    run(race, 1, director)
    old = heats_of(race)[4]
    accept(race, director, Choices(out=(5,)))

    with pytest.raises(DrawSuperseded):
        start_heat(heat=old, at_ms=now_ms(), by=director)


def test_a_plan_that_the_night_has_overtaken_is_not_used(race, director):
    run(race, 1, director)
    seen = night_of(race, Choices()).seen
    withdraw(entry=race.entries.first(), reason="went home", by=director)

    with pytest.raises(NightWentOn):
        accept(race, director, seen=seen)
    run(race, 2, director)
    with pytest.raises(NightWentOn):
        accept(race, director, seen=seen)
    assert Draw.objects.filter(stage__race=race).count() == 1


def test_a_track_call_of_the_heat_that_runs_overtakes_nothing(race, director):
    run(race, 1, director)
    start_heat(heat=heats_of(race)[1], at_ms=now_ms(), by=director)
    seen = night_of(race, Choices()).seen
    append_event(heat=heats_of(race)[1], kind=EventKind.CALL_TRACK, at_ms=now_ms(), by=director)

    assert night_of(race, Choices()).seen == seen


def test_a_redraw_needs_its_reason(race, director):
    run(race, 1, director)
    with pytest.raises(RedrawNeedsReason):
        accept(race, director, reason="  ")


def test_wishes_count_heats_by_their_numbers_though_one_was_voided(race, director):
    run(race, 3, director)
    append_event(heat=heats_of(race)[1], kind=EventKind.VOID, reason="power cut", at_ms=now_ms(), by=director)

    rest = plan_rest(night_of(race, Choices(later=((4, 6),))), steps=0)

    words = rest_words(rest)
    assert words.heats[0].number == 4
    assert min(heat.number for heat in words.heats if 4 in [each[0] for each in heat.lanes if each]) >= 6


def test_a_choice_survives_the_address():
    choices = Choices(
        (5,), ((3, 9),), ((4, 12),), ((1, 2),), (2,), ((6, 8),), (11,), late_rest=True, rest=True, finish="22:30"
    )
    assert choices_in(QueryDict(address_of(choices))) == choices
    assert choices_in(QueryDict("out=x&out=-1&later=3&apart=1.2.3&lanes_out=٣&finish=24:00")) == Choices()


@timezone.override("Europe/Vienna")
@pytest.mark.parametrize(
    ("way", "words"),
    [({}, "{n} lanes"), ({"rounds": 2}, "{n} heats"), ({"lanes_each": 4}, "{n} lanes")],
    ids=["one round", "two rounds", "four lanes each"],
)
def test_what_has_to_be_over_by_a_time_is_shared_out_alike(race, director, way, words):
    if way:
        draw_heats(
            stage=rotation_stage(race=race), preset="opponents", seed=3, reason="another way", by=director,
            plan=partial(plan_heats, **way),
        )  # fmt: skip
    run(race, 2, director)
    race.changeover_s, race.heat_length_s = 60, 180
    race.save()
    night = night_of(race, Choices())
    fitting = 3 if "lanes_each" in way else 5
    finish = f"{night.start + dt.timedelta(seconds=fitting * 240 + 60):%H:%M}"

    ended = night_of(race, Choices(finish=finish))
    rest = plan_rest(ended, steps=0)

    assert ended.heats_fit in {fitting - 1, fitting}  # the minute is cut off
    assert len(rest.plan.heats) <= ended.heats_fit
    driven = Counter(driver for heat in (*ended.state.run, *rest.plan.heats) for driver in heat if driver)
    already = Counter(driver for heat in ended.state.run for driver in heat if driver)
    assert driven == Counter({driver: max(already[driver], ended.runs_each) for driver in ended.state.drivers})
    assert sum(driven.values()) < sum(already.values()) + len(night.state.missing())
    page = signed_in(director).get(
        reverse("redraw-create", args=[race.event.club.slug, race.public_id]), {"finish": finish}
    )
    assert f"everybody drives {words.format(n=ended.runs_each)}" in page.content.decode()
    made = accept(race, director, Choices(finish=finish))
    assert made.heats.count() == 2 + len(rest.plan.heats)


@pytest.mark.parametrize("way", [{"rounds": 2}, {"lanes_each": 4}, {"empty": (2, 5)}, {"rounds": 2, "lanes_each": 3}])
def test_what_is_left_is_what_was_drawn_whatever_the_way(race, director, way):
    draw_heats(
        stage=rotation_stage(race=race), preset="opponents", seed=3, reason="another way", by=director,
        plan=partial(plan_heats, **way),
    )  # fmt: skip
    run(race, 3, director)
    late = race_factories.entry(race)

    made = accept(race, director, Choices(out=(5,)))

    each, empty = way.get("lanes_each", 6), set(way.get("empty", ()))
    wanted = way.get("rounds", 1) * min(each, 6 - len(empty))
    lanes = {number: [] for number in range(1, 10)}
    for _heat, lane, number in runs_of(made):
        lanes[number].append(lane)
    assert made.stage.seats.get(entry=late).number == 9
    assert {number: len(own) for number, own in lanes.items() if number != 5} == dict.fromkeys(
        (1, 2, 3, 4, 6, 7, 8, 9), wanted
    )
    assert not {lane for own in lanes.values() for lane in own} & empty
    # Once more: nothing is added and nothing is lost.
    again = plan_rest(night_of(race, Choices()), steps=0)
    to_come = Counter(
        (lane.number, who)
        for heat in again.plan.heats
        for lane, who in zip(again.night.lanes, heat, strict=True)
        if who
    )
    assert to_come == Counter((lane, number) for heat, lane, number in runs_of(made) if heat > 3)
    assert made.report["way"] == current_draw(race).report["way"]


# ---- pages -----------------------------------------------------------------------------------------------------------


def signed_in(user):
    client = Client()
    client.force_login(user)
    return client


def test_the_page_shows_the_plan_and_uses_it(race, director):
    run(race, 3, director)
    client = signed_in(director)
    address = reverse("redraw-create", args=[race.event.club.slug, race.public_id])
    page = client.get(f"{address}?chosen=here&out=5")
    name = str(current_draw(race).stage.seats.get(number=5))

    assert f"{name} races no more" in page.content.decode()
    assert page.context["plan"].heats[0].number == 4
    assert page.context["plan"].changed
    given = {"reason": "car broke", "steps": 0, "seen": page.context["seen"]}
    answer = client.post(f"{address}?chosen=here&out=5", given, follow=True)
    assert answer.status_code == 200
    assert "Print the whole night" in answer.content.decode()

    stale = client.post(f"{address}?chosen=here", given)
    assert stale.status_code == 409
    assert "The night has gone on" in stale.content.decode()
    assert "car broke" in stale.content.decode()


def test_the_plan_is_asked_for_again_with_a_larger_budget_until_nothing_is_gained(race, director):
    run(race, 2, director)
    client = signed_in(director)
    address = reverse("redraw-plan", args=[race.event.club.slug, race.public_id])
    first = client.get(f"{address}?chosen=here&steps=0")
    last = client.get(f"{address}?chosen=here&steps=400000")
    odd = client.get(f"{address}?chosen=here&steps=999999999")

    assert (first.context["steps"], last.context["steps"], odd.context["steps"]) == (0, 400_000, 0)
    assert last.context["next_steps"] is None


def test_a_wish_leads_back_to_the_page_with_it(race, director):
    run(race, 2, director)
    client = signed_in(director)
    address = reverse("redraw-wish", args=[race.event.club.slug, race.public_id])

    added = client.get(f"{address}?chosen=here&out=5&driver=3&kind=later&number=6")
    lane = client.get(f"{address}?chosen=here&lane=2&back=7")
    wrong = client.get(f"{address}?chosen=here&driver=3&kind=apart&number=3", follow=True)

    assert added["Location"].endswith("?chosen=here&out=5&later=3.6")
    assert lane["Location"].endswith("?chosen=here&lanes_back=2.7")
    assert "another driver" in wrong.content.decode()


def test_the_page_says_what_cannot_be(race, director):
    run(race, 2, director)
    client = signed_in(director)
    address = reverse("redraw-create", args=[race.event.club.slug, race.public_id])
    everybody = "&".join(f"out={number}" for number in range(1, 8))

    page = client.get(f"{address}?chosen=here&{everybody}").content.decode()

    assert "Fewer than 2 drivers" in page or "needs at least 2 drivers" in page
    assert client.get(address).status_code == 200
