"""The page of a night's running order."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from inspection.clubs.access import club_page
from inspection.models import Club
from racedesk.models import Event
from racedesk.runningorder.selectors import running_order


@club_page(public=True)
def running_order_detail(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """The heats of all races of the night in turn: which is run when, and who drives twice on end."""
    event = get_object_or_404(Event.objects.of(club).select_related("club", "track_layout__track"), public_id=public_id)
    order = running_order(event)
    context = {
        "event": event,
        "here": "heat-list",
        "order": order,
        "lanes": list(event.track_layout.lanes.all()),
        "next_turn": next((turn for turn in order.turns if not turn.is_over), None),
        "races": len({turn.race.pk for turn in order.turns}),
    }
    return render(request, "racedesk/runningorder/running_order.html", context)
