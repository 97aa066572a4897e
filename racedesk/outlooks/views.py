"""The page of what fits before closing time."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone

from inspection.clubs.access import club_page
from inspection.models import Club
from racedesk.models import Event
from racedesk.outlooks.forms import ClosingForm
from racedesk.outlooks.selectors import fits_before


@club_page("club.view_private")
def event_fits(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """When the night ends as planned, and what would make it end in time. `?by=22:30`: another time to end by."""
    events = Event.objects.of(club).select_related("club", "track_layout__track")
    event = get_object_or_404(events, public_id=public_id)
    form = ClosingForm(request.GET, event=event)
    until = form.until()
    found = fits_before(event, until, now=timezone.now()) if until else None
    context = {"event": event, "here": "event-day", "form": form, "until": until, "found": found}
    return render(request, "racedesk/outlooks/event_fits.html", context)
