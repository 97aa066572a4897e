"""The card: measure, decide, sign, print. Works by plain forms; tech_card.js spares the reloads."""

import datetime as dt
import re
import secrets
from typing import Any, Final

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from inspection.clauses.selectors import keeping_published_sheets
from inspection.clubs.access import club_page
from inspection.clubs.errors import Refused
from inspection.inspections import services
from inspection.inspections.errors import FoundMeanwhile
from inspection.inspections.services import Recorded
from inspection.models import Clause, Club, Inspection, TechOccasion
from inspection.readings.errors import AnswerRefused, DidYouMean, ReadingNotUnderstood
from inspection.stations.selectors import STATION_WORDS, Station, station_of_phone
from inspection.techcards import documents
from inspection.techcards.forms import AnswerForm, RulingForm, SignForm, TouchedForm
from inspection.techcards.selectors import Card, CardClause, blank_card, card
from inspection.units import UnitsCode

CURE_TIME: Final = dt.timedelta(minutes=15)  # what the page offers for a cure; the inspector types another


def _inspection(club: Club, public_id: str) -> Inspection:
    found = Inspection.objects.of(club).select_related("occasion__club", "occasion__revision")
    return get_object_or_404(found, public_id=public_id)


def _card(request: HttpRequest, inspection: Inspection) -> Card:
    """The card as this phone's station looks at it."""
    return card(inspection, station=station_of_phone(request.session, request.GET.get("station")))


def _address(inspection: Inspection, place: int | str | None = None) -> str:
    address = reverse("inspection-detail", args=[inspection.occasion.club.slug, inspection.public_id])
    return f"{address}?at={place}" if place else address


def _place(card: Card, asked: str) -> CardClause | None:
    """The clause the address asks for, else the next to find; None for the page to sign."""
    if asked == "sign" or (not asked and not card.missing_here):
        return None
    return card.at(int(asked) if asked.isascii() and asked.isdigit() and len(asked) < 4 else None)


def _context(request: HttpRequest, shown: Card, line: CardClause | None, **more: Any) -> dict[str, Any]:
    return {
        "card": shown,
        "inspection": shown.inspection,
        "current": line,
        "line": line,
        "can_inspect": request.user.has_perm("club.inspect", request.club),
        "station_words": STATION_WORDS.get(Station(shown.station)) if shown.station else "",
        "cure_by": timezone.localtime() + CURE_TIME,
        "key": secrets.token_hex(12),
        "here": "event-list",
    } | more


def _which(asked: str) -> tuple[int, int]:
    """Which input is measured again, as the address has it: the characteristic's id, and the reading of it."""
    found = re.fullmatch(r"([0-9]{1,12})-([0-9]{1,2})", asked)
    return (int(found[1]), int(found[2])) if found else (0, 0)


def _is_script(request: HttpRequest) -> bool:
    return request.headers.get("X-Requested-With") == "fetch"


