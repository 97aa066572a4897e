"""Make and revise shared lists. A revision never changes: what a published sheet allows stays what it was."""

from collections.abc import Sequence

from django.db import transaction

from inspection.choicelists.errors import ListIsEmpty, ListNameTaken, NothingChanged
from inspection.choicelists.selectors import EntryContent, entries_of, newest_revision
from inspection.clubs.errors import ChangedMeanwhile
from inspection.clubs.services import hold_club, write_log
from inspection.models import Characteristic, ChoiceEntry, ChoiceList, ChoiceListRevision, Club, User


@transaction.atomic
def create_choice_list(
    *,
    club: Club,
    name: str,
    entries: Sequence[EntryContent],
    keyed_by: Characteristic | None = None,
    by: User | None,
) -> ChoiceListRevision:
    """A new list with its revision 1. Raises ListNameTaken and ListIsEmpty."""
    return save_new_list(choice_list=ChoiceList(club=club, name=name, keyed_by=keyed_by), entries=entries, by=by)


@transaction.atomic
def save_new_list(*, choice_list: ChoiceList, entries: Sequence[EntryContent], by: User | None) -> ChoiceListRevision:
    """Save a list that was not saved yet, with its revision 1. Raises ListNameTaken and ListIsEmpty."""
    hold_club(choice_list.club)
    if ChoiceList.objects.of(choice_list.club).filter(name__iexact=choice_list.name).exists():
        raise ListNameTaken(name=choice_list.name)
    choice_list.save()
    return _add_revision(choice_list, 1, entries, "", by)


@transaction.atomic
def revise_choice_list(
    *, choice_list: ChoiceList, entries: Sequence[EntryContent], change_note: str, based_on: int, by: User | None
) -> ChoiceListRevision:
    """The next revision of a list. Published sheets keep the one they pinned.

    based_on: the number of the revision that the form showed. Raises ChangedMeanwhile, NothingChanged, ListIsEmpty.
    """
    stored = ChoiceList.objects.hold(choice_list.pk, "club")
    newest = newest_revision(stored)
    last = newest.number if newest else 0
    if last != based_on:
        raise ChangedMeanwhile(who=str(newest.created_by) if newest and newest.created_by else "?")
    if newest is not None and entries_of(newest) == tuple(entries):
        raise NothingChanged(number=last)
    return _add_revision(stored, last + 1, entries, change_note, by)


def _add_revision(
    choice_list: ChoiceList, number: int, entries: Sequence[EntryContent], change_note: str, by: User | None
) -> ChoiceListRevision:
    if not entries:
        raise ListIsEmpty
    revision = ChoiceListRevision.objects.create(
        choice_list=choice_list, number=number, created_by=by, change_note=change_note.strip()
    )
    ChoiceEntry.objects.bulk_create(
        ChoiceEntry(
            revision=revision,
            position=place,
            value=entry.value,
            key=entry.key,
            allowed_from=entry.allowed_from,
            allowed_until=entry.allowed_until,
            note=entry.note,
        )
        for place, entry in enumerate(entries, start=1)
    )
    write_log(
        club=choice_list.club,
        action="revised list" if number > 1 else "made list",
        subject=choice_list,
        by=by,
        reason=change_note,
        revision=number,
        entries=len(entries),
    )
    return revision
