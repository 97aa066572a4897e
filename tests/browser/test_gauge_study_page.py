"""A study on a phone: a reading and Enter, twelve times, and nothing else; nothing lost without a line."""

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from inspection.models import Role, StudyReading
from inspection.studies.selectors import order_of
from tests import factories
from tests.browser.conftest import PHONE, faults_of, scrolls_sideways, sign_in, type_text

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def study():
    return factories.gauge_study(factories.gauge(factories.club(), name="Caliper"), name="Tires")


@pytest.fixture
def page(study, open_context):
    page = open_context(PHONE, has_touch=True, is_mobile=True).new_page()
    sign_in(page, factories.member(study.gauge.club, Role.TECH_INSPECTOR))
    page.goto(reverse("study-measure", args=[study.gauge.club.slug, study.public_id]))
    return page


def value_of(place):
    """Parts differ by a millimeter, inspectors by a hundredth, trials by another."""
    return f"{19 + place.part}.{40 + place.inspector + place.trial}"


def test_a_whole_study_takes_twelve_readings_each_closed_by_enter(page, study):
    order = order_of(study)
    for number, place in enumerate(order):
        expect(page.locator("#prompt")).to_contain_text(f"Reading {number + 1} of 12")
        expect(page.locator(".study-part")).to_have_text(study.parts[place.part])
        expect(page.locator(".study-who")).to_contain_text(study.inspectors[place.inspector])
        if number == 4:
            assert not scrolls_sideways(page)
            assert faults_of(page) == []
            bottom = page.locator("#pad").bounding_box()["y"]
            field = page.locator(".reading").bounding_box()
            assert field["y"] + field["height"] < bottom
        type_text(page, value_of(place))
        page.keyboard.press("Enter")
    expect(page.locator(".study-says")).to_contain_text("Caliper, as you use it, can decide limits to")

    read = {(each.inspector, each.part, each.trial): each.reading for each in StudyReading.objects.all()}
    assert read == {(place.inspector, place.part, place.trial): f"{value_of(place)} mm" for place in order}


def test_a_reading_that_got_lost_or_whose_answer_did_counts_once(page, study):
    def lose_the_answer(route):
        route.fetch()
        route.abort()

    page.route("**/measure/", lose_the_answer)
    page.locator("#pad").get_by_role("button", name="1", exact=True).tap()
    page.locator("#pad").get_by_role("button", name="9", exact=True).tap()
    page.locator("#pad").get_by_role("button", name="Enter").tap()
    expect(page.locator("#told")).to_contain_text("Not sent")
    expect(page.locator("#reading")).to_have_value("19")
    page.unroute("**/measure/")
    page.keyboard.press("Enter")
    expect(page.locator("#prompt")).to_contain_text("Reading 2 of 12")
    expect(page.locator("#reading")).to_have_value("")
    assert StudyReading.objects.get().reading == "19 mm"
