"""The card on a phone: as few taps as promised, nothing lost without a line, nothing that axe finds."""

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from inspection.inspections import services
from inspection.models import Finding, Inspection, Reading, Role
from tests import factories
from tests.browser.conftest import LAPTOP, PHONE, faults_of, in_every_way, scrolls_sideways, sign_in, type_text
from tests.inspection.inspections import worlds

pytestmark = pytest.mark.django_db(transaction=True)

TOUCH = {"has_touch": True, "is_mobile": True}


@pytest.fixture
def club():
    return factories.club()


@pytest.fixture
def inspector(club):
    return factories.member(club, Role.TECH_INSPECTOR, name="Lou Quarrie")


@pytest.fixture
def open_card(club, inspector):
    def make(*specs):
        owner = factories.driver(club, "Mo Fairweather")
        occasion = worlds.occasion(club, *specs)
        car = factories.car(club, owner=owner, number=20)
        return services.open_inspection(occasion=occasion, car=car, by=inspector)

    return make


@pytest.fixture
def visit(open_context, inspector):
    def go(card: Inspection, viewport=PHONE, **options) -> Page:
        page = open_context(viewport, **options).new_page()
        sign_in(page, inspector)
        page.goto(reverse("inspection-detail", args=[card.occasion.club.slug, card.public_id]))
        return page

    return go


def press(page: Page, keys: str) -> None:
    for key in keys:
        page.locator("#pad").get_by_role("button", name="decimal point" if key == "." else key, exact=True).tap()


def readings():
    found = Finding.objects.filter(superseded_at__isnull=True).order_by("clause__position")
    return list(found.values_list("reading", flat=True))


def test_twelve_clauses_take_twelve_readings_each_closed_by_enter_and_one_signature(open_card, visit):
    card = open_card(*[worlds.WIDTH, worlds.TIRE] * 6)
    page = visit(card)
    for number in range(12):
        title = page.locator(".clause:not([hidden]) .clause-title")
        expect(title).to_contain_text("Overall width" if number % 2 == 0 else "Rear tire diameter")
        type_text(page, "63.4" if number % 2 == 0 else "19.4")
        page.keyboard.press("Enter")
        expect(page.locator("#card-strip")).to_contain_text(f"{number + 1} Pass")
    page.get_by_role("button", name="Sign: clear").click()
    expect(page.get_by_text("is clear.")).to_be_visible()
    card.refresh_from_db()
    assert card.signed_clear is True
    assert readings() == ["63.4 mm", "19.4 mm"] * 6


def test_the_pages_own_pad_types_a_reading_and_its_enter_names_the_next_clause(open_card, visit):
    page = visit(open_card(worlds.TIRE, worlds.WIDTH), **TOUCH)
    pad = page.locator("#pad")
    expect(pad).to_be_visible()
    expect(pad).to_contain_text("2 Overall width")
    press(page, "19.39")
    pad.get_by_role("button", name="Delete").tap()
    press(page, "8")
    expect(page.locator("#reading-1")).to_have_value("19.38")
    expect(page.locator("#verdict-1")).to_contain_text("0.38 mm to spare")
    expect(page.locator("#other-1")).to_have_text("0.763 in")
    pad.get_by_role("button", name="Enter").tap()
    expect(page.locator("#clause-2")).to_be_visible()
    expect(page.locator("#clause-2 [data-last]")).to_contain_text("19.38")
    assert readings() == ["19.38 mm"]


def test_all_that_matters_stands_above_the_pad(open_card, visit):
    page = visit(open_card(worlds.TIRE, worlds.WIDTH), **TOUCH)
    press(page, "19.38")
    expect(page.locator("#verdict-1")).to_contain_text("Pass")
    top = page.locator("#pad").bounding_box()["y"]
    for part in (".clause-title", ".clause-limit", "svg.limits", ".reading", "#verdict-1", ".follows"):
        box = page.locator(f"#clause-1 {part}, #clause-1{part}").first.bounding_box()
        assert box["y"] + box["height"] <= top


def test_touching_the_field_asks_for_the_phones_own_keyboard(open_card, visit):
    page = visit(open_card(worlds.WIDTH), **TOUCH)
    field = page.locator("#reading-1")
    expect(field).to_have_attribute("inputmode", "none")
    field.tap()
    expect(page.locator("#pad")).to_be_hidden()
    expect(field).to_have_attribute("inputmode", "text")
    field.fill("2 1/2 in")
    field.press("Enter")
    expect(page.locator("#clause-sign")).to_be_visible()
    assert readings() == ["2 1/2 in"]


