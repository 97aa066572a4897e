"""The draw page, the director's table and the wall: the presses that were promised, on more than one screen."""

import re

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from inspection.models import Role
from racedesk.clocks.selectors import heat_state, is_run
from racedesk.heats.selectors import heats_of
from racedesk.models import Draw, HeatEvent
from racedesk.racecontrol.services import start_heat
from tests import factories, race_factories
from tests.browser.conftest import LAPTOP, PHONE, faults_of, in_every_way, scrolls_sideways, sign_in

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def race():
    return race_factories.race(heat_length_s=4, countdown_s=1, changeover_s=20, power_off_warning_s=1)


@pytest.fixture
def visit(open_context, race):
    director = factories.member(race.event.club, Role.RACE_DIRECTOR)

    def go(address, viewport=LAPTOP, **options):
        page = open_context(viewport, **options).new_page()
        sign_in(page, director)
        page.goto(address)
        return page

    return go


@pytest.fixture
def heat(race):
    race_factories.entries(race, 6)
    race_factories.drawn(race)
    return heats_of(race)[0]


def address(heat, name="heat-run"):
    return reverse(name, args=[heat.draw.stage.race.event.club.slug, heat.public_id])


def phase(page):
    return page.locator("[data-phase-word]")


def kinds(heat):
    return list(HeatEvent.objects.filter(heat=heat).order_by("number").values_list("kind", flat=True))


def test_from_the_entry_list_to_printed_heat_sheets_takes_three_taps(race, visit):
    race_factories.entries(race, 14)
    page = visit(reverse("heat-list", args=[race.event.club.slug, race.public_id]))
    page.get_by_role("link", name="Draw the heats").click()
    page.get_by_role("button", name="Use Opponents, print the heat sheets").click()
    sheet = page.get_by_role("link", name="Print the whole night").get_attribute("href")
    assert sheet == reverse("heat-print", args=[race.event.club.slug, Draw.objects.get().public_id, "wall"])


def test_the_button_and_the_first_heats_follow_the_chosen_draw(race, visit):
    race_factories.entries(race, 14)
    page = visit(reverse("draw-create", args=[race.event.club.slug, race.public_id]))
    page.get_by_role("radio", name="Rest").check()
    expect(page.get_by_role("button", name="Use Rest, print the heat sheets")).to_be_visible()
    expect(page.get_by_role("heading", name=re.compile("First heats with Rest"))).to_be_visible()
    expect(page.get_by_role("heading", name=re.compile("First heats with Opponents"))).to_be_hidden()


def test_a_heat_is_run_by_the_keys_alone_and_a_second_screen_follows(heat, visit):
    page = visit(address(heat))
    phone = visit(address(heat), PHONE)
    page.keyboard.press("s")
    expect(phase(page)).to_have_text(re.compile("Running|Countdown"))
    expect(phase(phone)).to_have_text(re.compile("Running|Countdown"))
    expect(phase(page)).to_have_text("Running")
    page.keyboard.press("Space")
    expect(phase(page)).to_have_text("Track call")
    expect(phase(phone)).to_have_text("Track call")
    phone.get_by_role("button", name="Resume").click()
    expect(phase(page)).to_have_text(re.compile("Running|Countdown|Power off soon"))
    expect(phase(page)).to_have_text("Time")
    assert kinds(heat) == ["ready", "start", "call_track", "resume"]
    expect(page.locator("#laps-1")).to_be_focused()


def test_a_key_held_down_is_one_press(heat, visit):
    page = visit(address(heat))
    page.keyboard.press("s")
    expect(phase(page)).to_have_text("Running")
    page.keyboard.down("Space")
    page.keyboard.down("Space")
    expect(phase(page)).to_have_text("Track call")
    page.keyboard.down("Space")
    page.keyboard.up("Space")
    page.wait_for_timeout(600)
    assert kinds(heat) == ["ready", "start", "call_track"]


def test_a_press_without_a_connection_is_sent_when_it_is_back_and_counts_once(heat, visit):
    page = visit(address(heat))
    type(heat.draw.stage.race).objects.update(heat_length_s=60)
    page.reload()
    page.keyboard.press("s")
    expect(phase(page)).to_have_text("Running")
    page.context.set_offline(True)
    page.keyboard.press("Space")
    expect(page.locator("[data-unsent]")).to_be_visible()
    page.wait_for_timeout(1500)
    page.context.set_offline(False)
    expect(phase(page)).to_have_text("Track call")
    expect(page.locator("[data-unsent]")).to_be_hidden()
    assert kinds(heat).count("call_track") == 1


