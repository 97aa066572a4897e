"""Pages of runs: a car's runs, one of them, two side by side."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from inspection.cars.views import car_or_404
from inspection.clubs.access import club_page
from inspection.clubs.errors import ChangedMeanwhile, Refused
from inspection.clubs.forms import let_save_over
from inspection.models import Club
from inspection.runs import services
from inspection.runs.documents import run_list_export
from inspection.runs.forms import CompareForm, RunForm
from inspection.runs.pictures import draw_laps
from inspection.runs.selectors import (
    best_so_far,
    compare_sides,
    line_of,
    run_version,
    runs_loaded,
    runs_of,
    side_of,
    times_of,
)

BENCH = "club.use_bench"


def _page(request: HttpRequest, name: str, context: dict[str, Any], status: int = 200) -> HttpResponse:
    return render(request, f"inspection/runs/{name}.html", {"here": "bench"} | context, status=status)


@club_page(BENCH)
def run_list(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """A car's runs, the best so far on each lane, and two to compare."""
    car = car_or_404(club, public_id)
    lines = runs_of(car)
    if response := run_list_export(request, car, lines):
        return response
    compare = CompareForm(runs=[line.run for line in lines], mark=club.decimal_mark, initial=_latest_two(lines))
    context = {"car": car, "lines": lines, "bests": best_so_far(lines), "compare": compare}
    return _page(request, "run_list", context)


def _latest_two(lines: list[Any]) -> dict[str, str]:
    keys = [f"run-{line.run.public_id}" for line in lines[:2]]
    return {"second": keys[0], "first": keys[-1]} if keys else {}


@club_page(BENCH, methods=("GET", "POST"))
def run_create(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Write down a run."""
    car = car_or_404(club, public_id)
    form = RunForm(request.POST or None, car=car, sheet=request.GET.get("sheet", "")[:20])
    if request.method == "POST" and form.is_valid():
        try:
            run = services.create_run(car=car, content=form.content, by=request.user)
        except Refused as refusal:
            form.add_error(None, str(refusal))
            return _page(request, "run_form", {"form": form, "car": car}, 409)
        messages.success(request, _("The run is written down."))
        return redirect("run-detail", club.slug, run.public_id)
    return _page(request, "run_form", {"form": form, "car": car}, 422 if form.is_bound else 200)


@club_page(BENCH)
def run_detail(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """A run: its laps, what they come to, and the other runs there."""
    run = get_object_or_404(runs_loaded(club), public_id=public_id)
    line = line_of(run)
    picture = draw_laps([("", times_of(run), line.slow)], decimal_mark=club.decimal_mark)
    return _page(request, "run_detail", {"run": run, "car": run.car, "line": line, "picture": picture})


@club_page(BENCH, methods=("GET", "POST"))
def run_edit(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Put a run right."""
    run = get_object_or_404(runs_loaded(club).select_related("car__club"), public_id=public_id)
    form = RunForm(request.POST or None, car=run.car, run=run)
    context = {"form": form, "car": run.car, "run": run}
    if request.method == "POST" and form.is_valid():
        version = form.cleaned_data["version"]
        try:
            services.change_run(run=run, content=form.content, version=version, by=request.user)
        except Refused as refusal:
            form.add_error(None, str(refusal))
            if isinstance(refusal, ChangedMeanwhile):
                let_save_over(form, version=run_version(run))
            return _page(request, "run_form", context, 409)
        messages.success(request, _("Saved."))
        return redirect("run-detail", club.slug, public_id)
    return _page(request, "run_form", context, 422 if form.is_bound else 200)


@club_page(BENCH)
def run_compare(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Two runs, or all runs of two bench sheets: who is quicker, in words first."""
    car = car_or_404(club, public_id)
    lines = runs_of(car)
    form = CompareForm(request.GET or None, runs=[line.run for line in lines], mark=club.decimal_mark)
    context: dict[str, Any] = {"car": car, "form": form, "is_same": False}
    if form.is_valid():
        first, second = (
            side_of(car, form.cleaned_data[name], label) for name, label in (("first", "A"), ("second", "B"))
        )
        found = compare_sides(first, second, decimal_mark=club.decimal_mark)
        context |= {"first": first, "second": second, "is_same": first.key == second.key}
        context["found"] = [(each, _drawn(each, club)) for each in found]
    return _page(request, "run_compare", context, 200)


def _drawn(each: Any, club: Club) -> Any:
    rows = [(label, times, ()) for label, times in zip("AB", each.times, strict=True)]
    return draw_laps(rows, decimal_mark=club.decimal_mark)
