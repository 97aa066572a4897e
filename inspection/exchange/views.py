"""Bring a rule sheet in from a file, and publish the schema of such files."""

from typing import Any

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from inspection.clauses.selectors import problems_of
from inspection.clubs.access import club_page
from inspection.clubs.errors import Refused
from inspection.exchange.forms import SheetConfirmForm, SheetFileForm
from inspection.exchange.selectors import SheetContent, schema_text
from inspection.exchange.services import create_from_content
from inspection.models import Club
from inspection.wording.selectors import limit_words


def _page(request: HttpRequest, name: str, context: dict[str, Any], status: int = 200) -> HttpResponse:
    context = {"here": "rulesheet-list"} | context
    return render(request, f"inspection/exchange/{name}.html", context, status=status)


@club_page("club.write_rules", methods=("GET", "POST"))
def rulesheet_import(request: HttpRequest, club: Club) -> HttpResponse:
    """First the file, then what would come in of it, then all of it or nothing."""
    if "document" in request.POST:
        return _bring_in(request, club)
    sent = (request.POST, request.FILES) if request.method == "POST" else ()
    form = SheetFileForm(*sent, club=club)
    if request.method == "POST" and form.is_valid():
        text, content = form.cleaned_data["file"]
        confirm = SheetConfirmForm(club=club, initial={"name": content.name, "document": text})
        return _preview(request, club, confirm, content)
    return _page(request, "rulesheet_import", {"form": form}, status=422 if form.is_bound else 200)


def _bring_in(request: HttpRequest, club: Club) -> HttpResponse:
    form = SheetConfirmForm(request.POST, club=club)
    if not form.is_valid():
        if "content" not in form.cleaned_data:
            return _page(request, "rulesheet_import", {"form": SheetFileForm(club=club), "confirm": form}, status=422)
        return _preview(request, club, form, form.cleaned_data["content"], status=422)
    content, name = form.cleaned_data["content"], form.cleaned_data["name"]
    try:
        revision = create_from_content(club=club, content=content, name=name, by=request.user)
    except Refused as refusal:
        form.add_error("name", str(refusal))
        return _preview(request, club, form, content, status=409)
    messages.success(request, _("The sheet has come in as a draft. Read it through, then publish."))
    return redirect("revision-edit", club.slug, revision.public_id)


def _preview(
    request: HttpRequest, club: Club, form: SheetConfirmForm, content: SheetContent, status: int = 200
) -> HttpResponse:
    clauses = [clause for _lasting_id, clause in content.clauses]
    rows = [
        {"clause": clause, "limit": limit_words(clause, decimal_mark=club.decimal_mark), "problems": problems}
        for clause, problems in zip(clauses, problems_of(clauses), strict=True)
    ]
    return _page(request, "rulesheet_preview", {"form": form, "content": content, "rows": rows}, status=status)


@login_not_required
@require_safe
def rule_sheet_schema(request: HttpRequest) -> HttpResponse:
    return HttpResponse(schema_text(), content_type="application/schema+json")
