"""Journey A: a rule sheet is written from a starter, mended, published, and read by everybody."""

import re

from inspection.models import Clause, LogEntry, RuleSheetRevision
from tests.page_forms import form_on


def words(response):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", response.content.decode()))


def test_a_rule_sheet_is_written_mended_and_published(club, director, anybody):
    page = director.get("/harbor/rule-sheets/create/")
    new = form_on(page, "sheet-form")
    draft_page = new.send(director, start=new.choice("start", "General"), name="House rules", new_class="Box stock 32")
    draft = RuleSheetRevision.objects.get()
    assert draft.rule_sheet.name == "House rules"
    assert draft.clauses.count() == 9
    assert anybody.get(f"/harbor/revisions/{draft.public_id}/").status_code == 404

    # A clause that has a limit and no measuring point stays a draft, and so does the sheet.
    clause = form_on(director.get(f"/harbor/revisions/{draft.public_id}/clauses/create/"), "clause-form")
    subject = clause.choice("characteristic", "Overall width")
    width = {"number": "10", "text": "The body is no wider than the plate.", "characteristic": subject}
    draft_page = clause.send(director, **width, upper="64 mm", measuring_point="", comparator="")
    assert "1 clause cannot be published yet" in words(draft_page)
    kept = Clause.objects.get(number="10")

    # With its comparator and its measuring point it is ready; what was understood is said before it is published.
    mend = form_on(director.get(f"/harbor/revisions/{draft.public_id}/clauses/{kept.lasting_id}/edit/"), "clause-form")
    assert mend.values["upper"] == ["64 mm"]
    draft_page = mend.send(director, comparator="at_most", measuring_point="widest part of the body")
    assert "At most 64.00 mm (2.520 in)" in words(draft_page)
    assert "cannot be published yet" not in words(draft_page)

    published = form_on(director.get(f"/harbor/revisions/{draft.public_id}/publish/"), "publish-form").send(director)
    assert published.status_code == 200
    draft.refresh_from_db()
    assert draft.state == "published"
    assert "The body is no wider than the plate." in words(anybody.get(f"/harbor/revisions/{draft.public_id}/"))
    assert LogEntry.objects.filter(action__contains="publish", by__username="hedda").exists()


def test_a_clause_without_a_measuring_point_is_published_only_as_judge_decides_saying_why(club, director, anybody):
    new = form_on(director.get("/harbor/rule-sheets/create/"), "sheet-form")
    new.send(director, start="blank", name="Concours")
    draft = RuleSheetRevision.objects.get()
    clause = form_on(director.get(f"/harbor/revisions/{draft.public_id}/clauses/create/"), "clause-form")
    subject = clause.choice("characteristic", "Overall width")
    clause.send(director, number="1", text="Not too wide.", characteristic=subject, upper="64 mm", comparator="")

    refused = director.post(f"/harbor/revisions/{draft.public_id}/publish/", {"effective_from": "2026-11-27"})
    assert refused.status_code in {409, 422}
    draft.refresh_from_db()
    assert draft.state == "draft"

    lasting = draft.clauses.get().lasting_id
    mend = form_on(director.get(f"/harbor/revisions/{draft.public_id}/clauses/{lasting}/edit/"), "clause-form")
    mend.send(director, comparator="judge_decides", upper="", judge_reason="no gauge reaches round the wings")
    form_on(director.get(f"/harbor/revisions/{draft.public_id}/publish/"), "publish-form").send(director)
    draft.refresh_from_db()
    assert draft.state == "published"
    read = words(anybody.get(f"/harbor/revisions/{draft.public_id}/"))
    assert "Judge decides" in read
    assert "no gauge reaches round the wings" in read


def test_the_next_revision_says_what_changed_and_the_first_stays(club, director, anybody):
    new = form_on(director.get("/harbor/rule-sheets/create/"), "sheet-form")
    new.send(director, start=new.choice("start", "General"), name="House rules")
    first = RuleSheetRevision.objects.get()
    form_on(director.get(f"/harbor/revisions/{first.public_id}/publish/"), "publish-form").send(director)
    form_on(director.get(f"/harbor/revisions/{first.public_id}/"), "/draft/").send(director)
    second = RuleSheetRevision.objects.get(number=2)
    lasting = second.clauses.get(number="4").lasting_id
    assert lasting == first.clauses.get(number="4").lasting_id
    change = form_on(director.get(f"/harbor/revisions/{second.public_id}/clauses/{lasting}/edit/"), "clause-form")
    change.send(director, upper="6.4 mm")
    publish = form_on(director.get(f"/harbor/revisions/{second.public_id}/publish/"), "publish-form")
    publish.send(director, effective_from="2030-01-01", change_note="The floor of the slot was measured.")

    compared = words(anybody.get(f"/harbor/revisions/{second.public_id}/compare/"))
    assert "6.5" in compared
    assert "6.4" in compared
    assert "At most 6.50 mm" in words(anybody.get(f"/harbor/revisions/{first.public_id}/"))
    assert "The floor of the slot was measured." in words(anybody.get(f"/harbor/revisions/{second.public_id}/"))
