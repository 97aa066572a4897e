"""Journey C: a car at the tech table: read, failed, cured, read again where it failed, signed."""

import pytest

from inspection.models import Clause, Finding, Inspection
from tests import factories
from tests.inspection.inspections import worlds
from tests.page_forms import form_on, forms_on


@pytest.fixture
def line(club):
    """The tech line of tonight: a caliper with a doubt, three clauses, one car."""
    caliper = worlds.caliper(club)
    occasion = worlds.occasion(club, worlds.WIDTH | {"gauge": caliper}, worlds.TIRE, worlds.LABEL)
    factories.car(club, factories.driver(club, "Wren Halloran"), number=20)
    return f"/harbor/tech/{occasion.public_id}/"


def answer(inspector, page, number, text):
    """Type an answer into the form of that clause, as the page shows it."""
    form = next(form for form in forms_on(page) if form.address.endswith("/answer/") and clause_of(form) == number)
    return form.send(inspector, text=text)


def clause_of(form):
    return Clause.objects.get(pk=form.values["clause"][0]).number


def test_a_car_fails_is_cured_and_is_clear(inspector, line):
    page = form_on(inspector.get(line), "/open/").send(inspector, car="20")
    card = Inspection.objects.get()
    assert b"Wren Halloran" in page.content

    page = answer(inspector, page, "1", "2 17/32 in")
    assert Finding.objects.get().outcome == "fail"  # 64.29 mm, where 64.00 mm is the most
    page = answer(inspector, page, "2", "19,4")
    page = answer(inspector, page, "3", "yes")
    assert b"This car fails" in page.content
    page = form_on(page, "/sign/").send(inspector)
    card.refresh_from_db()
    assert card.signed_clear is False

    asked = inspector.get(f"/harbor/cards/{card.public_id}/again/")
    again = form_on(asked, "/again/").send(inspector, touched=None)
    page = answer(inspector, again, "1", "63.90 mm")
    assert list(Finding.objects.order_by("pk").values_list("clause_number", "attempt", "outcome")) == [
        ("1", 1, "fail"),
        ("2", 1, "pass"),
        ("3", 1, "pass"),
        ("1", 2, "pass"),
    ]
    assert b"Everything passes" in page.content
    form_on(page, "/sign/").send(inspector)
    card.refresh_from_db()
    assert (card.attempt, card.signed_clear) == (2, True)
    assert b"Clear: 1" in inspector.get(line).content


def test_what_lies_within_the_gauges_doubt_says_so_beside_its_verdict_and_both_stay(inspector, line):
    page = form_on(inspector.get(line), "/open/").send(inspector, car="20")
    card = Inspection.objects.get()
    answer(inspector, page, "1", "64.00")
    found = Finding.objects.get()
    assert (found.outcome, found.is_too_close) == ("pass", True)
    shown = inspector.get(f"/harbor/cards/{card.public_id}/?at=1").content.decode()
    assert "Too close: measure again" in shown
    assert "it counts as Pass" in shown

    again = inspector.get(f"/harbor/cards/{card.public_id}/?at=1&again")
    answer(inspector, again, "1", "63.80")
    assert list(Finding.objects.order_by("pk").values_list("reading", "is_too_close")) == [
        ("64.00 mm", True),
        ("63.80 mm", False),
    ]


def test_what_is_not_checked_never_counts_as_passed(inspector, line):
    page = form_on(inspector.get(line), "/open/").send(inspector, car="20")
    answer(inspector, page, "1", "63.4")
    card = Inspection.objects.get()
    page = inspector.get(f"/harbor/cards/{card.public_id}/?at=sign")
    assert b"Not all is checked" in page.content
    inspector.post(f"/harbor/cards/{card.public_id}/sign/")
    card.refresh_from_db()
    assert card.signed_at is None
    form_on(page, "/sign/").send(inspector, not_clear="1")
    card.refresh_from_db()
    assert card.signed_clear is False
