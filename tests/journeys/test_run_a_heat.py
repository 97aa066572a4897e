"""Journey E: a heat from the line to its laps; whoever opens the page again finds it where it is."""

import pytest
import time_machine

from racedesk.clocks.selectors import heat_state, is_run
from racedesk.heats.selectors import heats_of
from racedesk.models import HeatEvent
from tests import race_factories
from tests.page_forms import form_on, forms_on


@pytest.fixture
def race(club, layout):
    event = race_factories.event(club, track_layout=layout)
    made = race_factories.race(event, heat_length_s=180, countdown_s=5, changeover_s=60, lap_method="lane_by_lane")
    race_factories.entries(made, 6)
    race_factories.drawn(made)
    return made


def press(director, heat, kind):
    """One button of the director's table, pressed on the page as it stands now."""
    address = f"/harbor/heats/{heat.public_id}/"
    forms = [form for form in forms_on(director.get(address)) if form.values.get("kind") == [kind]]
    assert forms, kind
    return forms[0].send(director)


def test_a_heat_with_a_track_call_and_its_laps(director, anybody, race):
    heat = heats_of(race)[0]
    with time_machine.travel("2026-11-27T18:30:00Z", tick=False) as clock:
        press(director, heat, "start")
        clock.shift(5 + 60)
        press(director, heat, "call_track")
        clock.shift(45)
        held = director.get(f"/harbor/heats/{heat.public_id}/").content.decode()
        assert 'data-phase="track_call"' in held
        assert "0:45" in held  # held so long
        assert "2:00" in held  # left of the heat: the call has not eaten any of it
        press(director, heat, "resume")
        clock.shift(5 + 121)
        ended = director.get(f"/harbor/heats/{heat.public_id}/").content.decode()
        assert 'data-phase="ended"' in ended

        typed = {1: "18.45", 2: "18 + 9/20", 3: "18 laps 9", 4: "18/9", 5: "17", 6: "17.95"}
        laps = form_on(director.get(f"/harbor/heats/{heat.public_id}/laps/"), "laps")
        read_back = laps.send(director, **{f"laps__{lane}": text for lane, text in typed.items()})
        assert read_back.content.decode().count("18 laps and 9 of 20 sections (18.45)") == 4
        assert not is_run(heat)
        form_on(read_back, "laps").send(director)

    assert is_run(heat)
    assert [str(lane.laps.as_fraction) for lane in sorted(heat_state(heat).laps, key=lambda each: each.lane)] == [
        "369/20", "369/20", "369/20", "369/20", "17", "359/20",
    ]  # fmt: skip
    numbers = list(HeatEvent.objects.filter(heat=heat).order_by("number").values_list("number", flat=True))
    assert numbers == list(range(1, len(numbers) + 1))
    board = anybody.get(f"/harbor/events/{race.event.public_id}/board/")
    assert board.status_code == 200
    assert (
        f"/harbor/heats/{heats_of(race)[1].public_id}/"
        in director.get(f"/harbor/heats/{heat.public_id}/").content.decode()
    )


@pytest.mark.parametrize("typed", ["18.45.1", "18 + 9/19", "18/20", "-1", "NaN", "1e999", "18 laps 25", "", "x"])
def test_laps_that_the_track_cannot_hold_are_refused_and_nothing_is_saved(director, race, typed):
    heat = heats_of(race)[0]
    laps = form_on(director.get(f"/harbor/heats/{heat.public_id}/laps/"), "laps")
    answer = laps.send(director, laps__1=typed, is_confirmed="on")
    assert heat_state(heat).laps == ()
    if typed:
        assert answer.status_code == 422
        assert f'value="{typed}"' in answer.content.decode()
