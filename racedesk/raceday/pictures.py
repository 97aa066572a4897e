"""The night to scale: what stands where on the picture. templates/racedesk/raceday/_timeline.html draws it."""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from racedesk.raceday.selectors import Night

# Labels are set for a picture this wide; what is narrower than that does not show it.
WIDTH_PX = 1000
LETTER_PX = 8
QUARTER = dt.timedelta(minutes=15)


@dataclass(frozen=True, slots=True)
class Bar:
    """A stretch of the night. x, width, gone: percent of the picture; gone is the part already past.

    row: 0 or 1, so that labels do not lie on one another.
    """

    label: str
    x: str
    width: str
    gone: str
    row: int


@dataclass(frozen=True, slots=True)
class Tick:
    """A mark of the scale. label: "" but at full hours with room for it."""

    x: str
    label: str
    is_hour: bool


@dataclass(frozen=True, slots=True)
class Mark:
    """A moment: its place, its words, and the end of them that stands at the place (SVG text-anchor)."""

    x: str
    label: str
    anchor: str


@dataclass(frozen=True, slots=True)
class Timeline:
    """The whole picture. words: the same, for who cannot see it."""

    bars: tuple[Bar, ...]
    ticks: tuple[Tick, ...]
    now: Mark | None
    finish: Mark | None
    closes: Mark | None
    words: str


@dataclass(frozen=True, slots=True)
class Scale:
    """From moments to percent of the width."""

    start: dt.datetime
    end: dt.datetime

    def at(self, moment: dt.datetime) -> float:
        return 100 * ((moment - self.start) / (self.end - self.start))


def timeline(night: Night) -> Timeline | None:
    """The picture of a night; None where fewer than two moments are known or they lie more than a day apart."""
    event = night.event
    stretches = list(_stretches(night))
    known = [moment for _label, start, end in stretches for moment in (start, end)]
    known += [moment for moment in (event.racing_at, event.hall_closes_at, night.finish) if moment]
    if len(known) < 2 or max(known) - min(known) > dt.timedelta(days=1) or max(known) == min(known):
        return None
    scale = Scale(_quarter_before(min(known)), _quarter_before(max(known)) + 2 * QUARTER)
    is_on = scale.start <= night.now <= scale.end
    now = _mark(scale, night.now, _clock(night.now)) if is_on else None
    closes = _mark(scale, event.hall_closes_at, _("closes")) if event.hall_closes_at else None
    finish = _mark(scale, night.finish, _("finish {time}").format(time=_clock(night.finish))) if night.finish else None
    marks = [(scale.at(night.now), 4.6)] if now else []
    if finish:
        if any(abs(scale.at(night.finish) - x) < 9 for x, _room in marks):
            finish = Mark(finish.x, "", finish.anchor)
        else:
            marks.append((scale.at(night.finish), 7))
    return Timeline(
        bars=tuple(_bars(scale, stretches, night.now)),
        ticks=tuple(_ticks(scale, marks)),
        now=now,
        finish=finish,
        closes=closes,
        words=_words(stretches, night),
    )


def _stretches(night: Night) -> Iterable[tuple[str, dt.datetime, dt.datetime]]:
    event = night.event
    first_heat = next((span.start for span in night.spans if span.start), event.racing_at)
    has_tech = any(span.race.needs_tech for span in night.spans)
    opens = event.tech_opens_at if has_tech else None
    practice_ends = opens or first_heat
    if event.doors_at and practice_ends and event.doors_at < practice_ends:
        yield _("Doors"), event.doors_at, practice_ends
    tech_ends = event.tech_closes_at or first_heat
    if opens and tech_ends and opens < tech_ends:
        yield _("Tech"), opens, tech_ends
    for span in night.spans:
        if span.start and span.end and span.start < span.end:
            yield span.race.name, span.start, span.end


def _bars(scale: Scale, stretches: Sequence[tuple[str, dt.datetime, dt.datetime]], now: dt.datetime) -> Iterable[Bar]:
    free = [0.0, 0.0]
    for label, start, end in stretches:
        x, width = scale.at(start), scale.at(end) - scale.at(start)
        row = 0 if free[0] <= x or free[1] > x else 1
        free[row] = x + 100 * (len(label) + 1) * LETTER_PX / WIDTH_PX
        gone = min(1.0, max(0.0, (now - start) / (end - start)))
        yield Bar(label, _percent(x), _percent(width), _percent(width * gone), row)


def _ticks(scale: Scale, marks: Sequence[tuple[float, float]]) -> Iterable[Tick]:
    moment = scale.start
    while moment <= scale.end:
        x = scale.at(moment)
        is_hour = timezone.localtime(moment).minute == 0
        is_free = all(abs(x - at) > room for at, room in marks) and 2 < x < 98
        yield Tick(_percent(x), _clock(moment) if is_hour and is_free else "", is_hour)
        moment += QUARTER


def _mark(scale: Scale, moment: dt.datetime, label: str) -> Mark:
    x = scale.at(moment)
    return Mark(_percent(x), label, "end" if x > 92 else "start" if x < 4 else "middle")


def _quarter_before(moment: dt.datetime) -> dt.datetime:
    local = timezone.localtime(moment)
    return local - dt.timedelta(minutes=local.minute % 15, seconds=local.second, microseconds=local.microsecond)


def _clock(moment: dt.datetime) -> str:
    return date_format(timezone.localtime(moment), "H:i")


def _percent(value: float) -> str:
    return f"{value:.2f}%"


def _words(stretches: Sequence[tuple[str, dt.datetime, dt.datetime]], night: Night) -> str:
    parts = [
        _("{what} {start} to {end}").format(what=label, start=_clock(start), end=_clock(end))
        for label, start, end in stretches
    ]
    if night.finish:
        parts.append(_("finish {time}").format(time=_clock(night.finish)))
    return ", ".join(parts)
