"""Pages for who comes without signing in."""

from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone

from inspection.clubs.access import club_page
from inspection.models import Club
from inspection.papers.documents import page_address
from racedesk.models import Entry, Event
from racedesk.raceday.views import unchanged_or
from racedesk.visitors.selectors import front_of, my_night, names_of

# Which entry of a night is this phone's; kept for the night and a morning, and sent to that one address alone.
MINE = "mine"
MINE_AGE_S = 36 * 3600


@club_page(public=True)
def club_home(request: HttpRequest, club: Club) -> HttpResponse:
    """The next night or the one that is on, the latest results, who leads, the rules in force."""
    calendar = page_address(request, reverse("event-calendar", args=[club.slug]))
    context = {
        "front": front_of(club, now=timezone.now()),
        "calendar": calendar,
        # What calendar programs take as an address to subscribe to.
        "subscription": f"webcal:{calendar.partition(':')[2]}",
    }
    return render(request, "racedesk/visitors/club_home.html", context)


def _entry(club: Club, public_id: str) -> Entry:
    entries = (
        Entry.objects.of(club).select_related("race__event__track_layout__track").prefetch_related("drivers__driver")
    )
    return get_object_or_404(entries, public_id=public_id)


def _context(entry: Entry) -> dict[str, Any]:
    now = timezone.now()
    return {"entry": entry, "race": entry.race, "event": entry.race.event, "mine": my_night(entry, now=now), "now": now}


@club_page(public=True)
def driver_page(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """My next heat, lane and post, all my heats, my car at tech, my result. `?mine=yes`: this phone remembers me."""
    entry = _entry(club, public_id)
    if "mine" in request.GET:
        response = redirect("driver-page", club.slug, public_id)
        path = reverse("driver-find", args=[club.slug, entry.race.event.public_id])
        kept = {"max_age": MINE_AGE_S, "path": path, "httponly": True, "samesite": "Lax"}
        response.set_cookie(MINE, public_id, secure=settings.SESSION_COOKIE_SECURE, **kept)
        return response
    return render(request, "racedesk/visitors/driver_page.html", _context(entry))


@club_page(public=True)
def driver_page_part(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """What changes on a driver's page, for the page to fetch."""
    return unchanged_or(request, render(request, "racedesk/visitors/_my_night.html", _context(_entry(club, public_id))))


@club_page(public=True)
def driver_find(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """From the code on the wall: straight to the page this phone chose before, else the names. `?again=yes`: names."""
    event = get_object_or_404(Event.objects.of(club), public_id=public_id)
    chosen = request.COOKIES.get(MINE, "")
    if "again" not in request.GET and Entry.objects.filter(race__event=event, public_id=chosen).exists():
        return redirect("driver-page", club.slug, chosen)
    return render(request, "racedesk/visitors/driver_find.html", {"event": event, "names": names_of(event)})
