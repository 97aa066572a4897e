"""Pages of heats: who drives where and when, and the same on paper."""

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from inspection.clubs.access import club_page
from inspection.models import Club
from inspection.papers.documents import page_address, paper
from racedesk.clocks.selectors import FRESH_PHASES
from racedesk.events.selectors import race_or_404
from racedesk.heats.documents import balance_words, done_from, heats_export, length_words, slips
from racedesk.heats.selectors import HeatCard, current_draw, heat_cards
from racedesk.models import Draw, Race

PAPERS = ("wall", "each", "driver", "lane")
SIZES = {"lane": "A5"}
MOST_BESIDE = 6  # lanes, or posts, up to which the wall sheet has room for a column of marshals


@club_page(public=True)
def heat_list(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Every heat: who drives where and when, who marshals, which is on and which is next."""
    race = race_or_404(club, public_id)
    cards = heat_cards(race)
    if exported := heats_export(request, race, cards):
        return exported
    context = {
        "races": race.event.races.all(),
        "now_on": next((card for card in cards if card.is_on), None),
        "next_up": next((card for card in cards if card.is_next), None),
        "has_begun": any(card.phase not in FRESH_PHASES or card.state.voided for card in cards),
        "to_run": next((card for card in cards if card.is_on or card.is_next), None),
    }
    return render(request, "racedesk/heats/heat_list.html", _heats_context(race, cards, current_draw(race)) | context)


def _heats_context(race: Race, cards: list[HeatCard], draw: Draw | None) -> dict[str, Any]:
    """What the list and the sheets show alike."""
    layout = race.event.track_layout
    return {
        "event": race.event,
        "race": race,
        "here": "heat-list",
        "draw": draw,
        "cards": cards,
        "lanes": list(layout.lanes.all()),
        "posts": list(layout.posts.all()),
        "heat_length": length_words(race.heat_length_s),
        "changeover": length_words(race.changeover_s),
        "done_at": done_from(cards, race),
        "is_over": bool(cards) and all(card.is_closed for card in cards),
    }


@club_page(public=True)
def heat_print(request: HttpRequest, club: Club, public_id: str, kind: str) -> HttpResponse:
    """The heats on paper: the whole night, a sheet a heat (?heat= for one), a slip a driver, or a card a lane."""
    related = ("stage__race__event__track_layout", "stage__race__event__club")
    draw = get_object_or_404(Draw.objects.of(club).select_related(*related), public_id=public_id)
    if kind not in PAPERS or draw.superseded_at is not None:
        raise Http404
    race = draw.stage.race
    wanted = request.GET.get("heat", "")
    cards = [card for card in heat_cards(race) if wanted in {"", str(card.number)}]
    shown = _heats_context(race, cards, draw)
    context = {
        "slips": slips(cards),
        "words": balance_words(draw.report),
        "asks_sections": race.counts_part_laps,
        "page_url": page_address(request, reverse("heat-list", args=[club.slug, race.public_id])),
        "site": page_address(request, "/").rstrip("/"),
    }
    context["marshals_below"] = max(len(shown["lanes"]), len(shown["posts"])) > MOST_BESIDE
    name, size = f"{race.name} {wanted} {kind}", SIZES.get(kind, "")
    return paper(request, f"print/heat_{kind}.html", shown | context, file_name=name, size=size)
