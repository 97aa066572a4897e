"""Pages of the planner of a bench sheet."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from inspection.benchsheets.selectors import sheets_of
from inspection.clubs.access import club_page
from inspection.lapforecasts.selectors import lanes_of
from inspection.models import Club
from inspection.planner.documents import print_plan
from inspection.planner.forms import WantedForm
from inspection.planner.pictures import draw_chart
from inspection.planner.selectors import Wanted, plan_of
from inspection.planner.services import take_proposal

BENCH = "club.use_bench"


@club_page(BENCH)
def planner(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """What else the car could be built of, and what comes of it."""
    sheet = get_object_or_404(sheets_of(club), public_id=public_id)
    form = WantedForm(request.GET or None, club=club, lanes=lanes_of(sheet))
    wanted = form.wanted
    plan = plan_of(sheet, wanted) if wanted else None
    context = {
        "here": "bench",
        "sheet": sheet,
        "car": sheet.car,
        "form": form,
        "plan": plan,
        "chart": draw_chart(plan.chart) if plan and plan.chart else None,
    }
    return render(request, "inspection/planner/planner.html", context, status=200 if wanted else 422)


@club_page(BENCH)
def planner_print(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """The drawings of a sheet, its chart, the speed of a lap on its first lane, and the best lines, on paper."""
    sheet = get_object_or_404(sheets_of(club), public_id=public_id)
    wanted = WantedForm(request.GET or None, club=club, lanes=lanes_of(sheet)).wanted or Wanted()
    return print_plan(request, sheet, plan_of(sheet, wanted))


@club_page(BENCH, methods=("POST",))
def planner_take(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Build what a line proposes: the car's next sheet."""
    sheet = get_object_or_404(sheets_of(club), public_id=public_id)
    sent = {name: str(value) for name, value in request.POST.items()}
    parts = {name.removeprefix("part-"): value for name, value in sent.items() if name.startswith("part-")}
    laid = {name.removeprefix("spacer-"): value for name, value in sent.items() if name.startswith("spacer-")}
    spacers = {place: [key for key in value.split(",") if key] for place, value in laid.items()}
    made = take_proposal(sheet=sheet, parts=parts, spacers=spacers, by=request.user)
    messages.success(request, _("Sheet {number} is saved, with these parts.").format(number=made.number))
    return redirect("bench-sheet-detail", club.slug, made.public_id)
