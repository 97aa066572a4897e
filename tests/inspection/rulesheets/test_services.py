"""Revisions are published for good, dated and numbered; the next draft keeps the lasting ids."""

import datetime as dt

import pytest
from django.db import IntegrityError, transaction

from inspection.clauses.errors import PublishedIsFinal
from inspection.clauses.selectors import clauses_of
from inspection.clauses.services import add_clause, delete_clause
from inspection.clubs.errors import ChangedMeanwhile
from inspection.contents.selectors import ClauseContent, content_of, plain_content, version_of
from inspection.exchange.errors import SheetNameTaken
from inspection.exchange.services import class_named, create_rule_sheet
from inspection.models import Clause, LogEntry, RuleSheet, RuleSheetRevision
from inspection.rulesheets import services
from inspection.rulesheets.errors import (
    ChangeNoteMissing,
    ClauseNotPublished,
    InForceTooEarly,
    NoClauses,
    NotADraft,
    ProblemsRemain,
)
from tests import factories

pytestmark = pytest.mark.django_db
MARCH = dt.date(2026, 3, 1)


@pytest.fixture
def club():
    return factories.club()


@pytest.fixture
def by(club):
    return factories.member(club)


@pytest.fixture
def draft(club, by):
    revision = create_rule_sheet(club=club, name="GT 32", by=by)
    add_clause(revision=revision, content=ClauseContent(number="1", text="Ask before the night."), by=by)
    return revision


def publish(revision, by, day=MARCH, note=""):
    return services.publish_rule_sheet(rule_sheet=revision.rule_sheet, effective_from=day, change_note=note, by=by)


def test_a_published_revision_is_dated_signed_and_logged(club, draft, by):
    published = publish(draft, by)

    assert (published.is_published, published.effective_from, published.published_by) == (True, MARCH, by)
    entry = LogEntry.objects.of(club).get(action="published rule sheet")
    assert (entry.by, entry.detail) == (by, {"effective_from": "2026-03-01"})


def test_a_sheet_without_clauses_is_not_published(club, by):
    with pytest.raises(NoClauses):
        publish(create_rule_sheet(club=club, name="Empty", by=by), by)


@pytest.mark.parametrize(
    "content",
    [
        {"lower": "7 mm", "comparator": ""},
        {"lower": "7 mm", "comparator": "at_least", "measuring_point": ""},
        {"lower": "2 in", "upper": "7 mm", "comparator": "between"},
        {"lower": "85 g", "comparator": "at_least"},
    ],
)
def test_a_clause_that_nobody_could_measure_stays_a_draft(club, draft, by, content):
    width = factories.characteristic(club)
    fields = {"measuring_point": "at the widest"} | content
    Clause.objects.create(revision=draft, number="2", text="Width.", position=2, characteristic=width, **fields)

    with pytest.raises(ProblemsRemain) as refusal:
        publish(draft, by)

    assert "2" in str(refusal.value)
    draft.refresh_from_db()
    assert not draft.is_published


def test_the_same_clause_is_published_when_a_judge_decides_and_it_says_why(club, draft, by):
    Clause.objects.create(
        revision=draft,
        number="2",
        text="Front grille.",
        position=2,
        characteristic=factories.characteristic(club),
        nominal="0.063 in",
        comparator="judge_decides",
        judge_reason="No comparator is printed on the sheet this came from.",
    )

    assert publish(draft, by).is_published


def test_a_number_given_twice_is_not_published(draft, by):
    add_clause(revision=draft, content=ClauseContent(number="1", text="Again."), by=by)

    with pytest.raises(ProblemsRemain):
        publish(draft, by)


def test_what_is_published_cannot_be_published_again_or_changed(draft, by):
    publish(draft, by)

    with pytest.raises(NotADraft):
        publish(draft, by)
    with pytest.raises(PublishedIsFinal):
        services.discard_draft(revision=draft, by=by)
    with pytest.raises(PublishedIsFinal):
        services.change_draft(
            revision=draft, name="New", racing_class=None, preamble="", decision_rule="certain_pass", is_closed=True,
            version=version_of(draft), by=by,
        )  # fmt: skip


def test_the_next_draft_says_the_same_under_the_same_lasting_ids(draft, by):
    publish(draft, by)

    following = services.start_next_draft(rule_sheet=draft.rule_sheet, by=by)

    assert (following.number, following.state) == (2, "draft")
    assert [(c.lasting_id, plain_content(content_of(c))) for c in clauses_of(following)] == [
        (c.lasting_id, plain_content(content_of(c))) for c in clauses_of(draft)
    ]
    assert {c.pk for c in clauses_of(following)}.isdisjoint(c.pk for c in clauses_of(draft))


