"""Which sheets a club has, which revision is in force, and how two revisions differ."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Count, QuerySet

from inspection.choicelists.selectors import EntryContent, ListBehind, lists_behind
from inspection.clauses.selectors import ClauseLine, cautions_for, clause_lines
from inspection.contents.selectors import ClauseContent, Requirement, content_of, requirements_in
from inspection.families.selectors import Lagging, family_of, lagging_children, newer_parent
from inspection.models import Characteristic, ChoiceList, Clause, Club, RuleSheet, RuleSheetRevision


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
class ListShown:
    """A shared list as the sheet has it. revision: None while the sheet is a draft."""

    choice_list: ChoiceList
    revision: int | None
    entries: tuple[EntryContent, ...]


@dataclass(frozen=True, slots=True)
class SheetPage:
    """All that a reader of a revision is shown: what holds, where it comes from, and what is newer than it."""

    lines: list[ClauseLine]
    struck: list[Clause]
    overrides: dict[int, Clause]
    parent: RuleSheetRevision | None
    newer_parent: RuleSheetRevision | None
    lagging: list[Lagging]
    lists_behind: list[ListBehind]
    lists: list[ListShown]
    drawings: list[Characteristic]
    cautions: list[str]


def sheet_page(revision: RuleSheetRevision, *, with_problems: bool = False) -> SheetPage:
    """What a revision's page and paper show. At most twelve queries, whatever the number of clauses."""
    club = revision.rule_sheet.club
    family = family_of(revision)
    lines = clause_lines(
        revision,
        decimal_mark=club.decimal_mark,
        with_problems=with_problems,
        with_rulings=True,
        clauses=family.clauses,
    )
    contents = [content_of(clause) for clause in family.clauses]
    spoken_of = {one.characteristic.code: one.characteristic for one in _asked(contents) if one.characteristic}
    lists = {one.choice_list.name: one for one in _asked(contents) if one.choice_list}
    return SheetPage(
        lines=lines,
        struck=family.struck,
        overrides=family.overrides,
        parent=family.parent,
        newer_parent=newer_parent(revision),
        lagging=lagging_children(revision) if revision.is_published else [],
        lists_behind=lists_behind(club, family.clauses) if revision.is_published else [],
        lists=[
            ListShown(lists[name].choice_list, lists[name].list_revision, lists[name].entries) for name in sorted(lists)
        ],
        drawings=sorted((one for one in spoken_of.values() if one.drawing), key=lambda one: (one.position, one.name)),
        cautions=cautions_for(family.clauses),
    )


def _asked(contents: Iterable[ClauseContent]) -> list[Requirement]:
    return [one for content in contents for one in requirements_in(content)]


@dataclass(frozen=True, slots=True)
class DraftPage:
    """A draft as its writer sees it. lines: its own clauses; inherited: the general sheet's that hold as they are."""

    lines: list[ClauseLine]
    inherited: list[ClauseLine]
    parent: RuleSheetRevision | None

    @property
    def is_ready(self) -> bool:
        return bool(self.lines or self.inherited) and all(line.is_ready for line in self.lines)


def draft_of(revision: RuleSheetRevision) -> DraftPage:
    """The clauses of a draft with what is wrong with each. The queries of `family_of`, and one for the register."""
    mark = revision.rule_sheet.club.decimal_mark
    family = family_of(revision)
    general = [clause for clause in family.clauses if clause.revision_id != revision.pk]
    replaced = [*family.overrides.values(), *family.struck]
    return DraftPage(
        lines=clause_lines(
            revision, decimal_mark=mark, with_problems=True, clauses=family.own, parent=[*general, *replaced]
        ),
        inherited=clause_lines(revision, decimal_mark=mark, clauses=general),
        parent=family.parent,
    )