def test_yes_or_no_takes_one_tap_and_a_second_tap_meant_for_enter_does_not_answer_it(open_card, visit):
    page = visit(open_card(worlds.TIRE, worlds.LABEL, worlds.LOOKS), **TOUCH)
    press(page, "19.4")
    page.evaluate(
        """() => new MutationObserver((_changes, observer) => {
            const pane = document.getElementById("clause-2");
            if (pane.hidden) return;
            observer.disconnect();
            pane.querySelector("[value=no]").click();
        }).observe(document.querySelector(".card-panes"), { attributes: true, childList: true, subtree: true })"""
    )
    page.locator("#pad").get_by_role("button", name="Enter").tap()
    expect(page.locator("#clause-2")).to_be_visible()
    page.wait_for_timeout(600)
    expect(page.locator("#clause-2")).to_be_visible()
    page.get_by_role("button", name="Yes").tap()
    expect(page.locator("#clause-3")).to_be_visible()
    assert list(Finding.objects.order_by("pk").values_list("answer", flat=True)) == ["19.4 mm", "yes"]


def test_a_reading_too_close_stays_and_is_measured_again(club, open_card, visit):
    page = visit(open_card(worlds.TIRE | {"gauge": worlds.caliper(club)}, worlds.WIDTH), **TOUCH)
    press(page, "19.01")
    page.locator("#pad").get_by_role("button", name="Enter").tap()
    expect(page.locator("#clause-1")).to_contain_text("Too close: measure again")
    expect(page.locator("#pad")).to_be_hidden()
    page.get_by_role("link", name="Measure again").tap()
    page.wait_for_load_state()
    press(page, "19.4")
    page.locator("#pad").get_by_role("button", name="Enter").tap()
    expect(page.locator("#clause-2")).to_be_visible()
    assert Finding.objects.count() == 2
    assert readings() == ["19.4 mm"]


def test_an_absurd_reading_is_asked_about_and_one_tap_mends_it(open_card, visit):
    page = visit(open_card(worlds.WIDTH, worlds.TIRE))
    type_text(page, "634")
    page.keyboard.press("Enter")
    expect(page.locator("#verdict-1")).to_contain_text("Did you mean 63.40 mm?")
    page.get_by_role("button", name="63.40 mm", exact=True).click()
    expect(page.locator("#clause-2")).to_be_visible()
    assert readings() == ["63.40 mm"]


def test_without_a_line_the_reading_is_kept_shown_and_sent_once(open_card, visit):
    page = visit(open_card(worlds.WIDTH, worlds.TIRE))
    page.context.set_offline(True)
    type_text(page, "63.4")
    page.keyboard.press("Enter")
    expect(page.locator("#unsent")).to_contain_text("Not yet sent: 1 Overall width 63.4")
    expect(page.locator("#clause-2")).to_be_visible()
    type_text(page, "19.4")
    page.keyboard.press("Enter")
    expect(page.locator("#unsent")).to_contain_text("2 Rear tire diameter 19.4")
    assert not Finding.objects.exists()
    page.context.set_offline(False)
    expect(page.locator("#unsent")).to_be_hidden()
    expect(page.locator("#card-strip")).to_contain_text("2 Pass")
    assert readings() == ["63.4 mm", "19.4 mm"]
    assert Finding.objects.count() == 2


def test_what_is_being_typed_stays_when_an_earlier_reading_gets_through(open_card, visit):
    page = visit(open_card(worlds.WIDTH, worlds.TIRE))
    page.context.set_offline(True)
    type_text(page, "63.4")
    page.keyboard.press("Enter")
    expect(page.locator("#unsent")).to_contain_text("Not yet sent")
    type_text(page, "19.")
    page.context.set_offline(False)
    expect(page.locator("#unsent")).to_be_hidden()
    expect(page.locator("#reading-2")).to_have_value("19.")
    type_text(page, "4")
    page.keyboard.press("Enter")
    expect(page.locator("#clause-sign")).to_be_visible()
    assert readings() == ["63.4 mm", "19.4 mm"]


