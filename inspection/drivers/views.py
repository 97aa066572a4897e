"""Pages of drivers."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django_tables2 import RequestConfig

from inspection.clubs.access import club_page
from inspection.clubs.documents import table_export
from inspection.clubs.errors import ChangedMeanwhile, Refused
from inspection.drivers import services
from inspection.drivers.forms import DriverForm, LinkForm, SpellingDropForm, SpellingForm
from inspection.drivers.selectors import driver_card, driver_rows
from inspection.drivers.tables import DriverTable
from inspection.models import Club, Driver

MANAGE, READ = "club.manage_drivers", "club.view_private"


def _page(request: HttpRequest, name: str, context: dict[str, Any], status: int = 200) -> HttpResponse:
    return render(request, f"inspection/drivers/{name}.html", {"here": "driver-list"} | context, status=status)


def driver_or_404(club: Club, public_id: str) -> Driver:
    return get_object_or_404(Driver.objects.of(club).select_related("club", "user"), public_id=public_id)


@club_page(READ)
def driver_list(request: HttpRequest, club: Club) -> HttpResponse:
    """Who drives here: those who come, and apart those who no longer do."""
    letters = request.GET.get("q", "").strip()[:120]
    rows = driver_rows(club, letters)
    if request.GET.get("export"):
        response = table_export(DriverTable(rows, club=club, for_file=True), request, _("drivers"))
        if response is not None:
            return response
    found = list(rows)
    table = DriverTable([row for row in found if row.is_active], club=club)
    RequestConfig(request, paginate={"per_page": 100}).configure(table)
    gone = [row for row in found if not row.is_active]
    return _page(request, "driver_list", {"table": table, "gone": gone, "letters": letters, "found": found})


@club_page(MANAGE, methods=("GET", "POST"))
def driver_create(request: HttpRequest, club: Club) -> HttpResponse:
    """A new driver, unless it is somebody the club knows."""
    initial = {"name": request.GET.get("name", "")[:120]}
    form = DriverForm(request.POST or None, club=club, initial=initial)
    if request.method == "POST" and form.is_valid():
        try:
            driver = services.create_driver(club=club, content=form.content, by=request.user)
        except Refused as refusal:
            form.add_error("name", str(refusal))
            return _page(request, "driver_form", {"form": form}, status=409)
        messages.success(request, _("{name} is entered.").format(name=driver.name))
        return redirect("driver-detail", club.slug, driver.public_id)
    return _page(request, "driver_form", {"form": form}, status=_status(form))


@club_page(MANAGE, methods=("GET", "POST"))
def driver_edit(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Change a driver; who saves second sees what stands now."""
    driver = driver_or_404(club, public_id)
    form = DriverForm(request.POST or None, club=club, driver=driver)
    context = {"form": form, "driver": driver}
    if request.method == "POST" and form.is_valid():
        version = form.cleaned_data["version"]
        try:
            services.change_driver(driver=driver, content=form.content, version=version, by=request.user)
        except Refused as refusal:
            form.add_error(None, str(refusal))
            form.show_version(services.driver_version(driver))
            context["stands_now"] = driver if isinstance(refusal, ChangedMeanwhile) else None
            return _page(request, "driver_form", context, status=409)
        messages.success(request, _("{name} is saved.").format(name=form.cleaned_data["name"]))
        return redirect("driver-detail", club.slug, public_id)
    return _page(request, "driver_form", context, status=_status(form))


def _status(form: DriverForm) -> int:
    """422 for a form that was sent and not taken; 409 where it collides with somebody else."""
    return 409 if form.near else 422 if form.is_bound else 200


@club_page(READ)
def driver_detail(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    return _driver_page(request, driver_or_404(club, public_id))


def _driver_page(request: HttpRequest, driver: Driver, *, status: int = 200, **forms: Any) -> HttpResponse:
    context: dict[str, Any] = {"driver": driver, "card": driver_card(driver)}
    if request.user.has_perm(MANAGE, driver.club):
        context |= {"spelling_form": SpellingForm(), "link_form": LinkForm(driver=driver)}
    return _page(request, "driver_detail", context | forms, status)


@club_page(MANAGE, methods=("POST",))
def spelling_accept(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """One more spelling of a driver's name, from the driver's page or from the form of a newcomer who is none."""
    driver = driver_or_404(club, public_id)
    form = SpellingForm(request.POST)
    if form.is_valid():
        try:
            services.accept_spelling(driver=driver, name=form.cleaned_data["name"], by=request.user)
        except Refused as refusal:
            form.add_error("name", str(refusal))
            return _driver_page(request, driver, status=409, spelling_form=form)
        words = _("“{spelling}” is {name} from now on.")
        messages.success(request, words.format(spelling=form.cleaned_data["name"], name=driver.name))
        return redirect("driver-detail", club.slug, public_id)
    return _driver_page(request, driver, status=422, spelling_form=form)


@club_page(MANAGE, methods=("POST",))
def spelling_drop(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """A spelling is this driver's no longer."""
    driver = driver_or_404(club, public_id)
    form = SpellingDropForm(request.POST, driver=driver)
    if not form.is_valid():
        messages.error(request, _("That spelling is not there any more."))
        return _driver_page(request, driver, status=422)
    services.drop_spelling(spelling=form.cleaned_data["spelling"], by=request.user)
    messages.success(request, _("The spelling is dropped."))
    return redirect("driver-detail", club.slug, public_id)


@club_page(MANAGE, methods=("POST",))
def driver_link(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Say who signs in as this driver, or that nobody does."""
    driver = driver_or_404(club, public_id)
    form = LinkForm(request.POST, driver=driver)
    if not form.is_valid():
        return _driver_page(request, driver, status=422, link_form=form)
    services.link_user(driver=driver, user=form.cleaned_data["user"], by=request.user)
    messages.success(request, _("Saved."))
    return redirect("driver-detail", club.slug, public_id)
