"""`manage.py serve` on a real port: a club is founded on its first page, and what is saved is saved whole."""

import random
import re
import signal
import sqlite3
import threading
import time
from contextlib import closing
from functools import partial

import pytest

pytestmark = pytest.mark.live

ROWS = 800
PASSWORD = "quarter past eight"
FOUNDING = {
    "name": "The Mill", "slug": "mill", "time_zone": "Europe/Vienna", "units": "mm", "decimal_mark": ".",
    "paper": "A4", "currency": "EUR", "track_name": "Long table", "lane_names": "White, Red, Blue, Green",
    "username": "wim", "person": "Wim Aerts", "password": PASSWORD,
}  # fmt: skip


def first_page(server):
    """The path of the first page with its code, and the code, as printed."""
    server.wait_until_it_says("/start/?code=")
    code = re.search(r"/start/\?code=(\w+)", server.said)[1]
    return f"/start/?code={code}", code


def found_a_club(server, visitor):
    """Found the club on the page; gives its director's browser."""
    server.wait_until_it_answers()
    path, code = first_page(server)
    director = visitor(server.address)
    status, page, where = director.post(path, FOUNDING | {"code": code})
    assert (status, where) == (200, "/mill/"), page
    return director


def test_the_first_page_founds_the_club_and_is_gone_then(start, data_dir, visitor):
    server = start("serve")
    server.wait_until_it_answers()
    path, code = first_page(server)
    stranger = visitor(server.address)

    assert stranger.get("/")[2] == "/start/"
    assert f'value="{code}"' in stranger.get(path)[1]
    wrong = stranger.post("/start/", FOUNDING | {"code": "bcdfghjkmnpq"})
    assert wrong[0] == 422
    assert "That is not the code" in wrong[1]

    director = found_a_club(server, visitor)

    assert "The Mill" in director.get("/mill/")[1]
    assert stranger.get("/start/")[0] == 404
    assert "Green" in director.get("/mill/tracks/")[1]
    server.stop()

    again = start("serve")
    again.wait_until_it_answers()
    assert "/start/" not in again.said
    back = visitor(again.address)
    back.sign_in("wim", PASSWORD)
    assert back.get("/mill/club/")[0] == 200


def test_no_page_of_errors_shows_its_inside(start, visitor):
    server = start("serve")
    server.wait_until_it_answers()

    status, page, _where = visitor(server.address).get("/nowhere/at/all/")

    assert status == 404
    for word in ("Traceback", "DEBUG", "urlpatterns", "settings.py"):
        assert word not in page


# ---- killed while saving --------------------------------------------------------------------------------------------

PLAN_A_NIGHT = """
import datetime as dt
from inspection.models import Club, Track, User
from racedesk.events.services import EventContent, RaceContent, create_event, create_race
club, by = Club.objects.get(), User.objects.get()
content = EventContent(name="Night", date=dt.date.today(), track=Track.objects.get())
event = create_event(club=club, content=content, by=by)
print(create_race(event=event, content=RaceContent(name="Race", needs_tech=False), by=by).public_id)
"""


def list_of_names():
    """A file of names no two of which are alike enough to be one person's."""
    chance = random.Random(20618)
    letters = "abcdefghijklmnopqrstuvwxyz"
    names = ["".join(chance.choice(letters) for _ in range(14)).capitalize() for _ in range(ROWS)]
    return ("Driver\n" + "\n".join(names) + "\n").encode()


def count(database, table):
    return database.execute(f"SELECT count(*) FROM {table}").fetchone()[0]


def is_being_written(path):
    """Whether somebody is in the middle of a transaction that writes."""
    with closing(sqlite3.connect(path, timeout=0, isolation_level=None)) as database:
        try:
            database.execute("BEGIN IMMEDIATE")
            database.execute("ROLLBACK")
        except sqlite3.OperationalError as error:
            return "locked" in str(error)
    return False


def kill_while_saving(server, path, save, later_s):
    """Kill the server so long after `save` has begun to write; not if it has answered before."""
    answers = []

    def enter_all():
        try:
            answers.append(save())
        except OSError as error:
            answers.append(error)

    sending = threading.Thread(target=enter_all)
    sending.start()
    end = time.monotonic() + 120
    while not is_being_written(path):
        assert time.monotonic() < end
        assert sending.is_alive() or pytest.fail(f"it was saved before it could be killed: {answers}")
        time.sleep(0.002)
    time.sleep(later_s)
    server.stop(signal.SIGKILL)
    sending.join(timeout=60)


@pytest.mark.long
def test_killed_while_saving_it_has_saved_all_or_nothing(start, data_dir, visitor, run_python):
    server = start("serve")
    director = found_a_club(server, visitor)
    race = run_python(PLAN_A_NIGHT).strip()
    files = {"file": ("entries.csv", list_of_names())}
    status, page, confirm = director.post(f"/mill/races/{race}/entries/import/", {}, files=files)
    assert status == 200, page
    path = data_dir / "club.sqlite3"

    entries = 0
    for later_s in (0.0, 0.3):
        kill_while_saving(server, path, partial(director.post, confirm, {}), later_s)
        with closing(sqlite3.connect(path)) as database:
            assert database.execute("PRAGMA integrity_check").fetchone() == ("ok",)
            entries, drivers = count(database, "racedesk_entry"), count(database, "inspection_driver")
            said = database.execute("SELECT entered_at IS NOT NULL FROM racedesk_entryimport").fetchone()[0]
        assert (entries, drivers, bool(said)) in {(0, 0, False), (ROWS, ROWS, True)}
        assert later_s or entries == 0, "it was killed at the first moment of saving"
        server = start("serve")
        server.wait_until_it_answers()
        director = visitor(server.address)
        director.sign_in("wim", PASSWORD)

    if not entries:
        assert director.post(confirm, {})[0] == 200
    with closing(sqlite3.connect(path)) as database:
        assert count(database, "racedesk_entry") == ROWS
    assert director.get(f"/mill/races/{race}/entries/")[0] == 200
