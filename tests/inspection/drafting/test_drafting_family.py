"""On the draft of a class sheet: a general clause said anew, one struck, one let apply again."""

import datetime as dt

import pytest
from django.urls import reverse

from inspection.choicelists.selectors import EntryContent
from inspection.choicelists.services import create_choice_list, revise_choice_list
from inspection.contents.selectors import version_of
from inspection.exchange.services import create_rule_sheet
from inspection.models import Role
from inspection.rulesheets.services import publish_rule_sheet
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def club():
    return factories.club()


@pytest.fixture
def general(club):
    return factories.published_sheet(club, clauses=3)


@pytest.fixture
def draft(client, club, general):
    owner = factories.member(club, Role.OWNER)
    client.force_login(owner)
    made = create_rule_sheet(club=club, name="Narrow class", by=owner)
    sent = {"name": "Narrow class", "parent": general.rule_sheet.pk, "decision_rule": "certain_pass"}
    more = {"guard_factor": "2.0", "tolerance_style": "whole_sheet", "sheet_tolerances": "0.1 mm; 1 g"}
    answer = client.post(
        reverse("revision-edit", args=[club.slug, made.public_id]), sent | more | {"version": version_of(made)}
    )
    assert answer.status_code == 302, answer.content.decode()
    made.refresh_from_db()
    made.rule_sheet.refresh_from_db()
    return made


def address(name, club, *args):
    return reverse(name, args=[club.slug, *args])


def test_the_head_says_what_it_builds_on_and_how_it_decides(general, draft):
    assert draft.rule_sheet.parent == general.rule_sheet
    assert (draft.guard_factor, draft.tolerance_style) == (2, "whole_sheet")
    assert draft.sheet_tolerances == {"length": "0.1 mm", "mass": "1 g"}


def test_a_tolerance_of_the_whole_sheet_is_a_quantity(client, club, draft):
    said = {"decision_rule": "simple_acceptance", "tolerance_style": "whole_sheet", "version": version_of(draft)}
    page = address("revision-edit", club, draft.public_id)

    for text, words in (
        ("", "Say the tolerances"),
        ("a bit", "not a number"),
        ("1 mm; 2 mm", "one tolerance for each"),
    ):
        answer = client.post(page, said | {"name": "Narrow class", "sheet_tolerances": text})
        assert answer.status_code == 422
        assert words in answer.content.decode()


def test_a_general_clause_is_said_anew_under_its_number_and_lasting_id(client, club, general, draft):
    clause = general.clauses.get(number="2")
    page = address("clause-create", club, draft.public_id) + f"?of={clause.lasting_id}"
    shown = client.get(page).context["form"].initial
    assert (shown["number"], shown["upper"]) == ("2", "64.00 mm")

    client.post(page, {"number": "2", "text": "Narrower.", "characteristic": clause.characteristic.pk,
                       "measuring_point": "widest", "comparator": "at_most", "upper": "60 mm",
                       "readings_wanted": "1", "phases": ["before"]})  # fmt: skip

    made = draft.clauses.get()
    assert (made.lasting_id, made.upper) == (clause.lasting_id, "60 mm")
    text = client.get(address("revision-detail", club, draft.public_id)).content.decode()
    assert "At most 60.00 mm" in text
    assert text.count("At most 64.00 mm") == 2


def test_a_general_clause_is_struck_and_let_apply_again(client, club, general, draft):
    clause = general.clauses.get(number="3")

    client.post(address("clause-strike", club, draft.public_id, clause.lasting_id))

    struck = draft.clauses.get()
    assert (struck.is_struck, struck.number) == (True, "3")
    text = client.get(address("revision-detail", club, draft.public_id)).content.decode()
    assert "Does not apply here:" in text
    client.post(address("clause-delete", club, draft.public_id, struck.lasting_id))
    assert not draft.clauses.exists()
    unknown = factories.published_sheet(club).clauses.first().lasting_id
    assert client.post(address("clause-strike", club, draft.public_id, unknown)).status_code == 404


def test_reader_and_paper_see_where_each_clause_comes_from_and_what_is_newer(client, club, general, draft):
    motor = factories.characteristic(club, kind="choice", unit="", plausible_low="", plausible_high="")
    motors = create_choice_list(club=club, name="Motors", entries=[EntryContent(value="Swift 20")], by=None).choice_list
    draft.clauses.create(
        number="9", text="Motor.", position=9, characteristic=motor, comparator="one_of", choice_list=motors
    )
    owner = factories.user()
    published = publish_rule_sheet(rule_sheet=draft.rule_sheet, effective_from=dt.date(2026, 2, 1), by=owner)
    revise_choice_list(
        choice_list=motors, entries=[EntryContent(value="Dart 18")], change_note="x", based_on=1, by=None
    )
    client.logout()

    page = client.get(address("revision-detail", club, published.public_id)).content.decode()
    paper = client.get(address("revision-print", club, published.public_id) + "?as=page").content.decode()

    for text in (page, paper):
        assert text.count(f"From {general.rule_sheet.name}") == 3
        assert "Swift 20" in text
        assert "Dart 18" not in text
        assert "Tolerance of the whole sheet: 0.1 mm, 1 g" in text
    assert "List Motors: revision 2 exists; this sheet has 1." in page
