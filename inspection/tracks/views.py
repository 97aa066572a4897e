"""Pages of tracks and their layouts."""

from collections.abc import Iterable
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from inspection.clubs.access import club_page
from inspection.clubs.errors import ChangedMeanwhile, Refused
from inspection.clubs.forms import let_save_over
from inspection.models import Club, Track, TrackLayout
from inspection.tracks import services
from inspection.tracks.documents import track_list_export
from inspection.tracks.forms import LayoutForms, TrackEditForm, TrackForm
from inspection.tracks.pictures import draw_plan
from inspection.tracks.selectors import (
    current_layout,
    layouts_newest_first,
    layouts_of,
    plan_of,
    track_version,
    tracks_of,
)


@club_page()
def track_list(request: HttpRequest, club: Club) -> HttpResponse:
    """The club's tracks, with their current lanes."""
    tracks = tracks_of(club)
    exported = track_list_export(request, tracks)
    return exported or render(request, "inspection/tracks/track_list.html", {"tracks": tracks})


@club_page("club.manage_tracks", methods=("GET", "POST"))
def track_create(request: HttpRequest, club: Club) -> HttpResponse:
    """A new track and its first layout, on one page."""
    form = TrackForm(request.POST or None)
    forms = LayoutForms(club, None, request.POST or None)
    if _saves(request) and all([form.is_valid(), forms.is_valid()]):
        try:
            track = services.create_track(
                club=club, name=form.cleaned_data["name"], content=forms.content, by=request.user
            )
        except Refused as refusal:
            forms.layout.add_error(None, str(refusal))
        else:
            messages.success(request, _("{track} is entered.").format(track=track))
            return redirect("track-detail", club=club.slug, public_id=track.public_id)
    return _layout_page(request, {"form": form, "forms": forms}, forms)


def _saves(request: HttpRequest) -> bool:
    """Was the page sent to be saved, and not to see what follows from what is typed?"""
    return request.method == "POST" and "work_out" not in request.POST


def _layout_page(request: HttpRequest, context: dict[str, Any], forms: LayoutForms) -> HttpResponse:
    plan = forms.plan
    status = 422 if forms.layout.is_bound and (_saves(request) or plan is None) else 200
    drawn = {"plan": plan, "picture": draw_plan(plan) if plan else None}
    return render(request, "inspection/tracks/layout_form.html", context | drawn, status=status)


@club_page()
def track_detail(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """A track: its current layout, and the older ones."""
    track = get_object_or_404(Track.objects.of(club), public_id=public_id)
    layouts = layouts_of(track)
    return _shown(request, track, layouts[0] if layouts else None, layouts[1:])


def _shown(
    request: HttpRequest, track: Track, layout: TrackLayout | None, older: Iterable[TrackLayout]
) -> HttpResponse:
    plan = plan_of(layout.sections, layout.lanes.all()) if layout else None
    context = {"track": track, "layout": layout, "older": older, "plan": plan}
    context["picture"] = draw_plan(plan) if plan else None
    return render(request, "inspection/tracks/track_detail.html", context)


@club_page()
def layout_detail(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """A layout as it was raced on."""
    layouts = TrackLayout.objects.of(club).select_related("track")
    layout = get_object_or_404(layouts, public_id=public_id)
    older = layouts_newest_first().filter(track=layout.track).exclude(pk=layout.pk)
    return _shown(request, layout.track, layout, older)


@club_page("club.manage_tracks", methods=("GET", "POST"))
def track_edit(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Rename a track or retire it."""
    track = get_object_or_404(Track.objects.of(club), public_id=public_id)
    form = TrackEditForm.of(track, request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            services.change_track(track=track, **form.cleaned_data, by=request.user)
        except Refused as refusal:
            form.add_error(None, str(refusal))
            if isinstance(refusal, ChangedMeanwhile):
                let_save_over(form, version=track_version(track))
        else:
            messages.success(request, _("Saved."))
            return redirect("track-detail", club=club.slug, public_id=public_id)
    context = {"form": form, "track": track}
    return render(request, "inspection/tracks/track_form.html", context, status=422 if form.is_bound else 200)


@club_page("club.manage_tracks", methods=("GET", "POST"))
def layout_create(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """The track's next layout, starting from the current one."""
    track = get_object_or_404(Track.objects.of(club), public_id=public_id)
    forms = LayoutForms(club, current_layout(track), request.POST or None)
    if _saves(request) and forms.is_valid():
        try:
            services.add_layout(track=track, content=forms.content, based_on=forms.based_on, by=request.user)
        except Refused as refusal:
            forms.layout.add_error(None, str(refusal))
            if isinstance(refusal, ChangedMeanwhile):
                let_save_over(forms.layout, based_on=current_layout(track).number)
        else:
            messages.success(request, _("The new layout holds from now on; older results keep theirs."))
            return redirect("track-detail", club=club.slug, public_id=public_id)
    return _layout_page(request, {"forms": forms, "track": track}, forms)
