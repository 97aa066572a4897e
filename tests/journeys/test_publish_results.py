"""Journey F: classified, looked over, published, corrected by a new revision, counted in the season."""

import pytest

from inspection.models import LogEntry
from racedesk.heats.selectors import heats_of
from racedesk.models import ResultSheet, Season
from tests import race_factories
from tests.page_forms import form_on
from tests.racedesk.results.test_results_services import run


@pytest.fixture
def race(club, layout):
    event = race_factories.event(club, track_layout=layout)
    made = race_factories.race(event, tie_rule="shared")
    race_factories.entries(made, 6)
    race_factories.drawn(made)
    return made


def test_a_result_is_published_and_corrected(director, anybody, race):
    address = f"/harbor/races/{race.public_id}/result/"
    run(race, only=5)
    refused = director.post(address + "publish/", follow=True)
    assert not ResultSheet.objects.exists()
    assert "6" in refused.content.decode()

    last = heats_of(race)[5]
    laps = form_on(director.get(f"/harbor/heats/{last.public_id}/laps/"), "laps")
    read_back = laps.send(director, **{f"laps__{lane}": "15" for lane in range(1, 7)})
    form_on(read_back, "laps").send(director)
    assert b"No result yet" in anybody.get(address).content
    form_on(director.get(address + "preview/"), "/publish/").send(director)
    first = ResultSheet.objects.get()
    assert first.rows.count() == 6
    assert "No tech tonight" in anybody.get(address).content.decode()

    correction = form_on(director.get(f"/harbor/heats/{last.public_id}/laps/?lane=1"), "laps")
    reason = correction.choice("reason", "a lap was missed")
    read_back = correction.send(director, laps__1="17", reason=reason)
    assert b"in place of" in read_back.content or b"corrected" in read_back.content
    if b'name="is_confirmed"' in read_back.content:
        form_on(read_back, "laps").send(director)
    assert ResultSheet.objects.count() == 1
    form_on(director.get(address + "correct/"), "correction").send(director, change_note="Two laps were missed")
    second = ResultSheet.objects.get(number=2)
    first.refresh_from_db()
    assert (first.superseded_at is not None, second.superseded_at) == (True, None)
    shown = anybody.get(address).content.decode()
    assert "Two laps were missed" in shown
    assert "Result 1, published" in shown
    assert LogEntry.objects.filter(action__contains="result").count() >= 2


def test_its_points_go_into_the_season(director, anybody, race):
    form_on(director.get("/harbor/seasons/new/"), "/seasons/new/").send(director, name="Winter", points="10 8 6 5 4 3")
    season = Season.objects.get()
    new = form_on(director.get(f"/harbor/seasons/{season.public_id}/rounds/new/"), "/rounds/new/")
    new.send(director, race=new.choice("race", race.name), number="1")
    run(race)
    form_on(director.get(f"/harbor/races/{race.public_id}/result/preview/"), "/publish/").send(director)
    winner = ResultSheet.objects.get().rows.get(place=1)
    table = anybody.get(f"/harbor/seasons/{season.public_id}/").content.decode()
    assert winner.driver_name in table
    assert ">10<" in table.replace(" ", "").replace("\n", "")
