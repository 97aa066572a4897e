"""Pages of rule sheets: the public reads what is published, writers write the rest."""

import datetime as dt
import io
import json

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from pypdf import PdfReader

from inspection.contents.selectors import version_of
from inspection.exchange.services import create_rule_sheet
from inspection.gauges.services import install_register
from inspection.models import Clause, Role, RuleSheet, RuleSheetRevision
from inspection.papers import documents
from inspection.rulesheets.services import add_ruling, start_next_draft
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def club():
    return factories.club()


@pytest.fixture
def published(club):
    return factories.published_sheet(club, by=factories.member(club))


@pytest.fixture
def writer(club, client):
    user = factories.member(club, Role.RACE_DIRECTOR)
    client.force_login(user)
    return user


def address(name, club, *ids):
    return reverse(name, args=[club.slug, *ids])


def queries(client, page):
    with CaptureQueriesContext(connection) as captured:
        assert client.get(page).status_code == 200
    return len(captured)


def test_anyone_reads_a_published_sheet_with_both_systems(client, club, published):
    answer = client.get(address("rulesheet-detail", club, published.rule_sheet.public_id), follow=True)

    text = answer.content.decode()
    assert answer.status_code == 200
    assert "At most 64.00 mm (2.520 in)" in text
    assert "widest part of the body" in text
    assert "Start the next draft" not in text
    assert "Rule on clause" not in text


def test_nobody_outside_reads_a_draft(client, club, published, writer):
    draft = start_next_draft(rule_sheet=published.rule_sheet, by=writer)
    never = create_rule_sheet(club=club, name="Never published", by=writer)
    pages = [
        address("revision-detail", club, draft.public_id),
        address("revision-print", club, draft.public_id),
        address("revision-compare", club, draft.public_id),
        address("rulesheet-export", club, published.rule_sheet.public_id) + "?revision=2",
        address("rulesheet-detail", club, never.rule_sheet.public_id),
    ]
    assert [client.get(page).status_code for page in pages] == [200, 200, 200, 200, 302]

    client.logout()

    assert [client.get(page).status_code for page in pages] == [404] * 5
    assert "Never published" not in client.get(address("rulesheet-list", club)).content.decode()


def test_only_writers_write(client, club, published):
    client.force_login(factories.member(club, Role.TECH_INSPECTOR))
    draft = start_next_draft(rule_sheet=published.rule_sheet, by=None)

    for name, ids in [
        ("rulesheet-create", []),
        ("revision-edit", [draft.public_id]),
        ("revision-publish", [draft.public_id]),
        ("revision-discard", [draft.public_id]),
        ("ruling-create", [published.public_id, published.clauses.first().lasting_id]),
    ]:
        assert client.get(address(name, club, *ids)).status_code == 403, name


@pytest.mark.parametrize("start", ["plastic-chassis-32", "steel-chassis-24", "general"])
def test_a_starter_becomes_a_draft_that_can_be_published_at_once(client, club, writer, start):
    install_register(club=club, by=writer)

    answer = client.post(address("rulesheet-create", club), {"start": start, "new_class": "GT", "scale": "1:32"})

    draft = RuleSheetRevision.objects.of(club).get()
    assert answer.url == address("revision-edit", club, draft.public_id)
    assert draft.rule_sheet.racing_class.name == "GT"
    answer = client.post(address("revision-publish", club, draft.public_id), {"effective_from": "2026-03-01"})
    assert answer.url == address("revision-detail", club, draft.public_id)
    draft.refresh_from_db()
    assert (draft.is_published, draft.effective_from) == (True, dt.date(2026, 3, 1))


def test_a_sheet_is_begun_empty_or_as_a_copy(client, club, writer, published):
    page = address("rulesheet-create", club)

    assert client.post(page, {"start": "blank", "name": "Empty"}).status_code == 302
    assert client.post(page, {"start": f"copy-{published.public_id}", "name": "Copy"}).status_code == 302

    assert [RuleSheet.objects.get(name=name).revisions.get().clauses.count() for name in ("Empty", "Copy")] == [0, 3]


