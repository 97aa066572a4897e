"""A builder who has never seen the tool, from an empty bench to the sheet of a car that fits, counting every field."""

from io import BytesIO

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect
from pypdf import PdfReader

from inspection.models import BenchSheet, Car, Role
from tests import bench_factories, factories
from tests.browser.conftest import PHONE, faults_of, scrolls_sideways, sign_in

pytestmark = pytest.mark.django_db(transaction=True)

# "from an empty bench to a printed prep sheet in under 40 fields" (the project's budget)
MOST_FIELDS = 39
# What a caliper tells of the chassis; drive layout and side of the gears stand there already.
CALIPER = {
    "across_shafts": "14.24", "motor_shaft": "2", "axle_diameter": "2.38", "end_bell": "13", "wall": "15",
    "rear_bushing_span": "30", "rear_body_width": "62.4", "motor_below_axle": "8.5", "chassis_below_axle": "8",
    "guide_holder": "7",
}  # fmt: skip


class Hand:
    """Fills fields and remembers which."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.touched: list[str] = []

    def fill(self, name: str, text: str) -> None:
        self.touched.append(f"{self.page.url} {name}")
        self.page.locator(f"[name='{name}']").fill(text)

    def choose(self, name: str, label: str) -> None:
        self.touched.append(f"{self.page.url} {name}")
        self.page.locator(f"[name='{name}']").select_option(label=label)


@pytest.fixture
def club():
    """A club with a driver, a class with a limit of width, a track, and parts in the drawer."""
    made = factories.club()
    factories.driver(made, "Noor Haddad")
    factories.track_layout(made, slot_depth_mm="7", slot_width_mm="3.1")
    bench_factories.drawer(made)
    bench_factories.class_with_width(made, "61 mm")
    return made


@pytest.fixture
def page(club, open_context):
    page = open_context().new_page()
    sign_in(page, factories.member(club, Role.OWNER))
    return page


def start(page, hand, club):
    page.goto(reverse("bench", args=[club.slug]))
    hand.fill("name", "Saloon")
    hand.choose("owner", "Noor Haddad")
    page.get_by_role("button", name="Start a build").click()
    page.wait_for_url("**/create/")


def measure(page, hand):
    page.get_by_role("link", name="Enter the chassis first").click()
    hand.fill("name", "Saloon frame")
    for code, text in CALIPER.items():
        hand.fill(f"size-{code}", text)
    expect(page.locator("#follows")).to_contain_text("12.05 mm")
    page.get_by_role("button", name="Save the chassis").click()
    page.wait_for_url("**/bench/chassis/*/")


def build(page, hand, club):
    page.goto(reverse("bench-sheet-create", args=[club.slug, Car.objects.get().public_id]))
    for place, label in (
        ("pinion", "Pinion 11, 6.5 mm"), ("driven_gear", "Spur 33, 17.5 mm"), ("rear_tires", "Tire 20 x 10"),
        ("rear_wheels", "Wheel 11"), ("rear_axle", "Axle 57"), ("guide", "Guide 6"),
    ):  # fmt: skip
        hand.choose(f"part-{place}", label)
    hand.fill("set-pinion_gap", "0.6")
    hand.choose("set-hub_side", "out")
    hand.fill("set-rear_end_play", "0.3")
    hand.fill("spacer-rear_left_inner", "5")
    hand.fill("spacer-rear_right_inner", "0.5")


def test_from_an_empty_bench_to_a_printed_prep_sheet_in_under_forty_fields(page, club):
    hand = Hand(page)
    start(page, hand, club)
    measure(page, hand)
    build(page, hand, club)
    outcome = page.locator("#outcome")

    # the small gear is rejected for the right reason
    expect(outcome).to_contain_text("Does not reach: the teeth do not touch.")
    expect(outcome).to_contain_text("0.05 mm stand between the tips")
    hand.choose("part-driven_gear", "Spur 35, 19.5 mm")
    expect(outcome).to_contain_text("Runs.")
    expect(outcome).to_contain_text("under the gear 0.25")
    # the tire that rubs: four cures with amounts, which of them fit, which are legal
    cures = outcome.locator(".finding", has_text="Tire to pinion").locator(".cures > li")
    expect(cures).to_have_count(4)
    expect(cures.nth(0)).to_contain_text("Move the wheel out by 0.80 mm")
    expect(cures.nth(0)).to_contain_text("Does not work here")
    expect(cures.nth(1)).to_contain_text("Push the pinion further on by 0.80 mm")
    expect(cures.nth(2)).to_contain_text("Shorten the pinion by 0.80 mm")
    expect(cures.nth(2)).to_contain_text("Works")
    expect(cures.nth(3)).to_contain_text("Round the inner edge of the tire to a radius of 3.39 mm")
    expect(cures.nth(2)).to_contain_text("Legal")
    assert faults_of(page) == []
    cures.nth(3).get_by_role("button").click()
    expect(page.locator("[name='set-edge']")).to_have_value("3.39")
    hand.fill("set-wear", "0.25")
    expect(outcome).not_to_contain_text("Does not go")
    page.get_by_role("button", name="Save sheet 1").click()
    page.wait_for_url("**/bench/sheets/*/")

    sheet = BenchSheet.objects.get()
    assert sheet.mounting["edge"] == "3.39 mm"
    printed = page.get_by_role("link", name="Print the prep sheet").first.get_attribute("href")
    page.goto(f"{printed}?as=page")
    expect(page.locator("body")).to_contain_text("Saloon")
    expect(page.locator("body")).to_contain_text("Pinion 11, 6.5 mm")
    words = words_on_paper(page, printed)
    for told in ("Saloon", "Pinion 11, 6.5 mm", "Spur 35, 19.5 mm", "12.05 mm", "0.60 mm", "3.39 mm"):
        assert told in words, told
    assert len(set(hand.touched)) <= MOST_FIELDS, hand.touched


def words_on_paper(page, address):
    """What the PDF at an address says, lines run together; fetched as whoever is signed in."""
    paper = page.request.get(address)
    assert paper.ok
    assert paper.headers["content-type"] == "application/pdf"
    assert paper.body().startswith(b"%PDF-")
    return " ".join(" ".join(leaf.extract_text() for leaf in PdfReader(BytesIO(paper.body())).pages).split())


def test_the_sheet_is_read_on_a_phone_and_by_keyboard(club, open_context):
    car = factories.car(club)
    sheet = bench_factories.sheet(car)
    page = open_context(PHONE, color_scheme="dark").new_page()
    sign_in(page, factories.member(club, Role.TECH_INSPECTOR))

    page.goto(reverse("bench-sheet-detail", args=[club.slug, sheet.public_id]))

    assert not scrolls_sideways(page)
    assert faults_of(page) == []
    page.get_by_role("button", name="Apply Shorten the pinion by 0.80 mm").focus()
    page.keyboard.press("Enter")
    page.wait_for_url(lambda url: sheet.public_id not in url)
    assert BenchSheet.objects.get(number=2).parts["pinion"]["sizes"]["length"] == "6.2 mm"
