"""Pages of job tickets: what is due, one ticket with its lines, its form and its paper."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseBadRequest
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django_tables2 import RequestConfig

from inspection.clubs.access import club_page
from inspection.clubs.documents import table_export
from inspection.clubs.errors import ChangedMeanwhile, Refused
from inspection.clubs.forms import let_save_over
from inspection.jobtickets import services
from inspection.jobtickets.documents import print_job
from inspection.jobtickets.forms import JobForm, LineForm
from inspection.jobtickets.selectors import (
    CALLED_OFF,
    COLLECTED,
    DONE,
    OPEN,
    STATE_WORDS,
    due_counts,
    is_closed,
    job_loaded,
    job_version,
    jobs_of,
    lines_of,
    parts_to_use,
    state_of,
    sums_of,
)
from inspection.jobtickets.tables import JobTable
from inspection.models import Club, JobLine, JobTicket

SHOP = "club.keep_shop"


def _page(request: HttpRequest, name: str, context: dict[str, Any], status: int = 200) -> HttpResponse:
    return render(request, f"inspection/jobtickets/{name}.html", {"here": "bench"} | context, status=status)


def _job_or_404(club: Club, public_id: str) -> JobTicket:
    return get_object_or_404(job_loaded(club), public_id=public_id)


@club_page(SHOP)
def job_list(request: HttpRequest, club: Club) -> HttpResponse:
    """What is due, overdue first; those that are over when asked for, and in the file."""
    on = timezone.localdate()
    jobs = jobs_of(club, on)
    shows_all = "all" in request.GET or "export" in request.GET
    table = JobTable(jobs if shows_all else jobs.filter(rank__lt=3), club=club, on=on)
    RequestConfig(request, paginate={"per_page": 100}).configure(table)
    if response := table_export(table, request, _("job tickets")):
        return response
    return _page(request, "job_list", {"table": table, "shows_all": shows_all, "counts": due_counts(club, on)})


@club_page(SHOP, methods=("GET", "POST"))
def job_create(request: HttpRequest, club: Club) -> HttpResponse:
    """Work is agreed with somebody."""
    form = JobForm(request.POST or None, club=club)
    if request.method == "POST" and form.is_valid():
        ticket = services.open_job(club=club, content=form.content, by=request.user)
        messages.success(request, _("Ticket {number} is open.").format(number=ticket.number))
        return redirect("job-detail", club.slug, ticket.public_id)
    return _page(request, "job_form", {"form": form}, status=422 if form.is_bound else 200)


@club_page(SHOP, methods=("GET", "POST"))
def job_edit(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """What was agreed has changed; who saves second is told."""
    ticket = _job_or_404(club, public_id)
    form = JobForm(request.POST or None, club=club, ticket=ticket)
    context = {"form": form, "ticket": ticket}
    if request.method == "POST" and form.is_valid():
        version = form.cleaned_data["version"]
        try:
            services.change_job(ticket=ticket, content=form.content, version=version, by=request.user)
        except Refused as refusal:
            form.add_error(None, str(refusal))
            if isinstance(refusal, ChangedMeanwhile):
                let_save_over(form, version=job_version(ticket))
            return _page(request, "job_form", context, status=409)
        messages.success(request, _("Ticket {number} is saved.").format(number=ticket.number))
        return redirect("job-detail", club.slug, public_id)
    return _page(request, "job_form", context, status=422 if form.is_bound else 200)


@club_page(SHOP)
def job_detail(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """A ticket: what was agreed, what went in, what it comes to, what is next."""
    return _detail(request, club, _job_or_404(club, public_id), LineForm(club=club))


@club_page(SHOP, methods=("POST",))
def job_line_create(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """A part or labor; a part that is not there is refused with words."""
    ticket = _job_or_404(club, public_id)
    form = LineForm(request.POST, club=club)
    if not form.is_valid():
        return _detail(request, club, ticket, form, status=422)
    given = form.cleaned_data
    said = {"ticket": ticket, "quantity": given["quantity"], "by": request.user}
    try:
        if form.found is not None:
            services.use_part(part=form.found, price=given["price"], **said)
        else:
            services.add_labor(text=given["text"], price=given["price"] or 0, **said)
    except Refused as refusal:
        form.add_error(None, str(refusal))
        return _detail(request, club, ticket, form, status=409)
    return redirect("job-detail", club.slug, public_id)


@club_page(SHOP, methods=("POST",))
def job_line_take_back(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """A line counts no longer, and its part is in stock again."""
    line = get_object_or_404(JobLine.objects.of(club).select_related("ticket"), public_id=public_id)
    try:
        services.take_back_line(line=line, by=request.user)
    except Refused as refusal:
        form = LineForm(club=club)
        context = {"refused": str(refusal)}
        return _detail(request, club, _job_or_404(club, line.ticket.public_id), form, status=409, **context)
    messages.success(request, _("“{what}” is taken back.").format(what=line.text))
    return redirect("job-detail", club.slug, line.ticket.public_id)


@club_page(SHOP, methods=("POST",))
def job_state(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Done, collected, called off, or open again."""
    ticket = _job_or_404(club, public_id)
    state = request.POST.get("state", "")
    if state not in {DONE, COLLECTED, CALLED_OFF, OPEN}:
        return HttpResponseBadRequest()
    try:
        services.set_state(ticket=ticket, state=state, by=request.user)
    except Refused as refusal:
        return _detail(request, club, ticket, LineForm(club=club), status=409, refused=str(refusal))
    told = _("Ticket {number}: {state}.").format(number=ticket.number, state=STATE_WORDS[state])
    messages.success(request, told)
    return redirect("job-detail", club.slug, public_id)


@club_page(SHOP)
def job_print(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """The customer's paper."""
    return print_job(request, _job_or_404(club, public_id))


def _detail(
    request: HttpRequest, club: Club, ticket: JobTicket, form: LineForm, status: int = 200, **more: Any
) -> HttpResponse:
    state = state_of(ticket, timezone.localdate())
    context = {
        "ticket": ticket,
        "state": state,
        "state_words": STATE_WORDS[state],
        "is_closed": is_closed(ticket),
        "lines": lines_of(ticket),
        "sums": sums_of(ticket),
        "form": form,
        "parts": [] if is_closed(ticket) else parts_to_use(club),
    }
    return _page(request, "job_detail", context | more, status)