@pytest.mark.parametrize(
    ("typed", "status"),
    [
        ({"start": "blank"}, 422),
        ({"start": "blank", "name": "x" * 121}, 422),
        ({"start": "copy-nothing", "name": "x"}, 422),
        ({"start": "blank", "name": "Taken"}, 409),
    ],
)
def test_a_sheet_that_cannot_be_begun_says_why(client, club, writer, typed, status):
    create_rule_sheet(club=club, name="Taken", by=writer)

    assert client.post(address("rulesheet-create", club), typed).status_code == status
    assert RuleSheet.objects.count() == 1


def test_the_draft_shows_each_problem_and_what_to_do_beside_its_clause(client, club, writer, published):
    draft = start_next_draft(rule_sheet=published.rule_sheet, by=writer)
    draft.clauses.filter(number="2").update(comparator="", measuring_point="")

    page = client.get(address("revision-edit", club, draft.public_id))

    text = page.content.decode()
    assert "1 clause cannot be published yet" in text
    assert "needs a comparator" in text
    assert "Mend 2" in text
    assert not page.context["is_ready"]
    answer = client.post(
        address("revision-publish", club, draft.public_id), {"effective_from": "2026-03-01", "change_note": "x"}
    )
    assert answer.status_code == 409
    assert "let a judge decide and say why" in answer.content.decode()


def test_before_publishing_what_is_doubtful_is_shown_with_the_way_to_mend_it(client, club, writer, published):
    draft = start_next_draft(rule_sheet=published.rule_sheet, by=writer)
    draft.clauses.filter(number="2").update(text="A gap of 1.5 mm (.060 in).")

    text = client.get(address("revision-publish", club, draft.public_id)).content.decode()

    assert "Worth a second look" in text
    assert "1.5 mm and 0.060 in are not the same" in text
    assert "Mend 2" in text


def test_the_second_revision_asks_what_changed_and_keeps_the_day_typed(client, club, writer, published):
    draft = start_next_draft(rule_sheet=published.rule_sheet, by=writer)
    page = address("revision-publish", club, draft.public_id)

    answer = client.post(page, {"effective_from": "2026-04-01", "change_note": ""})

    assert answer.status_code == 409
    assert answer.context["form"]["effective_from"].value() == "2026-04-01"
    assert client.post(page, {"effective_from": "31.02.2026", "change_note": "x"}).status_code == 422
    assert client.post(page, {"effective_from": "2026-04-01", "change_note": "Wider."}).status_code == 302


def test_a_head_saved_by_two_people_loses_nothing(client, club, writer, published):
    draft = start_next_draft(rule_sheet=published.rule_sheet, by=writer)
    page = address("revision-edit", club, draft.public_id)
    opened = version_of(draft)
    RuleSheetRevision.objects.filter(pk=draft.pk).update(preamble="First.")
    typed = {"preamble": "Second.", "decision_rule": "simple_acceptance", "version": opened}

    answer = client.post(page, typed)

    assert answer.status_code == 409
    assert answer.context["form"]["preamble"].value() == "Second."
    typed["version"] = answer.context["form"]["version"].value()
    assert client.post(page, typed).status_code == 302
    draft.refresh_from_db()
    assert draft.preamble == "Second."


def test_an_edit_page_of_a_published_revision_leads_to_reading_it(client, club, writer, published):
    answer = client.get(address("revision-edit", club, published.public_id))

    assert answer.url == address("revision-detail", club, published.public_id)


def test_a_draft_is_started_and_thrown_away(client, club, writer, published):
    client.post(address("rulesheet-draft", club, published.rule_sheet.public_id))
    draft = RuleSheetRevision.objects.get(state="draft")
    assert client.get(address("revision-discard", club, draft.public_id)).status_code == 200

    answer = client.post(address("revision-discard", club, draft.public_id))

    assert answer.url == address("rulesheet-detail", club, published.rule_sheet.public_id)
    assert client.post(address("revision-discard", club, published.public_id)).status_code == 409


