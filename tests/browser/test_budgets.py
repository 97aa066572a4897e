"""How little the hand has to do: the project's own budgets, counted tap by tap and key by key."""

import re
from collections.abc import Callable

import cv2
import numpy as np
import pytest
from django.urls import reverse
from playwright.sync_api import Locator, Page, expect

from inspection.inspections import services as tech
from inspection.models import Finding, Inspection, Role
from racedesk.clocks.selectors import is_run
from racedesk.heats.selectors import heats_of
from racedesk.models import Draw, Entry, HeatEvent, ResultSheet
from tests import factories, race_factories
from tests.browser.conftest import LAPTOP, PHONE, sign_in, type_text
from tests.inspection.inspections import worlds
from tests.pdf_pages import read_pdf
from tests.racedesk.results.test_results_services import run

pytestmark = pytest.mark.django_db(transaction=True)


class Hand:
    """One person at one page. Counts what is tapped and pressed; letters and figures typed are not counted."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.taps = 0
        self.keys: list[str] = []

    def tap(self, what: Locator) -> None:
        what.click()
        self.page.wait_for_load_state()
        self.taps += 1

    def press(self, key: str) -> None:
        self.page.keyboard.press(key)
        self.keys.append(key)


@pytest.fixture
def club():
    return factories.club()


@pytest.fixture
def hand(open_context, club) -> Callable[..., Hand]:
    """Somebody of the club with a role, at an address."""

    def at(address: str, role: Role = Role.RACE_DIRECTOR, viewport=LAPTOP) -> Hand:
        page = open_context(viewport).new_page()
        sign_in(page, factories.member(club, role))
        page.goto(address)
        return Hand(page)

    return at


@pytest.fixture
def race(club):
    return race_factories.race(race_factories.event(club, lanes=6), heat_length_s=60, countdown_s=0, changeover_s=0)


def address(name: str, club, of) -> str:
    return reverse(name, args=[club.slug, of.public_id])


# ---- tech -----------------------------------------------------------------------------------------------------------


def test_a_card_opens_by_its_number_and_enter(club, hand):
    occasion = worlds.occasion(club, worlds.WIDTH)
    factories.car(club, number=20)
    inspector = hand(address("occasion-detail", club, occasion), Role.TECH_INSPECTOR)
    type_text(inspector.page, "20")
    inspector.press("Enter")
    expect(inspector.page.locator(".card-number")).to_have_text("20")
    expect(inspector.page.locator("#reading-1")).to_be_focused()
    assert (inspector.taps, inspector.keys) == (0, ["Enter"])


def test_twelve_measured_clauses_take_twelve_enters_and_one_signature_and_a_yes_takes_one_tap(club, hand):
    occasion = worlds.occasion(club, *[worlds.WIDTH, worlds.TIRE] * 6, worlds.LABEL)
    card = tech.open_inspection(occasion=occasion, car=factories.car(club), by=None)
    inspector = hand(address("inspection-detail", club, card), Role.TECH_INSPECTOR)
    page = inspector.page
    for place in range(1, 13):
        expect(page.locator(f"#clause-{place}")).to_be_visible()
        type_text(page, "63.4" if place % 2 else "19.4")
        inspector.press("Enter")
    expect(page.locator("#clause-13")).to_be_visible()
    page.wait_for_timeout(400)  # a tap sooner than this is meant for the clause before
    inspector.tap(page.get_by_role("button", name="Yes"))
    expect(page.locator("#clause-sign")).to_be_visible()
    inspector.tap(page.get_by_role("button", name="Sign: clear"))
    expect(page.get_by_text("is clear.")).to_be_visible()
    assert inspector.keys == ["Enter"] * 12
    assert inspector.taps == 2
    assert Finding.objects.filter(outcome="pass").count() == 13
    assert Inspection.objects.get().signed_clear is True


@pytest.mark.pdf
def test_one_scan_of_the_printed_card_opens_the_card(club, hand):
    occasion = worlds.occasion(club, worlds.WIDTH)
    card = tech.open_inspection(occasion=occasion, car=factories.car(club, number=20), by=None)
    inspector = hand(address("occasion-detail", club, occasion), Role.TECH_INSPECTOR, PHONE)
    (found,) = codes_of_paper(inspector.page, address("card-print", club, card))
    inspector.page.goto(found)
    expect(inspector.page.locator(".card-number")).to_have_text("20")
    expect(inspector.page.locator("#reading-1")).to_be_visible()


# ---- the desk -------------------------------------------------------------------------------------------------------


def test_a_driver_who_raced_last_time_is_entered_by_three_letters_and_two_enters(club, race, hand):
    known = factories.driver(club, "Marlo Teague")
    factories.driver(club, "Quentin Ashe")
    car = factories.car(club, known, number=31)
    before = race_factories.race()
    before.event.club = club
    before.event.save()
    race_factories.entry(before, known, with_car=False).cars.create(race=before, car=car)
    desk = hand(address("entry-list", club, race), Role.ENTRY_DESK)
    expect(desk.page.locator("#letters")).to_be_focused()
    type_text(desk.page, "mar")
    desk.press("Enter")
    expect(desk.page.get_by_role("button", name="Enter Marlo Teague")).to_be_focused()
    desk.press("Enter")
    expect(desk.page.locator(".messages")).to_contain_text("Marlo Teague")
    entry = Entry.objects.get(race=race)
    assert entry.drivers.get().driver == known
    assert entry.cars.get().car == car
    assert (desk.taps, desk.keys) == (0, ["Enter", "Enter"])


@pytest.mark.pdf
def test_from_the_entry_list_to_printed_heat_sheets_takes_three_taps(club, race, hand):
    race_factories.entries(race, 14)
    director = hand(address("entry-list", club, race))
    page = director.page
    director.tap(page.get_by_role("link", name="Make the draw"))
    expect(page.locator(".presets")).to_contain_text("Longest wait between runs")
    director.tap(page.get_by_role("button", name="Use Opponents, print the heat sheets"))
    sheet = page.get_by_role("link", name="Print the whole night")
    expect(sheet).to_be_visible()
    director.taps += 1  # a headless browser shows no PDF: the link is followed without it
    answer = page.request.get(sheet.get_attribute("href"))
    assert answer.headers["content-type"] == "application/pdf"
    assert director.taps == 3
    assert Draw.objects.count() == 1


# ---- heats ----------------------------------------------------------------------------------------------------------


@pytest.fixture
def heat(race):
    race_factories.entries(race, 6)
    race_factories.drawn(race)
    return heats_of(race)[0]


def test_start_track_call_and_resume_are_one_key_each(club, heat, hand):
    director = hand(address("heat-run", club, heat))
    phase = director.page.locator("[data-phase-word]")
    for key, word in [("s", "Running"), ("Space", "Track call"), ("Space", "Running")]:
        director.press(key)
        expect(phase).to_have_text(word)
        director.page.wait_for_timeout(450)  # sooner than this is a shaking finger
    assert director.keys == ["s", "Space", "Space"]
    kinds = HeatEvent.objects.order_by("number").values_list("kind", flat=True)
    assert list(kinds)[-3:] == ["start", "call_track", "resume"]


@pytest.mark.parametrize("viewport", [PHONE, LAPTOP], ids=["phone", "laptop"])
def test_start_track_call_and_resume_are_one_tap_each_on_the_largest_target(club, heat, hand, viewport):
    director = hand(address("heat-run", club, heat), viewport=viewport)
    page = director.page
    for name, word in [("Start", "Running"), ("Track call", "Track call"), ("Resume", "Running")]:
        target = page.get_by_role("button", name=re.compile(f"^{name}"))
        assert is_largest(target)
        director.tap(target)
        expect(page.locator("[data-phase-word]")).to_have_text(word)
        page.wait_for_timeout(450)
    assert director.taps == 3


def is_largest(target: Locator) -> bool:
    """Is no other thing that can be tapped on the screen nearly as large?"""
    area = "(e) => { const b = e.getBoundingClientRect(); return b.width * b.height; }"
    mine = target.evaluate(area)
    others = target.page.locator("a:visible, button:visible, summary:visible, select:visible, input:visible")
    sizes = sorted(others.evaluate_all(f"(all) => all.map({area})"))
    return sizes[-1] == mine and sizes[-2] * 2 < mine


def test_a_lap_is_corrected_with_two_taps_and_a_reason_from_a_list(club, race, heat, hand):
    run(race)
    director = hand(address("heat-run", club, heat))
    page = director.page
    director.tap(page.get_by_role("link", name="Correct laps of lane 1"))
    page.get_by_label("Lane 1, White").fill("21")
    expect(page.locator("output")).to_have_text("21 laps")
    page.get_by_label("Reason", exact=True).select_option("a lap was missed")
    director.tap(page.get_by_role("button", name="Save laps"))
    expect(page.get_by_text("corrected", exact=True)).to_be_visible()
    assert director.taps == 2
    assert is_run(heat)


def test_results_are_published_with_one_tap_and_one_to_confirm(club, race, heat, hand):
    run(race)
    director = hand(address("heat-run", club, list(heats_of(race))[-1]))
    page = director.page
    director.tap(page.get_by_role("link", name=re.compile("^Results")).last)
    assert not ResultSheet.objects.exists()
    director.tap(page.get_by_role("button", name="Publish this result"))
    expect(page.locator("main")).to_contain_text("Result 1, published")
    assert ResultSheet.objects.count() == 1
    assert director.taps == 2


# ---- the driver's phone ---------------------------------------------------------------------------------------------


def codes_of_paper(page: Page, path: str) -> list[str]:
    """What a phone's camera would read from the printed pages."""
    answer = page.request.get(path)
    assert answer.headers["content-type"] == "application/pdf"
    return [words for each in read_pdf(answer.body()) for words, _module_mm in each.codes]


