"""Pages of draws: three side by side, and how the chosen one was made."""

import secrets
from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from inspection.clubs.access import club_page
from inspection.clubs.errors import Refused
from inspection.models import Club
from inspection.papers.documents import page_address, paper
from racedesk.draws.documents import (
    CRITERIA,
    draw_names,
    draw_options,
    fairness,
    lanes_owed,
    matrix,
    night_as_found,
    order_words,
)
from racedesk.draws.forms import AdmitForm, ChoiceForm, DrawForm, WishForm
from racedesk.draws.pictures import meetings_picture
from racedesk.draws.selectors import Way, address_of, last_preset, way_in
from racedesk.draws.services import WishPlanner, admit_to_draw
from racedesk.entries.selectors import ready_entries, unready_entries
from racedesk.events.selectors import race_or_404
from racedesk.heats.documents import balance_words, done_at, length_words
from racedesk.heats.selectors import current_draw, first_begun_heat, in_seat_order
from racedesk.heats.services import draw_heats, rotation_stage
from racedesk.models import Draw, Entry, Race
from racedesk.rotation.who import Seeding
from racedesk.wishes.documents import idle_wishes, wish_rows
from racedesk.wishes.selectors import Wishes, wishes_in

# More rounds than these in one night are typed into the address.
MOST_ROUNDS_SHOWN = 6
# Of five criteria the last two seldom decide; more of them are typed into the address.
MOST_IN_ORDER = 3
SEEDINGS = [
    ("", gettext_lazy("no matter")),
    (Seeding.MIXED, gettext_lazy("with slow ones rather")),
    (Seeding.APART, gettext_lazy("with each other rather")),
]


