"""Pages of the register of cars."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django_tables2 import RequestConfig

from inspection.cars import services
from inspection.cars.errors import NumberTaken
from inspection.cars.filters import IN_USE, CarFilter
from inspection.cars.forms import CarForm
from inspection.cars.selectors import builds_of, car_version, card_lines, cards_of, cars_of, owners_of, spec_of
from inspection.cars.tables import CarTable
from inspection.clubs.access import club_page
from inspection.clubs.documents import table_export
from inspection.clubs.errors import ChangedMeanwhile, Refused
from inspection.models import Car, Club
from inspection.papers.documents import page_address

MANAGE, READ = "club.manage_cars", "club.view_private"


def _page(request: HttpRequest, name: str, context: dict[str, Any], status: int = 200) -> HttpResponse:
    return render(request, f"inspection/cars/{name}.html", {"here": "car-list"} | context, status=status)


def car_or_404(club: Club, public_id: str) -> Car:
    """A car of the club with its owner and class."""
    return get_object_or_404(Car.objects.of(club).select_related("club", "owner", "racing_class"), public_id=public_id)


@club_page(READ)
def car_list(request: HttpRequest, club: Club) -> HttpResponse:
    """The register: in use, unless asked otherwise."""
    narrowed = CarFilter(request.GET, queryset=cars_of(club), club=club)
    shows_use = narrowed.form["use"].value() != IN_USE
    table = CarTable(narrowed.qs, club=club, shows_use=shows_use, for_file="export" in request.GET)
    RequestConfig(request, paginate={"per_page": 100}).configure(table)
    if response := table_export(table, request, _("cars")):
        return response
    asked = any(request.GET.get(name) for name in ("q", "racing_class", "owner", "use"))
    context = {"table": table, "filter": narrowed, "is_narrowed": asked, "has_drivers": owners_of(club).exists()}
    return _page(request, "car_list", context)


@club_page(MANAGE, methods=("GET", "POST"))
def car_create(request: HttpRequest, club: Club) -> HttpResponse:
    """A new car; from here its first build is one step."""
    form = CarForm(request.POST or None, club=club, owner=request.GET.get("owner", "")[:20])
    context: dict[str, Any] = {"form": form}
    if request.method == "POST" and form.is_valid():
        try:
            car = services.create_car(club=club, content=form.content, by=request.user)
        except Refused as refusal:
            context |= _told(form, refusal)
            return _page(request, "car_form", context, status=409)
        messages.success(request, _("{car} is entered. Declare its build next.").format(car=car))
        return redirect("car-detail", club.slug, car.public_id)
    context["has_drivers"] = form.fields["owner"].queryset.exists()
    return _page(request, "car_form", context, status=422 if form.is_bound else 200)


@club_page(MANAGE, methods=("GET", "POST"))
def car_edit(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Change what the register says of a car; who saves second sees what stands now."""
    car = car_or_404(club, public_id)
    form = CarForm(request.POST or None, club=club, car=car)
    context: dict[str, Any] = {"form": form, "car": car}
    if request.method == "POST" and form.is_valid():
        try:
            services.change_car(car=car, content=form.content, version=form.cleaned_data["version"], by=request.user)
        except Refused as refusal:
            context |= _told(form, refusal) | {"stands_now": car if isinstance(refusal, ChangedMeanwhile) else None}
            form.show(version=car_version(car))
            return _page(request, "car_form", context, status=409)
        messages.success(request, _("{name} is saved.").format(name=form.cleaned_data["name"]))
        return redirect("car-detail", club.slug, public_id)
    return _page(request, "car_form", context, status=422 if form.is_bound else 200)


def _told(form: CarForm, refusal: Refused) -> dict[str, Any]:
    """Says it at the number where the number is the matter, and gives the free number to be offered beside."""
    is_number = isinstance(refusal, NumberTaken)
    form.add_error("number" if is_number else None, str(refusal))
    return {"free": refusal.params["free"]} if is_number else {}


@club_page(READ)
def car_detail(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """A car: what it is declared to be, what tech found, what it was before."""
    car = car_or_404(club, public_id)
    builds = list(builds_of(car))
    context = {
        "car": car,
        "spec": spec_of(builds[0], decimal_mark=club.decimal_mark) if builds else None,
        "older": builds[1:],
        "cards": card_lines(cards_of(car)),
        "qr_label": str(car),
        "qr_address": page_address(request, reverse("car-detail", args=[club.slug, car.public_id])),
    }
    return _page(request, "car_detail", context)
