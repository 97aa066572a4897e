"""The page of groups: who is in which, when each races, and how fair it is; using them makes the heats."""

import secrets
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from inspection.clubs.access import club_page
from inspection.clubs.errors import Refused
from inspection.models import Club
from racedesk.events.selectors import race_or_404
from racedesk.groups.documents import group_cards
from racedesk.groups.forms import UseGroupsForm
from racedesk.groups.selectors import (
    RECENT,
    GroupChoices,
    address_of,
    choices_in,
    earlier_races,
    field_of,
    usual_choices,
)
from racedesk.groups.services import draw_in_groups, group_report
from racedesk.heats.documents import balance_words, done_at
from racedesk.heats.selectors import current_draw
from racedesk.models import Draw, Race
from racedesk.rotation.groups import Split

WAYS = [
    (Split.APART, gettext_lazy("By ability"), gettext_lazy("the fastest together, then the next")),
    (Split.MIXED, gettext_lazy("Mixed"), gettext_lazy("each group has fast and slow ones")),
    (Split.LOT, gettext_lazy("By lot"), gettext_lazy("the seed decides")),
]


@club_page("club.run_heats", methods=("GET", "POST"))
def group_draw(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """The field split into groups; using them makes the heats and goes on to printing them."""
    race = race_or_404(club, public_id)
    if request.method == "GET" and "seed" not in request.GET:
        usual = usual_choices(race, seed=1000 + secrets.randbelow(9000))
        return redirect(f"{request.path}?{address_of(usual)}")
    choices = choices_in(request.GET, usual_choices(race, seed=1))
    form = UseGroupsForm(request.POST if request.method == "POST" else None)
    if form.is_valid():
        try:
            made = draw_in_groups(race=race, choices=choices, by=request.user, **form.cleaned_data)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, _("The heats are drawn. Print the heat sheets now."))
            return redirect("draw-detail", club.slug, made.public_id)
    context = {"event": race.event, "race": race, "here": "heat-list", "form": form, "choices": choices}
    context |= _groups_context(race, choices)
    return render(request, "racedesk/groups/group_draw.html", context, status=409 if form.errors else 200)


def _groups_context(race: Race, choices: GroupChoices) -> dict[str, Any]:
    field = field_of(race, by=choices.by)
    context = {
        "field": field,
        "standing": current_draw(race),
        "ways": WAYS,
        "presets": Draw.Preset.choices,
        "sources": [
            (RECENT, _("results of the last races")),
            *((each.public_id, each.name) for each in earlier_races(race)),
        ],
        "unknown": len(field.numbers) - len(field.results),
        "query": address_of(choices),
        "lanes": race.event.track_layout.lanes.count(),
    }
    if len(field.numbers) < 2:
        return context
    try:
        groups, report = group_report(field, choices)
    except Refused as refusal:
        return context | {"refusal": str(refusal)}
    return context | {
        "cards": group_cards(field, groups, report),
        "ranks": range(1, len(groups) + 1),
        "report": report,
        "words": balance_words(report),
        "done_at": done_at(race, report["heats"]),
    }
