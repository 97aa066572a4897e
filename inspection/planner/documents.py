"""A bench sheet's drawings, chart and plan on paper."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.translation import gettext as _

from inspection.benchoutcomes.selectors import outcome_of
from inspection.lapforecasts.pictures import draw_trace
from inspection.lapforecasts.selectors import Assumptions, forecast_of
from inspection.models import BenchSheet
from inspection.papers.documents import page_address, paper
from inspection.planner.pictures import draw_chart
from inspection.planner.selectors import PlanPage


def print_plan(request: HttpRequest, sheet: BenchSheet, plan: PlanPage) -> HttpResponse:
    """A4 or Letter. Its code leads to the planner's page."""
    club = sheet.car.club
    context = {
        "plan": plan,
        "print_style": "inspection/planner/_print_style.html",
        "sheet": sheet,
        "car": sheet.car,
        "pictures": outcome_of(sheet).pictures,
        "chart": draw_chart(plan.chart) if plan.chart else None,
        "address": page_address(request, reverse("planner", args=[club.slug, sheet.public_id])),
        **_trace(sheet),
    }
    name = _("drawings car {number} sheet {sheet}").format(number=sheet.car.number, sheet=sheet.number)
    return paper(request, "print/bench_plan.html", context, file_name=name)


def _trace(sheet: BenchSheet) -> dict[str, Any]:
    """The lap of the sheet's own gears on the first lane on which one can be predicted."""
    forecast = forecast_of(sheet, Assumptions())
    for lane in forecast.lanes:
        lap = forecast.lap_on(lane) if lane.own is not None else None
        if lap is not None:
            return {"shown": lane, "trace": draw_trace(lap, lane.stretches, decimal_mark=sheet.car.club.decimal_mark)}
    return {}
