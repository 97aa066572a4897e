"""The calendar of nights."""

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone

from inspection.clubs.access import club_page
from inspection.models import Club
from inspection.papers.documents import page_address
from racedesk.calendars.documents import CALENDAR_TYPE, calendar_bytes
from racedesk.calendars.selectors import PlannedNight, calendar_nights


@club_page(public=True)
def event_calendar(request: HttpRequest, club: Club) -> HttpResponse:
    """The nights as a calendar to subscribe to."""

    def address_of(night: PlannedNight) -> str:
        return page_address(request, reverse("event-detail", args=[club.slug, night.event.public_id]))

    nights = calendar_nights(club, today=timezone.localdate())
    response = HttpResponse(calendar_bytes(club, nights, address_of), content_type=CALENDAR_TYPE)
    response["Content-Disposition"] = f'inline; filename="{club.slug}.ics"'
    return response
