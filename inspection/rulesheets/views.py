"""Pages of rule sheets: read, revise, publish, compare, print and send."""

import uuid
from typing import Any

from django.contrib import messages
from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.text import slugify
from django.utils.translation import gettext as _
from django_tables2 import RequestConfig

from inspection.clauses.selectors import CLAUSE_PARTS
from inspection.clubs.access import club_page
from inspection.clubs.documents import table_export
from inspection.clubs.errors import Refused
from inspection.contents.selectors import version_of
from inspection.exchange.documents import sheet_document
from inspection.exchange.imports import starter_content
from inspection.exchange.selectors import SETTINGS
from inspection.exchange.services import class_named, create_from_content, create_rule_sheet
from inspection.families.selectors import family_of
from inspection.models import Clause, Club, RuleSheet, RuleSheetRevision
from inspection.papers.documents import page_address, paper
from inspection.rulesheets.forms import HeadForm, PublishForm, RulingForm, SheetForm
from inspection.rulesheets.selectors import (
    DraftPage,
    draft_of,
    predecessor_of,
    revisions_of,
    sheet_page,
    sheet_rows,
    shown_revision,
)
from inspection.rulesheets.services import (
    add_ruling,
    change_draft,
    copy_rule_sheet,
    discard_draft,
    publish_rule_sheet,
    start_next_draft,
)
from inspection.rulesheets.tables import RuleSheetTable
from inspection.wording.selectors import limit_words

WRITE, STAFF = "club.write_rules", "club.view_private"


def _revision(request: HttpRequest, club: Club, public_id: str) -> RuleSheetRevision:
    """A revision that this visitor may read: published, or a draft for those who work for the club."""
    found = RuleSheetRevision.objects.of(club).select_related("rule_sheet__racing_class", "rule_sheet__club")
    related = ("published_by", "rule_sheet__parent", "parent_revision__rule_sheet__club")
    revision = get_object_or_404(found.select_related(*related), public_id=public_id)
    if not revision.is_published and not request.user.has_perm(STAFF, club):
        raise Http404
    return revision


def _sheet(club: Club, public_id: str) -> RuleSheet:
    return get_object_or_404(RuleSheet.objects.of(club).select_related("racing_class", "club"), public_id=public_id)


def _page(request: HttpRequest, name: str, context: dict[str, Any], status: int = 200) -> HttpResponse:
    return render(request, f"inspection/rulesheets/{name}.html", {"here": "rulesheet-list"} | context, status=status)


@club_page(public=True)
def rulesheet_list(request: HttpRequest, club: Club) -> HttpResponse:
    is_staff = request.user.has_perm(STAFF, club)
    rows = sheet_rows(club, on=timezone.localdate(), with_drafts=is_staff)
    may_write = request.user.has_perm(WRITE, club)
    table = RuleSheetTable(rows, club=club, may_write=may_write, may_see_drafts=is_staff)
    RequestConfig(request, paginate={"per_page": 50}).configure(table)
    export = table_export(table, request, _("rule sheets"))
    return export or _page(request, "rulesheet_list", {"table": table, "rows": rows})


