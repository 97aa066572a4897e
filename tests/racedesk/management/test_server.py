"""What `serve` and `demo` print and find out before the server runs."""

import datetime as dt
import socket
import zoneinfo

import pytest
from django.contrib.staticfiles.finders import FileSystemFinder
from django.core.management.base import CommandError

from racedesk.management import server


@pytest.fixture
def said(settings, tmp_path):
    settings.DATA_DIR = tmp_path
    return []


def announce(address, said):
    server.announce(address, said.append, kept_in="address.txt")
    return "\n".join(said)


def test_the_first_start_prints_the_address_and_a_code(said, capsys):
    assert "http://192.0.2.7:8000/" in announce("http://192.0.2.7:8000/", said)
    assert "█" in capsys.readouterr().out


def test_a_changed_address_says_that_printed_codes_no_longer_match(said, capsys):
    announce("http://192.0.2.7:8000/", said)
    said.clear()

    words = announce("http://192.0.2.9:8000/", said)

    assert "The address was http://192.0.2.7:8000/ before" in words
    assert "no longer match" in words


def test_the_same_address_says_nothing_of_the_kind(said, capsys):
    announce("http://192.0.2.7:8000/", said)
    said.clear()

    assert "no longer match" not in announce("http://192.0.2.7:8000/", said)


def test_without_a_network_no_code_is_offered_to_phones(said, capsys):
    assert "on no network" in announce("http://127.0.0.1:8000/", said)
    assert "█" not in capsys.readouterr().out


def test_a_terminal_without_block_letters_does_not_stop_the_start(said, monkeypatch):
    class Plain:
        encoding = "ascii"

        def write(self, text):
            text.encode("ascii")

        def flush(self):
            pass

    monkeypatch.setattr(server.sys, "stdout", Plain())

    assert "http://192.0.2.7:8000/" in announce("http://192.0.2.7:8000/", said)


def test_an_address_that_is_set_is_the_one_told(settings):
    settings.LAN_ADDRESS = "https://race.example.org/"

    assert server.address_for(8000) == "https://race.example.org/"


def test_no_way_out_of_the_network_still_finds_this_machine_s_address(monkeypatch):
    class NoRoute(socket.socket):
        def connect(self, address):
            raise OSError("Network is unreachable")

    monkeypatch.setattr(server.socket, "socket", NoRoute)
    monkeypatch.setattr(server.socket, "gethostbyname_ex", lambda name: (name, [], ["127.0.1.1", "192.0.2.33"]))

    assert server.lan_address() == "192.0.2.33"


def test_a_free_port_is_found_for_zero():
    assert 1 <= server.find_port(0) <= 65535


@pytest.mark.parametrize("port", [70_000, -1])
def test_a_number_that_is_no_port_is_refused(port):
    with pytest.raises(CommandError, match="There is no port"):
        server.find_port(port)


def test_a_missing_pango_is_said_in_one_sentence(monkeypatch):
    monkeypatch.setattr(server.ctypes.util, "find_library", lambda name: None)

    assert len(server.missing_parts()) == 1
    assert "Pango is not installed" in server.missing_parts()[0]


def test_a_missing_font_cutter_is_said_with_what_to_do(monkeypatch):
    monkeypatch.setattr(server.ctypes.util, "find_library", lambda name: name if "pango" in name else None)

    assert "libharfbuzz-subset0" in server.missing_parts()[0]


def test_nothing_missing_says_nothing(monkeypatch):
    monkeypatch.setattr(server.ctypes.util, "find_library", lambda name: name)

    assert server.missing_parts() == []


def test_the_machine_s_own_time_zone_is_one_that_is_known():
    zone = server.local_zone()

    assert zone.key in zoneinfo.available_timezones()
    assert abs((server.today() - dt.datetime.now(dt.UTC).date()).days) <= 1


class TestStaticFiles:
    @pytest.fixture
    def collected(self, settings, tmp_path, monkeypatch):
        settings.STATIC_ROOT = tmp_path / "static"
        settings.STATICFILES_DIRS = [tmp_path / "ours"]
        (tmp_path / "ours").mkdir()
        (tmp_path / "ours" / "page.css").write_text("p { margin: 0 }")
        finder = FileSystemFinder()
        monkeypatch.setattr(server, "get_finders", lambda: [finder])
        calls = []
        monkeypatch.setattr(server, "call_command", lambda *words, **_options: calls.append(words))
        return calls

    def test_are_collected_once(self, collected):
        server.collect_static()
        server.collect_static()

        assert collected == [("collectstatic",)]

    def test_are_collected_anew_when_one_has_changed(self, collected, tmp_path):
        server.collect_static()
        (tmp_path / "ours" / "page.css").write_text("p { margin: 1px }")
        server.collect_static()

        assert len(collected) == 2

    def test_are_collected_anew_when_it_was_broken_off(self, collected, monkeypatch):
        server.collect_static()

        def broken_off(*_words, **_options):
            raise KeyboardInterrupt

        with monkeypatch.context() as meanwhile:
            meanwhile.setattr(server, "_static_fingerprint", lambda: "changed")
            meanwhile.setattr(server, "call_command", broken_off)
            with pytest.raises(KeyboardInterrupt):
                server.collect_static()
        server.collect_static()

        assert len(collected) == 2
