"""Many press at once: event numbers stay without gaps, one heat runs at a time, and no draw is pulled away.

Each test is a process of its own with a database of its own: the suite's may live in memory, where the locks that a
club's file or server relies on do not exist.
"""

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[3]

BEGIN = """
import threading, django
django.setup()
from django.core.management import call_command
from django.db import connection
if connection.vendor == "postgresql":
    connection.settings_dict["TEST"]["NAME"] = "test_pressing_at_once"
    connection.creation.create_test_db(verbosity=0, autoclobber=True, serialize=False)
else:
    call_command("migrate", verbosity=0)
from racedesk.heats.selectors import heats_of, now_ms
from racedesk.heats.services import draw_heats, rotation_stage
from racedesk.models import HeatEvent
from racedesk.racecontrol.services import append_event, start_heat
from tests import race_factories

def at_once(*deeds):
    results = []
    gate = threading.Barrier(len(deeds))
    def run(deed):
        try:
            gate.wait()
            deed()
            results.append("done")
        except Exception as error:
            results.append(getattr(error, "code", None) or repr(error))
        finally:
            connection.close()
    threads = [threading.Thread(target=run, args=(deed,)) for deed in deeds]
    [thread.start() for thread in threads]
    [thread.join() for thread in threads]
    return sorted(results)
"""
END = """
if connection.vendor == "postgresql":
    connection.creation.destroy_test_db("racedesk", verbosity=0)
"""

NUMBERS = """
race = race_factories.drawn_race(drivers=6)
heat = heats_of(race)[0]
start_heat(heat=heat, at_ms=1000, by=None)
def presses(lane):
    for turn in range(4):
        kind = "lane_back" if turn % 2 else "lane_out"
        for _ in range(2):  # each press sent twice
            append_event(heat=heat, kind=kind, lane=lane, reason="test", at_ms=2000 + turn,
                         client_key=f"{lane.number}-{turn}", by=None)
lanes = [each.lane for each in heat.lanes.select_related("lane")]
print(at_once(*[lambda lane=lane: presses(lane) for lane in lanes]))
numbers = list(HeatEvent.objects.filter(heat=heat).order_by("number").values_list("number", flat=True))
print(numbers == list(range(1, 2 + 4 * len(lanes) + 1)))
"""

STARTS = """
for _ in range(4):
    race = race_factories.drawn_race(drivers=6)
    first, second, *_ = heats_of(race)
    results = at_once(
        lambda: start_heat(heat=first, at_ms=now_ms(), by=None),
        lambda: start_heat(heat=second, at_ms=now_ms(), by=None),
        lambda: draw_heats(stage=rotation_stage(race=race), preset="rest", seed=2, reason="late entry", by=None),
    )
    started = HeatEvent.objects.filter(heat__draw__stage__race=race, kind="start")
    orphans = started.filter(heat__draw__superseded_at__isnull=False).count()
    possible = (["another_heat_runs", "done", "heat_has_begun"], ["done", "draw_superseded", "draw_superseded"])
    print(results in possible and started.count() <= 1 and orphans == 0, results)
"""

REDRAWS = """
from inspection.models import Role
from racedesk.racecontrol.services import enter_laps
from racedesk.redraws.services import accept_rest
from racedesk.restplans.selectors import Choices, night_of
from tests import factories
for _ in range(4):
    race = race_factories.drawn_race(drivers=6)
    by = factories.member(race.event.club, Role.RACE_DIRECTOR)
    first, second, *_ = heats_of(race)
    for each in first.lanes.all():
        enter_laps(heat=first, lane=each.lane, text="20", confirmed=True, by=by)
    seen = night_of(race, Choices()).seen
    def again():
        accept_rest(race=race, choices=Choices(), steps=0, seen=seen, reason="a lane died", by=by)
    results = at_once(lambda: start_heat(heat=second, at_ms=now_ms(), by=None), again, again)
    started = HeatEvent.objects.filter(heat__draw__stage__race=race, kind="start")
    orphans = started.filter(heat__draw__superseded_at__isnull=False).count()
    possible = (["done", "night_went_on", "night_went_on"], ["done", "draw_superseded", "night_went_on"])
    print(results in possible and started.count() <= 1 and orphans == 0, results)
"""


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.postgres)])
def outcome_of(request, tmp_path):
    environment = os.environ | {
        "RACEDESK_DATA": str(tmp_path),
        "DJANGO_SETTINGS_MODULE": "racedesk.settings",
        "PYTHONPATH": str(ROOT),
    }
    environment.pop("RACEDESK_DATABASE_URL", None)
    if request.param == "postgresql":
        environment["RACEDESK_DATABASE_URL"] = os.environ["RACEDESK_TEST_POSTGRES_URL"]

    def run(program):
        command = [sys.executable, "-c", BEGIN + program + END]
        done = subprocess.run(
            command, cwd=ROOT, env=environment, capture_output=True, text=True, timeout=240, check=False
        )
        assert done.returncode == 0, done.stderr[-3000:]
        return done.stdout.splitlines()

    return run


@pytest.mark.live
def test_six_lanes_pressed_at_once_leave_no_gap_and_no_double(outcome_of):
    assert outcome_of(NUMBERS) == [str(["done"] * 6), "True"]


@pytest.mark.live
def test_of_two_heats_and_a_new_draw_or_redraw_at_once_just_one_happens(outcome_of):
    lines = outcome_of(STARTS + REDRAWS)
    assert len(lines) == 8
    assert [line for line in lines if not line.startswith("True")] == []
