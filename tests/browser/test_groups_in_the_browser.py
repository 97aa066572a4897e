"""A race split into groups on a phone and at the desk."""

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from inspection.models import Role
from racedesk.heats.selectors import current_draw
from tests import factories, race_factories
from tests.browser.conftest import LAPTOP, PHONE, faults_of, scrolls_sideways, sign_in

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.mark.parametrize(("viewport", "scheme"), [(PHONE, "dark"), (LAPTOP, "light")], ids=["phone", "laptop"])
def test_groups_are_split_set_by_hand_and_used(open_context, viewport, scheme):
    race = race_factories.race(lanes=4, posts=2)
    race_factories.entries(race, 11)
    director = factories.member(race.event.club, Role.RACE_DIRECTOR)
    page = open_context(viewport, color_scheme=scheme).new_page()
    sign_in(page, director)
    page.goto(reverse("group-draw", args=[race.event.club.slug, race.public_id]))

    page.get_by_text("By lot").click()
    page.get_by_role("button", name="Split").click()
    expect(page.get_by_role("radio", name="By lot")).to_be_checked()
    assert faults_of(page) == []
    assert not scrolls_sideways(page)

    first = page.get_by_role("heading", name="Group 1").locator("xpath=../..").get_by_role("combobox").first
    name = first.get_attribute("id")
    first.select_option(label="Group 3")
    page.get_by_role("button", name="Take the groups as set by hand").click()
    third = page.get_by_role("heading", name="Group 3").locator("xpath=../..")
    expect(third.locator(f"#{name}")).to_be_visible()
    page.get_by_role("button", name="Use these groups, print the heat sheets").click()

    expect(page.get_by_role("heading", level=1)).to_contain_text("Draw 1")
    number = int(name.removeprefix("in-"))
    assert number in current_draw(race).report["groups"][2]["seats"]
