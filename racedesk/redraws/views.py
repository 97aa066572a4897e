"""Pages of a re-draw: what is left of the night planned anew, shown, and accepted."""

from dataclasses import replace
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from inspection.clubs.access import club_page
from inspection.clubs.errors import Refused
from inspection.models import Club
from racedesk.entries.selectors import unready_entries
from racedesk.events.selectors import race_or_404
from racedesk.heats.selectors import current_draw
from racedesk.models import Race
from racedesk.redraws.documents import choices_said, going_on, lane_choices, reason_for, rest_words
from racedesk.redraws.forms import AcceptForm, LaneBackForm, WishForm
from racedesk.redraws.services import accept_rest
from racedesk.restplans.selectors import (
    BUDGETS,
    Choices,
    Night,
    address_of,
    choices_before,
    choices_in,
    night_of,
    pairs_of,
    plan_rest,
    with_more,
)


@club_page("club.run_heats", methods=("GET", "POST"))
def redraw_create(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """The heats left, planned anew; the plan is shown with what it changes, and used once somebody says so."""
    race = race_or_404(club, public_id)
    if request.method == "GET" and not request.GET:
        kept = choices_before(current_draw(race))
        if kept != Choices():
            return redirect(f"{request.path}?{address_of(kept)}")
    choices = choices_in(request.GET)
    form = AcceptForm(request.POST if request.method == "POST" else None)
    if form.is_valid():
        try:
            made = accept_rest(race=race, choices=choices, by=request.user, **form.cleaned_data)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, _("The rest of the heats is drawn again. Print it now."))
            return redirect("draw-detail", club.slug, made.public_id)
    context = {"event": race.event, "race": race, "here": "heat-list", "form": form}
    context |= _night_context(race, choices, form, _steps(request))
    return render(request, "racedesk/redraws/redraw.html", context, status=409 if form.errors else 200)


def _night_context(race: Race, choices: Choices, form: AcceptForm, steps: int) -> dict[str, Any]:
    night = night_of(race, choices)
    if night is None:
        return {"draw": current_draw(race)}
    drivers = going_on(night, choices)
    return {
        "night": night,
        "frozen": len(night.frozen),
        "query": address_of(choices),
        "chosen": pairs_of(choices),
        "said": choices_said(night, choices),
        "drivers": drivers,
        "lane_choices": lane_choices(night, choices),
        "wish": WishForm(None, drivers=[(one.number, f"{one.number} {one.name}") for one in drivers]),
        "joined": bool(night.joined),
        "late_rest": choices.late_rest,
        "late_address": address_of(replace(choices, late_rest=not choices.late_rest)),
        "rest": choices.rest,
        "rest_address": address_of(replace(choices, rest=not choices.rest)),
        "unready": unready_entries(race),
        "reason": form.data.get("reason") or reason_for(night, choices),
        **_plan_context(night, steps),
    }


def _steps(request: HttpRequest) -> int:
    """The budget that was asked for, the smallest where none was."""
    asked = request.GET.get("steps", "")
    return int(asked) if asked in {str(budget) for budget in BUDGETS} else BUDGETS[0]


def _plan_context(night: Night, steps: int) -> dict[str, Any]:
    """The plan with this budget, and the next larger budget if a search can still gain something."""
    try:
        rest = plan_rest(night, steps=steps)
    except Refused as refusal:
        return {"refusal": str(refusal)}
    larger = next((budget for budget in BUDGETS if budget > steps), None)
    can_gain = bool(rest.plan.heats) and (rest.plan.deviation > 0 or rest.plan.back_to_back > 0)
    return {
        "plan": rest_words(rest),
        "steps": steps,
        "most_steps": BUDGETS[-1],
        "next_steps": larger if can_gain else None,
        "lanes": night.lanes,
        "seed": night.draw.seed,
        "seen": night.seen,
    }


@club_page("club.run_heats")
def redraw_plan(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """The plan alone, with a larger budget: the page asks for it again and again."""
    race = race_or_404(club, public_id)
    choices = choices_in(request.GET)
    night = night_of(race, choices)
    context: dict[str, Any] = {"race": race, "query": address_of(choices)}
    if night is not None:
        context |= _plan_context(night, _steps(request))
    return render(request, "racedesk/redraws/_plan.html", context)


@club_page("club.run_heats")
def redraw_wish(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """One wish, or one lane's return, added to what was chosen: leads back to the page with it."""
    race = race_or_404(club, public_id)
    choices = choices_in(request.GET)
    night = night_of(race, choices)
    address = reverse("redraw-create", args=[club.slug, race.public_id])
    if night is None:
        return redirect(address)
    lane, wish = LaneBackForm(request.GET), None
    if lane.is_valid():
        choices = with_more(choices, "lanes_back", (lane.cleaned_data["lane"], lane.cleaned_data["back"]))
    else:
        drivers = [(one.number, one.name) for one in going_on(night, choices)]
        wish = WishForm(request.GET, drivers=drivers)
        if wish.is_valid():
            pair = (wish.cleaned_data["driver"], wish.cleaned_data["number"])
            choices = with_more(choices, wish.cleaned_data["kind"], pair)
            if wish.cleaned_data["kind"] == "apart" and (pair[0] == pair[1] or pair[1] not in dict(drivers)):
                messages.error(request, _("Give the number of another driver who races on."))
                choices = choices_in(request.GET)
        else:
            messages.error(request, _("Give a driver, a wish and a number: of a heat, or of the other driver."))
    return redirect(f"{address}?{address_of(choices)}")
