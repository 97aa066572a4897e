"""A race split into groups: who is in which, what each drives, and how it is told."""

import datetime as dt

import pytest
from django.http import QueryDict
from django.test import Client
from django.urls import reverse

from inspection.models import Role
from racedesk.checkin.services import withdraw
from racedesk.groups.errors import FieldChanged, NoSuchGroups
from racedesk.groups.selectors import (
    GroupChoices,
    address_of,
    choices_in,
    earlier_races,
    field_of,
    groups_of,
    usual_choices,
)
from racedesk.groups.services import draw_in_groups
from racedesk.heats.selectors import heats_of
from racedesk.models import LaneAssignment, MarshalDuty
from racedesk.racecontrol.services import enter_heat_laps
from racedesk.redraws.services import accept_rest
from racedesk.restplans.selectors import Choices, groups_in, night_of
from racedesk.results.services import publish_results
from racedesk.rotation.groups import Split
from tests import factories, race_factories

pytestmark = pytest.mark.django_db

LOT = GroupChoices(how=Split.LOT, most=5, top_last=True, seed=7)


@pytest.fixture
def race():
    made = race_factories.race(lanes=4, posts=2)
    race_factories.entries(made, 11)
    return made


@pytest.fixture
def director(race):
    return factories.member(race.event.club, Role.RACE_DIRECTOR)


def result_of(event, by, laps):
    """A race of the night with a published result; laps: by driver."""
    qualifying = race_factories.race(event, name="Qualifying", position=0)
    for driver in laps:
        race_factories.entry(qualifying, driver)
    race_factories.drawn(qualifying, by=by)
    for heat in heats_of(qualifying):
        lanes = heat.lanes.select_related("lane", "seat__entry")
        typed = {each.lane.number: str(laps[each.seat.entry.drivers.get().driver]) for each in lanes}
        enter_heat_laps(heat=heat, typed=typed, confirmed=True, by=by)
    publish_results(race=qualifying, by=by)
    return qualifying


def drivers_of(race):
    return [entry.drivers.get().driver for entry in race.entries.order_by("entered_at")]


def use(race, by, choices=LOT, **more):
    return draw_in_groups(race=race, choices=choices, seen=field_of(race, by=choices.by).seen, by=by, **more)


def test_the_heats_follow_each_other_group_by_group_and_everybody_drives_every_lane(race, director):
    made = use(race, director)

    groups = made.report["groups"]
    assert [len(group["seats"]) for group in groups] == [3, 4, 4]  # the slowest first, which has one fewer
    assert [group["first_heat"] for group in groups] == [1, 5, 9]
    assert made.heats.count() == 12
    for group in groups:
        heats = range(group["first_heat"], group["first_heat"] + group["heats"])
        runs = LaneAssignment.objects.filter(heat__draw=made, seat__number__in=group["seats"])
        assert set(runs.values_list("heat__number", flat=True)) == set(heats)
        for number in group["seats"]:
            lanes = runs.filter(seat__number=number).order_by("lane__number")
            assert list(lanes.values_list("lane__number", flat=True)) == [1, 2, 3, 4]
    driving = set(LaneAssignment.objects.filter(heat__draw=made).values_list("heat_id", "seat_id"))
    assert not driving & set(MarshalDuty.objects.filter(heat__draw=made).values_list("heat_id", "seat_id"))


def test_pairs_are_counted_within_groups(race, director):
    report = use(race, director).report

    assert report["pairs"] == 3 + 6 + 6
    assert report["never_meet"] == 0
    assert report["sum_of_squares"] == report["bound"]


def test_by_ability_the_fastest_of_an_earlier_race_of_the_night_are_together(race, director):
    drivers = drivers_of(race)
    laps = {driver: 10 + place for place, driver in enumerate(drivers)}
    qualifying = result_of(race.event, director, laps)

    field = field_of(race, by=qualifying.public_id)
    groups = groups_of(field, GroupChoices(how=Split.APART, most=4, top_last=True, seed=1, by=qualifying.public_id))

    assert earlier_races(race) == [qualifying]
    names = [[str(field.entries[field.numbers.index(number)]) for number in group] for group in groups]
    expected = [str(driver) for driver in reversed(drivers)]
    assert [name for group in names for name in group] == expected
    assert groups_of(field_of(race, by="recent"), GroupChoices(Split.APART, 4, True, 1)) == groups


