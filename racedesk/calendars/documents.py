"""The nights of a club as a calendar that people can subscribe to, by RFC 5545."""

import datetime as dt
from collections.abc import Callable, Iterable

from inspection.models import Club
from racedesk.calendars.selectors import PlannedNight

CALENDAR_TYPE = "text/calendar; charset=utf-8"
MOST_OCTETS = 75
"""RFC 5545, 3.1: no line is longer, the break at its end apart."""
USUAL_NIGHT = dt.timedelta(hours=3)
"""How long a night is where nobody has said when the hall closes."""


def escaped(text: str) -> str:
    """Text as a TEXT value (RFC 5545, 3.3.11): no control characters, and no bare comma, semicolon or backslash."""
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    text = "".join(letter for letter in text if letter == "\n" or (letter >= " " and letter != "\x7f"))
    for plain in ("\\", ";", ","):
        text = text.replace(plain, "\\" + plain)
    return text.replace("\n", "\\n")


def folded(line: str) -> str:
    """A content line cut to at most 75 octets, each part after the first begun by a blank; no letter is cut in two."""
    parts, part, room = [], "", MOST_OCTETS
    for letter in line:
        size = len(letter.encode())
        if size > room:
            parts.append(part)
            part, room = " ", MOST_OCTETS - 1
        part += letter
        room -= size
    return "\r\n".join([*parts, part])


def in_utc(moment: dt.datetime) -> str:
    """A DATE-TIME in UTC (RFC 5545, 3.3.5, form 2)."""
    return moment.astimezone(dt.UTC).strftime("%Y%m%dT%H%M%SZ")


def calendar_bytes(club: Club, nights: Iterable[PlannedNight], address_of: Callable[[PlannedNight], str]) -> bytes:
    """The calendar file. address_of: the full address of the page of a night."""
    lines = [
        "BEGIN:VCALENDAR",
        "VERSION:2.0",
        "PRODID:-//RaceDesk//Race nights//EN",
        "CALSCALE:GREGORIAN",
        "METHOD:PUBLISH",
        f"NAME:{escaped(club.name)}",
        f"X-WR-CALNAME:{escaped(club.name)}",
        "REFRESH-INTERVAL;VALUE=DURATION:PT6H",
    ]
    for night in nights:
        lines += _night_lines(club, night, address_of(night))
    lines.append("END:VCALENDAR")
    return "".join(folded(line) + "\r\n" for line in lines).encode()


def _night_lines(club: Club, night: PlannedNight, address: str) -> list[str]:
    event = night.event
    lines = [
        "BEGIN:VEVENT",
        f"UID:{event.public_id}@{club.slug}.racedesk",
        f"DTSTAMP:{in_utc(night.changed_at)}",
        f"LAST-MODIFIED:{in_utc(night.changed_at)}",
        f"SEQUENCE:{night.changes}",
        *_span_lines(night),
        f"SUMMARY:{escaped(event.name)}",
        f"LOCATION:{escaped(f'{event.track_layout.track.name}, {club.name}')}",
    ]
    about = "\n".join([*(race.name for race in event.races.all()), *([event.note] if event.note else [])])
    if about:
        lines.append(f"DESCRIPTION:{escaped(about)}")
    return [*lines, f"URL:{address}", "END:VEVENT"]


def _span_lines(night: PlannedNight) -> list[str]:
    """From when to when; the whole day where no time was given."""
    event = night.event
    start = event.doors_at or event.tech_opens_at or event.racing_at
    if start is None:
        after = event.date + dt.timedelta(days=1)
        return [f"DTSTART;VALUE=DATE:{event.date:%Y%m%d}", f"DTEND;VALUE=DATE:{after:%Y%m%d}"]
    end = event.hall_closes_at
    if end is None or end <= start:
        end = max(start, event.racing_at or start) + USUAL_NIGHT
    return [f"DTSTART:{in_utc(start)}", f"DTEND:{in_utc(end)}"]
