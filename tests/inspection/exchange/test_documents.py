"""A sheet goes out as documented JSON and comes in at another club as the same sheet."""

import json

import jsonschema
import pytest

from inspection.clauses.selectors import clauses_of
from inspection.contents.selectors import content_of, plain_content
from inspection.exchange.documents import sheet_document
from inspection.exchange.imports import read_sheet, starter_content
from inspection.exchange.selectors import STARTERS, schema_text
from inspection.exchange.services import create_from_content
from inspection.gauges.services import install_register
from tests import factories

pytestmark = pytest.mark.django_db


def said(revision):
    return [(clause.lasting_id, plain_content(content_of(clause))) for clause in clauses_of(revision)]


@pytest.mark.parametrize("starter", STARTERS, ids=lambda starter: starter.code)
def test_there_and_back_again_every_clause_is_the_same(starter):
    here, there = factories.club(), factories.club()
    install_register(club=here, by=None)
    gt = factories.racing_class(here, name="GT", scale="1:32")
    content = starter_content(club=here, code=starter.code)
    sent = create_from_content(club=here, content=content, racing_class=gt, by=None)

    document = json.loads(json.dumps(sheet_document(sent)))
    jsonschema.validate(
        document,
        json.loads(schema_text()),
        cls=jsonschema.Draft202012Validator,
        format_checker=jsonschema.Draft202012Validator.FORMAT_CHECKER,
    )
    install_register(club=there, by=None)
    arrived = create_from_content(
        club=there, content=read_sheet(json.dumps(document).encode(), club=there), name="From far away", by=None
    )

    assert said(arrived) == said(sent)
    assert (arrived.preamble, arrived.decision_rule, arrived.is_closed) == (
        sent.preamble,
        sent.decision_rule,
        sent.is_closed,
    )
    assert (arrived.rule_sheet.name, arrived.rule_sheet.racing_class.name) == ("From far away", "GT")


def test_a_club_without_the_characteristics_gets_them_as_they_were():
    here, there = factories.club(), factories.club()
    revision = factories.published_sheet(here, clauses=2)

    content = read_sheet(json.dumps(sheet_document(revision)).encode(), club=there)
    create_from_content(club=there, content=content, by=None)

    assert {(one.code, one.name, one.unit, one.plausible_low) for one in content.new_characteristics} == {
        (one.characteristic.code, one.characteristic.name, "mm", "20 mm") for one in clauses_of(revision)
    }


def test_an_answer_of_no_survives_the_journey():
    club = factories.club()
    revision = factories.published_sheet(club, clauses=1)
    magnets = factories.characteristic(club, kind="yes_no", unit="", plausible_low="", plausible_high="")
    revision.clauses.update(comparator="yes_no", upper="", characteristic=magnets, expected_answer=False)

    document = sheet_document(revision)
    content = read_sheet(json.dumps(document).encode(), club=club)

    assert document["clauses"][0]["expected_answer"] is False
    assert content.clauses[0][1].expected_answer is False
