"""A class sheet builds on a general sheet: overrides, adds, strikes; publishing freezes what holds."""

import datetime as dt

import pytest

from inspection.choicelists.selectors import EntryContent
from inspection.choicelists.services import create_choice_list, revise_choice_list
from inspection.clauses.selectors import checked_clauses, clauses_of, sheet_for_engine
from inspection.clauses.services import save_clause
from inspection.conformity.clauses import Comparator
from inspection.conformity.observations import named
from inspection.conformity.sheet import judge_one
from inspection.conformity.verdicts import Outcome
from inspection.contents.selectors import ClauseContent, Requirement, content_of, plain_content, version_of
from inspection.exchange.services import create_rule_sheet
from inspection.families.errors import BuildsInACircle, ParentNotInForce
from inspection.families.selectors import family_of, lagging_children, newer_parent, sheets_to_build_on
from inspection.models import Clause
from inspection.rulesheets.services import change_draft, publish_rule_sheet, start_next_draft
from inspection.units import Kind, parse_quantity
from inspection.wording.selectors import limit_words
from tests import factories

pytestmark = pytest.mark.django_db
FIRST, LATER = dt.date(2026, 1, 1), dt.date(2026, 6, 1)


@pytest.fixture
def club():
    return factories.club()


@pytest.fixture
def width(club):
    return factories.characteristic(club, name="Width")


def mm(text):
    return parse_quantity(text, Kind.LENGTH, default_unit="mm")


def add(revision, number, text, **said):
    position = revision.clauses.count() + 1
    return save_clause(Clause(revision=revision, position=position), ClauseContent(number=number, text=text, **said))


def at_most(width, limit):
    return {
        "characteristic": width,
        "measuring_point": "at the widest",
        "comparator": Comparator.AT_MOST,
        "upper": mm(limit),
    }


def publish(revision, day=FIRST, note=""):
    owner = factories.user()
    return publish_rule_sheet(rule_sheet=revision.rule_sheet, effective_from=day, change_note=note, by=owner)


def build_on(draft, parent):
    sheet = draft.rule_sheet
    change_draft(
        revision=draft,
        name=sheet.name,
        racing_class=None,
        preamble="",
        parent=parent,
        version=version_of(draft),
        by=None,
    )
    draft.refresh_from_db()
    return draft


@pytest.fixture
def general(club, width):
    draft = create_rule_sheet(club=club, name="General", by=None)
    add(draft, "1", "Wide.", **at_most(width, "64 mm"))
    add(draft, "2", "Any braid.")
    add(draft, "10", "Any wire.")
    return publish(draft)


@pytest.fixture
def of_class(club, width, general):
    draft = build_on(create_rule_sheet(club=club, name="Narrow class", by=None), general.rule_sheet)
    add(draft, "1", "Narrow.", **at_most(width, "60 mm"))
    add(draft, "4", "Any paint.")
    add(draft, "10", "", is_struck=True)
    return draft


def test_a_draft_shows_what_holds_and_where_it_comes_from(general, of_class):
    family = family_of(of_class)

    assert [(one.number, one.text, one.inherited_from is not None) for one in family.clauses] == [
        ("1", "Narrow.", False),
        ("2", "Any braid.", True),
        ("4", "Any paint.", False),
    ]
    assert [one.number for one in family.struck] == ["10"]
    assert [one.text for one in family.overrides.values()] == ["Wide."]
    assert of_class.clauses.count() == 3


def test_publishing_freezes_what_holds_and_pins_the_general_revision(general, of_class):
    published = publish(of_class)

    rows = clauses_of(published)
    assert [(one.number, one.inherited_from is not None) for one in rows] == [
        ("1", False), ("2", True), ("4", False), ("10", False)
    ]  # fmt: skip
    assert published.parent_revision == general
    assert rows[1].inherited_from.revision == general
    assert rows[1].lasting_id == general.clauses.get(number="2").lasting_id
    assert [one.number for one in checked_clauses(published, "before")] == ["1"]
    assert [one.number for one in sheet_for_engine(published).clauses] == ["1", "2", "4"]
    assert [(one.number, one.is_struck) for one in family_of(published).own][-1] == ("10", True)
    assert [one.number for one in family_of(published).struck] == ["10"]


