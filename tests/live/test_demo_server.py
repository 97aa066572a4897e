"""`manage.py demo` on a real port: it answers, stops when told, and leaves nothing half-made."""

import re
import signal
import sqlite3
from contextlib import closing

import pytest

from racedesk.management import server as found

pytestmark = pytest.mark.live


@pytest.mark.long
def test_the_demo_answers_and_starts_again_without_loading(start, data_dir, visitor):
    server = start("demo")
    server.wait_until_it_answers()

    status, page, where = visitor(server.address).get("/")
    assert (status, where) == (200, "/quarry-hall/")
    assert "Quarry Hall Slot Club" in page
    assert "invented" in page
    assert re.search(r"(\d+)/\1 ", server.said)
    assert "race-night" in server.said
    inside = visitor(server.address)
    inside.sign_in("director", "race-night")
    assert inside.get("/quarry-hall/club/log/")[0] == 200

    server.stop()
    assert not server.has_children_left()
    assert sorted(path.name for path in data_dir.glob("*.sqlite3")) == ["demo.sqlite3"]

    again = start("demo")
    again.wait_until_it_answers()
    assert not re.search(r"\d+/\d+ ", again.said.partition("RaceDesk is at")[0])
    assert visitor(again.address).get("/quarry-hall/")[0] == 200
    again.stop(signal.SIGINT)
    with closing(sqlite3.connect(data_dir / "demo.sqlite3")) as database:
        assert database.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    assert found.is_demo(data_dir / "demo.sqlite3")


@pytest.mark.parametrize("how", [signal.SIGTERM, signal.SIGINT])
def test_a_stop_while_loading_ends_the_loader_and_leaves_nothing(start, data_dir, how):
    server = start("demo")
    server.wait_until_it_says("] 1/")

    assert server.stop(how) != 0

    assert not server.has_children_left()
    assert list(data_dir.glob("*.sqlite3*")) == []
    assert "nothing has changed" in server.said
    assert "Traceback" not in server.said


def test_serve_does_not_take_the_demo_for_a_club(start, data_dir, run_python, monkeypatch):
    with closing(sqlite3.connect(data_dir / "club.sqlite3")) as database:
        database.execute("CREATE TABLE kept (word text)")
        database.execute(f"PRAGMA application_id = {found.DEMO_MARK}")
        database.commit()

    server = start("serve")

    assert server.process.wait(timeout=120) != 0
    assert "This database is the demo's" in server.said
    assert "Traceback" not in server.said
