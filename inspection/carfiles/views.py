"""Cars out as a file and in from one, and the schema of such files."""

from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.text import slugify
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_safe

from inspection.carfiles.documents import cars_document
from inspection.carfiles.forms import CarDocumentForm, CarFileForm, CarsConfirmForm
from inspection.carfiles.selectors import CarsContent, classes_to_make, schema_text
from inspection.carfiles.services import bring_in_cars
from inspection.clubs.access import club_page
from inspection.clubs.errors import Refused
from inspection.models import Car, Club


def _page(request: HttpRequest, name: str, context: dict[str, Any], status: int = 200) -> HttpResponse:
    return render(request, f"inspection/carfiles/{name}.html", {"here": "car-list"} | context, status=status)


@club_page("club.view_private")
def car_export(request: HttpRequest, club: Club) -> HttpResponse:
    """All cars, or the one that the address names, with their builds."""
    cars, name = Car.objects.of(club), _("cars")
    if wanted := request.GET.get("car", "")[:20]:
        car = get_object_or_404(cars, public_id=wanted)
        cars, name = cars.filter(pk=car.pk), str(car)
    response = JsonResponse(cars_document(club, cars), json_dumps_params={"ensure_ascii": False, "indent": 1})
    response["Content-Disposition"] = f'attachment; filename="{slugify(name) or "cars"}.json"'
    return response


@club_page("club.manage_cars", methods=("GET", "POST"))
def car_import(request: HttpRequest, club: Club) -> HttpResponse:
    """First the file, then what would come in of it, then all of it or nothing."""
    if "document" in request.POST:
        return _bring_in(request, club)
    form = CarFileForm(request.POST or None, request.FILES or None, club=club)
    if request.method == "POST" and form.is_valid():
        text, content = form.cleaned_data["file"]
        return _preview(request, club, _confirm(request, club, content, initial={"document": text}))
    is_sent = request.method == "POST"
    return _page(request, "car_import", {"form": form, "shown": form}, status=422 if is_sent else 200)


def _bring_in(request: HttpRequest, club: Club) -> HttpResponse:
    sent = CarDocumentForm(request.POST, club=club)
    if not sent.is_valid():
        context = {"form": CarFileForm(club=club), "shown": sent}
        return _page(request, "car_import", context, status=422)
    _text, content = sent.cleaned_data["document"]
    form = _confirm(request, club, content, data=request.POST)
    if not form.is_valid():
        return _preview(request, club, form, status=422)
    try:
        cars = bring_in_cars(club=club, content=content, numbers=form.numbers, owners=form.owners, by=request.user)
    except Refused as refusal:
        form.add_error(None, str(refusal))
        return _preview(request, club, form, status=409)
    done = ngettext("{count} car has come in.", "{count} cars have come in.", len(cars))
    messages.success(request, done.format(count=len(cars)))
    return redirect("car-list", club.slug)


def _confirm(request: HttpRequest, club: Club, content: CarsContent, **kwargs: Any) -> CarsConfirmForm:
    may_enter = request.user.has_perm("club.manage_drivers", club)
    return CarsConfirmForm(club=club, content=content, may_enter_drivers=may_enter, **kwargs)


def _preview(request: HttpRequest, club: Club, form: CarsConfirmForm, status: int = 200) -> HttpResponse:
    context = {"form": form, "content": form.content, "new_classes": classes_to_make(club, form.content)}
    return _page(request, "car_preview", context, status=status)


@login_not_required
@require_safe
def car_schema(request: HttpRequest) -> HttpResponse:
    return HttpResponse(schema_text(), content_type="application/schema+json")
