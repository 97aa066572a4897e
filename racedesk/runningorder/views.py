"""The page of a night's running order."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from inspection.clubs.access import club_page
from inspection.models import Club
from racedesk.models import Event
from racedesk.runningorder.selectors import running_order
from racedesk.runningorder.services import set_turns


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
        "next_turn": next((turn for turn in order.rows if not turn.is_over), None),
        "races": len({turn.race.pk for turn in order.rows}),
    }
    return render(request, "racedesk/runningorder/running_order.html", context)


@club_page("club.run_heats", methods=("POST",))
def turns_set(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Run the heats of the races in turn, or one race after the other again."""
    event = get_object_or_404(Event.objects.of(club), public_id=public_id)
    takes_turns = request.POST.get("turns") == "yes"
    set_turns(event=event, takes_turns=takes_turns, by=request.user)
    if takes_turns:
        messages.success(request, _("The races take turns: pages, times and the wall follow this order."))
    else:
        messages.success(request, _("One race after the other: pages, times and the wall follow each race."))
    return redirect("running-order", club.slug, public_id)
