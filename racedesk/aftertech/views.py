"""Tech after a race: who is called, what was found, and what the director confirms."""

import secrets

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from inspection.clubs.access import club_page
from inspection.clubs.errors import Refused
from inspection.models import Club
from racedesk.aftertech import services
from racedesk.aftertech.documents import call_paper
from racedesk.aftertech.forms import CallForm, ConfirmForm, DismissForm
from racedesk.aftertech.selectors import Proposal, called_rows, decisions_of, latest_call, proposals_of
from racedesk.events.selectors import race_or_404
from racedesk.models import Race


@club_page()
def detail(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Who is called, how their cards stand, and what the director has still to decide."""
    race = race_or_404(club, public_id)
    call = latest_call(race)
    context = {
        "race": race,
        "event": race.event,
        "call": call,
        "rows": called_rows(call) if call else [],
        "proposals": proposals_of(race),
        "decisions": decisions_of(race),
        "can_decide": request.user.has_perm("club.publish_results", club),
        "here": "result-detail",
    }
    return render(request, "racedesk/aftertech/techcall_detail.html", context)


@club_page("club.publish_results", methods=("GET", "POST"))
def call(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Call the first places, and some more by a draw whose seed is shown."""
    race = race_or_404(club, public_id)
    form = CallForm(request.POST or None, initial={"seed": 1000 + secrets.randbelow(9000)})
    if request.method == "POST" and form.is_valid():
        try:
            services.call_to_tech(race=race, by=request.user, **form.cleaned_data)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, _("The call is made: each car has a card for after the race."))
            return redirect("techcall-detail", club=club.slug, public_id=public_id)
    context = {"race": race, "event": race.event, "form": form, "here": "result-detail"}
    return render(request, "racedesk/aftertech/techcall_form.html", context, status=422 if form.errors else 200)


@club_page()
def print_call(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """The latest call on paper."""
    found = latest_call(race_or_404(club, public_id))
    if found is None:
        raise Http404
    return call_paper(request, found)


def _asked(request: HttpRequest, race: Race) -> tuple[list[Proposal], Proposal | None]:
    """What waits for a decision, and which of it is decided now: the one the address names, else the first."""
    proposals = proposals_of(race)
    asked = request.POST.get("finding", request.GET.get("finding", ""))
    first = proposals[0] if proposals else None
    return proposals, next((one for one in proposals if str(one.finding.pk) == asked), first)


@club_page("club.publish_results", methods=("GET", "POST"))
def confirm(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """The director decides what follows from one finding."""
    race = race_or_404(club, public_id)
    proposals, shown = _asked(request, race)
    first = {"finding": shown.finding.pk, "reason": shown.words[:300]} if shown else {}
    form = ConfirmForm(request.POST or None, initial=first, findings=[one.finding.pk for one in proposals])
    if request.method == "POST" and form.is_valid():
        try:
            services.confirm_finding(race=race, by=request.user, **form.cleaned_data)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, _("Confirmed. It shows once the result is published or corrected."))
            return redirect("techcall-detail", club=club.slug, public_id=public_id)
    context = {"race": race, "event": race.event, "form": form, "proposal": shown, "here": "result-detail"}
    return render(request, "racedesk/aftertech/finding_confirm.html", context, status=422 if form.errors else 200)


@club_page("club.publish_results", methods=("GET", "POST"))
def dismiss(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """The director makes nothing of one finding, and says why."""
    race = race_or_404(club, public_id)
    proposals, shown = _asked(request, race)
    first = {"finding": shown.finding.pk} if shown else {}
    form = DismissForm(request.POST or None, initial=first, findings=[one.finding.pk for one in proposals])
    if request.method == "POST" and form.is_valid():
        try:
            services.dismiss_finding(race=race, by=request.user, **form.cleaned_data)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, _("Dismissed: nothing follows from it. The reason is kept."))
            return redirect("techcall-detail", club=club.slug, public_id=public_id)
    context = {"race": race, "event": race.event, "form": form, "proposal": shown, "here": "result-detail"}
    return render(request, "racedesk/aftertech/finding_dismiss.html", context, status=422 if form.errors else 200)
