"""Copy and revise rule sheets, publish them for good, and publish what their clauses were ruled to mean."""

import datetime as dt
import uuid
from typing import Any

from django.db import transaction
from django.db.models import QuerySet
from django.utils import timezone
from django.utils.formats import date_format

from inspection.clauses.selectors import clause_lines, clauses_of
from inspection.clauses.services import check_version, open_draft, touch
from inspection.clubs.services import write_log
from inspection.contents.selectors import content_of, plain_content
from inspection.exchange.selectors import SETTINGS
from inspection.exchange.services import check_name_free, new_sheet
from inspection.families.selectors import family_of
from inspection.families.services import check_parent, freeze_family, pin_lists, pin_parent, unpinned
from inspection.models import Clause, ClauseRuling, RacingClass, RuleSheet, RuleSheetRevision, User
from inspection.rulesheets.errors import (
    ChangeNoteMissing,
    ClauseNotPublished,
    InForceTooEarly,
    NoClauses,
    NotADraft,
    ProblemsRemain,
)


@transaction.atomic
def copy_rule_sheet(
    *, source: RuleSheetRevision, name: str, racing_class: RacingClass | None = None, by: User | None
) -> RuleSheetRevision:
    """A new sheet of the same club whose first draft says all that holds by `source`. Raises SheetNameTaken."""
    revision = new_sheet(
        club=source.rule_sheet.club,
        name=name,
        racing_class=racing_class,
        by=by,
        action="copied rule sheet",
        preamble=source.preamble,
        **settings_of(source),
    )
    _copy_clauses(source.clauses.filter(is_struck=False), revision, keep_ids=False)
    return revision


@transaction.atomic
def start_next_draft(*, rule_sheet: RuleSheet, by: User | None) -> RuleSheetRevision:
    """A draft that says what the last revision says, under the same lasting ids; or the draft that there is."""
    sheet = RuleSheet.objects.hold(rule_sheet.pk, "club")
    last = sheet.revisions.order_by("-number").first()
    if last is not None and not last.is_published:
        return last
    draft = RuleSheetRevision.objects.create(
        rule_sheet=sheet,
        number=last.number + 1 if last else 1,
        preamble=last.preamble if last else "",
        **(settings_of(last) if last else {}),
    )
    if last is not None:
        _copy_clauses(last.clauses.filter(inherited_from=None), draft, keep_ids=True)
    write_log(club=sheet.club, action="started draft", subject=draft, by=by)
    return draft


@transaction.atomic
def discard_draft(*, revision: RuleSheetRevision, by: User | None) -> RuleSheet | None:
    """Throw a draft away; the sheet goes with it when nothing of it was ever published (then None comes back).

    Raises PublishedIsFinal.
    """
    draft = open_draft(revision)
    sheet = draft.rule_sheet
    write_log(
        club=sheet.club,
        action="threw away draft",
        subject=draft,
        by=by,
        clauses=[plain_content(content_of(clause)) for clause in clauses_of(draft)],
    )
    draft.delete()
    if sheet.revisions.exists():
        return sheet
    sheet.delete()
    return None


@transaction.atomic
def change_draft(
    *,
    revision: RuleSheetRevision,
    name: str,
    racing_class: RacingClass | None,
    preamble: str,
    parent: RuleSheet | None = None,
    version: str,
    by: User | None,
    **settings: Any,
) -> RuleSheetRevision:
    """Change what stands above the clauses. The name of a sheet that was ever published stays.

    parent: the general sheet that this one builds on. settings: by the names of `exchange.selectors.SETTINGS`; what is
    left out stays. version: what `version_of` gave when the form was opened.
    Raises PublishedIsFinal, SheetNameTaken, BuildsInACircle and ChangedMeanwhile.
    """
    draft = open_draft(revision)
    sheet = draft.rule_sheet
    check_version(draft, version, draft=draft)
    if sheet.revisions.published().exists():
        name = sheet.name
    check_name_free(sheet.club, name, besides=sheet)
    check_parent(sheet, parent)
    sheet.name, sheet.racing_class, sheet.parent = name, racing_class, parent
    sheet.save()
    draft.preamble = preamble
    for field in set(SETTINGS) & set(settings):
        setattr(draft, field, settings[field])
    touch(draft)
    write_log(club=sheet.club, action="changed draft", subject=draft, by=by)
    return draft


