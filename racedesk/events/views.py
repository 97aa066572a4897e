"""Pages of nights and races."""

from collections.abc import Callable
from typing import TypeVar

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django_tables2 import RequestConfig

from inspection.clubs.access import club_page
from inspection.clubs.documents import table_export
from inspection.clubs.errors import ChangedMeanwhile, Refused
from inspection.models import Club
from racedesk.events.forms import EventForm, RaceForm
from racedesk.events.selectors import (
    clock_text,
    event_version,
    events_of,
    past_events,
    race_status,
    race_version,
    races_of,
    tracks_with_a_layout,
    upcoming_events,
)
from racedesk.events.services import change_event, change_race, create_event, create_race
from racedesk.events.tables import EventTable
from racedesk.models import Event, Race

Made = TypeVar("Made")


def posted(request: HttpRequest) -> QueryDict | None:
    """What a form is bound to."""
    return request.POST if request.method == "POST" else None


def attempt(
    request: HttpRequest, form: forms.Form, act: Callable[[], Made], *, version: str = ""
) -> tuple[Made | None, int]:
    """What a service made of a posted form, or None and the status of the page that shows the form again.

    version: of the row as it stands, so that who was second can look and then save over it.
    """
    if request.method != "POST":
        return None, 200
    if not form.is_valid():
        return None, 422
    try:
        return act(), 200
    except Refused as refusal:
        form.add_error(None, str(refusal))
        if isinstance(refusal, ChangedMeanwhile):
            form.data = form.data.copy()
            form.data["version"] = version
        return None, 409


@club_page(public=True)
def event_list(request: HttpRequest, club: Club) -> HttpResponse:
    """Tonight and what comes, then what was."""
    if response := table_export(EventTable(events_of(club)), request, "nights"):
        return response
    today = timezone.localdate()
    past = EventTable(past_events(club, today=today), prefix="past-")
    RequestConfig(request, paginate={"per_page": 30}).configure(past)
    context = {
        "upcoming": EventTable(upcoming_events(club, today=today), orderable=False),
        "past": past,
        "has_track": tracks_with_a_layout(club).exists(),
    }
    return render(request, "racedesk/events/event_list.html", context)


@club_page(public=True)
def event_detail(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """The public page of a night: its times and its races with their state."""
    nights = Event.objects.of(club).select_related("track_layout__track")
    event = get_object_or_404(nights, public_id=public_id)
    races = [(race, race_status(race), clock_text(race.heat_length_s)) for race in races_of(event)]
    return render(request, "racedesk/events/event_detail.html", {"event": event, "races": races})


@club_page("club.plan_events", methods=("GET", "POST"))
def event_create(request: HttpRequest, club: Club) -> HttpResponse:
    """Plan a night."""
    form = EventForm(posted(request), club=club)
    event, status = attempt(request, form, lambda: create_event(club=club, content=form.content(), by=request.user))
    if event is not None:
        messages.success(request, _("The night is planned. Now add its races."))
        return redirect("race-create", club.slug, event.public_id)
    context = {"form": form, "has_track": tracks_with_a_layout(club).exists()}
    return render(request, "racedesk/events/event_form.html", context, status=status)


@club_page("club.plan_events", methods=("GET", "POST"))
def event_edit(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Change a night."""
    event = get_object_or_404(Event.objects.of(club).select_related("track_layout__track"), public_id=public_id)
    form = EventForm(posted(request), club=club, event=event)

    def save() -> Event:
        version = form.cleaned_data["version"]
        return change_event(event=event, content=form.content(), version=version, by=request.user)

    changed, status = attempt(request, form, save, version=event_version(event))
    if changed is not None:
        messages.success(request, _("The night is changed."))
        return redirect("event-detail", club.slug, event.public_id)
    context = {"form": form, "event": event, "has_track": True}
    return render(request, "racedesk/events/event_form.html", context, status=status)


@club_page("club.plan_events", methods=("GET", "POST"))
def race_create(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Add a race to a night."""
    event = get_object_or_404(Event.objects.of(club).select_related("club", "track_layout"), public_id=public_id)
    form = RaceForm(posted(request), event=event)
    race, status = attempt(request, form, lambda: create_race(event=event, content=form.content(), by=request.user))
    if race is not None:
        messages.success(request, _("%(race)s is planned.") % {"race": race.name})
        return redirect("event-detail", club.slug, event.public_id)
    return render(request, "racedesk/events/race_form.html", {"form": form, "event": event}, status=status)


@club_page("club.plan_events", methods=("GET", "POST"))
def race_edit(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Change a race."""
    loaded = ("event__club", "event__track_layout", "rule_revision__rule_sheet", "racing_class")
    race = get_object_or_404(Race.objects.of(club).select_related(*loaded), public_id=public_id)
    form = RaceForm(posted(request), event=race.event, race=race)

    def save() -> Race:
        version = form.cleaned_data["version"]
        return change_race(race=race, content=form.content(), version=version, by=request.user)

    changed, status = attempt(request, form, save, version=race_version(race))
    if changed is not None:
        messages.success(request, _("%(race)s is changed.") % {"race": changed.name})
        return redirect("event-detail", club.slug, race.event.public_id)
    context = {"form": form, "event": race.event, "race": race}
    return render(request, "racedesk/events/race_form.html", context, status=status)
