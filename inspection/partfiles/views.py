"""Parts in from a file and out as one."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from inspection.clubs.access import club_page
from inspection.clubs.documents import rows_export
from inspection.clubs.errors import Refused
from inspection.clubs.imports import TableFile, read_table
from inspection.models import Club
from inspection.partfiles.documents import parts_rows
from inspection.partfiles.forms import PartFileForm, PartRowsForm
from inspection.partfiles.imports import read_rows, rows_text
from inspection.partfiles.selectors import CHANGED, NEW, SAME, WRONG, columns_of, plan_parts
from inspection.partfiles.services import bring_in_parts
from inspection.parts.selectors import parts_of

MOST_SHOWN = 200  # rows of each outcome; a file of thousands stays readable


def _page(request: HttpRequest, name: str, context: dict[str, Any], status: int = 200) -> HttpResponse:
    return render(request, f"inspection/partfiles/{name}.html", {"here": "bench"} | context, status=status)


@club_page("club.view_private")
def part_export(request: HttpRequest, club: Club) -> HttpResponse:
    """Every part with every size, as CSV or XLSX."""
    headers, rows = parts_rows(club, parts_of(club))
    response = rows_export(request, _("parts"), headers, rows)
    if response is None:
        raise Http404
    return response


@club_page("club.use_bench", methods=("GET", "POST"))
def part_import(request: HttpRequest, club: Club) -> HttpResponse:
    """First the file, then row by row what would come in of it, then all of it or nothing."""
    if "rows" in request.POST:
        return _bring_in(request, club)
    form = PartFileForm(request.POST or None, request.FILES or None)
    if request.method == "POST" and form.is_valid():
        try:
            return _preview(request, club, read_table(form.cleaned_data["file"]))
        except Refused as refusal:
            form.add_error("file", str(refusal))
    return _page(request, "part_import", {"form": form}, status=422 if request.method == "POST" else 200)


def _bring_in(request: HttpRequest, club: Club) -> HttpResponse:
    sent = PartRowsForm(request.POST)
    try:
        table = read_rows(request.POST["rows"])
        counts = bring_in_parts(club=club, table=table, by=request.user)
    except Refused as refusal:
        sent.add_error(None, str(refusal))
        return _page(request, "part_import", {"form": PartFileForm(), "told": sent}, status=409)
    words = _("{new} parts are new, {changed} are changed, {same} stand as they were.")
    messages.success(request, words.format(**counts))
    return redirect("part-list", club.slug)


def _preview(request: HttpRequest, club: Club, table: TableFile) -> HttpResponse:
    lines = plan_parts(club, table)
    _columns, unread = columns_of(table)
    groups = []
    for outcome, title in (
        (WRONG, _("Cannot come in")),
        (NEW, _("New parts")),
        (CHANGED, _("Changes of parts that stand")),
        (SAME, _("As they stand")),
    ):
        found = [line for line in lines if line.outcome == outcome]
        more = max(0, len(found) - MOST_SHOWN)
        groups.append(
            {"outcome": outcome, "title": title, "count": len(found), "lines": found[:MOST_SHOWN], "more": more}
        )
    wrong, new, changed, _same = (group["count"] for group in groups)
    form = PartRowsForm(initial={"rows": rows_text(table)})
    context = {"form": form, "groups": groups, "name": table.name, "unread": unread}
    return _page(request, "part_preview", context | {"can_come_in": not wrong and new + changed > 0})
