"""Pages of race control: typed laps, and who drove."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseBadRequest, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from inspection.clubs.access import club_page
from inspection.clubs.errors import Refused
from inspection.models import Club
from racedesk.clocks.selectors import heat_state
from racedesk.entries.selectors import shown_name
from racedesk.models import Heat
from racedesk.racecontrol.forms import DroveForm, LapsForm
from racedesk.racecontrol.selectors import Reading, read_back
from racedesk.racecontrol.services import enter_heat_laps, record_who_drove


def _heat(club: Club, public_id: str) -> Heat:
    related = ("draw__stage__race__event__club", "draw__stage__race__event__track_layout")
    return get_object_or_404(Heat.objects.of(club).select_related(*related), public_id=public_id)


@club_page("club.run_heats", methods=("GET", "POST"))
def heat_laps(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Type or correct laps: read back first, then saved by one confirm."""
    heat = _heat(club, public_id)
    form = _laps_form(request, heat)
    readings, status = [], 200
    if form.is_valid():
        readings = read_back(heat, form.typed())
        status = 422 if any(each.error for each in readings) else 200
        if _is_settled(form, readings):
            try:
                enter_heat_laps(heat=heat, typed=form.typed(), confirmed=True, reason=form.why(), by=request.user)
            except Refused as refusal:
                form.add_error(None, str(refusal))
                status = 409
            else:
                return redirect("heat-run", club.slug, heat.public_id)
    return render(request, "racedesk/racecontrol/heat_laps.html", _laps_context(heat, form, readings), status=status)


def _laps_form(request: HttpRequest, heat: Heat) -> LapsForm:
    rows = list(heat.lanes.select_related("lane").order_by("lane__number"))
    only = request.GET.get("lane", "")
    lanes = [row.lane for row in rows if only in {"", str(row.lane.number)}]
    state = heat_state(heat)
    initial = {f"laps-{typed.lane}": typed.text or str(typed.laps) for typed in state.laps}
    return LapsForm(request.POST if request.method == "POST" else None, lanes=lanes, initial=initial)


def _is_settled(form: LapsForm, readings: list[Reading]) -> bool:
    """May it be saved now: all understood, and read back to the person with nothing left to ask?"""
    if not readings or any(each.error for each in readings):
        return False
    asks = any(each.question for each in readings)
    return form.cleaned_data["is_confirmed"] or (form.is_echoed() and not asks)


def _laps_context(heat: Heat, form: LapsForm, readings: list[Reading]) -> dict[str, Any]:
    race = heat.draw.stage.race
    found = {each.lane.number: each for each in readings}
    typed = {each.lane for each in heat_state(heat).laps}
    rows = heat.lanes.select_related("lane", "seat__entry").prefetch_related("seat__entry__drivers__driver")
    shown = [
        {
            "lane": row.lane,
            "name": shown_name(row.seat.entry) if row.seat.entry else "",
            "field": form[f"laps-{row.lane.number}"],
            "echoed": form[f"echoed-{row.lane.number}"],
            "reading": found.get(row.lane.number),
        }
        for row in rows.order_by("lane__number")
        if f"laps-{row.lane.number}" in form.fields
    ]
    return {
        "event": race.event,
        "race": race,
        "here": "heat-list",
        "heat": heat,
        "form": form,
        "rows": shown,
        "is_correction": any(row["lane"].number in typed for row in shown),
        "asks_to_confirm": bool(readings) and not any(each.error for each in readings),
    }


@club_page("club.run_heats")
def heat_echo(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """What one typed lap count would be taken to mean, while it is being typed."""
    heat = _heat(club, public_id)
    lane, text = request.GET.get("lane", ""), request.GET.get("text", "")[:60]
    readings = read_back(heat, {int(lane): text}) if lane.isascii() and lane.isdigit() and len(lane) < 6 else []
    if not readings:
        return HttpResponseBadRequest()
    found = readings[0]
    return JsonResponse({"echo": found.echo, "error": found.error, "question": found.question})


@club_page("club.run_heats", methods=("GET", "POST"))
def heat_drove(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Write down that somebody else drives a lane of this heat."""
    heat = _heat(club, public_id)
    form = DroveForm(request.POST if request.method == "POST" else None, heat=heat, lane=request.GET.get("lane", ""))
    if form.is_valid():
        try:
            record_who_drove(heat=heat, **form.cleaned_data, by=request.user)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, _("Written down."))
            return redirect("heat-run", club.slug, heat.public_id)
    race = heat.draw.stage.race
    context = {"event": race.event, "race": race, "here": "heat-list", "heat": heat, "form": form}
    return render(request, "racedesk/racecontrol/heat_drove.html", context, status=422 if form.errors else 200)
