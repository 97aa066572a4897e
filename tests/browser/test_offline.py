"""A hall without the internet: no page asks for anything but the laptop that serves it, then or later."""

import re
from pathlib import Path

import pytest
from django.urls import reverse
from playwright.sync_api import Route

from inspection.inspections.services import open_inspection
from inspection.models import Role
from racedesk.heats.selectors import heats_of
from racedesk.models import Draw
from racedesk.results.services import publish_results
from tests import factories, race_factories
from tests.browser.conftest import sign_in
from tests.racedesk.results.test_results_services import run

ROOT = Path(__file__).parents[2]
SERVED = [*ROOT.glob("templates/**/*.html"), *ROOT.glob("*/static/**/*.css"), *ROOT.glob("*/static/**/*.js")]
# Names that a browser does not fetch: XML namespaces.
NO_ADDRESS = re.compile(r"https?://www\.w3\.org/[\w/#.-]*")


@pytest.mark.django_db(transaction=True)
def test_every_request_of_a_whole_night_goes_to_the_laptop(open_context, live_server):
    club = factories.club()
    owner = factories.member(club, Role.OWNER)
    race = race_factories.race_with_tech(race_factories.event(club, lanes=4))
    for entry in race_factories.entries(race, 4):
        entry.override_by, entry.override_at, entry.override_reason = owner, entry.entered_at, "friendly night"
        entry.save()
    race_factories.drawn(race, by=owner)
    card = open_inspection(occasion=race.tech_occasion, car=race.entries.first().cars.get().car, by=owner)
    heat = heats_of(race)[0]
    other = race_factories.race(race.event)
    race_factories.entries(other, 4)
    race_factories.drawn(other)
    run(other)
    publish_results(race=other, by=owner)

    asked: list[str] = []

    def watch(route: Route) -> None:
        asked.append(route.request.url)
        own = route.request.url.startswith((live_server.url + "/", "data:", "blob:"))
        route.continue_() if own else route.abort()

    context = open_context()
    context.route("**/*", watch)
    page = context.new_page()
    sign_in(page, owner)
    for name, of in [
        ("event-detail", race.event),
        ("event-day", race.event),
        ("heat-board", race.event),
        ("entry-list", race),
        ("heat-list", race),
        ("heat-run", heat),
        ("occasion-detail", race.tech_occasion),
        ("inspection-detail", card),
        ("revision-detail", race.rule_revision),
        ("draw-detail", Draw.objects.get(stage__race=race)),
        ("result-detail", other),
        ("driver-page", race.entries.first()),
    ]:
        page.goto(reverse(name, args=[club.slug, of.public_id]))
        page.wait_for_timeout(300)  # what a page asks for a little later counts too
    page.goto(
        reverse("heat-print", args=[club.slug, Draw.objects.get(stage__race=race).public_id, "wall"]) + "?as=page"
    )
    page.goto(f"/{club.slug}/")

    outside = [url for url in asked if not url.startswith((live_server.url + "/", "data:", "blob:"))]
    assert outside == []
    assert any(url.endswith(".woff2") for url in asked)


def test_nothing_that_is_served_names_an_address_elsewhere():
    found = {}
    for path in SERVED:
        text = NO_ADDRESS.sub("", path.read_text(encoding="utf-8"))
        if named := re.findall(r"https?://\S+|[\"'(]//[\w.-]+\.\w+", text):
            found[str(path.relative_to(ROOT))] = named

    assert found == {}
    assert len(SERVED) > 100
