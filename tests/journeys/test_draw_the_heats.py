"""Journey D: from who is here and clear to heats on the wall, the same again for anybody who knows the seed."""

import json
from io import StringIO

import pytest
from django.core.management import call_command

from racedesk.heats.selectors import heats_of
from racedesk.models import Draw, Entry, LaneAssignment
from tests import race_factories
from tests.page_forms import form_on


@pytest.fixture
def race(club, layout):
    event = race_factories.event(club, track_layout=layout)
    return race_factories.race(event)


def test_who_is_checked_in_is_drawn_and_everybody_reads_it(director, anybody, race):
    race_factories.entries(race, 14)
    race_factories.entry(race, state=Entry.State.ENTERED)
    page = director.get(f"/harbor/races/{race.public_id}/draw/", follow=True)
    assert b"Draw for 14 drivers on 6 lanes" in page.content
    assert b"A pair meets" in page.content

    made = form_on(page, "draw").send(director, preset="opponents")
    assert b"Print the whole night" in made.content
    draw = Draw.objects.get()
    seats = draw.stage.seats.count()
    assert (seats, LaneAssignment.objects.count()) == (14, 14 * 6)
    for seat in draw.stage.seats.all():
        lanes = LaneAssignment.objects.filter(seat=seat).values_list("lane__number", flat=True)
        assert sorted(lanes) == [1, 2, 3, 4, 5, 6]
    for heat in heats_of(race):
        drivers = list(heat.lanes.values_list("seat", flat=True))
        assert len(drivers) == len(set(drivers))
    shown = anybody.get(f"/harbor/races/{race.public_id}/heats/").content.decode()
    assert all(str(entry) in shown for entry in race.entries.filter(state="checked_in"))
    assert str(draw.seed) in anybody.get(f"/harbor/draws/{draw.public_id}/").content.decode()


def test_the_command_line_makes_the_same_draw_from_the_same_seed(director, race):
    race_factories.entries(race, 14)
    page = director.get(f"/harbor/races/{race.public_id}/draw/?seed=77")
    form_on(page, "draw").send(director, preset="opponents")
    out = StringIO()
    call_command("rotation", drivers=14, lanes=6, seed=77, json=True, stdout=out)

    said = json.loads(out.getvalue())["heats"]
    made = [
        [dict(heat.lanes.values_list("lane__number", "seat__number")).get(lane) for lane in range(1, 7)]
        for heat in heats_of(race)
    ]
    assert made == said


def test_one_driver_alone_is_no_draw(director, race):
    race_factories.entries(race, 1)
    page = director.get(f"/harbor/races/{race.public_id}/draw/", follow=True)
    assert b"at least 2 drivers" in page.content
    answer = director.post(f"/harbor/races/{race.public_id}/draw/", {"seed": 5, "preset": "opponents", "replaces": 0})
    assert answer.status_code == 409
    assert not Draw.objects.exists()