def test_who_has_no_result_counts_as_slow(race, director):
    drivers = drivers_of(race)
    qualifying = result_of(race.event, director, {drivers[9]: 20, drivers[10]: 10})

    field = field_of(race, by=qualifying.public_id)

    assert field.order[:2] == (field.numbers[9], field.numbers[10])
    assert len(field.results) == 2


def test_somebody_is_put_into_another_group_by_hand(race, director):
    field = field_of(race, by="recent")
    before = groups_of(field, LOT)
    who = before[0][0]
    moved = GroupChoices(LOT.how, LOT.most, LOT.top_last, LOT.seed, moved=((who, 3),))

    after = groups_of(field, moved)

    assert who in after[2]
    assert sorted(n for group in after for n in group) == sorted(field.numbers)
    alone = tuple((number, 1) for number in (*before[1], *before[2]))
    with pytest.raises(NoSuchGroups):
        groups_of(field, GroupChoices(LOT.how, LOT.most, LOT.top_last, LOT.seed, moved=alone))


def test_groups_of_other_drivers_than_were_shown_are_not_drawn(race, director):
    seen = field_of(race, by="recent").seen
    withdraw(entry=race.entries.first(), reason="went home", by=director)

    with pytest.raises(FieldChanged):
        draw_in_groups(race=race, choices=LOT, seen=seen, by=director)


def test_the_usual_groups_have_one_more_than_lanes_and_the_top_group_takes_turns_by_month(race):
    assert (usual_choices(race, seed=1).most, usual_choices(race, seed=1).top_last) == (5, False)  # November
    race.event.date = dt.date(2026, 12, 4)
    assert usual_choices(race, seed=1).top_last


def test_a_choice_survives_the_address(race):
    choices = GroupChoices(Split.MIXED, 6, True, 99, "rest", "abc", ((3, 2), (4, 1)))
    usual = usual_choices(race, seed=1)

    assert choices_in(QueryDict(address_of(choices)), usual) == choices
    assert choices_in(QueryDict("how=x&most=1&top=y&seed=-1&preset=z&in=a.b"), usual) == usual


def test_after_a_redraw_nobody_meets_somebody_of_another_group(race, director):
    draw = use(race, director)
    for heat in heats_of(race)[:2]:
        race_factories.driven(heat, by=director)
    night = night_of(race, Choices())

    made = accept_rest(race=race, choices=Choices(), steps=0, seen=night.seen, reason="a lane died", by=director)

    group_of = {number: place for place, group in enumerate(groups_in(draw)) for number in group}
    for heat in made.heats.all():
        assert len({group_of[number] for number in heat.lanes.values_list("seat__number", flat=True)}) == 1
    assert groups_in(made) == groups_in(draw)


# ---- pages -----------------------------------------------------------------------------------------------------------


def signed_in(user):
    client = Client()
    client.force_login(user)
    return client


def test_the_page_shows_the_groups_and_uses_them(race, director):
    client = signed_in(director)
    address = reverse("group-draw", args=[race.event.club.slug, race.public_id])
    query = address_of(LOT)
    page = client.get(f"{address}?{query}")

    assert [len(card.members) for card in page.context["cards"]] == [3, 4, 4]
    given = {"seen": page.context["field"].seen, "replaces": 0}
    assert client.post(f"{address}?{query}", given, follow=True).status_code == 200
    again = client.post(f"{address}?{query}", given)
    assert again.status_code == 409
    assert client.get(address)["Location"].startswith(f"{address}?how=apart&most=5")
    assert "at least 2 drivers" in client.get(f"{address}?most=2&how=lot&seed=1").content.decode()


def test_a_race_with_a_head_count_is_drawn_in_groups_from_there_on(race, director):
    client = signed_in(director)
    address = reverse("draw-create", args=[race.event.club.slug, race.public_id])
    race.groups_from = 12
    race.save()
    assert "seed=" in client.get(address)["Location"]
    race.groups_from = 11
    race.save()

    assert client.get(address)["Location"].endswith("/groups/")
    assert "/draw/" in client.get(f"{address}?whole=1")["Location"]
