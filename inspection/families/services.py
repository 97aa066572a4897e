"""Freeze into a draft that is published what it takes from elsewhere: the general sheet's clauses and shared lists."""

import datetime as dt
from typing import Any

from django.utils.formats import date_format

from inspection.choicelists.selectors import newest_revisions
from inspection.contents.selectors import content_of, pinned_part
from inspection.families.errors import BuildsInACircle, ParentNotInForce
from inspection.families.selectors import descendants_of, family_of, origin_of, parent_in_force
from inspection.models import Clause, RuleSheet, RuleSheetRevision


def check_parent(sheet: RuleSheet, parent: RuleSheet | None) -> None:
    """Refuses (BuildsInACircle) a parent that builds on the sheet. The caller holds the club's names. One query."""
    if parent is None:
        return
    below = descendants_of(sheet.pk, RuleSheet.objects.of(sheet.club))
    if parent.pk in {sheet.pk, *(one.pk for one in below)}:
        raise BuildsInACircle(parent=parent.name, name=sheet.name)


def pin_parent(draft: RuleSheetRevision, on: dt.date) -> None:
    """Set the general sheet's revision in force on a day, if the draft builds on one. Raises ParentNotInForce.

    The caller holds the sheet and saves the draft.
    """
    sheet = draft.rule_sheet
    draft.parent_revision = parent_in_force(sheet, on)
    if sheet.parent is not None and draft.parent_revision is None:
        raise ParentNotInForce(parent=sheet.parent.name, day=date_format(on))


def freeze_family(draft: RuleSheetRevision, on: dt.date) -> None:
    """Copy into a draft what holds by its general sheet, with where it comes from, in the order of the numbers.

    The caller holds the sheet.
    """
    if draft.parent_revision is None:
        return
    family = family_of(draft, on)
    taken = {clause.lasting_id for clause in family.own}
    copies = []
    for position, clause in enumerate(family.clauses, start=1):
        if clause.revision_id == draft.pk:
            Clause.objects.filter(pk=clause.pk).update(position=position)
        elif clause.lasting_id not in taken:
            copies.append(_copied(clause, draft, position))
    Clause.objects.bulk_create(copies)
    draft.clauses.filter(is_struck=True).update(position=len(family.clauses) + 1)


def _copied(clause: Clause, draft: RuleSheetRevision, position: int) -> Clause:
    fields = Clause._meta.concrete_fields  # noqa: SLF001  Django's public name for it
    names = [one.attname for one in fields if one.attname not in {"id", "revision_id"}]
    copy = Clause(**{name: getattr(clause, name) for name in names})
    copy.revision, copy.position, copy.inherited_from = draft, position, origin_of(clause)
    return copy


def pin_lists(draft: RuleSheetRevision) -> None:
    """Write into a draft's own clauses which revision of each shared list they have. Two queries, one a clause."""
    own = draft.clauses.filter(inherited_from=None).select_related("choice_list", "revision__rule_sheet__club")
    named = [clause for clause in own if clause.choice_list_id or clause.parts]
    if not named:
        return
    newest = {one.choice_list.name: one for one in newest_revisions(draft.rule_sheet.club).values()}
    numbers = {name: one.number for name, one in newest.items()}
    for clause in named:
        if clause.choice_list is not None:
            clause.list_revision = newest.get(clause.choice_list.name)
        clause.revision = draft
        clause.parts = [pinned_part(part, numbers) for part in content_of(clause).parts]
        clause.save(update_fields=["list_revision", "parts"])


def unpinned(part: dict[str, Any]) -> dict[str, Any]:
    """A part as a draft keeps it: its list is named, and what the newest revision of that allows holds."""
    free = {name: value for name, value in part.items() if name not in {"entries", "list_revision"}}
    return free | ({"parts": [unpinned(one) for one in part["parts"]]} if part.get("parts") else {})