@club_page()
def detail(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """The card at one clause, at its list of clauses, or where it is signed."""
    shown = _card(request, _inspection(club, public_id))
    line = _place(shown, request.GET.get("at", ""))
    which = request.GET.get("again")
    again = which is not None and line is not None
    if again:
        shown = shown.asking_again(line, *_which(which))
        line = shown.at(line.place)
    lists = request.GET.get("view") == "clauses"
    context = _context(request, shown, line, measures_again=again, shows_list=lists)
    return render(request, "inspection/techcards/card.html", context)


@club_page("club.inspect", methods=("POST",))
@keeping_published_sheets()
def record(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Take one answer."""
    inspection = _inspection(club, public_id)
    form = AnswerForm(request.POST, inspection=inspection)
    if not form.is_valid():
        return _not_taken(request, inspection, None, " ".join(e for es in form.errors.values() for e in es))
    answer = form.answer()
    try:
        recorded = services.record_measurement(inspection=inspection, by=request.user, **answer)
    except AnswerRefused as refusal:
        return _not_taken(request, inspection, answer["clause"], str(refusal), asked=refusal)
    return _taken(request, inspection, recorded)


@club_page("club.inspect", methods=("POST",))
@keeping_published_sheets()
def rule(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Take a judge's decision."""
    inspection = _inspection(club, public_id)
    form = RulingForm(request.POST, inspection=inspection)
    if not form.is_valid():
        return _not_taken(request, inspection, None, " ".join(e for es in form.errors.values() for e in es))
    ruling = form.cleaned_data
    try:
        recorded = services.record_ruling(inspection=inspection, by=request.user, **ruling)
    except AnswerRefused as refusal:
        return _not_taken(request, inspection, ruling["clause"], str(refusal))
    return _taken(request, inspection, recorded)


@club_page("club.inspect")
def assess(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """What the answer being typed would come to; records nothing."""
    inspection = _inspection(club, public_id)
    form = AnswerForm(request.GET, inspection=inspection)
    shown = card(inspection)
    if not form.is_valid() or shown.line_of(form.cleaned_data["clause"]) is None:
        return HttpResponse(status=404)
    answer = form.answer()
    line = shown.line_of(answer["clause"])
    context = {"line": line, "club": club, "hint": ""}
    try:
        context["assessed"] = shown.assess(answer)
    except ReadingNotUnderstood as refusal:
        # A number that is still being typed is not a mistake yet.
        unfinished = refusal.units_code in {UnitsCode.EMPTY, UnitsCode.UNFINISHED_NUMBER}
        context["hint"] = "" if unfinished else str(refusal)
    except AnswerRefused as refusal:
        context["hint"] = str(refusal)
    return render(request, "inspection/techcards/_assessed.html", context)


def _taken(request: HttpRequest, inspection: Inspection, recorded: Recorded) -> HttpResponse:
    """On to the next clause; a reading too close to its limit stays, with what to do about it."""
    shown = _card(request, inspection)
    line = shown.line_of(recorded.clause or recorded.finding.clause)
    told = _told(request, recorded)
    follows = shown.after(line.place)
    stays = line.state == "too_close" or not line.is_found
    if not _is_script(request):
        if told:
            messages.warning(request, told)
        return redirect(_address(inspection, line.place if stays else (follows.place if follows else "sign")))
    go = line if stays else follows
    fresh = [pair for pair in shown.panes if pair[0] in (line, follows)]
    context = _context(request, shown, go, fresh=fresh, told=told, last=None if stays else line)
    response = render(request, "inspection/techcards/_recorded.html", context)
    response["X-Go"] = f"clause-{go.place}" if go else "clause-sign"
    return response


def _told(request: HttpRequest, recorded: Recorded) -> str:
    """What an inspector must be told beside the verdict."""
    replaced = recorded.replaced
    told = []
    if replaced is not None and replaced.by_id != request.user.pk and not recorded.was_sent_before:
        words = _("{who} had found {answer} for clause {number}; yours stands now, and both are kept.")
        told.append(words.format(who=replaced.by, answer=replaced.answer, number=replaced.clause_number))
    if recorded.reopened:
        told.append(_("The card was signed; it is open again and needs a new signature."))
    return " ".join(told)


def _not_taken(
    request: HttpRequest,
    inspection: Inspection,
    clause: Clause | None,
    why: str,
    asked: AnswerRefused | None = None,
) -> HttpResponse:
    """Say why, with what was typed still there; a DidYouMean (`asked`) offers what to tap instead."""
    shown = _card(request, inspection)
    line = shown.line_of(clause) if clause else None
    line = line or shown.at(None)
    if line is not None:
        shown = shown.asking_again(line, *_which(f"{request.POST.get('characteristic')}-{request.POST.get('number')}"))
        line = shown.at(line.place)
    context = _context(
        request,
        shown,
        line,
        refusal=why,
        suggestions=asked.suggestions if isinstance(asked, DidYouMean) else (),
        confirms=asked.params["reading"] if isinstance(asked, DidYouMean) else "",
        meanwhile=asked.found if isinstance(asked, FoundMeanwhile) else None,
        typed=request.POST.get("text", ""),
        typed_unit=request.POST.get("unit", ""),
        typed_gauge=request.POST.get("gauge", ""),
        follows=shown.after(line.place) if line else None,
        typed_reason=request.POST.get("reason", ""),
        measures_again=True,
    )
    name = "_refused.html" if _is_script(request) else "card.html"
    return render(request, f"inspection/techcards/{name}", context, status=422)


@club_page("club.inspect", methods=("POST",))
def sign(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Sign the card, clear or not."""
    inspection = _inspection(club, public_id)
    form = SignForm(request.POST)
    if not form.is_valid():
        messages.error(request, _("Give the time as hours and minutes, such as 19:45, and a seal of at most 30 signs."))
        return redirect(_address(inspection, "sign"))
    try:
        signed = services.sign_card(inspection=inspection, by=request.user, **form.cleaned_data)
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect(_address(inspection, "sign"))
    line = reverse("occasion-detail", args=[club.slug, signed.occasion.public_id])
    if signed.signed_clear:
        messages.success(request, _("{car} is clear.").format(car=signed.car))
        return redirect(line)
    messages.warning(request, _("{car} is signed, not clear.").format(car=signed.car))
    return redirect(_address(inspection, "sign"))


@club_page("club.inspect", methods=("GET", "POST"))
def again(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """The car is back: what failed is found anew, and what the inspector says that the cure touched."""
    inspection = _inspection(club, public_id)
    shown, form = card(inspection), TouchedForm(request.POST)
    if request.method == "GET" or not form.is_valid():
        status = 200 if request.method == "GET" else 422
        context = _context(request, shown, None)
        return render(request, "inspection/techcards/again.html", context, status=status)
    touched = shown.clauses_in(form.cleaned_data["touched"])
    try:
        services.inspect_again(inspection=inspection, touched=touched, by=request.user)
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect(_address(inspection, "sign"))
    return redirect(_address(inspection))


@club_page("club.inspect", methods=("POST",))
def take_up(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Go on with the car's latest build."""
    inspection = _inspection(club, public_id)
    try:
        services.take_up_build(inspection=inspection, by=request.user)
    except Refused as refusal:
        messages.error(request, str(refusal))
    return redirect(_address(inspection))


@club_page()
def print_card(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """The filled card, A5."""
    shown = card(_inspection(club, public_id))
    return documents.cards_paper(request, [shown], file_name=f"tech-card-{shown.inspection.car.number}")


@club_page("club.inspect")
def print_cards(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Every card of an occasion in one document, by car number."""
    occasion = get_object_or_404(TechOccasion.objects.of(club), public_id=public_id)
    phase = request.GET.get("phase", Inspection.Phase.BEFORE)
    found = occasion.inspections.filter(phase=phase).order_by("car__number")
    shown = [card(inspection) for inspection in found]
    if not shown:
        return print_blank(request, club=club.slug, public_id=public_id)
    return documents.cards_paper(request, shown, file_name="tech-cards")


@club_page("club.inspect")
def print_blank(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """A blank card to be filled in by hand, A5."""
    occasion = get_object_or_404(TechOccasion.objects.of(club), public_id=public_id)
    shown = blank_card(occasion, request.GET.get("phase", Inspection.Phase.BEFORE))
    return documents.cards_paper(request, [shown], file_name="tech-card-blank", blank=True)
