"""When the heats begin and when the race ends, if nothing goes wrong: track calls are not foreseen here."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from decimal import Decimal

from .errors import ForecastError

Seconds = int | Decimal
MOST_HEATS = 10_000


def count_segments(*, drivers: int, lanes: int) -> int:
    """Heats of one rotation in which every driver drives every lane once: the greater of the two numbers.

    Common practice of the trade. No drivers need no heats. Raises ForecastError with code bad_count.
    """
    if drivers < 0 or lanes < 1:
        raise ForecastError("bad_count", "There are lanes, and no fewer than no drivers.", drivers=drivers)
    return max(drivers, lanes) if drivers else 0


def running_time(*, heats: int, heat_length_s: Seconds, changeover_s: Seconds) -> timedelta:
    """heats x heat length, and a change-over between each two: none after the last.

    Exact to a microsecond. Raises ForecastError with code bad_count or bad_time.
    """
    heat, changeover = _lengths(heats, heat_length_s, changeover_s)
    return heats * heat + max(0, heats - 1) * changeover


def heat_starts(*, start: datetime, heats: int, heat_length_s: Seconds, changeover_s: Seconds) -> tuple[datetime, ...]:
    """When each heat begins, in the time zone of start; none if there are no heats.

    Time runs on through a change of the clocks. Raises ForecastError with code bad_count, bad_time,
    needs_time_zone or too_late (past the year 9999).
    """
    heat, changeover = _lengths(heats, heat_length_s, changeover_s)
    return tuple(_later(start, number * (heat + changeover)) for number in range(heats))


def finish(*, start: datetime, heats: int, heat_length_s: Seconds, changeover_s: Seconds) -> datetime:
    """When the last heat ends, in the time zone of start; start if there are no heats. Raises as heat_starts."""
    return _later(start, running_time(heats=heats, heat_length_s=heat_length_s, changeover_s=changeover_s))


def _lengths(heats: int, heat_length_s: Seconds, changeover_s: Seconds) -> tuple[timedelta, timedelta]:
    if not 0 <= heats <= MOST_HEATS:
        raise ForecastError("bad_count", f"There can be 0 to {MOST_HEATS} heats.", heats=heats)
    return _length("heat_length_s", heat_length_s), _length("changeover_s", changeover_s)


def _length(name: str, seconds: Seconds) -> timedelta:
    value = Decimal(seconds)
    if not (value.is_finite() and 0 <= value <= 7 * 24 * 3600):
        raise ForecastError("bad_time", f"{name} is from nothing to a week.", name=name, value=value)
    return timedelta(microseconds=int(value * 1_000_000))


def _later(start: datetime, by: timedelta) -> datetime:
    if start.utcoffset() is None:
        raise ForecastError("needs_time_zone", "The start needs a time zone.")
    try:
        # Through UTC: adding to a local time would skip or repeat the hour when the clocks change.
        return (start.astimezone(UTC) + by).astimezone(start.tzinfo)
    except OverflowError:
        raise ForecastError("too_late", "That is past the end of the calendar.") from None
