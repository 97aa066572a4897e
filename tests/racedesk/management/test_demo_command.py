"""The demo keeps to its own file, and serves nothing but a whole one."""

import io
import os
import socket
import sqlite3
import time
from contextlib import closing

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from racedesk.management import server
from racedesk.management.commands import demo


@pytest.fixture
def data_dir(settings, tmp_path):
    settings.DATA_DIR = tmp_path
    return tmp_path


@pytest.fixture
def served(monkeypatch):
    """What would have been served, instead of a server."""
    calls = []
    monkeypatch.setattr(server, "run_server", lambda **arguments: calls.append(arguments))
    monkeypatch.setattr(server, "collect_static", lambda: None)
    return calls


def database(path, *, mark=0, day=0, rows=()):
    with closing(sqlite3.connect(path)) as made:
        made.execute("CREATE TABLE kept (word text)")
        made.executemany("INSERT INTO kept VALUES (?)", [(row,) for row in rows])
        made.execute(f"PRAGMA application_id = {mark}")
        made.execute(f"PRAGMA user_version = {day}")
        made.commit()
    return path


def rows_in(path):
    with closing(sqlite3.connect(path)) as opened:
        return [row[0] for row in opened.execute("SELECT word FROM kept")]


def loads(rows=("new",), *, whole=True):
    """A loader that writes a demo file in place of the scenario; not whole: it is broken off."""

    def run_on(self, path, *arguments):
        if arguments[0] == "migrate":
            return True
        database(path, mark=server.DEMO_MARK if whole else 0, day=server.today().toordinal(), rows=rows)
        return whole

    return run_on


def run(*arguments):
    out = io.StringIO()
    call_command("demo", *arguments, stdout=out)
    return out.getvalue()


def test_a_club_s_database_is_not_overwritten(data_dir, served):
    club = database(data_dir / "demo.sqlite3", rows=["our season"])

    for arguments in (["--port", "0"], ["--port", "0", "--fresh"], ["--load-only", "--fresh"]):
        with pytest.raises(CommandError, match="not a demo"):
            run(*arguments)

    assert rows_in(club) == ["our season"]
    assert served == []


@pytest.mark.parametrize("content", [b"", b"no database", b"\x00" * 5000])
def test_a_file_that_is_no_database_is_not_overwritten_either(data_dir, served, content):
    path = data_dir / "demo.sqlite3"
    path.write_bytes(content)

    with pytest.raises(CommandError, match="not a demo"):
        run("--port", "0", "--fresh")

    assert path.read_bytes() == content


def test_the_club_beside_it_is_never_opened(data_dir, served, monkeypatch):
    club = database(data_dir / "club.sqlite3", rows=["our season"])
    before = club.stat().st_mtime_ns
    monkeypatch.setattr(demo.Command, "run_on", loads())

    run("--port", "0")

    assert club.stat().st_mtime_ns == before
    assert served[0]["environment"]["RACEDESK_DATABASE"] == "demo.sqlite3"
    assert served[0]["environment"]["RACEDESK_DATABASE_URL"] == ""
    assert served[0]["environment"]["RACEDESK_DEMO"] == "on"


def test_a_load_that_is_broken_off_is_not_served_and_leaves_nothing(data_dir, served, monkeypatch):
    monkeypatch.setattr(demo.Command, "run_on", loads(whole=False))

    with pytest.raises(CommandError, match="could not be loaded"):
        run("--port", "0")

    assert list(data_dir.iterdir()) == []
    assert served == []


def test_ctrl_c_while_loading_leaves_the_earlier_demo(data_dir, served, monkeypatch):
    earlier = database(data_dir / "demo.sqlite3", mark=server.DEMO_MARK, rows=["earlier"])

    def interrupted(self, path, *arguments):
        database(path)
        raise KeyboardInterrupt

    monkeypatch.setattr(demo.Command, "run_on", interrupted)

    with pytest.raises(CommandError, match="nothing has changed") as stopped:
        run("--port", "0", "--fresh")

    assert stopped.value.returncode == 130
    assert [path.name for path in data_dir.iterdir()] == ["demo.sqlite3"]
    assert rows_in(earlier) == ["earlier"]


def test_a_second_start_loads_nothing(data_dir, served, monkeypatch):
    monkeypatch.setattr(demo.Command, "run_on", loads(["first"]))
    run("--port", "0")
    monkeypatch.setattr(demo.Command, "run_on", loads(["second"]))

    said = run("--port", "0")

    assert rows_in(data_dir / "demo.sqlite3") == ["first"]
    assert len(served) == 2
    assert "earlier day" not in said


def test_fresh_starts_the_demo_over_and_drops_the_old_journal(data_dir, served, monkeypatch):
    database(data_dir / "demo.sqlite3", mark=server.DEMO_MARK, rows=["earlier"])
    (data_dir / "demo.sqlite3-wal").write_bytes(b"an old journal")
    monkeypatch.setattr(demo.Command, "run_on", loads(["fresh"]))

    run("--port", "0", "--fresh")

    assert rows_in(data_dir / "demo.sqlite3") == ["fresh"]
    assert not (data_dir / "demo.sqlite3-wal").exists()


def test_yesterday_s_demo_says_that_its_night_is_over(data_dir, served, monkeypatch):
    yesterday = server.today().toordinal() - 1
    database(data_dir / "demo.sqlite3", mark=server.DEMO_MARK, day=yesterday)
    monkeypatch.setattr(demo.Command, "run_on", loads())

    assert "--fresh loads it anew" in run("--port", "0")


def test_only_left_overs_that_nobody_writes_any_more_are_removed(data_dir, served, monkeypatch):
    old, young = data_dir / "demo-loading-1.sqlite3", data_dir / "demo-loading-2.sqlite3"
    for path in (old, young):
        path.write_bytes(b"half")
    os.utime(old, (time.time() - 7200, time.time() - 7200))
    monkeypatch.setattr(demo.Command, "run_on", loads())

    run("--port", "0")

    assert not old.exists()
    assert young.exists()


def test_a_port_in_use_is_said_before_anything_is_loaded(data_dir, served):
    with socket.socket() as other:
        other.bind(("0.0.0.0", 0))
        other.listen()
        port = other.getsockname()[1]

        with pytest.raises(CommandError, match=f"Port {port} is in use"):
            run("--port", str(port))

    assert list(data_dir.iterdir()) == []


def test_it_says_who_to_sign_in_as(data_dir, served, monkeypatch):
    monkeypatch.setattr(demo.Command, "run_on", loads())

    said = run("--port", "0")

    for word in ("director", "inspector", "desk", "driver", "race-night", "invented"):
        assert word in said


def test_the_loader_runs_on_nothing_but_a_demo(settings):
    settings.IS_DEMO = False

    with pytest.raises(CommandError, match="for the command itself"):
        run("--here")
