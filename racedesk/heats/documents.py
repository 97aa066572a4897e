"""Heats in words: how fair the draw is, when it will be over, and what stands on each driver's slip."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from inspection.clubs.documents import rows_export
from inspection.templatetags.kit import laps_text
from racedesk.forecast.timetable import finish
from racedesk.heats.selectors import HeatCard, race_start
from racedesk.models import Entry, Race


@dataclass(frozen=True, slots=True)
class BalanceWords:
    """The balance of a draw, each a figure and a line below it."""

    meets: str
    meets_note: str
    back_to_back: str
    back_to_back_note: str
    wait: str
    marshals: str
    lanes: str


def length_words(seconds: int) -> str:
    """Seconds as people write a heat's length: 3:00."""
    return f"{seconds // 60}:{seconds % 60:02d}"


def _from_to(low: int, high: int) -> str:
    if low == high:
        return str(low)
    if high == low + 1:
        return _("{low} or {high}").format(low=low, high=high)
    return _("{low} to {high}").format(low=low, high=high)


def balance_words(report: dict[str, Any]) -> BalanceWords:
    """The report of a draw in words."""
    low, high = report["meetings_min"], report["meetings_max"]
    times = ngettext("{times} time", "{times} times", high).format(times=_from_to(low, high))
    if report["never_meet"]:
        note = ngettext(
            "{never} pair of {pairs} never meets", "{never} pairs of {pairs} never meet", report["never_meet"]
        )
    elif report["sum_of_squares"] == report["bound"] and "groups" in report:
        note = _("as even as groups of these sizes can be")
    elif report["sum_of_squares"] == report["bound"]:
        note = _("as even as {drivers} on {lanes} lanes can be")
    elif "redraw" in report:
        note = _("counted over the whole night")
    elif 10 * (report["sum_of_squares"] - report["bound"]) <= report["bound"]:
        note = _("nearly as even as can be")
    else:
        note = _("less even than can be")
    each = report["back_to_back_each"]
    on_end = max(report["runs_on_end"])
    if not any(each):
        back, back_note = _("none"), _("at least {rest} off each time")
        heats_off = ngettext("{n} heat", "{n} heats", report["shortest_wait"]).format(n=report["shortest_wait"])
        back_note = back_note.format(rest=heats_off)
    else:
        back = _("{times} each").format(times=_from_to(min(each), max(each)))
        back_note = _("never three on end") if on_end <= 2 else _("up to {runs} runs on end").format(runs=on_end)
    wait = report["longest_wait"]
    duties = report["duties"]
    return BalanceWords(
        meets=times,
        meets_note=note.format(
            never=report["never_meet"], pairs=report["pairs"], drivers=report["drivers"], lanes=_lanes_used(report)
        ),
        back_to_back=back,
        back_to_back_note=back_note,
        wait=ngettext("{n} heat", "{n} heats", wait).format(n=wait) if wait else _("none"),
        marshals=_("{turns} turns each").format(turns=_from_to(min(duties), max(duties))) if any(duties) else _("none"),
        lanes=_lanes_words(report),
    )


def _lanes_used(report: dict[str, Any]) -> int:
    """How many lanes are driven on."""
    return report["lanes"] - len(report.get("way", {}).get("empty", ()))


def _lanes_words(report: dict[str, Any]) -> str:
    """Who drives which lanes, as a sentence or two."""
    again = report.get("redraw")
    if "groups" in report:
        groups = len(report["groups"])
        words = ngettext("{n} group.", "{n} groups, one after the other.", groups).format(n=groups)
        return words + " " + _("Everyone drives every lane once.")
    if again is None:
        return _way_words(report)
    run = len(again.get("heats_run", ()))
    words = ngettext("Drawn again after {n} heat.", "Drawn again after {n} heats.", run).format(n=run)
    short = len({each["driver"] for each in (*again["owed"], *again.get("excused", ()))})
    if not short:
        return words + " " + _("Everyone who goes on drives every lane once.")
    return (
        words
        + " "
        + ngettext("{n} driver is short of a lane.", "{n} drivers are short of lanes.", short).format(n=short)
    )


def _way_words(report: dict[str, Any]) -> str:
    """How often everyone drives which lanes, and which stay empty by choice."""
    way = report.get("way", {"rounds": 1, "lanes_each": None, "empty": []})
    rounds, each, empty = way["rounds"], way["lanes_each"], way["empty"]
    if each is None and rounds == 1:
        words = _("Everyone drives every lane in use once.") if empty else _("Everyone drives every lane once.")
    elif each is None and empty:
        words = _("Everyone drives every lane in use {rounds} times.")
    elif each is None:
        words = _("Everyone drives every lane {rounds} times.")
    elif rounds == 1:
        words = _("Everyone drives {n} of the {used} lanes.")
    else:
        words = _("Everyone drives {n} of the {used} lanes in each of {rounds} rounds.")
    if empty:
        words += " " + ngettext("Lane {lanes} stays empty.", "Lanes {lanes} stay empty.", len(empty))
    return words.format(rounds=rounds, n=each, used=_lanes_used(report), lanes=", ".join(map(str, empty)))


def done_at(race: Race, heats: int) -> dt.datetime | None:
    """When so many heats from the start of this race will be over; None when nobody said when racing starts."""
    start = race_start(race)
    if start is None:
        return None
    return finish(start=start, heats=heats, heat_length_s=race.heat_length_s, changeover_s=race.changeover_s)


def done_from(cards: Sequence[HeatCard], race: Race) -> dt.datetime | None:
    """When the last of these heats will be over, as things stand."""
    last = cards[-1].about if cards else None
    return last + dt.timedelta(seconds=race.heat_length_s) if last else None


@dataclass(frozen=True, slots=True)
class SlipLine:
    """A heat on a driver's slip: a lane to drive, or a post to stand on."""

    number: int
    about: dt.datetime | None
    lane: Any = None
    post: Any = None


@dataclass(frozen=True, slots=True)
class Slip:
    """One driver's evening."""

    seat_number: int
    name: str
    car_number: int | None
    entry: Entry
    lines: tuple[SlipLine, ...]


def slips(cards: Sequence[HeatCard]) -> list[Slip]:
    """A slip for each entry that drives in these heats, in the order of the seats. No query."""
    who: dict[int, tuple[str, int | None, Entry]] = {}
    lines: dict[int, list[SlipLine]] = {}
    for card in cards:
        for each in card.lanes:
            if each.entry is not None:
                who[each.seat_number] = (each.name, each.car_number, each.entry)
                lines.setdefault(each.seat_number, []).append(SlipLine(card.number, card.about, lane=each.lane))
        for duty in card.marshals:
            lines.setdefault(duty.seat_number, []).append(SlipLine(card.number, card.about, post=duty.post))
    return [Slip(seat, *who[seat], tuple(lines[seat])) for seat in sorted(who)]


def heats_export(request: HttpRequest, race: Race, cards: Sequence[HeatCard]) -> HttpResponse | None:
    """One row a driver and heat, with the laps so far, when the address asks for a file."""
    headers = [_("Heat"), _("About"), _("Lane"), _("Driver"), _("Car"), _("Laps"), _("Marshals")]
    rows = [
        [
            *(card.number, card.about, str(lane.lane), lane.name, lane.car_number),
            laps_text(lane.laps.laps.total_sections, lane.laps.laps.divisor) if lane.laps else "",
            ", ".join(f"{post.post.number} {post.name}" for post in card.marshals),
        ]
        for card in cards
        for lane in card.lanes
    ]
    return rows_export(request, f"{race.event.name} {race.name} heats", headers, rows)
