"""The card on paper: A5, in the order in which it is typed, with the code of its page."""

import io

import pytest
from django.urls import reverse
from pypdf import PdfReader

from inspection.inspections import services
from inspection.models import Role
from tests import factories
from tests.inspection.inspections import worlds

pytestmark = [pytest.mark.django_db, pytest.mark.pdf]

A5_POINTS = (419.53, 595.28)  # ISO 216: 148 mm x 210 mm, at 72 points an inch


@pytest.fixture
def club():
    return factories.club(name="Quarry Hall")


@pytest.fixture
def inspector(club, client):
    who = factories.member(club, Role.TECH_INSPECTOR, name="Lou Quarrie")
    client.force_login(who)
    return who


@pytest.fixture
def card(club, inspector):
    occasion = worlds.occasion(club, worlds.WIDTH, worlds.TIRE, worlds.LABEL, worlds.LOOKS)
    owner = factories.driver(club, "Mo Fairweather")
    card = services.open_inspection(
        occasion=occasion, car=factories.car(club, owner=owner, number=20, name="Coupe, blue"), by=inspector
    )
    for clause, text in zip(worlds.clauses_of(occasion), ["63.48", "18.7", "yes"], strict=False):
        services.record_measurement(inspection=card, clause=clause, text=text, by=inspector)
    return card


def read(response):
    assert response.headers["Content-Type"] == "application/pdf"
    return PdfReader(io.BytesIO(response.content))


def words(page):
    return " ".join(page.extract_text().split())


def test_the_filled_card_is_one_a5_page_with_readings_and_verdicts(client, club, card, inspector):
    services.sign_card(inspection=card, not_clear=True, by=inspector)
    pdf = read(client.get(reverse("card-print", args=[club.slug, card.public_id])))
    assert len(pdf.pages) == 1
    assert tuple(float(side) for side in pdf.pages[0].mediabox[2:]) == pytest.approx(A5_POINTS, abs=0.5)
    text = words(pdf.pages[0])
    for part in (
        "Tech card", "Quarry Hall", "page 1 of 1", "printed", "revision 1", "20", "Mo Fairweather", "Coupe, blue",
        "at most 64.00 mm 2.520 in 63.48 Pass", "at least 19.00 mm 0.748 in 18.7 Fail", "Judge decides",
        "Lou Quarrie: not clear",
    ):  # fmt: skip
        assert part in text
    places = [text.index(name) for name in ("Overall width", "Rear tire diameter", "Motor label", "Driver figure")]
    assert places == sorted(places)


def test_the_blank_card_has_the_same_order_and_nothing_written(client, club, card):
    address = reverse("card-blank-print", args=[club.slug, card.occasion.public_id])
    text = words(read(client.get(address)).pages[0])
    assert "Overall width at most 64.00 mm 2.520 in 2 Rear tire diameter" in text
    assert "Mo Fairweather" not in text
    assert "63.48" not in text


def test_all_cards_of_a_tech_day_come_in_one_document_by_number(client, club, card, inspector):
    other = factories.car(club, number=3)
    services.open_inspection(occasion=card.occasion, car=other, by=inspector)
    pdf = read(client.get(reverse("cards-print", args=[club.slug, card.occasion.public_id])))
    assert len(pdf.pages) == 2
    assert str(other.owner) in words(pdf.pages[0])
    assert "Mo Fairweather" in words(pdf.pages[1])


def test_without_pdfs_the_browser_prints_the_same_card(client, club, card):
    page = client.get(reverse("card-print", args=[club.slug, card.public_id]), {"as": "page"}).content.decode()
    assert "Mo Fairweather" in page
    assert "63.48" in page
    assert 'class="qr"' in page
