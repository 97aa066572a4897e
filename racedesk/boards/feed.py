"""What an open table or board asks for every second: nothing new, or its parts again, drawn on the server.

The pages run their clocks by themselves from the events' times; `now_ms` tells them how far their own clock is off.
"""

import json
import secrets
from collections.abc import Callable
from typing import Any

from django.core.cache import cache
from django.http import HttpRequest, HttpResponse, HttpResponseNotModified
from django.template.loader import render_to_string

from racedesk.boards.forms import GROUNDS
from racedesk.boards.pictures import clock_words, time_bar
from racedesk.boards.selectors import Table, board_of, clock_facts, event_lines, feed_version, table_of
from racedesk.clocks.selectors import now_ms
from racedesk.heats.documents import length_words
from racedesk.models import Event, Heat
from racedesk.racecontrol.forms import CORRECTION_REASONS
from racedesk.timing.heat_clock import held_ms, is_power_off_warning, left_ms

NOW_HEADER = "Heat-Now-Ms"
TABLE_PARTS = ("call", "bar", "lanes", "side")
_BOARD_SECONDS = 30


def if_changed(request: HttpRequest, version: str, make: Callable[[], HttpResponse]) -> HttpResponse:
    """304 when the page holds this version already. Both answers carry the server's clock."""
    tag = f'"{version}"'
    held = request.headers.get("If-None-Match", "").removeprefix("W/")
    response = HttpResponseNotModified() if held == tag else make()
    response["ETag"] = tag
    response["Cache-Control"] = "no-cache"
    response[NOW_HEADER] = str(now_ms())
    return response


def table_context(heat: Heat) -> dict[str, Any] | None:
    """What the director's table shows; None for a heat of an older draw."""
    race = heat.draw.stage.race
    at_ms = now_ms()
    version = feed_version(race.event)
    table = table_of(race, heat, at_ms=at_ms)
    if table is None:
        return None
    return {
        "event": race.event,
        "race": race,
        "here": "heat-list",
        "heat": heat,
        "table": table,
        "card": table.card,
        "version": f"{heat.pk}-{version}",
        "events": event_lines(heat),
        "grounds": GROUNDS[1:],
        "reasons": CORRECTION_REASONS,
        "client_key": secrets.token_hex(8),
        "countdown_s": table.card.state.settings.countdown_ms // 1000,
        "resume_s": table.card.state.settings.resume_countdown_ms // 1000,
    } | _clock_context(table, at_ms)


def _clock_context(table: Table, at_ms: int) -> dict[str, Any]:
    state = table.card.state
    return {
        "clock": json.dumps(clock_facts(state) | {"changeover_until_ms": table.changeover_until_ms}),
        "now_ms": at_ms,
        "left": clock_words(left_ms(state, at_ms) + 999),
        "length": length_words(state.settings.heat_length_ms // 1000),
        "held": clock_words(held_ms(state, at_ms)),
        "is_warning": is_power_off_warning(state, at_ms),
        "bar": time_bar(state, at_ms),
        "phase": table.card.phase.value,
    }


def table_parts(request: HttpRequest, heat: Heat) -> dict[str, Any]:
    """The director's table in parts, as JSON values. `gone` when the heats were drawn again."""
    context = table_context(heat)
    if context is None:
        return {"gone": True, "now_ms": now_ms()}
    parts = {name: render_to_string(f"racedesk/boards/_{name}.html", context, request=request) for name in TABLE_PARTS}
    return {
        "version": context["version"],
        "now_ms": now_ms(),
        "clock": json.loads(context["clock"]),
        "parts": parts,
    }


def board_page(event: Event) -> dict[str, Any]:
    """What the wall shows first."""
    at_ms = now_ms()
    board = board_of(event, at_ms=at_ms)
    context: dict[str, Any] = {"event": event, "club": event.club, "board": board, "now_ms": at_ms, "clock": "null"}
    context["version"] = f"{event.pk}-{feed_version(event)}"
    if board is None:
        return context
    return (
        context
        | {
            "race": board.race,
            "table": board.table,
            "card": board.table.card,
            "is_crowded": len(board.table.rows) > 6,
            "is_wordy": _names_then(board.table) > 90,
        }
        | _clock_context(board.table, at_ms)
    )


def _names_then(table: Table) -> int:
    """How many letters the names of the next heat take."""
    return sum(len(each.name) + 4 for each in table.next_card.lanes) if table.next_card else 0


def board_parts(event: Event, version: str) -> dict[str, Any]:
    """The board's parts as JSON values, drawn once for all who look at it."""
    key = f"board-{event.pk}-{version}-{event.club.language}"
    parts = cache.get(key)
    if parts is None:
        context = board_page(event)
        html = render_to_string("racedesk/boards/_board.html", context)
        parts = {"version": context["version"], "clock": json.loads(context["clock"]), "parts": {"board": html}}
        cache.set(key, parts, _BOARD_SECONDS)
    return parts | {"now_ms": now_ms()}