@club_page("club.run_heats", methods=("GET", "POST"))
def draw_create(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Three draws side by side; using one makes the heats and goes on to printing them."""
    race = race_or_404(club, public_id)
    if request.method == "GET" and "seed" not in request.GET:
        if race.groups_from is not None and not request.GET and len(ready_entries(race)) >= race.groups_from:
            return redirect("group-draw", club.slug, race.public_id)
        kept = f"&{request.GET.urlencode()}" if request.GET else ""
        return redirect(f"{request.path}?seed={1000 + secrets.randbelow(9000)}{kept}")
    way, wishes = way_in(request.GET, race.event.track_layout.lanes.all()), wishes_in(request.GET)
    if request.method == "GET" and "kind" in request.GET:
        return _with_wish(request, race, way, wishes)
    plan = WishPlanner(way, wishes)
    form = DrawForm(request.POST if request.method == "POST" else None)
    if form.is_valid():
        try:
            made = draw_heats(stage=rotation_stage(race=race), **form.cleaned_data, plan=plan, by=request.user)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, _("The heats are drawn. Print the heat sheets now."))
            return redirect("draw-detail", club.slug, made.public_id)
    context = _draw_context(race, form, ChoiceForm(request.POST or request.GET), plan)
    return render(request, "racedesk/draws/draw_create.html", context, status=409 if form.errors else 200)


def _with_wish(request: HttpRequest, race: Race, way: Way, wishes: Wishes) -> HttpResponse:
    """Leads to the page with one wish more in its address."""
    asked = WishForm(request.GET, ready=in_seat_order(race, ready_entries(race))).asked()
    if asked is None:
        messages.error(request, _("Give a driver, a wish and a number: of a heat, a lane or another driver."))
    else:
        wishes = wishes.and_also(asked)
    seed, preset = ChoiceForm(request.GET).chosen()
    chosen = urlencode({"seed": 1 if seed is None else seed, "preset": preset})
    return redirect(f"{request.path}?{chosen}&{address_of(way, wishes)}")


def _draw_context(race: Race, form: DrawForm, choice: ChoiceForm, plan: WishPlanner) -> dict[str, Any]:
    way, wishes = plan.way, plan.wishes
    seed, preset = choice.chosen()
    preset = preset or last_preset(race.event.club)
    seed = 1 if seed is None else seed
    ready = ready_entries(race)
    standing = current_draw(race)
    layout = race.event.track_layout
    lanes = list(layout.lanes.all())
    seated = in_seat_order(race, ready)
    options = draw_options(race, ready, seed=seed, chosen=preset, plan=plan, order=way.order) if len(ready) > 1 else []
    heats = max((option.heats for option in options), default=0)
    return {
        "event": race.event,
        "race": race,
        "here": "heat-list",
        "form": form,
        "ready": seated,
        "wish_form": WishForm(None, ready=seated),
        "wishes": wishes,
        "idle_wishes": idle_wishes(race, wishes, {row.asked for option in options for row in option.wishes}),
        "take_back": {each.written(): address_of(way, wishes.but(each)) for each in wishes.asked},
        "seedings": SEEDINGS,
        "criteria": CRITERIA.items(),
        "order": (*way.order, *[""] * len(CRITERIA))[:MOST_IN_ORDER],
        "way_pairs": [*way.pairs(), ("seeding", wishes.seeding or "")],
        "wish_pairs": [("wish", each.written()) for each in wishes.asked],
        "unready": unready_entries(race),
        "standing": standing,
        "options": options,
        "seed": seed,
        "preset": preset,
        "next_seed": 1000 + secrets.randbelow(9000),
        "lanes": lanes,
        "way": way,
        "way_address": address_of(way, wishes),
        "round_choices": range(1, MOST_ROUNDS_SHOWN + 1),
        "each_choices": range(len(lanes) - len(way.empty) - 1, 0, -1),
        "heats": heats,
        "heat_length": length_words(race.heat_length_s),
        "changeover": length_words(race.changeover_s),
        "done_at": done_at(race, heats),
    }


@club_page("club.direct", methods=("POST",))
def draw_override(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """The director lets one entry into the draw: checks it in, and overrides tech with a reason where it must."""
    entry = get_object_or_404(Entry.objects.of(club).select_related("race__event"), public_id=public_id)
    form = AdmitForm(request.POST)
    try:
        reason = form.cleaned_data["reason"] if form.is_valid() else ""
        admit_to_draw(entry=entry, reason=reason, by=request.user)
        messages.success(request, _("{entry} is in the draw.").format(entry=entry))
    except Refused as refusal:
        messages.error(request, f"{entry}: {refusal}")
    address = reverse("draw-create", args=[club.slug, entry.race.public_id])
    seed, _preset = ChoiceForm(request.GET).chosen()
    return redirect(f"{address}?{request.GET.urlencode()}" if seed is not None else address)


@club_page(public=True)
def draw_detail(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """How a draw was made and how fair it is; what to print."""
    draw = get_object_or_404(
        Draw.objects.of(club).select_related("stage__race__event__club", "stage__race__event__track_layout"),
        public_id=public_id,
    )
    names, report = draw_names(draw), draw.report
    context = {
        "event": draw.stage.race.event,
        "race": draw.stage.race,
        "here": "heat-list",
        "draw": draw,
        "words": balance_words(report),
        "matrix": matrix(report, names),
        "fairness": fairness(draw, names),
        "wishes": wish_rows(report, names),
        "own_order": order_words(report.get("criteria", ())),
        "seeding": dict(SEEDINGS).get(report.get("seeding"), ""),
        "picture": meetings_picture(report),
        "owed": lanes_owed(draw, names),
        "has_begun": draw.superseded_at is None and first_begun_heat(draw) is not None,
        "others": draw.stage.draws.exclude(pk=draw.pk).select_related("drawn_by"),
    }
    return render(request, "racedesk/draws/draw_detail.html", context)


@club_page(public=True)
def draw_print(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """The balance report on paper."""
    related = ("stage__race__event__track_layout", "stage__race__event__club")
    draw = get_object_or_404(Draw.objects.of(club).select_related(*related), public_id=public_id)
    names = draw_names(draw)
    context = {
        "event": draw.stage.race.event,
        "race": draw.stage.race,
        "draw": draw,
        "words": balance_words(draw.report),
        "fairness": fairness(draw, names),
        "picture": meetings_picture(draw.report),
        "page_url": page_address(request, reverse("draw-detail", args=[club.slug, draw.public_id])),
    }
    return paper(request, "print/draw_fairness.html", context, file_name=f"{draw.stage.race.name} fairness")


@club_page(public=True)
def draw_state(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """The night as a re-draw found it, as the file that `manage.py rotation --state` reads."""
    draw = get_object_or_404(Draw.objects.of(club), public_id=public_id)
    if "redraw" not in draw.report:
        raise Http404
    answer = JsonResponse(night_as_found(draw))
    answer["Content-Disposition"] = f'attachment; filename="draw-{draw.number}-state.json"'
    return answer
