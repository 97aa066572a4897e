"""Pages of the register: what can be measured, counted or seen on a car."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django_tables2 import RequestConfig

from inspection.clubs.access import club_page
from inspection.clubs.documents import table_export
from inspection.clubs.errors import Refused
from inspection.gauges.selectors import characteristics_of, version_of
from inspection.gauges.services import change_characteristic, create_characteristic, install_register
from inspection.gauges.tables import CharacteristicTable
from inspection.models import Characteristic, Club
from inspection.register.forms import CharacteristicForm

WRITE, STAFF = "club.write_rules", "club.view_private"


def _page(request: HttpRequest, name: str, context: dict[str, Any], status: int = 200) -> HttpResponse:
    return render(request, f"inspection/register/{name}.html", {"here": "rulesheet-list"} | context, status=status)


@club_page(STAFF)
def characteristic_list(request: HttpRequest, club: Club) -> HttpResponse:
    rows = characteristics_of(club)
    table = CharacteristicTable(rows, club=club, may_write=request.user.has_perm(WRITE, club))
    RequestConfig(request, paginate={"per_page": 100}).configure(table)
    export = table_export(table, request, _("characteristics"))
    return export or _page(request, "characteristic_list", {"table": table})


@club_page(WRITE, methods=("GET", "POST"))
def characteristic_create(request: HttpRequest, club: Club) -> HttpResponse:
    form = CharacteristicForm(request.POST or None, club=club)
    if request.method == "POST" and form.is_valid():
        try:
            made = create_characteristic(club=club, content=form.content(), by=request.user)
        except Refused as refusal:
            form.add_error("name", str(refusal))
            return _page(request, "characteristic_form", {"form": form}, status=409)
        messages.success(request, _("{name} is in the register.").format(name=made.name))
        return redirect("characteristic-list", club.slug)
    return _page(request, "characteristic_form", {"form": form}, status=422 if form.is_bound else 200)


@club_page(WRITE, methods=("GET", "POST"))
def characteristic_edit(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    found = get_object_or_404(Characteristic.objects.of(club).select_related("club"), public_id=public_id)
    form = CharacteristicForm(request.POST or None, club=club, characteristic=found)
    context = {"form": form, "characteristic": found}
    if request.method == "POST" and form.is_valid():
        version = form.cleaned_data["version"]
        try:
            change_characteristic(characteristic=found, content=form.content(), version=version, by=request.user)
        except Refused as refusal:
            form.add_error(None, str(refusal))
            form.show_version(version_of(found))
            return _page(request, "characteristic_form", context, status=409)
        messages.success(request, _("{name} is saved.").format(name=form.cleaned_data["name"]))
        return redirect("characteristic-list", club.slug)
    return _page(request, "characteristic_form", context, status=422 if form.is_bound else 200)


@club_page(WRITE, methods=("POST",))
def register_install(request: HttpRequest, club: Club) -> HttpResponse:
    made = install_register(club=club, by=request.user)
    messages.success(request, _("{count} entries are added.").format(count=made))
    return redirect("characteristic-list", club.slug)
