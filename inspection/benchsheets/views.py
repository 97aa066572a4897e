"""Pages of the bench: the cars on it, a sheet being built, one that was saved, two side by side."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from inspection.benchoutcomes.selectors import declared_by, outcome_of
from inspection.benchsheets import services
from inspection.benchsheets.errors import SheetOvertaken
from inspection.benchsheets.forms import SheetForm, StartForm
from inspection.benchsheets.selectors import (
    SheetContent,
    bench_lines,
    chassis_lines,
    content_of,
    cured,
    draft_of,
    latest_number,
    latest_sheet,
    lines_of,
    sheets_of,
    side_by_side,
    spacer_sizes,
)
from inspection.cars.errors import NumberTaken
from inspection.cars.selectors import owners_of
from inspection.cars.views import car_or_404
from inspection.clubs.access import club_page
from inspection.clubs.errors import Refused
from inspection.clubs.forms import let_save_over
from inspection.models import BenchSheet, Car, Club

BENCH = "club.use_bench"


def _page(request: HttpRequest, name: str, context: dict[str, Any], status: int = 200) -> HttpResponse:
    return render(request, f"inspection/benchsheets/{name}.html", {"here": "bench"} | context, status=status)


def _sheet_or_404(club: Club, public_id: str) -> BenchSheet:
    return get_object_or_404(sheets_of(club), public_id=public_id)


@club_page(BENCH, methods=("GET", "POST"))
def bench(request: HttpRequest, club: Club) -> HttpResponse:
    """The cars on the bench, and the start of a build: of a car of the register, or of a new one named here."""
    form = StartForm(request.POST or None, club=club)
    status = 422 if form.is_bound else 200
    if request.method == "POST" and form.is_valid():
        try:
            car = form.cleaned_data["car"] or services.start_car(club=club, **form.new_car, by=request.user)
        except Refused as refusal:
            form.add_error("number" if isinstance(refusal, NumberTaken) else None, str(refusal))
            status = 409
        else:
            return redirect("bench-sheet-create", club.slug, car.public_id)
    context = {"form": form, "lines": bench_lines(club), "has_drivers": owners_of(club).exists()}
    return _page(request, "bench", context, status)


def _form(request: HttpRequest, car: Car) -> tuple[SheetForm, BenchSheet | None]:
    """The form as the sheet that the address names, else as the latest; and that sheet."""
    asked = request.GET.get("from")
    source = get_object_or_404(sheets_of(car.club), car=car, public_id=asked) if asked else latest_sheet(car)
    shown = content_of(source) if source else None
    sent = request.POST if request.method == "POST" else None
    return SheetForm(sent, car=car, shown=shown, based_on=latest_number(car)), source


@club_page(BENCH, methods=("GET", "POST"))
def sheet_create(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """The car's next sheet. Sent by "work it out" or by a cure it saves nothing."""
    car = car_or_404(club, public_id)
    form, source = _form(request, car)
    if request.method == "POST" and form.is_valid() and not request.POST.keys() & {"look", "cure"}:
        based_on = form.cleaned_data["based_on"]
        try:
            sheet = services.save_sheet(car=car, content=form.content, based_on=based_on, by=request.user)
        except Refused as refusal:
            form.add_error(None, str(refusal))
            if isinstance(refusal, SheetOvertaken):
                let_save_over(form, based_on=latest_number(car))
            return _sheet_form(request, form, source, form.content, status=409)
        messages.success(request, _("Sheet {number} is saved.").format(number=sheet.number))
        return redirect("bench-sheet-detail", club.slug, sheet.public_id)
    content = form.content if form.is_bound else form.shown
    if "cure" in request.POST and form.is_valid():
        content = cured(draft_of(car, content), request.POST["cure"])
        form = SheetForm(None, car=car, shown=content, based_on=form.cleaned_data["based_on"])
        messages.info(request, _("The cure stands in the form now. Look at what comes of it, then save."))
    return _sheet_form(request, form, source, content, status=422 if form.is_bound and not form.is_valid() else 200)


def _sheet_form(
    request: HttpRequest, form: SheetForm, source: BenchSheet | None, content: SheetContent, *, status: int
) -> HttpResponse:
    context = {
        "form": form,
        "car": form.car,
        "source": source,
        "number": latest_number(form.car) + 1,
        "has_chassis": form.fields["chassis"].queryset.exists(),
        "spacer_sizes": spacer_sizes(form.club),
        "outcome": outcome_of(draft_of(form.car, content)),
    }
    return _page(request, "sheet_form", context, status)


@club_page(BENCH, methods=("POST",))
def sheet_echo(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """What comes of what stands in the form; saves nothing."""
    form, _source = _form(request, car_or_404(club, public_id))
    form.is_valid()
    return _page(request, "_echo", {"outcome": outcome_of(draft_of(form.car, form.content), typing=True)})


@club_page(BENCH)
def sheet_detail(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """A sheet as it was saved, with what comes of it today."""
    sheet = _sheet_or_404(club, public_id)
    others = list(sheet.car.bench_sheets.order_by("-number"))
    context = {
        "sheet": sheet,
        "car": sheet.car,
        "newest": others[0],
        "others": [other for other in others if other.pk != sheet.pk],
        "lines": lines_of(sheet, decimal_mark=club.decimal_mark),
        "chassis_lines": chassis_lines(sheet, decimal_mark=club.decimal_mark),
        "outcome": outcome_of(sheet),
    }
    return _page(request, "sheet_detail", context)


@club_page(BENCH)
def sheet_compare(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Two sheets of a car side by side: what they say, and what comes of each."""
    one = _sheet_or_404(club, public_id)
    others = sheets_of(club).filter(car=one.car).exclude(pk=one.pk)
    other = get_object_or_404(others, public_id=asked) if (asked := request.GET.get("with")) else others.first()
    older, newer = sorted([one, other or one], key=lambda sheet: sheet.number)
    differences = side_by_side(older, newer, decimal_mark=club.decimal_mark)
    return _page(request, "sheet_compare", {"car": one.car, "older": older, "newer": newer, "differences": differences})


@club_page(BENCH, methods=("POST",))
def sheet_cure(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Do what a cure says: a new sheet, with what it changes."""
    sheet = _sheet_or_404(club, public_id)
    content = cured(sheet, request.POST.get("cure", ""))
    made = services.save_sheet(car=sheet.car, content=content, by=request.user)
    messages.success(request, _("Sheet {number} is saved, with the cure made.").format(number=made.number))
    return redirect("bench-sheet-detail", club.slug, made.public_id)


@club_page("club.manage_cars", methods=("POST",))
def sheet_declare(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Declare what stands on the sheet as the car's next build."""
    sheet = _sheet_or_404(club, public_id)
    build = services.declare_sheet(sheet=sheet, **declared_by(sheet), by=request.user)
    messages.success(
        request,
        _("Declared as build {number}. A clearance at tech holds for the build before it.").format(number=build.number),
    )
    return redirect("build-detail", club.slug, build.public_id)
