"""Which sheets a club has, which revision is in force, and how two revisions differ."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Count, QuerySet

from inspection.clauses.selectors import ClauseLine, clause_lines
from inspection.contents.selectors import content_of, plain_content
from inspection.models import Club, RuleSheet, RuleSheetRevision
from inspection.units import DecimalMark


def revision_in_force(*, rule_sheet: RuleSheet, on: dt.date) -> RuleSheetRevision | None:
    """The published revision that holds on a day: the last to have come into force. One query."""
    return _in_force(RuleSheetRevision.objects.filter(rule_sheet=rule_sheet), on).first()


def revisions_in_force(club: Club, on: dt.date) -> list[RuleSheetRevision]:
    """The revision in force of every sheet of a club, by name. One query."""
    newest: dict[int, RuleSheetRevision] = {}
    found = _in_force(RuleSheetRevision.objects.of(club), on).order_by("rule_sheet__name", "-effective_from", "-number")
    for revision in found:
        newest.setdefault(revision.rule_sheet_id, revision)
    return list(newest.values())


def _in_force(revisions: QuerySet[RuleSheetRevision], on: dt.date) -> QuerySet[RuleSheetRevision]:
    return (
        revisions.filter(state=RuleSheetRevision.State.PUBLISHED, effective_from__lte=on)
        .select_related("rule_sheet__racing_class")
        .order_by("-effective_from", "-number")
    )


@dataclass(frozen=True, slots=True)
class SheetRow:
    """One sheet of a club's list. shown: the revision that a reader is led to; clauses: how many it has."""

    sheet: RuleSheet
    shown: RuleSheetRevision
    clauses: int
    draft: RuleSheetRevision | None
    is_in_force: bool


def sheet_rows(club: Club, *, on: dt.date, with_drafts: bool) -> list[SheetRow]:
    """The sheets of a club by name; without drafts only those that have a published revision. Two queries."""
    sheets = RuleSheet.objects.of(club).select_related("racing_class").order_by("name")
    revisions: dict[int, list[RuleSheetRevision]] = {}
    found = RuleSheetRevision.objects.of(club).annotate(clause_count=Count("clauses")).order_by("-number")
    for revision in found:
        revisions.setdefault(revision.rule_sheet_id, []).append(revision)
    rows = []
    for sheet in sheets:
        own = revisions.get(sheet.pk, [])
        for revision in own:
            revision.rule_sheet = sheet
        draft = next((revision for revision in own if not revision.is_published), None) if with_drafts else None
        published = [revision for revision in own if revision.is_published]
        shown = shown_revision(published, on) or draft
        if shown is not None:
            in_force = shown.is_published and shown.effective_from <= on
            rows.append(SheetRow(sheet, shown, shown.clause_count, draft, in_force))
    return rows


def shown_revision(published: Iterable[RuleSheetRevision], on: dt.date) -> RuleSheetRevision | None:
    """Of published revisions the one in force on a day, else the next to come, else None. No query."""
    in_order = sorted(published, key=lambda revision: (revision.effective_from, revision.number))
    past = [revision for revision in in_order if revision.effective_from <= on]
    if past:
        return past[-1]
    return in_order[0] if in_order else None


def revisions_of(sheet: RuleSheet, *, with_draft: bool) -> list[RuleSheetRevision]:
    """The revisions of a sheet, the newest first. One query."""
    found = sheet.revisions.order_by("-number")
    return list(found if with_draft else found.published())


def predecessor_of(revision: RuleSheetRevision) -> RuleSheetRevision | None:
    """The published revision before this one, or None. One query."""
    before = RuleSheetRevision.objects.filter(rule_sheet=revision.rule_sheet, number__lt=revision.number)
    return before.published().order_by("-number").first()


@dataclass(frozen=True, slots=True)
class ClauseChange:
    """How one clause differs between two revisions. state: "added", "removed", "changed", "renumbered" or "same"."""

    state: str
    older: ClauseLine | None
    newer: ClauseLine | None


def compare_revisions(
    older: RuleSheetRevision, newer: RuleSheetRevision, *, decimal_mark: DecimalMark = "."
) -> list[ClauseChange]:
    """Two revisions clause by clause, matched by lasting id: in the newer one's order, what was removed last.

    Two queries.
    """
    before = {line.clause.lasting_id: line for line in clause_lines(older, decimal_mark=decimal_mark)}
    changes = []
    for line in clause_lines(newer, decimal_mark=decimal_mark):
        old = before.pop(line.clause.lasting_id, None)
        changes.append(ClauseChange(_change_state(old, line), old, line))
    return changes + [ClauseChange("removed", line, None) for line in before.values()]


def _change_state(older: ClauseLine | None, newer: ClauseLine) -> str:
    if older is None:
        return "added"
    was, now = (plain_content(content_of(line.clause)) for line in (older, newer))
    if was == now:
        return "same"
    return "renumbered" if was | {"number": ""} == now | {"number": ""} else "changed"