def test_there_is_one_draft_at_a_time(draft, by):
    publish(draft, by)

    first = services.start_next_draft(rule_sheet=draft.rule_sheet, by=by)

    assert services.start_next_draft(rule_sheet=draft.rule_sheet, by=by) == first
    with pytest.raises(IntegrityError), transaction.atomic():
        RuleSheetRevision.objects.create(rule_sheet=draft.rule_sheet, number=9)


def test_the_second_revision_says_what_changed(draft, by):
    publish(draft, by)
    services.start_next_draft(rule_sheet=draft.rule_sheet, by=by)

    with pytest.raises(ChangeNoteMissing):
        publish(draft, by, note="  ")

    assert publish(draft, by, note="Wider tires.").change_note == "Wider tires."


def test_a_revision_does_not_hold_from_before_the_one_it_follows(draft, by):
    publish(draft, by)
    services.start_next_draft(rule_sheet=draft.rule_sheet, by=by)

    with pytest.raises(InForceTooEarly):
        publish(draft, by, day=MARCH - dt.timedelta(days=1), note="Earlier.")

    assert publish(draft, by, day=MARCH, note="Same day.").number == 2


def test_deleting_a_clause_of_the_draft_leaves_the_published_one(draft, by):
    publish(draft, by)
    following = services.start_next_draft(rule_sheet=draft.rule_sheet, by=by)

    delete_clause(clause=following.clauses.get(), by=by)

    assert draft.clauses.count() == 1


def test_publishing_pins_the_general_sheet_in_force_that_day(club, draft, by):
    general = factories.published_sheet(club)
    draft.rule_sheet.parent = general.rule_sheet
    draft.rule_sheet.save()

    assert publish(draft, by).parent_revision == general


def test_a_copy_has_lasting_ids_of_its_own(draft, by):
    copy = services.copy_rule_sheet(source=draft, name="GT 24", by=by)

    assert [c.text for c in copy.clauses.all()] == [c.text for c in draft.clauses.all()]
    assert copy.clauses.get().lasting_id != draft.clauses.get().lasting_id
    assert (copy.number, copy.state) == (1, "draft")


def test_two_sheets_of_one_name_are_refused(club, draft, by):
    with pytest.raises(SheetNameTaken):
        create_rule_sheet(club=club, name="gt 32", by=by)
    with pytest.raises(SheetNameTaken):
        services.copy_rule_sheet(source=draft, name="GT 32", by=by)

    assert create_rule_sheet(club=factories.club(), name="GT 32", by=by).number == 1


def test_a_class_is_found_whatever_the_case_or_made(club):
    gt = factories.racing_class(club, name="GT")

    assert class_named(club=club, name="gt") == gt
    assert class_named(club=club, name="Saloon", scale="1:24").scale == "1:24"
    assert class_named(club=club, name="") is None


def test_a_discarded_first_draft_takes_its_sheet_along_and_a_later_one_does_not(draft, by):
    other = services.copy_rule_sheet(source=draft, name="Other", by=by)
    publish(draft, by)
    following = services.start_next_draft(rule_sheet=draft.rule_sheet, by=by)

    assert services.discard_draft(revision=following, by=by) == draft.rule_sheet
    assert services.discard_draft(revision=other, by=by) is None
    assert list(RuleSheet.objects.all()) == [draft.rule_sheet]
    assert LogEntry.objects.filter(action="threw away draft").count() == 2


def change_head(revision, by, **fields):
    said = {
        "name": "GT 32", "racing_class": None, "preamble": "Ask.", "decision_rule": "certain_pass", "is_closed": True,
        "version": version_of(revision),
    } | fields  # fmt: skip
    return services.change_draft(revision=revision, by=by, **said)


def test_the_head_of_a_draft_is_changed(draft, by):
    changed = change_head(draft, by, name="GT 32 light")

    assert (changed.rule_sheet.name, changed.preamble, changed.is_closed) == ("GT 32 light", "Ask.", True)


def test_the_name_stays_once_a_revision_is_published(draft, by):
    publish(draft, by)
    following = services.start_next_draft(rule_sheet=draft.rule_sheet, by=by)

    assert change_head(following, by, name="Other").rule_sheet.name == "GT 32"


def test_two_people_at_one_head_do_not_overwrite_each_other(draft, by):
    opened = version_of(draft)
    change_head(draft, by)

    with pytest.raises(ChangedMeanwhile):
        change_head(draft, by, preamble="Mine.", version=opened)

    draft.refresh_from_db()
    assert draft.preamble == "Ask."


def test_a_ruling_hangs_on_the_lasting_id_and_is_signed(draft, by):
    clause = draft.clauses.get()
    rule = {"rule_sheet": draft.rule_sheet, "clause_lasting_id": clause.lasting_id, "text": "Yes.", "reason": "So."}
    with pytest.raises(ClauseNotPublished):
        services.add_ruling(**rule, by=by)
    publish(draft, by)

    ruling = services.add_ruling(**rule, by=by)

    assert (ruling.judge, ruling.clause_lasting_id) == (by, clause.lasting_id)
