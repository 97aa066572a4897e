"""Pages of the shared lists."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django_tables2 import RequestConfig

from inspection.choicelists.forms import ListForm, ReviseForm
from inspection.choicelists.selectors import list_rows, newest_revision, revisions_of, uses_of
from inspection.choicelists.services import create_choice_list, revise_choice_list
from inspection.choicelists.tables import ChoiceListTable
from inspection.clubs.access import club_page
from inspection.clubs.documents import table_export
from inspection.clubs.errors import Refused
from inspection.models import ChoiceList, Club

WRITE, STAFF = "club.write_rules", "club.view_private"


def _page(request: HttpRequest, name: str, context: dict[str, Any], status: int = 200) -> HttpResponse:
    return render(request, f"inspection/choicelists/{name}.html", {"here": "rulesheet-list"} | context, status=status)


def _list(club: Club, public_id: str) -> ChoiceList:
    return get_object_or_404(ChoiceList.objects.of(club).select_related("keyed_by", "club"), public_id=public_id)


@club_page(public=True)
def choicelist_list(request: HttpRequest, club: Club) -> HttpResponse:
    rows = list_rows(club)
    table = ChoiceListTable(rows, club=club)
    RequestConfig(request, paginate={"per_page": 50}).configure(table)
    export = table_export(table, request, _("lists"))
    return export or _page(request, "choicelist_list", {"table": table, "rows": rows})


@club_page(public=True)
def choicelist_detail(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """The newest revision, or `?revision=` by its number."""
    choice_list = _list(club, public_id)
    revisions = revisions_of(choice_list)
    wanted = request.GET.get("revision", "")
    shown = next((one for one in revisions if str(one.number) == wanted), revisions[0] if revisions else None)
    uses = uses_of(choice_list)
    if not request.user.has_perm(STAFF, club):
        uses = [use for use in uses if use.revision.is_published]
    context = {"choice_list": choice_list, "revisions": revisions, "shown": shown, "uses": uses}
    return _page(request, "choicelist_detail", context)


@club_page(WRITE, methods=("GET", "POST"))
def choicelist_create(request: HttpRequest, club: Club) -> HttpResponse:
    form = ListForm(request.POST or None, club=club)
    if request.method == "POST" and form.is_valid():
        try:
            revision = create_choice_list(club=club, by=request.user, **form.cleaned_data)
        except Refused as refusal:
            form.add_error("name", str(refusal))
            return _page(request, "choicelist_create", {"form": form}, status=409)
        messages.success(request, _("The list is there. Name it in the clauses that use it."))
        return redirect("choicelist-detail", club.slug, revision.choice_list.public_id)
    return _page(request, "choicelist_create", {"form": form}, status=422 if form.is_bound else 200)


@club_page(WRITE, methods=("GET", "POST"))
def choicelist_edit(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    choice_list = _list(club, public_id)
    newest = newest_revision(choice_list)
    form = ReviseForm(request.POST or None, revision=newest)
    context = {"form": form, "choice_list": choice_list, "newest": newest}
    if request.method == "POST" and form.is_valid():
        try:
            made = revise_choice_list(choice_list=choice_list, by=request.user, **form.cleaned_data)
        except Refused as refusal:
            form.add_error(None, str(refusal))
            form.show_base(newest.number)
            return _page(request, "choicelist_edit", context, status=409)
        messages.success(request, _("Revision {number} of the list is saved.").format(number=made.number))
        return redirect("choicelist-detail", club.slug, public_id)
    return _page(request, "choicelist_edit", context, status=422 if form.is_bound else 200)
