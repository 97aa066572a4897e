"""24 drivers on 8 lanes are drawn, five heats are run, one driver goes home: the rest is drawn again and printed."""

import io
import re

import pytest
from django.urls import reverse
from playwright.sync_api import expect
from pypdf import PdfReader

from inspection.models import Role
from racedesk.heats.selectors import current_draw, heats_of
from racedesk.models import Draw, Entry, LaneAssignment
from tests import factories, race_factories
from tests.browser.conftest import faults_of, in_every_way, scrolls_sideways, sign_in, type_text

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.pdf]


@pytest.fixture
def race():
    return race_factories.race(lanes=8, posts=4)


@pytest.fixture
def director(race):
    return factories.member(race.event.club, Role.RACE_DIRECTOR)


def visit(open_context, director, address):
    page = open_context().new_page()
    sign_in(page, director)
    page.goto(address)
    return page


def run(race, heats, by):
    for heat in heats_of(race)[:heats]:
        race_factories.driven(heat, by=by)


def test_a_driver_goes_home_after_five_heats_and_the_rest_is_drawn_again(race, director, open_context):
    race_factories.entries(race, 24)
    page = visit(open_context, director, reverse("heat-list", args=[race.event.club.slug, race.public_id]))

    page.get_by_role("link", name="Draw the heats").click()
    for preset in ("Usual order", "Opponents", "Rest"):
        expect(page.get_by_role("radio", name=preset)).to_be_visible()
    page.get_by_role("button", name="Use Opponents, print the heat sheets").click()
    expect(page.get_by_role("heading", name="How fair it is")).to_be_visible()
    run(race, 5, director)
    gone = current_draw(race).stage.seats.get(number=7)
    name = str(gone)

    page.goto(reverse("heat-list", args=[race.event.club.slug, race.public_id]))
    page.get_by_role("link", name="Draw the rest again").click()
    page.get_by_text("Somebody leaves").click()
    page.get_by_role("link", name=re.compile(rf"Races no more\s*: {name}$")).click()
    expect(page.get_by_text(f"{name} races no more", exact=True)).to_be_visible()
    expect(page.get_by_label("Why drawn again")).to_have_value(f"{name} out")
    expect(page.get_by_text("steps with seed")).to_be_visible()  # the search is over
    heats = page.locator("table.heats tbody tr")
    expect(heats.first).to_contain_text("6")
    shown = heats.count()
    page.get_by_role("button", name="Use this plan, print the rest").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Draw 2")
    sheet = page.get_by_role("link", name="Print the whole night").get_attribute("href")
    response = page.request.get(sheet)

    assert response.headers["content-type"] == "application/pdf"
    text = re.sub(r"\s+", " ", "".join(each.extract_text() for each in PdfReader(io.BytesIO(response.body())).pages))
    assert "Drawn again after 5 heats." in text
    made = current_draw(race)
    assert made.heats.count() == 5 + shown
    assert Entry.objects.get(pk=gone.entry_id).state == Entry.State.WITHDRAWN
    assert not LaneAssignment.objects.filter(heat__draw=made, heat__number__gt=5, seat=gone).exists()
    for number in set(range(1, 25)) - {7}:
        assert LaneAssignment.objects.filter(heat__draw=made, seat__number=number).count() == 8
    assert Draw.objects.filter(stage__race=race, superseded_at__isnull=True).count() == 1


def test_axe_finds_nothing_and_no_page_scrolls_sideways(race, director, open_context):
    race_factories.entries(race, 12)
    race_factories.drawn(race)
    run(race, 2, director)
    race_factories.entry(race)
    address = reverse("redraw-create", args=[race.event.club.slug, race.public_id])
    choices = "chosen=here&out=3&lanes_out=2&later=5.7&apart=1.2&lanes_back=4.6"
    page = visit(open_context, director, f"{address}?{choices}")

    expect(page.get_by_text("steps with seed")).to_be_visible()
    for way in in_every_way(page):
        assert faults_of(page) == [], way
        assert not scrolls_sideways(page), way


def test_a_wish_is_added_with_the_keys_alone(race, director, open_context):
    race_factories.entries(race, 10)
    race_factories.drawn(race)
    run(race, 1, director)
    page = visit(open_context, director, reverse("redraw-create", args=[race.event.club.slug, race.public_id]))

    page.get_by_text("A wish that must be met").focus()
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")  # past "nobody drives in two heats on end"
    page.keyboard.press("Tab")
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    type_text(page, "5")
    page.keyboard.press("Enter")

    expect(page.locator(".said b", has_text="cannot race before heat 5")).to_be_visible()
    page.get_by_role("link", name="Take back").last.click()
    expect(page.locator(".said b", has_text="cannot race before heat 5")).to_be_hidden()
