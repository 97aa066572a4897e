"""The three draws side by side, with everything opened, on a phone and at the desk."""

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from inspection.models import Role
from racedesk.heats.selectors import current_draw
from racedesk.models import Race
from tests import factories, race_factories
from tests.browser.conftest import LAPTOP, PHONE, faults_of, scrolls_sideways, sign_in

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.mark.parametrize(("viewport", "scheme"), [(PHONE, "dark"), (LAPTOP, "light")], ids=["phone", "laptop"])
def test_a_directors_own_order_is_shown_marked_used_and_kept(open_context, viewport, scheme):
    race: Race = race_factories.race(lanes=6)
    race_factories.entries(race, 14)
    director = factories.member(race.event.club, Role.RACE_DIRECTOR)
    page = open_context(viewport, color_scheme=scheme).new_page()
    sign_in(page, director)
    page.goto(reverse("draw-create", args=[race.event.club.slug, race.public_id]))
    folds = page.locator("details.fold > summary")
    for place in range(folds.count()):
        folds.nth(place).click()
    expect(page.locator("details.fold[open]")).to_have_count(2)
    assert faults_of(page) == []
    assert not scrolls_sideways(page)

    page.get_by_label("First", exact=True).select_option(label="few heats back to back")
    page.get_by_label("Then, 2").select_option(label="no move by more than two lanes")
    page.get_by_role("button", name="Show the draws this way").locator("visible=true").click()

    expect(page.get_by_label("First", exact=True)).to_have_value("on_end")
    expect(page.locator(".preset", has_text="best by your own order")).to_have_count(1)
    expect(page.locator(".preset", has_text="best by your own order")).to_contain_text("Rest")
    assert faults_of(page) == []
    assert not scrolls_sideways(page)

    page.locator(".preset", has_text="Rest").get_by_role("radio").check()
    page.get_by_role("button", name="Use Rest, print the heat sheets").click()

    expect(page.get_by_role("heading", level=1)).to_contain_text("Draw 1")
    expect(page.locator("main")).to_contain_text("few heats back to back, then no move by more than two lanes")
    assert current_draw(race).report["criteria"] == ["on_end", "moves"]
    assert faults_of(page) == []
