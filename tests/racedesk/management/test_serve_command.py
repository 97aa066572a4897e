"""The first start founds a club, on the terminal or on a page; a demo is never taken for a club."""

import io
import sqlite3
from contextlib import closing

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError
from django.urls import resolve

from inspection.founding.services import CODE_FILE
from inspection.models import Club, Lane, Role
from racedesk.management import server
from racedesk.management.commands import serve

ANSWERS = ["The Mill", "mill", "Long table", "4", "Wim Aerts", "wim"]


@pytest.fixture
def served(settings, tmp_path, monkeypatch):
    """What would have been served, with the test's own database standing for the club's."""
    settings.DATA_DIR = tmp_path
    calls = []
    monkeypatch.setattr(server, "prepare", lambda: None)
    monkeypatch.setattr(server, "run_server", lambda **arguments: calls.append(arguments))
    monkeypatch.setattr(serve.connections, "close_all", lambda: None)
    return calls


def at_a_terminal(monkeypatch, answers, passwords=("quarter past eight",) * 2):
    """Somebody who types these answers, one after the other."""
    typed, typed_hidden = iter(answers), iter(passwords)
    monkeypatch.setattr(serve.sys.stdin, "isatty", lambda: True, raising=False)
    monkeypatch.setattr("builtins.input", lambda question: next(typed))
    monkeypatch.setattr(serve.getpass, "getpass", lambda question: next(typed_hidden))


def run():
    out = io.StringIO()
    call_command("serve", "--port", "0", stdout=out)
    return out.getvalue()


@pytest.mark.django_db
def test_away_from_a_terminal_the_first_page_s_address_is_printed_with_its_code(served, tmp_path):
    said = run()

    code = (tmp_path / CODE_FILE).read_text()
    assert f"/start/?code={code}" in said
    assert resolve("/start/").url_name == "first-run"
    assert len(served) == 1


@pytest.mark.django_db
def test_a_club_is_founded_on_the_terminal(served, monkeypatch):
    at_a_terminal(monkeypatch, ANSWERS)

    said = run()

    club = Club.objects.get()
    assert (club.slug, club.name, club.is_invented) == ("mill", "The Mill", False)
    assert club.time_zone == str(server.local_zone())
    assert [str(lane) for lane in Lane.objects.all()] == ["1 White", "2 Red", "3 Blue", "4 Green"]
    roles = set(club.memberships.filter(user__username="wim").values_list("role", flat=True))
    assert roles == {Role.OWNER, Role.RACE_DIRECTOR}
    assert "/start/" not in said


@pytest.mark.django_db(transaction=True)
def test_the_code_of_the_first_page_is_gone_once_a_club_stands(served, monkeypatch, tmp_path):
    at_a_terminal(monkeypatch, ANSWERS)

    run()

    assert not (tmp_path / CODE_FILE).exists()


@pytest.mark.django_db
def test_an_empty_name_leaves_it_to_the_page(served, monkeypatch):
    at_a_terminal(monkeypatch, [""])

    assert "/start/?code=" in run()
    assert not Club.objects.exists()


@pytest.mark.django_db
def test_a_closed_input_leaves_it_to_the_page(served, monkeypatch):
    def closed(question):
        raise EOFError

    monkeypatch.setattr(serve.sys.stdin, "isatty", lambda: True, raising=False)
    monkeypatch.setattr("builtins.input", closed)

    assert "/start/?code=" in run()


@pytest.mark.django_db
def test_only_wrong_answers_are_asked_for_again(served, monkeypatch):
    at_a_terminal(
        monkeypatch,
        ["The Mill", "sign-in", "Long table", "a few", "Wim Aerts", "wim", "mill", "4"],
        ["short", "short", "quarter past eight", "quarter past nine", "quarter past eight", "quarter past eight"],
    )

    said = run()

    assert Club.objects.get().slug == "mill"
    assert Lane.objects.count() == 4
    assert "This word stands for another page" in said
    assert "The two differ" in said


@pytest.mark.django_db
def test_empty_answers_take_what_stands_in_brackets(served, monkeypatch):
    at_a_terminal(monkeypatch, ["Mühle am Bach", "", "", "", "", "wim"])

    run()

    club = Club.objects.get()
    assert club.slug == "muhle-am-bach"
    assert Lane.objects.count() == 6
    assert Lane.objects.first().layout.track.name == "Main track"


@pytest.mark.django_db
def test_a_second_start_asks_nothing(served, monkeypatch):
    at_a_terminal(monkeypatch, ANSWERS)
    run()
    at_a_terminal(monkeypatch, [])

    assert "/start/" not in run()
    assert Club.objects.count() == 1


@pytest.mark.django_db
def test_a_demo_is_not_served_as_a_club(served, settings):
    settings.IS_DEMO = True

    with pytest.raises(CommandError, match="database is the demo's"):
        run()

    assert served == []


def test_a_demo_file_by_another_name_is_known_too(served, settings, tmp_path, monkeypatch):
    path = tmp_path / "club.sqlite3"
    with closing(sqlite3.connect(path)) as made:
        made.execute("CREATE TABLE kept (word text)")
        made.execute(f"PRAGMA application_id = {server.DEMO_MARK}")
        made.commit()
    monkeypatch.setattr(
        serve, "connection", type("Connection", (), {"vendor": "sqlite", "settings_dict": {"NAME": path}})
    )

    with pytest.raises(CommandError, match="database is the demo's"):
        run()
