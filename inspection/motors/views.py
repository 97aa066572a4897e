"""Pages of single motors: the list, one with its tests, and the form."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django_tables2 import RequestConfig

from inspection.clubs.access import club_page
from inspection.clubs.documents import table_export
from inspection.clubs.errors import ChangedMeanwhile, Refused
from inspection.clubs.forms import let_save_over
from inspection.models import Club, MotorUnit
from inspection.motors import services
from inspection.motors.errors import MotorNumberTaken
from inspection.motors.forms import MotorForm, MotorTestForm
from inspection.motors.selectors import kinds_of_motor, latest_speed, motor_lines, motor_version, motors_of
from inspection.motors.tables import MotorTable

BENCH, READ = "club.use_bench", "club.view_private"


def _page(request: HttpRequest, name: str, context: dict[str, Any], status: int = 200) -> HttpResponse:
    return render(request, f"inspection/motors/{name}.html", {"here": "bench"} | context, status=status)


def _motor_or_404(club: Club, public_id: str) -> MotorUnit:
    return get_object_or_404(motors_of(club), public_id=public_id)


@club_page(READ)
def motor_list(request: HttpRequest, club: Club) -> HttpResponse:
    """Every single motor with its latest figures."""
    table = MotorTable(motors_of(club), club=club)
    RequestConfig(request, paginate={"per_page": 100}).configure(table)
    if response := table_export(table, request, _("motors")):
        return response
    return _page(request, "motor_list", {"table": table, "has_kinds": kinds_of_motor(club).exists()})


@club_page(BENCH, methods=("GET", "POST"))
def motor_create(request: HttpRequest, club: Club) -> HttpResponse:
    """A motor gets a number of its own."""
    part = kinds_of_motor(club).filter(public_id=request.GET.get("part", "")[:20]).first()
    form = MotorForm(request.POST or None, club=club, part=part)
    if request.method == "POST" and form.is_valid():
        try:
            motor = services.create_motor(club=club, content=form.content, by=request.user)
        except Refused as refusal:
            form.add_error("number" if isinstance(refusal, MotorNumberTaken) else None, str(refusal))
            return _page(request, "motor_form", {"form": form}, status=409)
        messages.success(request, _("Motor {number} is entered. Measure it next.").format(number=motor.number))
        return redirect("motor-detail", club.slug, motor.public_id)
    return _page(request, "motor_form", {"form": form}, status=422 if form.is_bound else 200)


@club_page(BENCH, methods=("GET", "POST"))
def motor_edit(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Hours, owner, note; who saves second is told."""
    motor = _motor_or_404(club, public_id)
    form = MotorForm(request.POST or None, club=club, motor=motor)
    context = {"form": form, "motor": motor}
    if request.method == "POST" and form.is_valid():
        version = form.cleaned_data["version"]
        try:
            services.change_motor(motor=motor, content=form.content, version=version, by=request.user)
        except Refused as refusal:
            form.add_error("number" if isinstance(refusal, MotorNumberTaken) else None, str(refusal))
            if isinstance(refusal, ChangedMeanwhile):
                let_save_over(form, version=motor_version(motor))
            return _page(request, "motor_form", context, status=409)
        messages.success(request, _("Motor {number} is saved.").format(number=form.cleaned_data["number"]))
        return redirect("motor-detail", club.slug, public_id)
    return _page(request, "motor_form", context, status=422 if form.is_bound else 200)


@club_page(READ)
def motor_detail(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """One motor: its tests, and what has changed since the first."""
    return _detail(request, club, _motor_or_404(club, public_id), MotorTestForm(club=club))


@club_page(BENCH, methods=("POST",))
def motor_test_create(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """What was measured today."""
    motor = _motor_or_404(club, public_id)
    form = MotorTestForm(request.POST, club=club)
    if not form.is_valid():
        return _detail(request, club, motor, form, status=422)
    try:
        services.add_motor_test(motor=motor, content=form.content, by=request.user)
    except Refused as refusal:
        form.add_error(None, str(refusal))
        return _detail(request, club, motor, form, status=409)
    messages.success(request, _("Written down."))
    return redirect("motor-detail", club.slug, public_id)


def _detail(request: HttpRequest, club: Club, motor: MotorUnit, form: MotorTestForm, status: int = 200) -> HttpResponse:
    context = {"motor": motor, "lines": motor_lines(motor), "latest": latest_speed(motor), "form": form}
    return _page(request, "motor_detail", context, status)
