"""The marshal roster by hand: by keyboard alone, on a phone, and at the director's table while a heat runs."""

import re
import time

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from inspection.models import Role
from racedesk.heats.selectors import heats_of
from racedesk.models import MarshalDuty
from racedesk.racecontrol.services import start_heat
from tests import factories, race_factories
from tests.browser.conftest import LAPTOP, PHONE, faults_of, scrolls_sideways, sign_in, type_text

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def race():
    return race_factories.drawn_race(drivers=7, lanes=3, posts=2, heat_length_s=60, countdown_s=0, missed_duty_laps=3)


@pytest.fixture
def visit(open_context, race):
    director = factories.member(race.event.club, Role.RACE_DIRECTOR)

    def go(address, viewport=LAPTOP, **options):
        page = open_context(viewport, **options).new_page()
        sign_in(page, director)
        page.goto(address)
        return page

    return go


def roster(race):
    return reverse("roster-detail", args=[race.event.club.slug, race.public_id])


def named(what, who):
    """The name of a button whose object is there for screen readers only."""
    return re.compile(rf"{what}\s*: {re.escape(str(who))}")


def test_a_driver_is_exempted_with_keys_alone_and_the_roster_is_new_at_once(race, visit):
    entry = race.entries.first()
    page = visit(roster(race))
    page.get_by_text(f"Exempt: {entry}").focus()
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    type_text(page, "broken wrist")
    page.keyboard.press("Enter")

    expect(page.get_by_text("does not marshal. The roster of the heats to come is made anew")).to_be_visible()
    expect(page.get_by_text("broken wrist")).to_be_visible()
    assert not MarshalDuty.objects.filter(seat__entry=entry).exists()
    assert faults_of(page) == []


def test_a_helper_is_named_on_a_phone(race, visit):
    page = visit(roster(race), PHONE, color_scheme="dark")
    page.get_by_label("Post").select_option("1 Post 1")
    page.get_by_label("Helper, who does not race").fill("Mara Lind")
    page.get_by_role("button", name="Name the helper").click()

    expect(page.get_by_role("button", name=named("Release", "Mara Lind"))).to_be_visible()
    assert page.locator("table.roster").get_by_text("Mara Lind", exact=True).count() == len(heats_of(race))
    assert not scrolls_sideways(page)
    assert faults_of(page) == []


def test_a_missed_duty_is_one_tap_while_the_heat_runs_and_is_taken_back(race, visit):
    heat = heats_of(race)[0]
    start_heat(heat=heat, at_ms=time.time_ns() // 1_000_000, by=None)
    duty = heat.marshals.select_related("seat__entry").first()
    page = visit(reverse("heat-run", args=[race.event.club.slug, heat.public_id]))
    typed = page.locator(".laps-input").first
    typed.evaluate("field => { field.closest('[hidden]')?.removeAttribute('hidden'); field.value = '17' }")
    page.get_by_role("button", name=named("Missed", duty.seat.entry)).click()

    expect(page.get_by_text("missed, 3 laps off")).to_be_visible()
    expect(page.locator("[data-phase-word]")).to_have_text("Running")
    assert typed.input_value() == "17"  # what is typed and not yet saved stays
    assert race.penalties.get().laps == 3
    assert faults_of(page) == []

    page.get_by_role("link", name=named("Take it back", duty.seat.entry)).click()
    page.get_by_label("Why it is taken back").fill("was at the desk")
    page.locator("main button.primary").click()
    page.goto(roster(race))
    expect(page.get_by_role("button", name=named("Missed", duty.seat.entry))).to_be_visible()
    assert race.penalties.get().withdrawn_reason == "was at the desk"