def test_what_the_general_sheet_says_later_changes_nothing_until_the_class_is_published_again(general, of_class):
    published = publish(of_class)
    draft = start_next_draft(rule_sheet=general.rule_sheet, by=None)
    changed = draft.clauses.get(number="2")
    save_clause(changed, ClauseContent(number="2", text="Copper braid only."))
    second = publish(draft, LATER, "braid")

    assert [one.text for one in clauses_of(published)][1] == "Any braid."
    assert newer_parent(published) == second
    assert [(one.revision, one.pinned) for one in lagging_children(second)] == [(published, 1)]

    again = publish(start_next_draft(rule_sheet=published.rule_sheet, by=None), LATER, "follows the general sheet")

    assert [one.text for one in clauses_of(again)][1] == "Copper braid only."
    assert (newer_parent(again), lagging_children(second)) == (None, [])


def test_the_next_draft_holds_its_own_clauses_only(of_class):
    published = publish(of_class)

    draft = start_next_draft(rule_sheet=published.rule_sheet, by=None)

    assert [one.number for one in clauses_of(draft)] == ["1", "4", "10"]
    assert [one.number for one in family_of(draft).clauses] == ["1", "2", "4"]


def test_a_sheet_does_not_build_on_one_that_builds_on_it(club, general, of_class):
    publish(of_class)
    draft = start_next_draft(rule_sheet=general.rule_sheet, by=None)

    with pytest.raises(BuildsInACircle):
        build_on(draft, of_class.rule_sheet)
    assert sheets_to_build_on(general.rule_sheet) == []
    assert sheets_to_build_on(of_class.rule_sheet) == [general.rule_sheet]


def test_a_class_cannot_hold_from_before_its_general_sheet(of_class):
    with pytest.raises(ParentNotInForce):
        publish(of_class, dt.date(2025, 1, 1))


def test_a_class_on_a_class_says_of_each_clause_which_sheet_said_it_first(club, width, general, of_class):
    middle = publish(of_class)
    draft = build_on(create_rule_sheet(club=club, name="Junior class", by=None), middle.rule_sheet)
    add(draft, "5", "Any driver's mate.")

    lowest = publish(draft)

    origins = {one.number: one.inherited_from.revision.rule_sheet.name for one in clauses_of(lowest)[:3]}
    assert origins == {"1": "Narrow class", "2": "General", "4": "Narrow class"}


def test_publishing_pins_lists_in_clauses_and_parts(club):
    motor = factories.characteristic(club, name="Motor", code="motor", kind="choice", unit="", plausible_low="",
                                     plausible_high="")  # fmt: skip
    swift, dart = EntryContent(value="Swift 20"), EntryContent(value="Dart 18")
    motors = create_choice_list(club=club, name="Motors", entries=[swift], by=None).choice_list
    draft = create_rule_sheet(club=club, name="GT", by=None)
    named_list = {"characteristic": motor, "comparator": Comparator.ONE_OF, "choice_list": motors}
    add(draft, "1", "Motor.", **named_list)
    part = Requirement(**named_list)
    add(draft, "2", "Motor, too.", comparator=Comparator.ANY_OF, parts=(part, part))
    published = publish(draft)
    revise_choice_list(choice_list=motors, entries=[dart], change_note="x", based_on=1, by=None)

    sheet = sheet_for_engine(published)
    for number in ("1", "2"):
        assert judge_one(sheet, number, {"motor": named("Swift 20")}).outcome is Outcome.PASS
        assert judge_one(sheet, number, {"motor": named("Dart 18")}).outcome is Outcome.FAIL
    assert limit_words(clauses_of(published)[0]) == "One of the list Motors, revision 1"

    following = start_next_draft(rule_sheet=published.rule_sheet, by=None)
    sheet = sheet_for_engine(following)
    assert [judge_one(sheet, n, {"motor": named("Dart 18")}).outcome for n in "12"] == [Outcome.PASS] * 2
    assert [plain_content(content_of(one)) for one in clauses_of(following)] == [
        plain_content(content_of(one)) for one in clauses_of(published)
    ]
