"""Pages of gauges and of the register of characteristics."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django_tables2 import RequestConfig

from inspection.clubs.access import club_page
from inspection.clubs.documents import table_export
from inspection.clubs.errors import Refused
from inspection.gauges.forms import GaugeForm
from inspection.gauges.selectors import doubt_words, gauges_of, gauges_to_calibrate, version_of
from inspection.gauges.services import (
    change_gauge,
    create_gauge,
    restore_gauge,
    retire_gauge,
)
from inspection.gauges.tables import GaugeTable
from inspection.models import Club, Gauge

GAUGES, WRITE, STAFF = "club.manage_gauges", "club.write_rules", "club.view_private"


def _page(request: HttpRequest, name: str, context: dict[str, Any], status: int = 200) -> HttpResponse:
    return render(request, f"inspection/gauges/{name}.html", {"here": "rulesheet-list"} | context, status=status)


@club_page(GAUGES)
def gauge_list(request: HttpRequest, club: Club) -> HttpResponse:
    today = timezone.localdate()
    gauges = list(gauges_of(club))
    table = GaugeTable(gauges, club=club, today=today)
    RequestConfig(request, paginate={"per_page": 50}).configure(table)
    export = table_export(table, request, _("gauges"))
    due = gauges_to_calibrate(gauges, today)
    return export or _page(request, "gauge_list", {"table": table, "gauges": gauges, "due": due})


@club_page(GAUGES, methods=("GET", "POST"))
def gauge_create(request: HttpRequest, club: Club) -> HttpResponse:
    form = GaugeForm(request.POST or None, club=club)
    if request.method == "POST" and form.is_valid():
        try:
            gauge = create_gauge(club=club, content=form.content(), by=request.user)
        except Refused as refusal:
            form.add_error("name", str(refusal))
            return _page(request, "gauge_form", {"form": form}, status=409)
        messages.success(request, _("{name} is entered.").format(name=gauge.name))
        return redirect("gauge-list", club.slug)
    return _page(request, "gauge_form", {"form": form}, status=422 if form.is_bound else 200)


@club_page(GAUGES, methods=("GET", "POST"))
def gauge_edit(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    gauge = get_object_or_404(Gauge.objects.of(club), public_id=public_id)
    form = GaugeForm(request.POST or None, club=club, gauge=gauge)
    if request.method == "POST" and form.is_valid():
        version = form.cleaned_data["version"]
        try:
            change_gauge(gauge=gauge, content=form.content(), version=version, by=request.user)
        except Refused as refusal:
            form.add_error(None, str(refusal))
            form.show_version(version_of(gauge))
            return _gauge_page(request, club, gauge, form, status=409)
        messages.success(request, _("{name} is saved.").format(name=form.cleaned_data["name"]))
        return redirect("gauge-list", club.slug)
    return _gauge_page(request, club, gauge, form, status=422 if form.is_bound else 200)


def _gauge_page(request: HttpRequest, club: Club, gauge: Gauge, form: GaugeForm, status: int) -> HttpResponse:
    doubt = doubt_words(gauge, decimal_mark=club.decimal_mark)
    return _page(request, "gauge_form", {"form": form, "gauge": gauge, "doubt": doubt}, status=status)


@club_page(GAUGES, methods=("POST",))
def gauge_retire(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Take a gauge out of use, or back into it when it was."""
    gauge = get_object_or_404(Gauge.objects.of(club), public_id=public_id)
    if gauge.retired_at:
        restore_gauge(gauge=gauge, by=request.user)
        messages.success(request, _("{name} is back in use.").format(name=gauge.name))
    else:
        retire_gauge(gauge=gauge, by=request.user)
        messages.success(request, _("{name} is retired. What it measured stays.").format(name=gauge.name))
    return redirect("gauge-list", club.slug)