def test_a_reload_goes_on_where_the_heat_is(heat, visit):
    type(heat.draw.stage.race).objects.update(heat_length_s=60)
    page = visit(address(heat))
    page.keyboard.press("s")
    expect(phase(page)).to_have_text("Running")
    page.reload()
    expect(phase(page)).to_have_text("Running")
    expect(page.locator("[data-clock-face]")).to_have_text(re.compile(r"^0:5\d\.\d$"))


def test_laps_typed_by_lane_are_read_back_and_saved_with_one_press(heat, visit):
    start_heat(heat=heat, at_ms=1_000, by=None)
    page = visit(address(heat))
    for lane, text in enumerate(["3", "2.50", "3 + 9/20", "2 laps 9", "2/9", "1"], start=1):
        page.locator(f"#laps-{lane}").fill(text)
        expect(page.locator(f"output[for=laps-{lane}]")).to_have_text(re.compile("lap"))
    expect(page.locator("output[for=laps-3]")).to_have_text("3 laps and 9 of 20 sections (3.45)")
    page.locator("#laps-6").press("Enter")
    expect(phase(page)).to_have_text("All laps in")
    assert is_run(heat)
    page.keyboard.press("n")
    expect(page.get_by_role("heading", name="Heat 2 of 6")).to_be_visible()


def test_what_is_being_typed_is_not_lost_when_another_screen_saves(heat, visit):
    start_heat(heat=heat, at_ms=1_000, by=None)
    page = visit(address(heat))
    page.locator("#laps-1").fill("3")
    other = visit(address(heat), PHONE)
    other.locator("#laps-6").fill("2")
    expect(other.locator("output[for=laps-6]")).to_have_text("2 laps")
    other.get_by_role("button", name="Save laps").click()
    other.wait_for_load_state()
    page.wait_for_timeout(2500)
    assert page.locator("#laps-1").input_value() == "3"
    assert [typed.lane for typed in heat_state(heat).laps] == [6]


def test_a_lap_is_corrected_with_two_taps_and_a_reason(heat, visit):
    start_heat(heat=heat, at_ms=1_000, by=None)
    page = visit(address(heat))
    for lane in range(1, 7):
        page.locator(f"#laps-{lane}").fill("2")
        expect(page.locator(f"output[for=laps-{lane}]")).to_have_text("2 laps")
    page.locator("#laps-6").press("Enter")
    page.get_by_role("link", name="Correct laps of lane 1").click()
    page.get_by_label("Lane 1, White").fill("3")
    expect(page.locator("output")).to_have_text("3 laps")
    page.get_by_label("Reason", exact=True).select_option("a lap was missed")
    page.get_by_role("button", name="Save laps").click()
    expect(page.get_by_text("corrected", exact=True)).to_be_visible()
    assert str(heat_state(heat).laps_on(1).laps) == "3.00"


def test_the_wall_follows_without_signing_in(heat, visit, open_context):
    wall = open_context({"width": 1920, "height": 1080}).new_page()
    event = heat.draw.stage.race.event
    wall.goto(reverse("heat-board", args=[event.club.slug, event.public_id]))
    expect(wall.locator("[data-board-phase]")).to_have_text("up next")
    page = visit(address(heat))
    page.keyboard.press("s")
    expect(wall.locator("[data-board-phase]")).to_have_text("running")
    assert not scrolls_sideways(wall)
    assert wall.evaluate("document.documentElement.scrollHeight") <= 1080


def test_nothing_that_axe_finds_in_any_state_of_a_heat(heat, visit):
    type(heat.draw.stage.race).objects.update(heat_length_s=300)
    page = visit(address(heat))
    for word, press in [("Waiting", "s"), ("Running", "Space"), ("Track call", "")]:
        expect(phase(page)).to_have_text(word)
        for way in in_every_way(page):
            assert faults_of(page) == [], (word, way)
            assert not scrolls_sideways(page), (word, way)
            assert page.locator(".target:visible").bounding_box()["height"] >= 110, (word, way)
        if press:
            page.keyboard.press(press)


def test_a_page_by_keyboard_shows_where_it_is_and_its_keys_act_there(heat, visit):
    page = visit(address(heat))
    page.keyboard.press("s")
    expect(phase(page)).to_have_text("Running")
    page.locator("summary", has_text="End the heat early").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_label("Why (may be left out)")).to_be_visible()
    assert "call_track" not in kinds(heat)
