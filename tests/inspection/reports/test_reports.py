"""The fail notice and the inspection report: what failed and by how much, and every clause with its proof."""

import datetime as dt
import io

import pytest
from django.urls import reverse
from django.utils import timezone
from pypdf import PdfReader

from inspection.inspections.services import open_inspection, record_measurement, record_ruling, sign_card
from inspection.models import Role
from tests import factories
from tests.inspection.inspections import worlds

pytestmark = pytest.mark.django_db


@pytest.fixture
def club():
    return factories.club()


@pytest.fixture
def card(club, client):
    inspector = factories.member(club, Role.TECH_INSPECTOR, name="Lou Quarrie")
    client.force_login(inspector)
    occasion = worlds.occasion(club, worlds.WIDTH | {"consequence": "Cure it."}, worlds.TIRE, worlds.LOOKS)
    car = factories.car(club, number=27, owner=factories.driver(club, "Mo Fairweather"))
    made = open_inspection(occasion=occasion, car=car, by=inspector)
    first, second, third = worlds.clauses_of(occasion)
    record_measurement(
        inspection=made, clause=first, text="64.12", gauge=worlds.caliper(club, name="Caliper 2"), by=inspector
    )
    record_measurement(inspection=made, clause=second, text="19.4", by=inspector)
    record_ruling(inspection=made, clause=third, passes=True, reason="Head and arms.", by=inspector)
    return sign_card(inspection=made, cure_by=timezone.now() + dt.timedelta(minutes=15), by=inspector)


def page(client, name, card, **query):
    return client.get(reverse(name, args=[card.occasion.club.slug, card.public_id]), query)


@pytest.mark.parametrize(("name", "query"), [("notice-detail", {}), ("notice-print", {"as": "page"})])
def test_a_notice_says_clause_limit_reading_margin_gauge_and_deadline(client, card, name, query):
    html = page(client, name, card, **query).content.decode()
    for words in ("Overall width", "At most 64.00 mm (2.520 in)", "64.12 mm", "0.12 mm above the limit", "Caliper 2"):
        assert words in html
    assert "Cure it." in html
    assert f"{timezone.localtime(card.cure_by, dt.UTC):%M}" in html
    assert "Rear tire diameter" not in html


def test_a_card_without_a_fail_has_no_notice(client, club):
    made = open_inspection(occasion=worlds.occasion(club, worlds.WIDTH), car=factories.car(club), by=None)
    client.force_login(factories.member(club))
    assert "Nothing on this card fails." in page(client, "notice-detail", made).content.decode()


def test_a_report_has_every_clause_with_its_proof_line(client, card):
    html = page(client, "report-print", card, **{"as": "page"}).content.decode()
    for words in (
        *("Overall width", "64.12 mm", "Caliper 2", "nonconforming", "0.12 mm above the limit", "(k = 2)"),
        *("Rear tire diameter", "19.4 mm", "Driver figure", "Head and arms.", "Lou Quarrie", "simple acceptance"),
    ):
        assert words in html


@pytest.mark.pdf
@pytest.mark.parametrize(("name", "words"), [("notice-print", "Fail notice 27"), ("report-print", "car 27")])
def test_both_come_out_as_pdf(client, card, name, words):
    answer = page(client, name, card)
    assert answer["Content-Type"] == "application/pdf"
    assert words in " ".join(
        " ".join(each.extract_text() for each in PdfReader(io.BytesIO(answer.content)).pages).split()
    )
