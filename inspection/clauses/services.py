"""Write the clauses of a draft: add, change, delete, move. What is published never changes."""

import uuid

from django.db import models, transaction
from django.utils import timezone

from inspection.clauses.errors import PublishedIsFinal
from inspection.clauses.selectors import CLAUSE_PARTS
from inspection.clubs.errors import ChangedMeanwhile
from inspection.clubs.services import write_log
from inspection.contents.selectors import LIMIT_NAMES, ClauseContent, content_of, plain_content, version_of
from inspection.gauges.selectors import last_editor_of
from inspection.models import Clause, RuleSheet, RuleSheetRevision, User
from inspection.units import Quantity


def open_draft(revision: RuleSheetRevision) -> RuleSheetRevision:
    """The draft, its sheet held until the transaction ends: as publishing does. Raises PublishedIsFinal."""
    RuleSheet.objects.hold(revision.rule_sheet_id)
    locked = RuleSheetRevision.objects.select_related("rule_sheet__club").get(pk=revision.pk)
    if locked.is_published:
        raise PublishedIsFinal(number=locked.number)
    return locked


def check_version(row: Clause | RuleSheetRevision, version: str, *, draft: RuleSheetRevision) -> None:
    """Refuses (ChangedMeanwhile) when the row is no longer what the form showed."""
    if version_of(row) != version:
        raise ChangedMeanwhile(who=last_editor_of(draft.rule_sheet.club, row))


def touch(draft: RuleSheetRevision) -> None:
    """Save the draft as edited now."""
    draft.edited_at = timezone.now()
    draft.save()


@transaction.atomic
def add_clause(
    *, revision: RuleSheetRevision, content: ClauseContent, lasting_id: uuid.UUID | None = None, by: User | None
) -> Clause:
    """A clause at the end of a draft. lasting_id: of the general sheet's clause that it stands for, if it does.

    Raises PublishedIsFinal.
    """
    draft = open_draft(revision)
    last = draft.clauses.aggregate(last=models.Max("position"))["last"] or 0
    is_taken = lasting_id is not None and draft.clauses.filter(lasting_id=lasting_id).exists()
    kept = uuid.uuid4() if lasting_id is None or is_taken else lasting_id
    clause = save_clause(Clause(revision=draft, position=last + 1, lasting_id=kept), content)
    touch(draft)
    write_log(club=draft.rule_sheet.club, action="added clause", subject=clause, by=by, sheet=str(draft))
    return clause


@transaction.atomic
def change_clause(*, clause: Clause, content: ClauseContent, version: str, by: User | None) -> Clause:
    """Put new content into a clause of a draft; its lasting id stays.

    version: what `version_of` gave when the form was opened. Raises PublishedIsFinal and ChangedMeanwhile.
    """
    draft = open_draft(clause.revision)
    stored = Clause.objects.select_related(*CLAUSE_PARTS).get(pk=clause.pk, revision=draft)
    club = draft.rule_sheet.club
    check_version(stored, version, draft=draft)
    was = plain_content(content_of(stored))
    save_clause(stored, content)
    touch(draft)
    write_log(club=club, action="changed clause", subject=stored, by=by, sheet=str(draft), was=was)
    return stored


@transaction.atomic
def delete_clause(*, clause: Clause, by: User | None) -> None:
    """Take a clause out of a draft; what it said stays in the log. Raises PublishedIsFinal."""
    draft = open_draft(clause.revision)
    was = plain_content(content_of(clause))
    write_log(club=draft.rule_sheet.club, action="deleted clause", subject=clause, by=by, sheet=str(draft), was=was)
    Clause.objects.filter(pk=clause.pk, revision=draft).delete()
    touch(draft)


@transaction.atomic
def move_clause(*, clause: Clause, places: int, by: User | None) -> None:
    """Move a clause up (places below 0) or down in its draft, as far as there is room. Raises PublishedIsFinal."""
    draft = open_draft(clause.revision)
    order = list(draft.clauses.order_by("position", "id"))
    old = next(place for place, other in enumerate(order) if other.pk == clause.pk)
    new = max(0, min(len(order) - 1, old + places))
    if new == old:
        return
    order.insert(new, order.pop(old))
    for position, other in enumerate(order, start=1):
        other.position = position
    Clause.objects.bulk_update(order, ["position"])
    touch(draft)
    write_log(club=draft.rule_sheet.club, action="moved clause", subject=clause, by=by, sheet=str(draft))


def save_clause(clause: Clause, content: ClauseContent) -> Clause:
    """Put content into a clause and save it. The caller holds the sheet and writes the log."""
    clause.number = content.number
    clause.text = content.text
    clause.characteristic = content.characteristic
    clause.measuring_point = content.measuring_point
    clause.comparator = content.comparator.value if content.comparator else ""
    for name in LIMIT_NAMES:
        setattr(clause, name, _text(getattr(content, name)))
    clause.other, clause.factor, clause.offset = content.other, content.factor, _text(content.offset)
    clause.choices = list(content.choices)
    clause.choice_list = content.choice_list
    clause.parts = [plain_content(part) for part in content.parts]
    clause.limit_rows = [plain_content(row) for row in content.rows]
    clause.applies_when, clause.unless = dict(content.applies_when), dict(content.unless)
    clause.tolerance_style, clause.allowance = content.tolerance_style, content.allowance
    clause.expected_answer = content.expected_answer
    clause.judge_reason, clause.judge = content.judge_reason, content.judge
    clause.decision_rule = content.decision_rule
    clause.readings_wanted, clause.counts = content.readings_wanted, content.counts
    clause.gauge = content.gauge
    clause.phases = list(content.phases)
    clause.consequence, clause.is_struck = content.consequence, content.is_struck
    clause.save()
    return clause


def _text(quantity: Quantity | None) -> str:
    return "" if quantity is None else quantity.canonical