def test_a_ruling_stands_under_its_clause_in_every_revision(client, club, writer, published):
    clause = published.clauses.get(number="2")
    page = address("ruling-create", club, published.public_id, clause.lasting_id)
    assert client.post(page, {"text": "", "reason": ""}).status_code == 422

    client.post(page, {"text": "Mirrors <b>count</b>.", "reason": "They are body."})
    draft = start_next_draft(rule_sheet=published.rule_sheet, by=writer)

    for revision in (published, draft):
        text = client.get(address("revision-detail", club, revision.public_id)).content.decode()
        assert "Mirrors &lt;b&gt;count&lt;/b&gt;." in text
        assert str(writer) in text


def test_a_sheet_is_sent_as_json(client, club, published):
    answer = client.get(address("rulesheet-export", club, published.rule_sheet.public_id))

    assert answer["Content-Type"] == "application/json"
    assert "attachment" in answer["Content-Disposition"]
    assert json.loads(answer.content)["clauses"][0]["upper"] == "64.00 mm"


def test_another_club_s_sheet_is_not_found(client, club, writer):
    other = factories.published_sheet(factories.club())

    assert client.get(address("revision-detail", club, other.public_id)).status_code == 404
    assert client.get(address("rulesheet-detail", club, other.rule_sheet.public_id)).status_code == 404


def test_two_sheets_and_two_hundred_take_as_many_queries(client, club, writer):
    def add(count):
        for _ in range(count):
            factories.published_sheet(club, clauses=0, racing_class=factories.racing_class(club))

    add(2)
    few = queries(client, address("rulesheet-list", club))
    add(198)

    assert queries(client, address("rulesheet-list", club)) == few


@pytest.mark.parametrize("name", ["revision-detail", "revision-edit"])
def test_two_clauses_and_sixty_take_as_many_queries(client, club, writer, name):
    pages = []
    for clauses in (2, 60):
        revision = factories.published_sheet(club, clauses=clauses, by=writer)
        add_ruling(
            rule_sheet=revision.rule_sheet,
            clause_lasting_id=revision.clauses.first().lasting_id,
            text="x",
            reason="y",
            by=writer,
        )
        if name == "revision-edit":
            revision = start_next_draft(rule_sheet=revision.rule_sheet, by=writer)
        pages.append(address(name, club, revision.public_id))
    client.get(pages[0])

    assert queries(client, pages[1]) == queries(client, pages[0])


def test_the_list_goes_out_as_csv_with_no_formula(client, club, writer, published):
    RuleSheet.objects.filter(pk=published.rule_sheet.pk).update(name="=cmd()")

    assert "'=cmd()" in client.get(address("rulesheet-list", club) + "?export=csv").content.decode()


@pytest.mark.pdf
@pytest.mark.parametrize(("paper", "width_mm", "height_mm"), [("A4", 210, 297), ("Letter", 215.9, 279.4)])
def test_the_paper_has_every_clause_and_the_running_head(client, club, published, paper, width_mm, height_mm):
    # ISO 216 A4 and US Letter 8.5 x 11 in; 1 in = 72 points = 25.4 mm
    club.paper = paper
    club.save()
    Clause.objects.filter(revision=published, number="3").update(text="x" * 1000)

    answer = client.get(address("revision-print", club, published.public_id))

    reader = PdfReader(io.BytesIO(answer.content))
    text = "".join(page.extract_text() for page in reader.pages)
    box = reader.pages[0].mediabox
    assert answer["Content-Type"] == "application/pdf"
    assert (float(box.width), float(box.height)) == pytest.approx((width_mm / 25.4 * 72, height_mm / 25.4 * 72), abs=1)
    assert "At most 64.00 mm (2.520 in)" in text
    assert text.replace("\n", "").count("x" * 20) >= 40
    for page in reader.pages:
        head = page.extract_text()
        assert str(published.rule_sheet) in head
        assert "revision 1, from 1 January 2026" in head
        assert f"of {len(reader.pages)}" in head


def test_without_pango_the_browser_s_own_print_is_offered(client, club, published, monkeypatch):
    def missing(html):
        raise documents.PrintUnavailableError("missing")

    monkeypatch.setattr(documents, "pdf_bytes", missing)

    answer = client.get(address("revision-print", club, published.public_id))

    assert answer.status_code == 503
    assert "?as=page" in answer.content.decode()
    assert client.get(address("revision-print", club, published.public_id) + "?as=page").status_code == 200