def test_a_reading_kept_through_a_reload_is_sent_once(open_card, visit):
    page = visit(open_card(worlds.WIDTH, worlds.TIRE))
    page.route("**/answer/", lambda route: route.abort())
    type_text(page, "63.4")
    page.keyboard.press("Enter")
    expect(page.locator("#unsent")).to_contain_text("Not yet sent")
    page.unroute("**/answer/")
    page.reload()
    expect(page.locator("#card-strip")).to_contain_text("1 Pass")
    assert Finding.objects.count() == 1


def test_an_answer_that_never_came_back_is_not_recorded_twice(open_card, visit):
    page = visit(open_card(worlds.WIDTH, worlds.TIRE))

    def lose_the_answer(route):
        route.fetch()
        route.abort()

    page.route("**/answer/", lose_the_answer)
    type_text(page, "63.4")
    page.keyboard.press("Enter")
    expect(page.locator("#unsent")).to_contain_text("Not yet sent")
    page.unroute("**/answer/")
    expect(page.locator("#unsent")).to_be_hidden()
    assert Finding.objects.count() == 1


def test_two_stations_on_one_clause_are_told_of_each_other(club, open_card, visit, open_context):
    card = open_card(worlds.WIDTH, worlds.TIRE)
    page = visit(card)
    second = factories.member(club, Role.TECH_INSPECTOR, name="Pat Ledger")
    services.record_measurement(
        inspection=card, clause=card.occasion.revision.clauses.get(number="1"), text="64.4", by=second
    )
    type_text(page, "63.4")
    page.keyboard.press("Enter")
    expect(page.locator("#verdict-1")).to_contain_text("Pat Ledger has found 64.4 mm for clause 1 meanwhile")
    assert Finding.objects.count() == 1
    page.get_by_role("button", name="63.4 stands").click()
    expect(page.locator("#told")).to_contain_text("Pat Ledger had found 64.4 for clause 1")
    expect(page.locator("#clause-2")).to_be_visible()
    assert readings() == ["63.4 mm"]
    assert Finding.objects.count() == 2


def test_without_script_the_card_works_by_plain_forms(open_card, visit):
    page = visit(open_card(worlds.WIDTH, worlds.LABEL), java_script_enabled=False)
    page.locator("#reading-1").fill("63.4")
    page.locator("#reading-1").press("Enter")
    expect(page.locator("#clause-2")).to_be_visible()
    page.get_by_role("button", name="Yes").click()
    page.get_by_role("button", name="Sign: clear").click()
    expect(page.get_by_text("is clear.")).to_be_visible()
    assert len(readings()) == 2


def test_enter_in_a_reading_never_presses_the_word_of_a_gauge(club, open_card, visit):
    block = worlds.caliper(club, kind="go_no_go", unit="", resolution="", max_permissible_error="")
    page = visit(open_card(worlds.WIDTH | {"gauge": block}), java_script_enabled=False)
    page.get_by_text("Type a reading instead").click()
    page.locator("#reading-1").fill("65")
    page.locator("#reading-1").press("Enter")
    assert Finding.objects.get().outcome == "fail"


def test_enter_after_a_refusal_sends_what_is_typed_and_no_suggestion(open_card, visit):
    page = visit(open_card(worlds.WIDTH), java_script_enabled=False)
    for text in ("634", "62.1"):
        page.locator("#reading-1").fill(text)
        page.locator("#reading-1").press("Enter")
    assert readings() == ["62.1 mm"]


def test_by_keyboard_alone_at_the_desk(open_card, visit):
    page = visit(open_card(worlds.WIDTH, worlds.LABEL), LAPTOP)
    type_text(page, "63.4")
    page.keyboard.press("Enter")
    expect(page.locator("#clause-2")).to_be_visible()
    page.wait_for_timeout(600)
    page.keyboard.press("y")
    expect(page.locator("#clause-sign")).to_be_visible()
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    expect(page.get_by_text("is clear.")).to_be_visible()


SPECS = [worlds.WIDTH, worlds.TIRE, worlds.WEIGHT, worlds.PINION, worlds.LABEL, worlds.TIRES, worlds.LOOKS]


