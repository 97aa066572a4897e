"""The calendar of nights against the rules of RFC 5545."""

import datetime as dt
import re
from zoneinfo import ZoneInfo

import pytest
from django.urls import reverse
from hypothesis import given, settings
from hypothesis import strategies as st

from inspection.clubs.services import write_log
from racedesk.calendars.documents import calendar_bytes, escaped, folded
from racedesk.calendars.selectors import calendar_nights
from tests import factories, race_factories

TODAY = dt.date(2026, 11, 20)


def unfolded(content: bytes) -> list[str]:
    """Content lines: each break that a blank or a tab follows is no break (RFC 5545, 3.1)."""
    text = re.sub(rb"\r\n[ \t]", b"", content).decode()
    assert text.endswith("\r\n")
    return text[:-2].split("\r\n")


def unescaped(value: str) -> str:
    return re.sub(r"\\(.)", lambda found: "\n" if found[1] in "nN" else found[1], value)


@settings(max_examples=60)
@given(line=st.text(st.characters(exclude_categories=["Cc", "Cs"]), max_size=400))
def test_no_line_is_longer_than_75_octets_no_letter_is_cut_and_nothing_is_lost(line):
    parts = folded(line).encode().split(b"\r\n")
    assert all(len(part) <= 75 for part in parts)
    assert all(part.startswith(b" ") for part in parts[1:])
    assert b"".join([parts[0], *(part[1:] for part in parts[1:])]).decode() == line
    assert [part.decode() for part in parts]


@settings(max_examples=60)
@given(text=st.text(st.characters(exclude_categories=["Cc", "Cs"]) | st.sampled_from("\n,;\\"), max_size=200))
def test_escaped_text_reads_back_and_holds_no_bare_mark(text):
    value = escaped(text)
    assert unescaped(value) == text
    assert not re.search(r"(?<!\\)(?:\\\\)*[,;]", re.sub(r"\\[\\,;n]", "", value))
    assert "\n" not in value


def test_control_characters_are_left_out_and_all_line_ends_are_one():
    assert escaped("a\x00b\x7f\r\nc\rd\ne\tf") == "ab\\nc\\nd\\nef"


def components(lines: list[str]) -> list[dict[str, str]]:
    nights: list[dict[str, str]] = []
    for line in lines:
        name, _, value = line.partition(":")
        if line == "BEGIN:VEVENT":
            nights.append({})
        elif nights and name != "END":
            assert name not in nights[-1], f"{name} twice"
            nights[-1][name] = value
    return nights


def calendar(club, today=TODAY) -> list[str]:
    nights = calendar_nights(club, today=today)
    return unfolded(calendar_bytes(club, nights, lambda night: f"https://club.test/{night.event.public_id}/"))


@pytest.fixture
def club(db):
    return factories.club(name="Quarry Hall, Slot Club", time_zone="Europe/Vienna")


def night(club, day=27, **fields):
    zone = ZoneInfo("Europe/Vienna")
    times = {
        "doors_at": dt.datetime(2026, 11, day, 18, tzinfo=zone),
        "hall_closes_at": dt.datetime(2026, 11, day, 23, tzinfo=zone),
        "date": dt.date(2026, 11, day),
    }
    return race_factories.event(club, **(times | fields))


class TestTheCalendar:
    def test_is_framed_and_has_what_every_calendar_must(self, club):
        night(club)
        lines = calendar(club)
        assert (lines[0], lines[-1]) == ("BEGIN:VCALENDAR", "END:VCALENDAR")
        assert lines.count("VERSION:2.0") == 1
        assert sum(line.startswith("PRODID:") for line in lines) == 1
        assert lines.count("BEGIN:VEVENT") == lines.count("END:VEVENT") == 1
        assert "NAME:Quarry Hall\\, Slot Club" in lines

    def test_a_night_has_its_times_in_utc_its_place_its_races_and_its_address(self, club):
        event = night(club, name="Round 5; finals", note="Bring chairs,\nand tea")
        race_factories.race(event, name="GT 32")
        (found,) = components(calendar(club))
        assert found["DTSTART"] == "20261127T170000Z"
        assert found["DTEND"] == "20261127T220000Z"
        assert found["SUMMARY"] == "Round 5\\; finals"
        assert unescaped(found["LOCATION"]) == f"{event.track_layout.track.name}, {club.name}"
        assert unescaped(found["DESCRIPTION"]) == "GT 32\nBring chairs,\nand tea"
        assert found["URL"] == f"https://club.test/{event.public_id}/"
        assert {"UID", "DTSTAMP"} <= set(found)

    def test_names_are_its_own_and_stay_when_the_night_is_moved(self, club):
        event, other = night(club), night(club, day=28)
        before = {found["UID"]: found for found in components(calendar(club))}
        event.date = dt.date(2026, 12, 4)
        event.doors_at += dt.timedelta(days=7)
        event.hall_closes_at += dt.timedelta(days=7)
        event.save()
        write_log(club=club, action="planned night", subject=event, by=None)
        write_log(club=club, action="changed night", subject=event, by=None)
        after = {found["UID"]: found for found in components(calendar(club))}
        assert set(before) == set(after)
        assert len(after) == 2
        (moved,) = (uid for uid in after if uid.startswith(event.public_id))
        assert int(after[moved]["SEQUENCE"]) > int(before[moved]["SEQUENCE"])
        assert after[moved]["DTSTAMP"] >= before[moved]["DTSTAMP"]
        (kept,) = (uid for uid in after if uid.startswith(other.public_id))
        assert after[kept] == before[kept]

    def test_without_a_time_it_is_the_whole_day(self, club):
        night(club, doors_at=None, racing_at=None, hall_closes_at=None)
        (found,) = components(calendar(club))
        assert found["DTSTART;VALUE=DATE"] == "20261127"
        assert found["DTEND;VALUE=DATE"] == "20261128"

    @pytest.mark.parametrize("closes", [None, dt.datetime(2026, 11, 27, 12, tzinfo=dt.UTC)])
    def test_without_a_closing_time_after_it_the_end_still_comes_after_the_start(self, club, closes):
        night(club, hall_closes_at=closes)
        (found,) = components(calendar(club))
        assert found["DTEND"] > found["DTSTART"]

    def test_holds_the_past_year_and_all_to_come_in_order_and_no_other_club(self, club):
        night(factories.club())
        late, old, early = night(club, day=29), night(club, day=3), night(club, day=27)
        type(old).objects.filter(pk=old.pk).update(date=dt.date(2025, 11, 1))
        uids = [found["UID"].split("@")[0] for found in components(calendar(club))]
        assert uids == [early.public_id, late.public_id]

    def test_queries_do_not_grow(self, club, django_assert_num_queries):
        for day in range(1, 9):
            race_factories.race(night(club, day=day))
        with django_assert_num_queries(3):
            assert len(calendar_nights(club, today=TODAY)) == 8


def test_anybody_fetches_it_and_the_front_page_says_where(client, club):
    event = night(club)
    address = reverse("event-calendar", args=[club.slug])
    answer = client.get(address)
    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    assert all(len(line) <= 75 for line in answer.content.split(b"\r\n"))
    page = f"http://testserver{reverse('event-detail', args=[club.slug, event.public_id])}"
    assert f"URL:{page}" in unfolded(answer.content)
    front = client.get(reverse("club-home", args=[club.slug])).content.decode()
    assert f'href="webcal://testserver{address}"' in front
    assert f'href="http://testserver{address}"' in front
