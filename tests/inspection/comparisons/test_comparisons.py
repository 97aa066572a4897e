"""Two revisions side by side: what was added, dropped, changed word by word, moved and renumbered."""

import dataclasses

import pytest
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from inspection.choicelists.selectors import EntryContent
from inspection.choicelists.services import create_choice_list, revise_choice_list
from inspection.clauses.services import add_clause, change_clause, delete_clause, move_clause
from inspection.comparisons.selectors import compare_revisions, marked
from inspection.contents.selectors import ClauseContent, content_of, version_of
from inspection.models import Role
from inspection.rulesheets.services import publish_rule_sheet, start_next_draft
from tests import factories

SENTENCE = st.lists(st.sampled_from(["at", "most", "64", "mm", "wide", "the", "car"]), max_size=12).map(" ".join)


@pytest.fixture
def club():
    return factories.club()


def summary(changes):
    return [
        (change.states, change.older and change.older.clause.number, change.newer and change.newer.clause.number)
        for change in changes
    ]


@pytest.mark.django_db
def test_what_changed_is_told_clause_by_clause_by_lasting_id(club):
    first = factories.published_sheet(club, clauses=4)
    draft = start_next_draft(rule_sheet=first.rule_sheet, by=None)
    one, two, three, _four = draft.clauses.select_related("characteristic", "gauge").order_by("position")
    delete_clause(clause=one, by=None)
    renumbered = dataclasses.replace(content_of(two), number="1")
    change_clause(clause=two, content=renumbered, version=version_of(two), by=None)
    reworded = dataclasses.replace(content_of(three), consequence="Sent home.")
    change_clause(clause=three, content=reworded, version=version_of(three), by=None)
    add_clause(revision=draft, content=ClauseContent(number="9", text="New."), by=None)

    assert summary(compare_revisions(first, draft)) == [
        (("renumbered",), "2", "1"),
        (("changed",), "3", "3"),
        ((), "4", "4"),
        (("added",), None, "9"),
        (("removed",), "1", None),
    ]


@pytest.mark.django_db
def test_a_clause_that_stands_elsewhere_has_moved(club):
    first = factories.published_sheet(club, clauses=4)
    draft = start_next_draft(rule_sheet=first.rule_sheet, by=None)
    move_clause(clause=draft.clauses.get(number="1"), places=3, by=None)

    assert summary(compare_revisions(first, draft)) == [
        ((), "2", "2"),
        ((), "3", "3"),
        ((), "4", "4"),
        (("moved",), "1", "1"),
    ]


@pytest.mark.django_db
def test_a_longer_list_changes_the_clause_that_names_it(club):
    motor = factories.characteristic(club, kind="choice", unit="", plausible_low="", plausible_high="")
    swift, dart = EntryContent(value="Swift 20"), EntryContent(value="Dart 18")
    motors = create_choice_list(club=club, name="Motors", entries=[swift], by=None).choice_list
    first = factories.published_sheet(club, clauses=1)
    draft = start_next_draft(rule_sheet=first.rule_sheet, by=None)
    content = ClauseContent(
        number="2", text="Motor.", characteristic=motor, comparator="one_of", choice_list=motors, phases=("before",)
    )
    clause = add_clause(revision=draft, content=dataclasses.replace(content, comparator=None), by=None)
    clause.comparator = "one_of"
    clause.save()
    owner = factories.user()
    said = {"rule_sheet": first.rule_sheet, "effective_from": first.effective_from, "by": owner}
    second = publish_rule_sheet(change_note="motors", **said)
    revise_choice_list(choice_list=motors, entries=[swift, dart], change_note="x", based_on=1, by=None)
    start_next_draft(rule_sheet=first.rule_sheet, by=None)
    third = publish_rule_sheet(change_note="more motors", **said)

    changed = compare_revisions(second, third)[1]

    assert changed.states == ("changed",)
    listed = {one.name: one for one in changed.differences}["On the list"]
    assert [(run.state, run.text) for run in listed.newer][-1] == ("new", "/ Dart 18")


@given(SENTENCE, SENTENCE)
def test_the_marked_words_make_up_both_texts_and_nothing_that_is_in_both_is_lost(older, newer):
    left, right = marked(older, newer)

    assert "".join(run.text for run in left) == older
    assert "".join(run.text for run in right) == newer
    same = [[word for run in side if run.state == "same" for word in run.text.split()] for side in (left, right)]
    assert same[0] == same[1]
    if older == newer:
        assert {run.state for run in (*left, *right)} <= {"same"}


@pytest.mark.django_db
def test_page_and_paper_show_the_words_that_differ(client, club):
    published = factories.published_sheet(club, clauses=3)
    writer = factories.member(club, Role.OWNER)
    client.force_login(writer)
    draft = start_next_draft(rule_sheet=published.rule_sheet, by=writer)
    draft.clauses.filter(number="2").update(upper="2 1/2 in")

    for name in ("revision-compare", "comparison-print"):
        text = client.get(reverse(name, args=[club.slug, draft.public_id]) + "?as=page").content.decode()
        assert "<del>64.00 mm (2.520 in)</del>" in text
        assert "<ins>2 1/2 in (63.50 mm)</ins>" in text
        assert "2 clauses are the same." in text
    assert client.get(reverse("revision-compare", args=[club.slug, published.public_id])).status_code == 404
    client.logout()
    assert client.get(reverse("revision-compare", args=[club.slug, draft.public_id])).status_code == 404
