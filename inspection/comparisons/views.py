"""Two revisions side by side, on the page and on paper."""

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from inspection.clubs.access import club_page
from inspection.comparisons.selectors import compare_revisions
from inspection.models import Club, RuleSheetRevision
from inspection.papers.documents import page_address, paper
from inspection.rulesheets.selectors import predecessor_of, revisions_of

STAFF = "club.view_private"


def _compared(request: HttpRequest, club: Club, public_id: str) -> dict[str, Any]:
    """A revision with the one before it, or with the one that `?with=` names."""
    found = RuleSheetRevision.objects.of(club).select_related(
        "rule_sheet__racing_class", "rule_sheet__club", "rule_sheet__parent", "parent_revision__rule_sheet__club"
    )
    revision = get_object_or_404(found, public_id=public_id)
    is_staff = request.user.has_perm(STAFF, club)
    if not revision.is_published and not is_staff:
        raise Http404
    others = [one for one in revisions_of(revision.rule_sheet, with_draft=is_staff) if one.pk != revision.pk]
    wanted = request.GET.get("with", "")
    other = next((one for one in others if one.public_id == wanted), None) or predecessor_of(revision)
    if other is None:
        raise Http404
    other.rule_sheet = revision.rule_sheet
    older, newer = sorted((other, revision), key=lambda one: one.number)
    changes = compare_revisions(older, newer, decimal_mark=club.decimal_mark)
    return {
        "older": older,
        "newer": newer,
        "other": other,
        "others": others,
        "changes": [change for change in changes if change.states],
        "same": sum(not change.states for change in changes),
        "here": "rulesheet-list",
    }


@club_page(public=True)
def revision_compare(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    return render(request, "inspection/comparisons/compare.html", _compared(request, club, public_id))


@club_page(public=True)
def comparison_print(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    context = _compared(request, club, public_id)
    context["page_url"] = page_address(request, request.path.removesuffix("print/"))
    newer, older = context["newer"], context["older"]
    return paper(request, "print/comparison.html", context, file_name=f"{newer} - {older.number}")
