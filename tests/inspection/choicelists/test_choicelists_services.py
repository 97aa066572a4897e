"""A list is revised, never changed, and says who stands on which revision."""

import datetime as dt

import pytest

from inspection.choicelists.errors import ListIsEmpty, ListNameTaken, NothingChanged
from inspection.choicelists.selectors import (
    EntryContent,
    entries_of,
    entries_text,
    list_rows,
    lists_behind,
    newest_revision,
    uses_of,
)
from inspection.choicelists.services import create_choice_list, revise_choice_list
from inspection.clubs.errors import ChangedMeanwhile
from tests import factories

pytestmark = pytest.mark.django_db

MOTORS = [
    EntryContent(value="Swift 20"),
    EntryContent(value="Dart 18", allowed_until=dt.date(2026, 12, 31), note="until the stock is gone"),
]


@pytest.fixture
def club():
    return factories.club()


def made(club, entries=MOTORS, **fields):
    return create_choice_list(club=club, name="Motors", entries=entries, by=factories.user(), **fields)


def test_a_revision_stays_when_the_next_is_made(club):
    first = made(club)
    revise_choice_list(
        choice_list=first.choice_list, entries=MOTORS[:1], change_note="the Dart is gone", based_on=1, by=None
    )

    assert entries_of(first) == tuple(MOTORS)
    newest = newest_revision(first.choice_list)
    assert (newest.number, entries_of(newest)) == (2, tuple(MOTORS[:1]))


def test_two_who_revise_the_same_revision_are_told(club):
    choice_list = made(club).choice_list
    said = {"choice_list": choice_list, "change_note": "x", "based_on": 1, "by": None}
    revise_choice_list(entries=MOTORS[:1], **said)

    with pytest.raises(ChangedMeanwhile):
        revise_choice_list(entries=MOTORS[1:], **said)


def test_saving_what_stands_makes_no_revision(club):
    first = made(club)

    with pytest.raises(NothingChanged):
        revise_choice_list(choice_list=first.choice_list, entries=MOTORS, change_note="x", based_on=1, by=None)
    assert first.choice_list.revisions.count() == 1


def test_a_name_is_given_once_and_a_list_is_not_empty(club):
    made(club)

    with pytest.raises(ListNameTaken):
        create_choice_list(club=club, name="motors", entries=MOTORS, by=None)
    with pytest.raises(ListIsEmpty):
        create_choice_list(club=club, name="Bodies", entries=[], by=None)


def test_entries_are_written_one_a_line_without_empty_ends():
    assert entries_text(MOTORS) == "Swift 20\nDart 18 |  |  | 2026-12-31 | until the stock is gone"


def test_a_list_says_which_sheets_use_it_and_a_sheet_which_of_its_lists_are_behind(club):
    revision = made(club)
    sheet = factories.published_sheet(club, clauses=2)
    clause, other = sheet.clauses.all()
    clause.choice_list, clause.list_revision = revision.choice_list, revision
    clause.save()
    other.parts = [{"characteristic": "x", "choice_list": "Motors", "list_revision": 1}]
    other.save()
    clauses = list(sheet.clauses.select_related("choice_list", "list_revision"))

    assert lists_behind(club, clauses) == []
    revise_choice_list(choice_list=revision.choice_list, entries=MOTORS[:1], change_note="x", based_on=1, by=None)

    (behind,) = lists_behind(club, clauses)
    assert (behind.choice_list.name, behind.pinned, behind.newest) == ("Motors", 1, 2)
    (use,) = uses_of(revision.choice_list)
    assert (use.revision, use.clauses, use.pinned) == (sheet, ("1", "2"), 1)
    (row,) = list_rows(club)
    assert (row.entries, row.sheets, row.revision.number) == (1, 1, 2)
