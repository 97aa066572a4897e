"""Pages of builds: declare the next one, read any."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from inspection.builds.errors import BuildChangedMeanwhile
from inspection.builds.forms import BuildForm
from inspection.builds.selectors import build_after, build_loaded, changes_between, latest_build, specs_side_by_side
from inspection.builds.services import declare_build
from inspection.cars.selectors import spec_of
from inspection.cars.views import car_or_404
from inspection.clubs.access import club_page
from inspection.clubs.errors import Refused
from inspection.models import Build, Car, Club

MANAGE, READ = "club.manage_cars", "club.view_private"


def _page(request: HttpRequest, name: str, context: dict[str, Any], status: int = 200) -> HttpResponse:
    return render(request, f"inspection/builds/{name}.html", {"here": "car-list"} | context, status=status)


def _form(request: HttpRequest, car: Car, latest: Build | None) -> BuildForm:
    """The sheet as last time's, unless the address asks for an empty one."""
    shown = None if request.GET.get("copy") == "none" else latest
    number = latest.number if latest else 0
    return BuildForm(request.POST or None, club=car.club, shown=shown, based_on=number)


@club_page(MANAGE, methods=("GET", "POST"))
def build_create(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Declare the car's next build, starting from the last."""
    car = car_or_404(club, public_id)
    latest = latest_build(car)
    form = _form(request, car, latest)
    context: dict[str, Any] = {"form": form, "car": car, "latest": latest, "number": latest.number + 1 if latest else 1}
    if request.method == "POST" and form.is_valid():
        based_on = form.cleaned_data["based_on"]
        try:
            build = declare_build(car=car, content=form.content, based_on=based_on, by=request.user)
        except Refused as refusal:
            form.add_error(None, str(refusal))
            if isinstance(refusal, BuildChangedMeanwhile) and latest:
                form.show_based_on(latest.number)
                context["changes"] = _meanwhile(latest, based_on, club)
            return _page(request, "build_form", context, status=409)
        messages.success(request, _("Build {number} is declared.").format(number=build.number))
        return redirect("build-detail", club.slug, build.public_id)
    return _page(request, "build_form", context, status=422 if form.is_bound else 200)


def _meanwhile(latest: Build, based_on: int, club: Club) -> list[Any]:
    """What the other person's build says differently from the one that this form started from."""
    before = build_loaded(club).filter(car=latest.car_id, number=based_on).first()
    if before is None:
        return []
    return changes_between(*(spec_of(build, decimal_mark=club.decimal_mark) for build in (latest, before)))


@club_page(MANAGE, methods=("POST",))
def build_echo(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """How what stands in the form is understood, with ratio and rollout; saves nothing."""
    car = car_or_404(club, public_id)
    form = _form(request, car, latest_build(car))
    form.is_valid()
    return _page(request, "_echo", {"form": form})


@club_page(READ)
def build_detail(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """A build in both systems of measures, and what differs from the one before."""
    build = get_object_or_404(build_loaded(club), public_id=public_id)
    spec, before, changes = specs_side_by_side(build, decimal_mark=club.decimal_mark)
    context = {"build": build, "car": build.car, "spec": spec, "before": before, "changes": changes}
    return _page(request, "build_detail", context | {"after": build_after(build)})
