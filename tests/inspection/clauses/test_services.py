"""Clauses of a draft are written; those of a published revision never change."""

import dataclasses

import pytest

from inspection.clauses import services
from inspection.clauses.errors import PublishedIsFinal
from inspection.clauses.selectors import clauses_of
from inspection.clubs.errors import ChangedMeanwhile
from inspection.contents.selectors import ClauseContent, content_of, version_of
from inspection.exchange.services import create_rule_sheet
from inspection.models import Clause, LogEntry
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def club():
    return factories.club()


@pytest.fixture
def by(club):
    return factories.member(club)


@pytest.fixture
def draft(club, by):
    return create_rule_sheet(club=club, name="GT 32", by=by)


def add(draft, by, *numbers):
    return [
        services.add_clause(revision=draft, content=ClauseContent(number=n, text=f"Clause {n}."), by=by)
        for n in numbers
    ]


def test_clauses_stand_in_the_order_they_were_added(draft, by):
    add(draft, by, "1", "2", "3")

    assert [clause.number for clause in clauses_of(draft)] == ["1", "2", "3"]


@pytest.mark.parametrize(
    ("number", "places", "order"),
    [
        ("3", -1, ["1", "3", "2"]),
        ("1", 1, ["2", "1", "3"]),
        ("1", -1, ["1", "2", "3"]),
        ("3", 5, ["1", "2", "3"]),
        ("3", -2, ["3", "1", "2"]),
    ],
)
def test_a_clause_moves_as_far_as_there_is_room(draft, by, number, places, order):
    moved = {clause.number: clause for clause in add(draft, by, "1", "2", "3")}[number]

    services.move_clause(clause=moved, places=places, by=by)

    assert [clause.number for clause in clauses_of(draft)] == order


def test_a_changed_clause_keeps_its_lasting_id_and_logs_what_it_said(club, draft, by):
    (clause,) = add(draft, by, "1")
    new = dataclasses.replace(content_of(clause), text="Other words.")

    services.change_clause(clause=clause, content=new, version=version_of(clause), by=by)

    stored = Clause.objects.get(pk=clause.pk)
    assert (stored.text, stored.lasting_id) == ("Other words.", clause.lasting_id)
    assert LogEntry.objects.of(club).get(action="changed clause").detail["was"]["text"] == "Clause 1."


def test_the_second_of_two_writers_is_told_and_the_first_one_s_words_stand(draft, by):
    (clause,) = add(draft, by, "1")
    opened = version_of(clause)
    first = dataclasses.replace(content_of(clause), text="First.")
    services.change_clause(clause=clause, content=first, version=opened, by=by)

    with pytest.raises(ChangedMeanwhile):
        services.change_clause(clause=clause, content=dataclasses.replace(first, text="Second."), version=opened, by=by)

    assert Clause.objects.get(pk=clause.pk).text == "First."


def test_two_writers_of_different_clauses_do_not_meet(draft, by):
    one, two = add(draft, by, "1", "2")
    seen_one, seen_two = version_of(one), version_of(two)

    services.change_clause(clause=one, content=content_of(one), version=seen_one, by=by)
    services.change_clause(
        clause=two, content=dataclasses.replace(content_of(two), text="New."), version=seen_two, by=by
    )

    assert Clause.objects.get(pk=two.pk).text == "New."


def test_a_deleted_clause_stays_in_the_log(club, draft, by):
    (clause,) = add(draft, by, "1")

    services.delete_clause(clause=clause, by=by)

    assert clauses_of(draft) == []
    assert LogEntry.objects.of(club).get(action="deleted clause").detail["was"]["text"] == "Clause 1."


def test_nothing_of_a_published_revision_changes(club, by):
    revision = factories.published_sheet(club)
    clause = revision.clauses.first()
    content = content_of(clause)
    acts = [
        lambda: services.add_clause(revision=revision, content=content, by=by),
        lambda: services.change_clause(clause=clause, content=content, version=version_of(clause), by=by),
        lambda: services.delete_clause(clause=clause, by=by),
        lambda: services.move_clause(clause=clause, places=1, by=by),
    ]
    before = list(revision.clauses.values())

    for act in acts:
        with pytest.raises(PublishedIsFinal):
            act()

    assert list(revision.clauses.values()) == before