def codes_on(where: Locator) -> list[str]:
    """What a phone's camera would read from this part of the page (OpenCV's own reader)."""
    seen = cv2.imdecode(np.frombuffer(where.screenshot(), np.uint8), cv2.IMREAD_GRAYSCALE)
    framed = cv2.copyMakeBorder(seen, 40, 40, 40, 40, cv2.BORDER_CONSTANT, value=255)
    for scale in (4, 3, 2, 6):
        large = cv2.resize(framed, None, fx=scale, fy=scale, interpolation=cv2.INTER_NEAREST)
        words, _points, _straight = cv2.QRCodeDetector().detectAndDecode(large)
        if words:
            return [words]
    return []


@pytest.mark.pdf
def test_the_code_on_a_slip_shows_the_next_heat_lane_and_post_without_a_tap(club, race, heat, open_context):
    draw = Draw.objects.get()
    codes = codes_of_paper(open_context().new_page(), reverse("heat-print", args=[club.slug, draw.public_id, "driver"]))
    assert len(codes) == 6
    driven = heat.lanes.select_related("lane", "seat__entry").order_by("lane__number").first()
    name = str(driven.seat.entry.drivers.get().driver)
    (found,) = [code for code in codes if driven.seat.entry.public_id in code]

    phone = Hand(open_context(PHONE).new_page())
    phone.page.goto(found)
    main = phone.page.locator("main")
    expect(main.get_by_role("heading", level=1)).to_have_text(name)
    next_heat = main.locator(".next-drive").first
    expect(next_heat).to_contain_text(re.compile(r"Heat\s*1\b"))
    expect(next_heat).to_contain_text(re.compile(rf"Lane\s*{driven.lane.number}\s*{driven.lane.name}"))
    assert phone.taps == 0


def test_the_code_for_the_wall_asks_for_one_tap_the_first_time_only(club, race, heat, hand, open_context):
    wall = hand(address("event-day", club, race.event), viewport={"width": 1600, "height": 1200})
    (found,) = codes_on(wall.page.locator("svg.qr").first)
    name = str(Entry.objects.first().drivers.get().driver)

    phone = Hand(open_context(PHONE).new_page())
    phone.page.goto(found)
    phone.tap(phone.page.get_by_role("link", name=name, exact=True))
    expect(phone.page.get_by_role("heading", level=1)).to_have_text(name)
    expect(phone.page.locator(".next-drive").first).to_be_visible()
    phone.page.goto(found)
    expect(phone.page.get_by_role("heading", level=1)).to_have_text(name)
    assert phone.taps == 1
