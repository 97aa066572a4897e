"""Pages of impound."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from inspection.clubs.access import club_page
from inspection.clubs.errors import Refused
from inspection.impound import services
from inspection.impound.forms import SealForm, TouchForm
from inspection.models import Club, Inspection


def _card(club: Club, public_id: str) -> Inspection:
    found = Inspection.objects.of(club).select_related("occasion__club", "occasion__revision__rule_sheet", "car__owner")
    return get_object_or_404(found, public_id=public_id)


def _signature(card: Inspection) -> str:
    return reverse("inspection-detail", args=[card.occasion.club.slug, card.public_id]) + "?at=sign"


@club_page("club.inspect", methods=("POST",))
def put_in(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Mark a clear car and put it away."""
    card = _card(club, public_id)
    form = SealForm(request.POST)
    if not form.is_valid():
        messages.error(request, _("A seal number has at most 30 letters and digits."))
        return redirect(_signature(card))
    try:
        services.put_in_impound(inspection=card, by=request.user, **form.cleaned_data)
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect(_signature(card))
    messages.success(request, _("{car} is in impound.").format(car=card.car))
    return redirect("occasion-detail", club=club.slug, public_id=card.occasion.public_id)


@club_page("club.inspect", methods=("GET", "POST"))
def touch(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Somebody touched the car: say what was done."""
    card = _card(club, public_id)
    form = TouchForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            services.record_touch(inspection=card, by=request.user, **form.cleaned_data)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.warning(request, _("{car} is not clear any more.").format(car=card.car))
            return redirect(_signature(card))
    context = {"form": form, "card": card, "back": _signature(card), "here": "event-list"}
    return render(request, "inspection/impound/touch_form.html", context, status=422 if form.errors else 200)
