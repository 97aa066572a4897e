"""The tech line: tech days, their cars, and one step from a number to the card."""

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.module_loading import import_string
from django.utils.translation import gettext as _
from django_tables2 import RequestConfig

from inspection.calibrations.selectors import checks_tonight
from inspection.clubs.access import club_page
from inspection.clubs.documents import table_export
from inspection.clubs.errors import Refused
from inspection.inspections import selectors, services
from inspection.inspections.documents import tech_line_export
from inspection.inspections.errors import SeveralCars
from inspection.inspections.forms import FindCarForm, OccasionForm
from inspection.inspections.tables import OccasionTable
from inspection.models import Club, Inspection, TechOccasion
from inspection.stations.selectors import STATION_WORDS, station_of_phone


def _cars_by_decision(occasion: TechOccasion) -> frozenset[int]:
    """Cars that race whatever tech says: the race side knows, where there is one."""
    named = getattr(settings, "CARS_BY_DECISION", "")
    return import_string(named)(occasion) if named else frozenset()


def _phase(text: str) -> str:
    return text if text in Inspection.Phase.values else Inspection.Phase.BEFORE


@club_page()
def occasion_list(request: HttpRequest, club: Club) -> HttpResponse:
    """Tech days, the latest first."""
    table = OccasionTable(selectors.occasion_list(club))
    RequestConfig(request, paginate={"per_page": 50}).configure(table)
    exported = table_export(table, request, "tech-days")
    return exported or render(request, "inspection/inspections/occasion_list.html", {"table": table})


@club_page("club.inspect", methods=("GET", "POST"))
def occasion_create(request: HttpRequest, club: Club) -> HttpResponse:
    """A tech day without a race; a race night opens its own."""
    form = OccasionForm(request.POST or None, club=club)
    if request.method == "POST" and form.is_valid():
        try:
            occasion = services.open_occasion(club=club, by=request.user, **form.cleaned_data)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, _("Tech is open."))
            return redirect("occasion-detail", club=club.slug, public_id=occasion.public_id)
    status = 422 if form.errors else 200
    return render(request, "inspection/inspections/occasion_form.html", {"form": form}, status=status)


@club_page()
def occasion_detail(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """The tech line at one phase: what needs somebody first, and the field that finds a car."""
    occasions = TechOccasion.objects.of(club).select_related("club", "revision__rule_sheet", "track_layout__track")
    occasion = get_object_or_404(occasions, public_id=public_id)
    phase = _phase(request.GET.get("phase", ""))
    line = selectors.tech_line(occasion, phase=phase, excused=_cars_by_decision(occasion))
    if exported := tech_line_export(request, occasion, line):
        return exported
    can_inspect = request.user.has_perm("club.inspect", club)
    typed = request.GET.get("car", "") if can_inspect else ""  # who is found stands there by full name
    context = {
        "occasion": occasion,
        "phase": phase,
        "phases": Inspection.Phase.choices,
        "line": line,
        "station": station_of_phone(request.session, request.GET.get("station")),
        "stations": STATION_WORDS.items(),
        "others": selectors.other_lines(occasion),
        "newer": selectors.newer_revision(occasion),
        "typed": typed,
        "found": selectors.cars_found(club, typed) if typed else [],
        "can_inspect": can_inspect,
        "checks": checks_tonight(club, occasion.date) if can_inspect else [],
    }
    return render(request, "inspection/inspections/occasion_detail.html", context)


@club_page("club.inspect", methods=("POST",))
def open_card(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """From a number, or a driver's letters, to the car's card."""
    occasion = get_object_or_404(TechOccasion.objects.of(club).select_related("club"), public_id=public_id)
    form = FindCarForm(request.POST)
    typed = form.cleaned_data["car"] if form.is_valid() else ""
    phase = _phase(request.POST.get("phase", ""))
    line = reverse("occasion-detail", args=[club.slug, occasion.public_id])
    try:
        car = selectors.find_car(club, typed)
    except SeveralCars:
        return redirect(f"{line}?{urlencode({'phase': phase, 'car': typed})}#found")
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect(f"{line}?{urlencode({'phase': phase})}")
    card = services.open_inspection(occasion=occasion, car=car, phase=phase, by=request.user)
    return redirect("inspection-detail", club=club.slug, public_id=card.public_id)
