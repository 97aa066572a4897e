"""Make a sheet: empty, or with all that a starter or a file says."""

import uuid
from typing import Any

from django.db import transaction

from inspection.choicelists.services import save_new_list
from inspection.clauses.services import save_clause
from inspection.clubs.services import hold_club, write_log
from inspection.exchange.errors import SheetNameTaken
from inspection.exchange.selectors import SheetContent
from inspection.models import Clause, Club, RacingClass, RuleSheet, RuleSheetRevision, User


@transaction.atomic
def create_rule_sheet(
    *, club: Club, name: str, racing_class: RacingClass | None = None, by: User | None
) -> RuleSheetRevision:
    """A new sheet with an empty draft, revision 1. Raises SheetNameTaken."""
    return new_sheet(club=club, name=name, racing_class=racing_class, by=by, action="started rule sheet")


@transaction.atomic
def create_from_content(
    *,
    club: Club,
    content: SheetContent,
    name: str = "",
    racing_class: RacingClass | None = None,
    by: User | None,
) -> RuleSheetRevision:
    """A new sheet with a draft that says what a starter or a file says; all of it or nothing.

    Characteristics and lists that the club lacks are made. racing_class: else the class that the content names, made
    if need be. Raises SheetNameTaken.
    """
    if racing_class is None:
        racing_class = class_named(club=club, name=content.racing_class, scale=content.scale)
    revision = new_sheet(
        club=club,
        name=name or content.name,
        racing_class=racing_class,
        by=by,
        action="brought in rule sheet",
        preamble=content.opening_words,
        **content.settings,
    )
    for characteristic in content.new_characteristics:
        characteristic.club = club
        characteristic.save()
    for new in content.new_lists:
        new.choice_list.club, new.choice_list.keyed_by = club, new.keyed_by
        save_new_list(choice_list=new.choice_list, entries=new.entries, by=by)
    for position, (lasting_id, clause) in enumerate(content.clauses, start=1):
        save_clause(Clause(revision=revision, lasting_id=lasting_id or uuid.uuid4(), position=position), clause)
    return revision


def class_named(*, club: Club, name: str, scale: str = "") -> RacingClass | None:
    """The club's class of that name, made if it has none such; None for an empty name."""
    if not name:
        return None
    hold_club(club)
    found = RacingClass.objects.of(club).filter(name__iexact=name).first()
    return found or RacingClass.objects.create(club=club, name=name, scale=scale)


def new_sheet(
    *, club: Club, name: str, racing_class: RacingClass | None, by: User | None, action: str, **draft: Any
) -> RuleSheetRevision:
    """A sheet with its first draft, and the line of the log. Raises SheetNameTaken."""
    check_name_free(club, name)
    sheet = RuleSheet.objects.create(club=club, name=name, racing_class=racing_class)
    revision = RuleSheetRevision.objects.create(rule_sheet=sheet, number=1, **draft)
    write_log(club=club, action=action, subject=revision, by=by)
    return revision


def check_name_free(club: Club, name: str, besides: RuleSheet | None = None) -> None:
    """Refuses (SheetNameTaken) a name that another sheet of the club has, whatever the case of its letters."""
    hold_club(club)
    taken = RuleSheet.objects.of(club).filter(name__iexact=name)
    if taken.exclude(pk=besides.pk if besides else None).exists():
        raise SheetNameTaken(name=name)
