"""The director's table, its commands, and the board on the wall."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseBadRequest, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from inspection.clubs.access import club_page
from inspection.clubs.errors import Refused
from inspection.models import Club
from racedesk.boards.feed import board_page, board_parts, if_changed, table_context, table_parts
from racedesk.boards.forms import CommandForm
from racedesk.boards.selectors import feed_version
from racedesk.clocks.selectors import now_ms
from racedesk.models import Event, Heat
from racedesk.racecontrol.services import append_event, start_heat
from racedesk.timing.events import EventKind


def _heat(club: Club, public_id: str) -> Heat:
    related = ("draw__stage__race__event__club", "draw__stage__race__event__track_layout")
    return get_object_or_404(Heat.objects.of(club).select_related(*related), public_id=public_id)


@club_page("club.run_heats")
def heat_run(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """The director's table: the clock, the track call, the lanes, and what comes next."""
    heat = _heat(club, public_id)
    context = table_context(heat)
    if context is None:
        messages.warning(request, _("These heats have been drawn again. Here is the new draw."))
        return redirect("heat-list", club.slug, heat.draw.stage.race.public_id)
    return render(request, "racedesk/boards/heat_run.html", context)


@club_page("club.run_heats", methods=("POST",))
def heat_command(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """One press of a key at the director's table."""
    heat = _heat(club, public_id)
    form = CommandForm(request.POST)
    if not form.is_valid():
        return HttpResponseBadRequest()
    error = ""
    try:
        _obey(request, heat, form)
    except Refused as refusal:
        error = str(refusal)
    if request.accepts("text/html"):
        if error:
            messages.error(request, error)
        return redirect("heat-run", club.slug, heat.public_id)
    return JsonResponse(table_parts(request, heat) | {"error": error}, status=409 if error else 200)


def _obey(request: HttpRequest, heat: Heat, form: CommandForm) -> None:
    typed = form.cleaned_data
    kind, key, at_ms = typed["kind"], typed["client_key"], now_ms()
    if kind == EventKind.START:
        start_heat(heat=heat, at_ms=at_ms, client_key=key, by=request.user)
        return
    if kind != EventKind.RESUME:
        # A call or an end counts from the press, however late the network lets it through; cars start from now on.
        at_ms -= typed["age_ms"]
    lane = None
    if typed["lane"]:
        lane = get_object_or_404(heat.lanes.select_related("lane"), lane__number=typed["lane"]).lane
    append_event(
        heat=heat,
        kind=kind,
        lane=lane,
        detail=form.detail(),
        reason=typed["reason"],
        at_ms=at_ms,
        client_key=key,
        by=request.user,
    )


@club_page("club.run_heats")
def heat_feed(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """The director's table again, if anything changed since the version that the page holds."""
    heat = _heat(club, public_id)
    version = feed_version(heat.draw.stage.race.event)
    return if_changed(request, f"{heat.pk}-{version}", lambda: JsonResponse(table_parts(request, heat)))


@club_page(public=True)
def heat_board(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """The board on the wall: clock, lanes, names, laps; what comes next."""
    event = get_object_or_404(Event.objects.of(club), public_id=public_id)
    feed = reverse("heat-board-feed", args=[club.slug, event.public_id])
    return render(request, "racedesk/boards/heat_board.html", board_page(event) | {"feed": feed})


@club_page(public=True)
def heat_board_feed(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """The board again, if anything changed since the version that the page holds."""
    event = get_object_or_404(Event.objects.of(club), public_id=public_id)
    version = feed_version(event)
    return if_changed(request, f"{event.pk}-{version}", lambda: JsonResponse(board_parts(event, version)))
