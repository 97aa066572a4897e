"""Pages of chassis: the list, one as measured, and its form with what follows from the sizes."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django_tables2 import RequestConfig

from inspection.chassis import services
from inspection.chassis.errors import ChassisNameTaken
from inspection.chassis.forms import ChassisForm
from inspection.chassis.pictures import PLAN, SHAFTS, SIDE
from inspection.chassis.selectors import chassis_of, chassis_version, follows_of, sizes_shown
from inspection.chassis.tables import ChassisTable
from inspection.clubs.access import club_page
from inspection.clubs.documents import table_export
from inspection.clubs.errors import ChangedMeanwhile, Refused
from inspection.clubs.forms import let_save_over
from inspection.models import Chassis, Club

BENCH = "club.use_bench"
VIEWS = {"plan": PLAN, "side": SIDE, "shafts": SHAFTS}


def _page(request: HttpRequest, name: str, context: dict[str, Any], status: int = 200) -> HttpResponse:
    context = {"here": "bench", "views": VIEWS} | context
    return render(request, f"inspection/chassis/{name}.html", context, status=status)


def _chassis_or_404(club: Club, public_id: str) -> Chassis:
    return get_object_or_404(Chassis.objects.of(club).select_related("club", "owner"), public_id=public_id)


@club_page(BENCH)
def chassis_list(request: HttpRequest, club: Club) -> HttpResponse:
    """The chassis of the club and of its drivers."""
    table = ChassisTable(chassis_of(club), club=club)
    RequestConfig(request, paginate={"per_page": 100}).configure(table)
    return table_export(table, request, _("chassis")) or _page(request, "chassis_list", {"table": table})


@club_page(BENCH, methods=("GET", "POST"))
def chassis_create(request: HttpRequest, club: Club) -> HttpResponse:
    """A new chassis, sizes as far as they are known. Sent by "what follows" it saves nothing."""
    form = ChassisForm(request.POST or None, club=club)
    if request.method == "POST" and form.is_valid() and "look" not in request.POST:
        try:
            chassis = services.create_chassis(club=club, content=form.content, by=request.user)
        except Refused as refusal:
            form.add_error("name" if isinstance(refusal, ChassisNameTaken) else None, str(refusal))
            return _page(request, "chassis_form", {"form": form}, status=409)
        messages.success(request, _("{chassis} is entered. Build on it at the bench.").format(chassis=chassis))
        return redirect("chassis-detail", club.slug, chassis.public_id)
    return _page(request, "chassis_form", {"form": form}, status=_status(request, form))


@club_page(BENCH, methods=("GET", "POST"))
def chassis_edit(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Measure again, or add what was left empty."""
    chassis = _chassis_or_404(club, public_id)
    form = ChassisForm(request.POST or None, club=club, chassis=chassis)
    context = {"form": form, "chassis": chassis}
    if request.method == "POST" and form.is_valid() and "look" not in request.POST:
        version = form.cleaned_data["version"]
        try:
            services.change_chassis(chassis=chassis, content=form.content, version=version, by=request.user)
        except Refused as refusal:
            form.add_error("name" if isinstance(refusal, ChassisNameTaken) else None, str(refusal))
            if isinstance(refusal, ChangedMeanwhile):
                let_save_over(form, version=chassis_version(chassis))
            return _page(request, "chassis_form", context, status=409)
        messages.success(request, _("{chassis} is saved.").format(chassis=chassis))
        return redirect("chassis-detail", club.slug, public_id)
    return _page(request, "chassis_form", context, status=_status(request, form))


def _status(request: HttpRequest, form: ChassisForm) -> int:
    return 422 if form.is_bound and not ("look" in request.POST and form.is_valid()) else 200


@club_page(BENCH, methods=("POST",))
def chassis_echo(request: HttpRequest, club: Club) -> HttpResponse:
    """What follows from the sizes in the form; saves nothing."""
    form = ChassisForm(request.POST, club=club)
    form.is_valid()
    return _page(request, "_follows", {"follows": form.follows})


@club_page(BENCH)
def chassis_detail(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """A chassis as measured, and what follows."""
    chassis = _chassis_or_404(club, public_id)
    context = {
        "chassis": chassis,
        "groups": sizes_shown(chassis, decimal_mark=club.decimal_mark),
        "follows": follows_of(chassis.sizes, chassis.runs_free, decimal_mark=club.decimal_mark),
    }
    return _page(request, "chassis_detail", context)
