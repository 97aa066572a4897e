"""Pages on which the clauses of a draft are written."""

import uuid
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from inspection.clauses.selectors import CLAUSE_PARTS, clauses_of, next_clause_number, problems_of
from inspection.clauses.services import add_clause, change_clause, delete_clause, move_clause
from inspection.clubs.access import club_page
from inspection.clubs.errors import ChangedMeanwhile, Refused
from inspection.contents.selectors import LIMIT_NAMES, ClauseContent, content_of, version_of
from inspection.drafting.forms import ClauseForm
from inspection.families.selectors import parent_of
from inspection.models import Clause, Club, RuleSheetRevision
from inspection.wording.selectors import limit_words

WRITE = "club.write_rules"


def _revision(club: Club, public_id: str) -> RuleSheetRevision:
    found = RuleSheetRevision.objects.of(club).select_related("rule_sheet__racing_class", "rule_sheet__club")
    return get_object_or_404(found, public_id=public_id)


def _clause(club: Club, public_id: str, lasting_id: uuid.UUID) -> Clause:
    found = Clause.objects.filter(revision__rule_sheet__club=club, revision__public_id=public_id)
    return get_object_or_404(found.select_related("revision__rule_sheet__club", *CLAUSE_PARTS), lasting_id=lasting_id)


def _back(club: Club, revision: RuleSheetRevision, clause: Clause | None = None) -> HttpResponse:
    anchor = f"#clause-{clause.lasting_id}" if clause else ""
    return redirect(reverse("revision-edit", args=[club.slug, revision.public_id]) + anchor)


def _page(
    request: HttpRequest, form: ClauseForm, revision: RuleSheetRevision, status: int = 200, **more: Any
) -> HttpResponse:
    clause = form.clause
    stands = limit_words(clause, decimal_mark=form.club.decimal_mark) if clause else ""
    context = {"form": form, "revision": revision, "clause": clause, "understood": stands, "here": "rulesheet-list"}
    return render(request, "inspection/drafting/clause_form.html", context | more, status=status)


def _general_clause(revision: RuleSheetRevision, lasting_id: str) -> Clause | None:
    """The clause of the general sheet under a draft by its lasting id."""
    parent = parent_of(revision)
    found = [one for one in clauses_of(parent) if str(one.lasting_id) == lasting_id] if parent else []
    return found[0] if found else None


@club_page(WRITE, methods=("GET", "POST"))
def create(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """A new clause; `?of=` names the general sheet's clause that it stands for, which it begins with."""
    revision = _revision(club, public_id)
    general = _general_clause(revision, request.GET["of"]) if "of" in request.GET else None
    start = content_of(general) if general else None
    initial = {} if start else {"number": next_clause_number(revision)}
    form = ClauseForm(request.POST or None, club=club, start=start, initial=initial)
    if request.method == "POST" and form.is_valid():
        kept = general.lasting_id if general else None
        try:
            clause = add_clause(revision=revision, content=form.content(), lasting_id=kept, by=request.user)
        except Refused as refusal:
            form.add_error(None, str(refusal))
            return _page(request, form, revision, status=409, general=general)
        messages.success(request, _("Clause {number} is added.").format(number=clause.number))
        return redirect("clause-create", club.slug, public_id) if "another" in request.POST else _back(club, revision)
    return _page(request, form, revision, status=422 if form.is_bound else 200, general=general)


@club_page(WRITE, methods=("POST",))
def strike(request: HttpRequest, club: Club, public_id: str, lasting_id: uuid.UUID) -> HttpResponse:
    """The general sheet's clause does not apply to this class."""
    revision = _revision(club, public_id)
    general = _general_clause(revision, str(lasting_id))
    if general is None:
        raise Http404
    content = ClauseContent(number=general.number, text="", is_struck=True)
    add_clause(revision=revision, content=content, lasting_id=lasting_id, by=request.user)
    messages.success(
        request, _("Clause {number} of the general sheet does not apply here.").format(number=general.number)
    )
    return _back(club, revision)


@club_page(WRITE, methods=("GET", "POST"))
def edit(request: HttpRequest, club: Club, public_id: str, lasting_id: uuid.UUID) -> HttpResponse:
    clause = _clause(club, public_id, lasting_id)
    form = ClauseForm(request.POST or None, club=club, clause=clause)
    if request.method == "POST" and form.is_valid():
        version = form.cleaned_data["version"]
        try:
            change_clause(clause=clause, content=form.content(), version=version, by=request.user)
        except Refused as refusal:
            form.add_error(None, str(refusal))
            form.show_version(version_of(clause))
            changed = isinstance(refusal, ChangedMeanwhile)
            return _page(request, form, clause.revision, status=409, stands_now=clause if changed else None)
        messages.success(request, _("Clause {number} is saved.").format(number=form.cleaned_data["number"]))
        return _back(club, clause.revision, clause)
    return _page(request, form, clause.revision, status=422 if form.is_bound else 200)


@club_page(WRITE, methods=("GET", "POST"))
def delete(request: HttpRequest, club: Club, public_id: str, lasting_id: uuid.UUID) -> HttpResponse:
    clause = _clause(club, public_id, lasting_id)
    if request.method == "POST":
        delete_clause(clause=clause, by=request.user)
        messages.success(request, _("Clause {number} is deleted; the log keeps it.").format(number=clause.number))
        return _back(club, clause.revision)
    limit = limit_words(clause, decimal_mark=club.decimal_mark)
    context = {"clause": clause, "limit": limit, "revision": clause.revision, "here": "rulesheet-list"}
    return render(request, "inspection/drafting/clause_delete.html", context)


@club_page(WRITE, methods=("POST",))
def move(request: HttpRequest, club: Club, public_id: str, lasting_id: uuid.UUID) -> HttpResponse:
    clause = _clause(club, public_id, lasting_id)
    move_clause(clause=clause, places=-1 if request.POST.get("to") == "up" else 1, by=request.user)
    return _back(club, clause.revision, clause)


@club_page(WRITE, methods=("POST",))
def echo(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """How what is typed would be understood, while it is typed; nothing is saved."""
    _revision(club, public_id)
    form = ClauseForm(request.POST, club=club)
    form.is_valid()
    unread = [error for name in (*LIMIT_NAMES, "factor", "offset", "allowance") for error in form.errors.get(name, [])]
    content = form.content()
    context = {
        "understood": limit_words(content, decimal_mark=club.decimal_mark),
        "problems": [] if unread else problems_of([content])[0],
        "unread": unread,
    }
    return render(request, "inspection/drafting/_understood.html", context)
