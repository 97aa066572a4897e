"""Class sheets that build on general sheets: what holds for a class, and where each clause comes from."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from django.utils import timezone

from inspection.clauses.selectors import clauses_of
from inspection.conformity.family import Origin, effective_sheet
from inspection.models import Clause, Club, RuleSheet, RuleSheetRevision


def parent_in_force(sheet: RuleSheet, on: dt.date) -> RuleSheetRevision | None:
    """The revision of the general sheet that holds on a day, None without one. One query when there is a parent."""
    if sheet.parent_id is None:
        return None
    published = RuleSheetRevision.objects.filter(rule_sheet=sheet.parent_id).published()
    found = published.filter(effective_from__lte=on).select_related("rule_sheet__club", "rule_sheet__racing_class")
    return found.order_by("-effective_from", "-number").first()


def parent_of(revision: RuleSheetRevision, on: dt.date | None = None) -> RuleSheetRevision | None:
    """The general revision under this one: pinned when published; for a draft the one in force on a day, or today."""
    if revision.is_published:
        return revision.parent_revision
    return parent_in_force(revision.rule_sheet, on or timezone.localdate())


def origin_of(clause: Clause) -> Clause:
    """The clause in the sheet that first said it."""
    return clause.inherited_from or clause


@dataclass(frozen=True, slots=True)
class Family:
    """What holds for a class, in order. overrides: by the key of an own clause, the general clause it stands for.

    struck: the general clauses that do not apply. own: the draft's own rows, struck ones among them.
    """

    parent: RuleSheetRevision | None
    clauses: list[Clause]
    own: list[Clause]
    overrides: dict[int, Clause]
    struck: list[Clause]


def family_of(revision: RuleSheetRevision, on: dt.date | None = None) -> Family:
    """All that holds by a revision; by a draft, on a day or today.

    A clause of the general sheet has `inherited_from` set, in a draft in memory only.
    The queries of `clauses_of`, for a draft that builds on another sheet twice, and one for the parent.
    """
    own = clauses_of(revision)
    parent = parent_of(revision, on)
    if revision.is_published:
        general = clauses_of(parent) if parent else []
        by_number = {clause.number.strip(): clause for clause in general}
        held = [clause for clause in own if not clause.is_struck]
        overrides = {
            clause.pk: by_number[clause.number.strip()]
            for clause in held
            if clause.inherited_from_id is None and clause.number.strip() in by_number
        }
        numbers = {clause.number.strip() for clause in held}
        struck = [
            by_number[clause.number.strip()]
            for clause in own
            if clause.is_struck and clause.number.strip() in set(by_number) - numbers
        ]
        return Family(parent, held, own, overrides, struck)
    if parent is None:
        return Family(None, [clause for clause in own if not clause.is_struck], own, {}, [])
    general = [clause for clause in clauses_of(parent) if not clause.is_struck]
    found = effective_sheet(general, own)
    for placed in found.clauses:
        if placed.origin is Origin.INHERITED:
            placed.clause.inherited_from = origin_of(placed.clause)
    overrides = {one.clause.pk: one.replaced for one in found.clauses if one.replaced is not None}
    return Family(parent, [one.clause for one in found.clauses], own, overrides, list(found.struck))


def sheets_to_build_on(sheet: RuleSheet) -> list[RuleSheet]:
    """The club's published sheets that do not build on this one, by name. Two queries."""
    sheets = list(RuleSheet.objects.of(sheet.club).order_by("name"))
    below = {sheet.pk} | {one.pk for one in descendants_of(sheet.pk, sheets)}
    published = set(
        RuleSheetRevision.objects.of(sheet.club).published().values_list("rule_sheet_id", flat=True).distinct()
    )
    return [one for one in sheets if one.pk in published - below]


def descendants_of(pk: int, sheets: Iterable[RuleSheet]) -> list[RuleSheet]:
    """The sheets that build on one, directly or not. No query."""
    sheets = list(sheets)
    found: dict[int, RuleSheet] = {}
    waiting = [pk]
    while waiting:
        below = waiting.pop()
        for one in sheets:
            if one.parent_id == below and one.pk not in found:
                found[one.pk] = one
                waiting.append(one.pk)
    return list(found.values())


@dataclass(frozen=True, slots=True)
class Lagging:
    """A class sheet whose newest published revision has an older revision of the general sheet."""

    revision: RuleSheetRevision
    pinned: int


def lagging_children(revision: RuleSheetRevision) -> list[Lagging]:
    """Of a general sheet: the class sheets that were published on an older revision than this one. One query."""
    children = (
        RuleSheetRevision.objects.filter(rule_sheet__parent=revision.rule_sheet_id)
        .published()
        .select_related("rule_sheet", "parent_revision")
        .order_by("rule_sheet__name", "number")
    )
    newest = {child.rule_sheet_id: child for child in children}
    return [
        Lagging(child, child.parent_revision.number)
        for child in newest.values()
        if child.parent_revision is not None and child.parent_revision.number < revision.number
    ]


def newer_parent(revision: RuleSheetRevision) -> RuleSheetRevision | None:
    """The newest published revision of the general sheet, if it is not the pinned one. One query with a parent."""
    if not revision.is_published or revision.parent_revision is None:
        return None
    of_parent = RuleSheetRevision.objects.filter(rule_sheet=revision.parent_revision.rule_sheet_id).published()
    newest = of_parent.order_by("-number").first()
    return newest if newest and newest.number > revision.parent_revision.number else None


def families_of(club: Club) -> dict[int, list[RuleSheet]]:
    """The sheets of a club that build on another, by the other's key. One query."""
    found: dict[int, list[RuleSheet]] = {}
    for sheet in RuleSheet.objects.of(club).exclude(parent=None).order_by("name"):
        found.setdefault(sheet.parent_id, []).append(sheet)
    return found
