"""Which revision holds on which day, and what a page shows."""

import datetime as dt

import pytest

from inspection.models import RuleSheetRevision
from inspection.rulesheets import selectors
from inspection.rulesheets.services import start_next_draft
from tests import factories

pytestmark = pytest.mark.django_db
JANUARY, MARCH, MAY = dt.date(2026, 1, 1), dt.date(2026, 3, 1), dt.date(2026, 5, 1)


@pytest.fixture
def club():
    return factories.club()


def follow(revision, day):
    """The next revision of a sheet, published from a day."""
    following = start_next_draft(rule_sheet=revision.rule_sheet, by=None)
    following.state, following.effective_from, following.published_at = "published", day, revision.published_at
    following.save()
    return following


@pytest.mark.parametrize(
    ("on", "number"),
    [
        (JANUARY - dt.timedelta(days=1), None),
        (JANUARY, 1),
        (MARCH - dt.timedelta(days=1), 1),
        (MARCH, 2),
        (MAY, 3),
    ],
)
def test_the_revision_in_force_on_a_day(club, on, number):
    first = factories.published_sheet(club)
    follow(follow(first, MARCH), MAY)
    start_next_draft(rule_sheet=first.rule_sheet, by=None)

    found = selectors.revision_in_force(rule_sheet=first.rule_sheet, on=on)

    assert (found.number if found else None) == number


def test_of_two_from_one_day_the_later_number_holds(club):
    first = factories.published_sheet(club)
    second = follow(first, first.effective_from)

    assert selectors.revision_in_force(rule_sheet=first.rule_sheet, on=JANUARY) == second


def test_every_sheet_gives_its_revision_in_force_with_one_query(club, django_assert_num_queries):
    one, two = factories.published_sheet(club), factories.published_sheet(club)
    later = follow(one, MARCH)
    factories.published_sheet(factories.club())

    with django_assert_num_queries(1):
        found = selectors.revisions_in_force(club, MARCH)
        assert [str(revision) for revision in found]

    assert set(found) == {later, two}


@pytest.mark.parametrize("sheets", [2, 40])
def test_the_rows_of_the_list_take_two_queries_however_many(club, django_assert_num_queries, sheets):
    for _ in range(sheets):
        start_next_draft(rule_sheet=factories.published_sheet(club).rule_sheet, by=None)

    with django_assert_num_queries(2):
        rows = selectors.sheet_rows(club, on=MARCH, with_drafts=True)
        assert [(str(row.shown), str(row.draft), row.sheet.racing_class) for row in rows]

    assert {(row.clauses, row.is_in_force) for row in rows} == {(3, True)}


def test_a_reader_sees_no_drafts_and_no_sheet_that_was_never_published(club):
    published = factories.published_sheet(club)
    start_next_draft(rule_sheet=published.rule_sheet, by=None)
    hidden = factories.published_sheet(club)
    RuleSheetRevision.objects.filter(pk=hidden.pk).update(state="draft")

    rows = selectors.sheet_rows(club, on=MARCH, with_drafts=False)

    assert [(row.shown, row.draft) for row in rows] == [(published, None)]
    assert len(selectors.sheet_rows(club, on=MARCH, with_drafts=True)) == 2


def test_a_sheet_that_is_still_to_come_is_shown_as_such(club):
    factories.published_sheet(club)

    (row,) = selectors.sheet_rows(club, on=JANUARY - dt.timedelta(days=9), with_drafts=False)

    assert not row.is_in_force