def settings_of(revision: RuleSheetRevision) -> dict[str, Any]:
    """How a revision decides, by the names of its fields."""
    return {name: getattr(revision, name) for name in SETTINGS}


def _copy_clauses(source: QuerySet[Clause], target: RuleSheetRevision, *, keep_ids: bool) -> None:
    copies = []
    for clause in source:
        clause.pk = None
        clause._state.adding = True  # noqa: SLF001  Django's documented way to copy a row
        clause.revision, clause.inherited_from = target, None
        clause.list_revision, clause.parts = None, [unpinned(part) for part in clause.parts]
        if not keep_ids:
            clause.lasting_id = uuid.uuid4()
        copies.append(clause)
    Clause.objects.bulk_create(copies)


# Publishing.


@transaction.atomic
def publish_rule_sheet(
    *, rule_sheet: RuleSheet, effective_from: dt.date, change_note: str = "", by: User | None
) -> RuleSheetRevision:
    """Publish the draft of a sheet: it is in force from that day and never changes again.

    A sheet that builds on a general sheet pins that sheet's revision in force on the day, and takes its clauses into
    itself; shared lists are pinned too. What is published later changes nothing here.
    Raises NotADraft, NoClauses, ProblemsRemain, ChangeNoteMissing, InForceTooEarly and ParentNotInForce.
    """
    sheet = RuleSheet.objects.hold(rule_sheet.pk, "club")
    draft = sheet.revisions.filter(state=RuleSheetRevision.State.DRAFT).first()
    if draft is None:
        raise NotADraft(name=sheet.name)
    draft.rule_sheet = sheet
    pin_parent(draft, effective_from)
    _check_ready(draft, effective_from)
    _check_succession(draft, effective_from, change_note)
    pin_lists(draft)
    freeze_family(draft, effective_from)
    draft.state = RuleSheetRevision.State.PUBLISHED
    draft.effective_from = effective_from
    draft.change_note = change_note.strip()
    draft.published_at = timezone.now()
    draft.published_by = by
    draft.save()
    write_log(
        club=sheet.club,
        action="published rule sheet",
        subject=draft,
        by=by,
        reason=draft.change_note,
        effective_from=effective_from.isoformat(),
    )
    return draft


def _check_ready(draft: RuleSheetRevision, effective_from: dt.date) -> None:
    family = family_of(draft, effective_from)
    general = [clause for clause in clauses_of(family.parent) if not clause.is_struck] if family.parent else []
    lines = clause_lines(draft, with_problems=True, clauses=family.own, parent=general)
    if not family.clauses:
        raise NoClauses
    unready = [line.clause.number or "?" for line in lines if not line.is_ready]
    if unready:
        raise ProblemsRemain(numbers=", ".join(unready))


def _check_succession(draft: RuleSheetRevision, effective_from: dt.date, change_note: str) -> None:
    last = draft.rule_sheet.revisions.published().order_by("-number").first()
    if last is None:
        return
    if not change_note.strip():
        raise ChangeNoteMissing(number=last.number)
    if effective_from < last.effective_from:
        raise InForceTooEarly(number=last.number, day=date_format(last.effective_from))


@transaction.atomic
def add_ruling(
    *, rule_sheet: RuleSheet, clause_lasting_id: uuid.UUID, text: str, reason: str, by: User
) -> ClauseRuling:
    """Publish a decision on what a clause means, by the judge who signs in. Raises ClauseNotPublished."""
    published = RuleSheetRevision.State.PUBLISHED
    of_sheet = Clause.objects.filter(
        revision__rule_sheet=rule_sheet, revision__state=published, lasting_id=clause_lasting_id
    )
    if not of_sheet.exists():
        raise ClauseNotPublished
    ruling = ClauseRuling.objects.create(
        rule_sheet=rule_sheet, clause_lasting_id=clause_lasting_id, text=text, reason=reason, judge=by
    )
    write_log(club=rule_sheet.club, action="published ruling", subject=ruling, by=by, reason=reason)
    return ruling
