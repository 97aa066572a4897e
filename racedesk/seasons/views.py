"""Pages of seasons: the list, the table, its rounds."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from inspection.clubs.access import club_page
from inspection.clubs.errors import Refused
from inspection.models import Club
from racedesk.models import Season
from racedesk.seasons import documents, services
from racedesk.seasons.forms import RoundForm, SeasonForm
from racedesk.seasons.selectors import seasons_of, standings_of


def _season(club: Club, public_id: str) -> Season:
    return get_object_or_404(Season.objects.of(club), public_id=public_id)


@club_page(public=True)
def season_list(request: HttpRequest, club: Club) -> HttpResponse:
    """Running seasons first."""
    seasons = seasons_of(club)
    exported = documents.season_list_export(request, seasons)
    return exported or render(request, "racedesk/seasons/season_list.html", {"seasons": seasons})


@club_page(public=True)
def season_detail(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """The table over the rounds published so far."""
    table = standings_of(_season(club, public_id))
    if request.GET.get("export") in {"csv", "xlsx"}:
        return documents.season_export(request.GET["export"], table)
    return render(request, "racedesk/seasons/season_detail.html", {"table": table, "season": table.season})


@club_page(public=True)
def season_print(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """The table as paper."""
    return documents.season_paper(request, standings_of(_season(club, public_id)))


@club_page("club.plan_events", methods=("GET", "POST"))
def season_create(request: HttpRequest, club: Club) -> HttpResponse:
    """Plan a season."""
    form = SeasonForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            season = services.create_season(club=club, by=request.user, **form.cleaned_data)
        except Refused as refusal:
            form.add_error("name", str(refusal))
        else:
            messages.success(request, _("The season is planned. Say which races are its rounds."))
            return redirect("season-detail", club=club.slug, public_id=season.public_id)
    return render(request, "racedesk/seasons/season_create.html", {"form": form}, status=422 if form.errors else 200)


@club_page("club.plan_events", methods=("GET", "POST"))
def round_create(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Let a race score in this season."""
    season = _season(club, public_id)
    form = RoundForm(request.POST or None, season=season)
    if request.method == "POST" and form.is_valid():
        try:
            services.add_round(season=season, by=request.user, **form.cleaned_data)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            return redirect("season-detail", club=club.slug, public_id=season.public_id)
    context = {"form": form, "season": season}
    return render(request, "racedesk/seasons/round_create.html", context, status=422 if form.errors else 200)


@club_page("club.plan_events", methods=("POST",))
def round_remove(request: HttpRequest, club: Club, public_id: str, number: int) -> HttpResponse:
    """Take a race out of the season; refused once its result is published."""
    season = _season(club, public_id)
    services.remove_round(scored_round=get_object_or_404(season.rounds, number=number), by=request.user)
    messages.success(request, _("The race no longer scores in this season."))
    return redirect("season-detail", club=club.slug, public_id=season.public_id)
