"""Pages of marshals: the roster of a race, on the screen and on paper, and what is done to it."""

from collections.abc import Callable

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from inspection.clubs.access import club_page
from inspection.clubs.errors import Refused
from inspection.models import Club
from inspection.papers.documents import page_address, paper
from racedesk.duties import services
from racedesk.duties.forms import HelperForm, MissedForm, ReasonForm
from racedesk.duties.selectors import RosterPage, roster_page
from racedesk.events.selectors import race_or_404
from racedesk.heats.selectors import current_draw
from racedesk.models import Entry, Heat, MarshalHelper, Race


def _context(race: Race, roster: RosterPage) -> dict[str, object]:
    return {"race": race, "event": race.event, "here": "heat-list", "roster": roster, "draw": current_draw(race)}


@club_page(public=True)
def roster_detail(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Who stands at which post in each heat, who relieves whom, and whose turn it is how often."""
    race = race_or_404(club, public_id)
    roster = roster_page(race)
    context = _context(race, roster) | {"helper_form": HelperForm(posts=roster.free_posts)}
    return render(request, "racedesk/duties/roster_detail.html", context)


@club_page(public=True)
def roster_print(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """The roster as paper for the wall."""
    race = race_or_404(club, public_id)
    context = _context(race, roster_page(race))
    context["page_url"] = page_address(request, reverse("roster-detail", args=[club.slug, race.public_id]))
    return paper(request, "print/marshal_roster.html", context, file_name=f"{race.name} marshals")


def _done(request: HttpRequest, race: Race, act: Callable[[], object], words: str) -> HttpResponseRedirect:
    """Do it, say so or why not, and go back to the roster."""
    try:
        act()
    except Refused as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, words)
    return redirect("roster-detail", race.event.club.slug, race.public_id)


@club_page("club.run_heats", methods=("POST",))
def roster_anew(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """The roster of the heats to come without those who have left."""
    race = race_or_404(club, public_id)
    said = _("The roster of the heats to come is made anew.")
    return _done(request, race, lambda: services.make_roster_anew(race=race, by=request.user), said)


@club_page("club.run_heats", methods=("POST",))
def helper_create(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Name somebody who does not race for a post."""
    race = race_or_404(club, public_id)
    posts = {post.number: post for post in race.event.track_layout.posts.all()}
    form = HelperForm(request.POST, posts=posts.values())
    if not form.is_valid():
        messages.error(request, _("Choose a post and give the helper's name."))
        return redirect("roster-detail", club.slug, public_id)
    name, post = form.cleaned_data["name"], posts[form.cleaned_data["post"]]
    said = _("{name} holds post {post}. The roster of the heats to come is made anew.").format(name=name, post=post)
    return _done(request, race, lambda: services.name_helper(race=race, post=post, name=name, by=request.user), said)


@club_page("club.run_heats", methods=("POST",))
def helper_release(request: HttpRequest, club: Club, pk: int) -> HttpResponse:
    """The drivers take the post of a helper again."""
    helpers = MarshalHelper.objects.filter(race__event__club=club).select_related("race__event__club", "post")
    helper = get_object_or_404(helpers, pk=pk)
    said = _("{name} is released. The roster of the heats to come is made anew.").format(name=helper.name)
    return _done(request, helper.race, lambda: services.release_helper(helper=helper, by=request.user), said)


def _entry(club: Club, public_id: str) -> Entry:
    return get_object_or_404(Entry.objects.of(club).select_related("race__event__club"), public_id=public_id)


@club_page("club.run_heats", methods=("POST",))
def entry_exempt(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """An entry does not marshal, and why."""
    entry = _entry(club, public_id)
    form = ReasonForm(request.POST)
    reason = form.cleaned_data["reason"] if form.is_valid() else ""
    said = _("{entry} does not marshal. The roster of the heats to come is made anew.").format(entry=entry)
    return _done(request, entry.race, lambda: services.exempt(entry=entry, reason=reason, by=request.user), said)


@club_page("club.run_heats", methods=("POST",))
def entry_marshal_again(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """An entry marshals again."""
    entry = _entry(club, public_id)
    said = _("{entry} marshals again. The roster of the heats to come is made anew.").format(entry=entry)
    return _done(request, entry.race, lambda: services.end_exemption(entry=entry, by=request.user), said)


@club_page("club.publish_results", methods=("POST",))
def duty_missed(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """One tap: who should have stood there was not there, and the race's tariff is taken."""
    heats = Heat.objects.of(club).select_related("draw__stage__race__event__club")
    heat = get_object_or_404(heats, public_id=public_id)
    race = heat.draw.stage.race
    form = MissedForm(request.POST)
    if not form.is_valid():
        messages.error(request, _("Say who was not there."))
        return redirect("roster-detail", club.slug, race.public_id)
    try:
        penalty = services.miss_duty(heat=heat, seat_number=form.cleaned_data["seat"], by=request.user)
    except Refused as refusal:
        messages.error(request, str(refusal))
    else:
        said = _("{entry}: {laps} off for the missed duty in heat {heat}. It can be taken back on the roster.")
        messages.success(request, said.format(entry=penalty.entry, laps=penalty.laps, heat=heat.number))
    if form.cleaned_data["back"] == "heat":
        return redirect("heat-run", club.slug, heat.public_id)
    return redirect("roster-detail", club.slug, race.public_id)
