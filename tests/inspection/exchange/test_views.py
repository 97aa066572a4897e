"""The pages of the import: the file, what would come in, then all of it or nothing."""

import json

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from inspection.models import Characteristic, Clause, RuleSheet, RuleSheetRevision
from tests import factories

pytestmark = pytest.mark.django_db

DOCUMENT = {
    "document": "rule-sheet",
    "version": 1,
    "name": "GT 32",
    "racing_class": {"name": "GT", "scale": "1:32"},
    "clauses": [
        {
            "number": "1",
            "text": "No wider than <script>alert(1)</script> this.",
            "characteristic": "overall-width",
            "measuring_point": "widest part",
            "comparator": "at_most",
            "upper": "2 1/16 in",
        },
        {"number": "2", "text": "Front grille.", "nominal": "0.063 in"},
    ],
}


@pytest.fixture
def club():
    return factories.club()


@pytest.fixture
def page(club, client):
    client.force_login(factories.member(club))
    return reverse("rulesheet-import", args=[club.slug])


def send(client, page, content):
    data = content if isinstance(content, bytes) else json.dumps(content).encode()
    return client.post(page, {"file": SimpleUploadedFile("sheet.json", data)})


def test_the_preview_shows_every_clause_and_saves_nothing(client, page):
    answer = send(client, page, DOCUMENT)

    text = answer.content.decode()
    assert answer.status_code == 200
    assert "At most 2 1/16 in (52.39 mm)" in text
    assert "needs a comparator" in text
    assert "Overall width" in text
    assert "<script>alert(1)" not in text
    assert not RuleSheet.objects.exists()
    assert not Characteristic.objects.exists()


def test_the_preview_names_the_lists_that_would_be_new(client, page):
    motor = {"number": "3", "text": "Motor.", "characteristic": "motor-type", "comparator": "one_of"}
    lists = [{"name": "Approved motors", "entries": [{"value": "Swift 20"}, {"value": "Swift 21"}]}]
    whole = DOCUMENT | {"version": 2, "clauses": [motor | {"choice_list": "Approved motors"}], "choice_lists": lists}

    text = send(client, page, whole).content.decode()

    assert "Approved motors (2 entries)" in text


def test_confirming_brings_all_of_it_in_as_a_draft(client, page, club):
    form = send(client, page, DOCUMENT).context["form"]

    answer = client.post(page, {"document": form["document"].value(), "name": "GT 32 of our friends"})

    revision = RuleSheetRevision.objects.of(club).get()
    assert answer.url == reverse("revision-edit", args=[club.slug, revision.public_id])
    assert (revision.state, revision.rule_sheet.name) == ("draft", "GT 32 of our friends")
    assert revision.rule_sheet.racing_class.name == "GT"
    assert [clause.number for clause in revision.clauses.all()] == ["1", "2"]


def test_a_name_that_is_taken_is_asked_for_again_and_nothing_comes_in(client, page, club):
    RuleSheet.objects.create(club=club, name="gt 32")
    document = json.dumps(DOCUMENT)

    answer = client.post(page, {"document": document, "name": "GT 32"})

    assert answer.status_code == 409
    assert answer.context["form"]["document"].value() == document
    assert "already a rule sheet" in answer.content.decode()
    assert not Clause.objects.exists()
    assert not Characteristic.objects.exists()


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"PK\x03\x04 not json", "not a JSON file"),
        ({"document": "rule-sheet", "version": 7}, "version 2 can be read"),
        (DOCUMENT | {"clauses": [{"number": "9", "text": "x", "comparator": "about"}]}, "Clause 9"),
        (DOCUMENT | {"clauses": [{"number": "<b>9", "text": 1}]}, "&lt;b&gt;9"),
    ],
)
def test_a_bad_file_says_what_is_wrong_and_nothing_comes_in(client, page, content, words):
    answer = send(client, page, content)

    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert not RuleSheet.objects.exists()


def test_no_file_at_all_is_asked_for(client, page):
    assert client.post(page, {}).status_code == 422


def test_a_confirmation_whose_document_was_changed_is_read_again(client, page):
    broken = json.dumps(DOCUMENT).replace("at_most", "about")

    answer = client.post(page, {"document": broken, "name": "GT"})

    assert answer.status_code == 422
    assert "about" in answer.content.decode()
    assert not RuleSheet.objects.exists()


def test_the_schema_is_published_to_anyone(client):
    answer = client.get("/schemas/rule-sheet.json")

    assert answer.status_code == 200
    assert json.loads(answer.content)["properties"]["document"] == {"const": "rule-sheet"}
    assert client.post("/schemas/rule-sheet.json").status_code == 405