@club_page(public=True)
def rulesheet_detail(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """The revision in force today, else the next to come; a sheet never published leads its writers to the draft."""
    sheet = _sheet(club, public_id)
    revisions = revisions_of(sheet, with_draft=request.user.has_perm(STAFF, club))
    shown = shown_revision([one for one in revisions if one.is_published], timezone.localdate())
    if shown is None and not revisions:
        raise Http404
    shown = shown or revisions[0]
    return redirect("revision-detail", club.slug, shown.public_id)


@club_page(public=True)
def revision_detail(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    revision = _revision(request, club, public_id)
    is_staff = request.user.has_perm(STAFF, club)
    revisions = revisions_of(revision.rule_sheet, with_draft=is_staff)
    shown = sheet_page(revision, with_problems=not revision.is_published)
    context = {
        "revision": revision,
        "page": shown,
        "may_rule": revision.is_published and request.user.has_perm(WRITE, club),
        "revisions": revisions,
        "shown": shown_revision([one for one in revisions if one.is_published], timezone.localdate()),
        "draft": next((one for one in revisions if not one.is_published), None),
        "older": next((one for one in revisions if one.number < revision.number), None),
    }
    return _page(request, "revision_detail", context)


@club_page(WRITE, methods=("GET", "POST"))
def rulesheet_create(request: HttpRequest, club: Club) -> HttpResponse:
    copies = [row.shown for row in sheet_rows(club, on=timezone.localdate(), with_drafts=True)]
    form = SheetForm(request.POST or None, club=club, copies=copies)
    if request.method == "POST" and form.is_valid():
        try:
            revision = _begin(club, request, form.cleaned_data)
        except Refused as refusal:
            form.add_error(None, str(refusal))
            return _page(request, "rulesheet_create", {"form": form}, status=409)
        messages.success(request, _("The draft is there. Write its clauses, then publish."))
        return redirect("revision-edit", club.slug, revision.public_id)
    return _page(request, "rulesheet_create", {"form": form}, status=422 if form.is_bound else 200)


@transaction.atomic  # a class that is named anew comes with its sheet or not at all
def _begin(club: Club, request: HttpRequest, typed: dict[str, Any]) -> RuleSheetRevision:
    named = {"name": typed["name"], "racing_class": _class(club, typed), "by": request.user}
    if typed["starter"]:
        return create_from_content(club=club, content=starter_content(club=club, code=typed["starter"]), **named)
    if typed["source"]:
        return copy_rule_sheet(source=typed["source"], **named)
    return create_rule_sheet(club=club, **named)


def _class(club: Club, typed: dict[str, Any]) -> Any:
    return typed["racing_class"] or class_named(club=club, name=typed["new_class"], scale=typed["scale"])


@club_page(WRITE, methods=("POST",))
def draft_start(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    draft = start_next_draft(rule_sheet=_sheet(club, public_id), by=request.user)
    messages.success(
        request, _("Draft of revision {number}: change it as you like, then publish.").format(number=draft.number)
    )
    return redirect("revision-edit", club.slug, draft.public_id)


@club_page(WRITE, methods=("GET", "POST"))
def draft_discard(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    revision = _revision(request, club, public_id)
    if request.method == "POST":
        sheet = discard_draft(revision=revision, by=request.user)
        messages.success(request, _("The draft is thrown away; the log keeps what it said."))
        return (
            redirect("rulesheet-detail", club.slug, sheet.public_id) if sheet else redirect("rulesheet-list", club.slug)
        )
    return _page(request, "draft_discard", {"revision": revision})


@club_page(WRITE, methods=("GET", "POST"))
def revision_edit(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    revision = _revision(request, club, public_id)
    if revision.is_published:
        return redirect("revision-detail", club.slug, public_id)
    form = HeadForm(request.POST or None, revision=revision, name_stays=revision.number > 1)
    if request.method == "POST" and form.is_valid():
        try:
            _change_head(club, request, revision, form.cleaned_data)
        except Refused as refusal:
            form.add_error(None, str(refusal))
            form.show_version(version_of(revision))
            return _draft_page(request, revision, form, status=409)
        messages.success(request, _("The head of the sheet is saved."))
        return redirect("revision-edit", club.slug, public_id)
    return _draft_page(request, revision, form, status=422 if form.is_bound else 200)


@transaction.atomic
def _change_head(club: Club, request: HttpRequest, revision: RuleSheetRevision, typed: dict[str, Any]) -> None:
    names = ("name", "preamble", "parent", "version", *SETTINGS)
    said = {name: typed[name] for name in names}
    change_draft(revision=revision, racing_class=_class(club, typed), by=request.user, **said)


def _draft_page(request: HttpRequest, revision: RuleSheetRevision, form: HeadForm, status: int) -> HttpResponse:
    draft = draft_of(revision)
    context = {"revision": revision, "form": form, "draft": draft, "is_ready": draft.is_ready} | _attention(draft)
    return _page(request, "revision_edit", context, status=status)


def _attention(draft: DraftPage) -> dict[str, Any]:
    """The clauses that keep a draft from publication, and those worth a second look before it."""
    return {
        "unready": [line for line in draft.lines if not line.is_ready],
        "doubtful": [line for line in draft.lines if line.is_ready and line.problems],
    }


@club_page(WRITE, methods=("GET", "POST"))
def revision_publish(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    revision = _revision(request, club, public_id)
    if revision.is_published:
        return redirect("revision-detail", club.slug, public_id)
    form = PublishForm(request.POST or None, initial={"effective_from": timezone.localdate()})
    last = predecessor_of(revision)
    if last is None:
        del form.fields["change_note"]
    context = {"form": form, "revision": revision, "last": last}
    if request.method == "POST" and form.is_valid():
        try:
            published = publish_rule_sheet(rule_sheet=revision.rule_sheet, by=request.user, **form.cleaned_data)
        except Refused as refusal:
            form.add_error(None, str(refusal))
            return _page(request, "revision_publish", context | _attention(draft_of(revision)), status=409)
        messages.success(request, _("Revision {number} is published.").format(number=published.number))
        return redirect("revision-detail", club.slug, published.public_id)
    context |= _attention(draft_of(revision))
    return _page(request, "revision_publish", context, status=422 if form.is_bound else 200)


@club_page(public=True)
def revision_print(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    revision = _revision(request, club, public_id)
    context = {
        "revision": revision,
        "page": sheet_page(revision),
        "page_url": page_address(request, request.path.removesuffix("print/")),
    }
    return paper(request, "print/rule_sheet.html", context, file_name=str(revision))


@club_page(public=True)
def rulesheet_export(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """The sheet as JSON: the revision shown today, or `?revision=` by its number."""
    sheet = _sheet(club, public_id)
    revisions = revisions_of(sheet, with_draft=request.user.has_perm(STAFF, club))
    wanted = request.GET.get("revision", "")
    shown = next((one for one in revisions if str(one.number) == wanted), None)
    if shown is None and not wanted:
        shown = shown_revision([one for one in revisions if one.is_published], timezone.localdate())
    if shown is None:
        raise Http404
    shown.rule_sheet = sheet
    if not (held := family_of(shown).clauses):
        raise Http404
    response = JsonResponse(sheet_document(shown, held), json_dumps_params={"ensure_ascii": False, "indent": 1})
    name = f"{slugify(sheet.name) or 'rule-sheet'}-{shown.number}.json"
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    return response


@club_page(WRITE, methods=("GET", "POST"))
def ruling_create(request: HttpRequest, club: Club, public_id: str, lasting_id: uuid.UUID) -> HttpResponse:
    revision = _revision(request, club, public_id)
    clause = get_object_or_404(Clause.objects.select_related(*CLAUSE_PARTS), revision=revision, lasting_id=lasting_id)
    form = RulingForm(request.POST or None)
    limit = limit_words(clause, decimal_mark=club.decimal_mark)
    context = {"form": form, "revision": revision, "clause": clause, "limit": limit}
    if request.method == "POST" and form.is_valid():
        sheet = revision.rule_sheet
        add_ruling(rule_sheet=sheet, clause_lasting_id=lasting_id, by=request.user, **form.cleaned_data)
        messages.success(request, _("The ruling is published under clause {number}.").format(number=clause.number))
        return redirect("revision-detail", club.slug, public_id)
    return _page(request, "ruling_form", context, status=422 if form.is_bound else 200)