def test_axe_finds_nothing_and_no_page_scrolls_sideways(club, inspector, open_card, visit):
    block = worlds.caliper(club, kind="go_no_go", unit="", resolution="", max_permissible_error="")
    caliper = worlds.caliper(club)
    card = open_card(*SPECS, worlds.WIDTH | {"gauge": block}, worlds.TIRE | {"gauge": caliper}, worlds.WIDTH)
    found = {"1": "63.4", "9": "19.01", "10": "65"}  # by clause number: a Pass, a Too close, a Fail
    for number, text in found.items():
        clause = card.occasion.revision.clauses.get(number=number)
        services.record_measurement(inspection=card, clause=clause, text=text, by=inspector)
    page = visit(card)
    queries = ["?view=clauses", "?at=sign", *(f"?at={place}" for place in range(1, 11)), "?at=9&again"]
    line = reverse("occasion-detail", args=[club.slug, card.occasion.public_id])
    for address in [*(page.url + query for query in queries), line]:
        page.goto(address)
        for way in in_every_way(page):
            assert faults_of(page) == [], (address, way)
            assert not scrolls_sideways(page), (address, way)


def test_two_stations_at_once_on_one_car_lose_nothing_and_double_nothing_when_the_network_drops(
    club, open_card, visit, open_context
):
    weights = [worlds.WEIGHT] * 3
    card = open_card(*[worlds.WIDTH, worlds.TIRE] * 2, *weights)
    second = factories.member(club, Role.TECH_INSPECTOR, name="Pat Ledger")
    caliper = visit(card, **TOUCH)
    caliper.goto(f"{caliper.url}?station=caliper")
    scale = open_context(PHONE, **TOUCH).new_page()
    sign_in(scale, second)
    address = reverse("inspection-detail", args=[club.slug, card.public_id])
    scale.goto(f"{address}?station=scale")

    def enter(page, keys):
        press(page, keys)
        page.locator("#pad").get_by_role("button", name="Enter").tap()

    enter(caliper, "63.4")
    expect(caliper.locator("#card-strip")).to_contain_text("1 Pass")
    enter(scale, "91")
    expect(scale.locator("#card-strip")).to_contain_text("2 Pass")  # each sees what the other has found by then
    caliper.context.set_offline(True)
    enter(caliper, "19.4")
    expect(caliper.locator("#unsent")).to_contain_text("Not yet sent: 2 Rear tire diameter 19.4")
    enter(scale, "92")
    expect(scale.locator("#card-strip")).to_contain_text("3 Pass")
    enter(caliper, "63.5")
    expect(caliper.locator("#unsent")).to_contain_text("3 Overall width 63.5")
    enter(scale, "93")
    expect(scale.locator("#clause-sign")).to_contain_text("All is found at this station")
    assert Finding.objects.count() == 4
    caliper.context.set_offline(False)
    expect(caliper.locator("#unsent")).to_be_hidden()
    enter(caliper, "19.5")
    expect(caliper.locator("#clause-sign")).to_contain_text("Everything passes")
    assert readings() == ["63.4 mm", "19.4 mm", "63.5 mm", "19.5 mm", "91 g", "92 g", "93 g"]
    assert Finding.objects.count() == Reading.objects.count() == 7


def test_what_was_kept_without_a_line_asks_before_it_takes_the_place_of_anothers_reading(club, open_card, visit):
    card = open_card(worlds.WIDTH, worlds.TIRE)
    page = visit(card)
    page.context.set_offline(True)
    type_text(page, "63.4")
    page.keyboard.press("Enter")
    expect(page.locator("#unsent")).to_contain_text("Not yet sent")
    second = factories.member(club, Role.TECH_INSPECTOR, name="Pat Ledger")
    clause = card.occasion.revision.clauses.get(number="1")
    services.record_measurement(inspection=card, clause=clause, text="64.4", by=second)
    page.context.set_offline(False)
    expect(page.locator("#unsent")).to_contain_text("Pat Ledger has found 64.4 mm")
    assert readings() == ["64.4 mm"]
    page.get_by_role("button", name="63.4 stands").click()
    expect(page.locator("#unsent")).to_be_hidden()
    assert readings() == ["63.4 mm"]


def test_a_clause_of_several_readings_stays_until_all_are_taken(open_card, visit):
    page = visit(open_card(worlds.TIRE | {"readings_wanted": 2}, worlds.WIDTH))
    expect(page.locator("#clause-1")).to_contain_text("Reading 1 of 2")
    type_text(page, "19.4")
    page.keyboard.press("Enter")
    expect(page.locator("#clause-1")).to_contain_text("Reading 2 of 2")
    type_text(page, "19.2")
    page.keyboard.press("Enter")
    expect(page.locator("#clause-2")).to_be_visible()
    assert readings() == ["19.2 mm"]
    assert Reading.objects.count() == 2
