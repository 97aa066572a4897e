"""Event numbers stay without gaps when many write at once, on a database file as clubs have it."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[3]

# A database of its own, made and used by its own process: the suite's may live in memory, where the file locking
# that clubs rely on does not exist.
PROGRAM = """
import threading, django
django.setup()
from django.core.management import call_command
from django.db import connection
call_command("migrate", verbosity=0)
from racedesk.heats.selectors import heats_of
from racedesk.models import HeatEvent
from racedesk.racecontrol.services import append_event, start_heat
from tests import race_factories
race = race_factories.drawn_race(drivers=6)
heat = heats_of(race)[0]
start_heat(heat=heat, at_ms=1000, by=None)
lanes = [each.lane for each in heat.lanes.all()]
wrong = []
def work(lane):
    try:
        for turn in range(4):
            kind = "lane_back" if turn % 2 else "lane_out"
            for _ in range(2):  # each press sent twice
                append_event(heat=heat, kind=kind, lane=lane, reason="test", at_ms=2000 + turn,
                             client_key=f"{lane.number}-{turn}", by=None)
    except Exception as error:
        wrong.append(repr(error))
    finally:
        connection.close()
threads = [threading.Thread(target=work, args=(lane,)) for lane in lanes]
[t.start() for t in threads]; [t.join() for t in threads]
numbers = list(HeatEvent.objects.filter(heat=heat).order_by("number").values_list("number", flat=True))
print("wrong", wrong)
print("gapless", numbers == list(range(1, 2 + 4 * len(lanes) + 1)))
"""


@pytest.mark.live
def test_six_threads_pressing_at_once_leave_no_gap_and_no_double(tmp_path):
    environment = os.environ | {
        "RACEDESK_DATA": str(tmp_path),
        "DJANGO_SETTINGS_MODULE": "racedesk.settings",
        "PYTHONPATH": str(ROOT),
    }
    environment.pop("RACEDESK_DATABASE_URL", None)
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM],
        cwd=ROOT,
        env=environment,
        capture_output=True,
        text=True,
        timeout=240,
        check=False,
    )
    assert done.stdout.splitlines()[-2:] == ["wrong []", "gapless True"], done.stderr[-2000:]
