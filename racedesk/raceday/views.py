"""The page of the day."""

import hashlib
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.utils.cache import get_conditional_response, patch_cache_control

from inspection.clubs.access import club_page
from inspection.models import Club
from inspection.papers.documents import page_address
from racedesk.models import Event
from racedesk.raceday.pictures import timeline
from racedesk.raceday.selectors import night_of


def unchanged_or(request: HttpRequest, response: HttpResponse) -> HttpResponse:
    """The response with a tag of its content; 304 for who has the same already. For parts that are fetched again."""
    response["ETag"] = f'"{hashlib.sha256(response.content).hexdigest()[:32]}"'
    patch_cache_control(response, no_cache=True, private=True)
    return get_conditional_response(request, etag=response["ETag"], response=response)


def _context(club: Club, public_id: str) -> dict[str, Any]:
    events = Event.objects.of(club).select_related("club", "track_layout__track")
    event = get_object_or_404(events, public_id=public_id)
    night = night_of(event, now=timezone.now())
    return {"event": event, "night": night, "picture": timeline(night), "here": "event-day"}


@club_page("club.view_private")
def event_day(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Where the night stands, when it ends, what needs somebody, and the next act."""
    context = _context(club, public_id)
    context["wall_address"] = page_address(request, reverse("driver-find", args=[club.slug, public_id]))
    return render(request, "racedesk/raceday/event_day.html", context)


@club_page("club.view_private")
def event_day_part(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """What changes on the page of the day, for the page to fetch."""
    return unchanged_or(request, render(request, "racedesk/raceday/_day.html", _context(club, public_id)))
