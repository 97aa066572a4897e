"""Every page of the demo, as the owner and as somebody who is not signed in.

Each is loaded once and looked at in each way: axe at the desk in light and on a phone in the dark; no sideways scroll
there nor at twice the size; its weight over the wire; nothing from outside; no complaint.
"""

import re
from collections.abc import Iterator
from html.parser import HTMLParser

import pytest
from django.db.models import Model
from django.test import Client
from django.urls import reverse
from playwright.sync_api import Browser, BrowserContext, Page

from inspection.models import Build, Car, Driver, Inspection, TechOccasion, User
from racedesk.models import Draw, Entry, Event, Heat, Race, TechCall
from tests.addresses import ADDRESSES, OUTSIDE_CLUBS, PUBLIC, url_of
from tests.browser.conftest import LAPTOP, PHONE, faults_of, scrolls_sideways
from tests.browser.demo import Demo, Watch, running_demo
from tests.scenario_file import kept_at

pytestmark = pytest.mark.django_db(transaction=True)

# "First load of any page under 100 kB over the wire, the subset font included, pictures apart" (the project's budget).
MOST_BYTES = 100_000
# A laptop of 1280 px at 200 % zoom has this much room (WCAG 2.2, 1.4.4 and 1.4.10).
TWICE_THE_SIZE = {"width": 640, "height": 400}
WIDE = {"width": 1920, "height": 1080}

# What answers a link but is no page of its own: paper, files, and parts that a page fetches.
NO_PAGES = {
    "cards-print", "card-print", "card-blank-print", "entry-print", "heat-print", "result-print", "revision-print",
    "comparison-print", "gauge-print", "gauge-label-print", "study-blank-print", "notice-print", "report-print",
    "techcall-print", "prep-print", "planner-print", "photo-detail",
    "part-export", "job-print", "shopping-print", "roster-print", "draw-print",
    "season-print", "car-export", "rulesheet-export", "car-schema", "rule-sheet-schema", "event-day-part",
    "driver-page-part", "finding-assess", "heat-echo", "heat-feed", "heat-board-feed",
    "redraw-plan", "event-calendar",
}  # fmt: skip
PAGES = [name for name, each in ADDRESSES.items() if not each.posts and each.status == 200 and name not in NO_PAGES]
PAPER = [name for name in ADDRESSES if name.endswith("-print")]
PUBLIC_PAGES = [name for name in PAGES if ADDRESSES[name].who == PUBLIC]

# The table of addresses takes the newest of each kind; these have another face when they are over, or long ago.
EARLIER: dict[str, type[Model]] = {
    "event-detail": Event, "event-day": Event, "takings": Event, "heat-board": Event, "race-edit": Race,
    "entry-list": Race, "heat-list": Race, "result-detail": Race, "result-preview": Race, "result-correct": Race,
    "draw-detail": Draw, "heat-run": Heat, "heat-laps": Heat, "driver-page": Entry, "entry-detail": Entry,
    "driver-detail": Driver, "car-detail": Car, "build-detail": Build, "inspection-detail": Inspection,
    "occasion-detail": TechOccasion, "result-print": Race, "redraw-create": Race, "roster-detail": Race,
}  # fmt: skip


@pytest.fixture(scope="module")
def demo(django_db_setup, django_db_blocker, tmp_path_factory, worker_id) -> Iterator[Demo]:
    with django_db_blocker.unblock(), running_demo(kept_at(tmp_path_factory, worker_id)) as running:
        yield running


@pytest.fixture
def _django_db_helper(demo: Demo) -> None:
    """Instead of pytest-django's own: the demo is loaded once and only read, so nothing is taken back after a test."""


@pytest.fixture(scope="module")
def owner(browser: Browser, demo: Demo) -> Iterator[BrowserContext]:
    context = browser.new_context(viewport=LAPTOP, base_url=demo.url)
    context.add_cookies([demo.cookie])
    yield context
    context.close()


@pytest.fixture(scope="module")
def visitor(browser: Browser, demo: Demo) -> Iterator[BrowserContext]:
    context = browser.new_context(viewport=LAPTOP, base_url=demo.url)
    yield context
    context.close()


@pytest.fixture
def watch(request: pytest.FixtureRequest, demo: Demo) -> Iterator[Watch]:
    who = request.param if hasattr(request, "param") else "owner"
    page = request.getfixturevalue(who).new_page()
    page.set_default_timeout(20_000)
    yield Watch(page, demo.url)
    page.close()


def look_at(watch: Watch, address: str, *, status: int = 200) -> list[str]:
    """Everything that is wrong with a page, in words."""
    page = watch.page
    page.set_viewport_size(LAPTOP)
    page.emulate_media(color_scheme="light")
    wrong: list[str] = []
    response = watch.open(address)
    if response.status != status:
        wrong.append(f"answers {response.status}")
    wrong += [f"complains: {text}" for text in watch.complaints if status == 200 or f" {status} " not in text]
    wrong += [f"asks outside: {url}" for url in watch.elsewhere]
    if watch.total >= MOST_BYTES:
        wrong.append(f"weighs {watch.total} bytes: {watch.weights}")
    wrong += [f"at the desk: {fault}" for fault in faults_of(page)]
    wrong += _sideways(page, "at the desk")
    page.set_viewport_size(TWICE_THE_SIZE)
    wrong += _sideways(page, "at twice the size")
    page.set_viewport_size(PHONE)
    page.emulate_media(color_scheme="dark")
    wrong += _sideways(page, "on a phone")
    wrong += [f"on a phone in the dark: {fault}" for fault in faults_of(page)]
    return wrong


def _sideways(page: Page, where: str) -> list[str]:
    if not scrolls_sideways(page):
        return []
    widest = page.evaluate(
        """() => [...document.querySelectorAll("body *")]
            .filter((e) => e.getBoundingClientRect().right > document.documentElement.clientWidth + 1)
            .map((e) => `${e.tagName}.${e.className} ${Math.round(e.getBoundingClientRect().right)}`).slice(0, 6)"""
    )
    return [f"scrolls sideways {where}: {widest}"]


def earliest(name: str, demo: Demo) -> str:
    model = EARLIER[name]
    found = model.objects.of(demo.club).order_by("pk").first()  # type: ignore[attr-defined]
    return reverse(name, args=[demo.club.slug, found.public_id])


@pytest.mark.parametrize("name", PAGES)
def test_a_page_as_its_owner_sees_it(name, watch, demo):
    assert look_at(watch, url_of(name, demo.club)) == []


@pytest.mark.parametrize("watch", ["visitor"], indirect=True)
@pytest.mark.parametrize("name", PUBLIC_PAGES)
def test_a_page_as_everybody_sees_it(name, watch, demo):
    assert look_at(watch, url_of(name, demo.club)) == []


@pytest.mark.parametrize("name", [name for name in EARLIER if name not in PAPER])
def test_a_page_of_what_is_over(name, watch, demo):
    assert look_at(watch, earliest(name, demo)) == []


@pytest.mark.parametrize("watch", ["visitor"], indirect=True)
@pytest.mark.parametrize("name", [name for name in EARLIER if name in PUBLIC_PAGES])
def test_a_public_page_of_what_is_over(name, watch, demo):
    assert look_at(watch, earliest(name, demo)) == []


@pytest.mark.parametrize(("name", "watch"), [("sign-in", "visitor"), ("password-change", "owner")], indirect=["watch"])
def test_a_page_that_belongs_to_no_club(name, watch, demo):
    assert look_at(watch, reverse(name)) == []


@pytest.mark.parametrize("watch", ["visitor"], indirect=True)
def test_a_page_that_is_not_there(watch, demo):
    assert look_at(watch, f"/{demo.club.slug}/events/nothing-here/", status=404) == []


@pytest.mark.parametrize("watch", ["visitor"], indirect=True)
def test_a_page_that_is_not_for_everybody(watch, demo):
    client = Client()
    client.force_login(User.objects.get(username="driver"))
    watch.page.context.add_cookies([demo.cookie | {"value": client.cookies["sessionid"].value}])

    assert look_at(watch, reverse("log-list", args=[demo.club.slug]), status=403) == []
    watch.page.context.clear_cookies()


@pytest.mark.parametrize("viewport", [PHONE, LAPTOP], ids=["phone", "laptop"])
def test_the_menu_when_it_is_open(watch, demo, viewport):
    watch.open(url_of("event-day", demo.club))
    watch.page.set_viewport_size(viewport)
    menu = watch.page.locator("details.menu > summary:visible").first
    menu.click()
    assert faults_of(watch.page) == []
    assert not scrolls_sideways(watch.page)
    watch.page.keyboard.press("Escape")
    assert watch.page.locator("details.menu[open]").count() == 0


@pytest.mark.parametrize("name", PAPER)
def test_paper_as_a_page_for_the_browsers_own_print(name, watch, demo):
    address = url_of(name, demo.club)
    if name == "result-print":
        address = earliest(name, demo)
    elif name == "techcall-print":
        address = reverse(name, args=[demo.club.slug, TechCall.objects.of(demo.club).earliest("at").race.public_id])
    response = watch.open(f"{address}{'&' if '?' in address else '?'}as=page")
    assert response.status == 200
    assert watch.complaints == watch.elsewhere == []
    assert faults_of(watch.page) == []


@pytest.mark.parametrize("watch", ["visitor"], indirect=True)
def test_the_board_fills_a_large_screen_and_no_more(watch, demo):
    watch.page.set_viewport_size(WIDE)
    watch.open(url_of("heat-board", demo.club))
    assert not scrolls_sideways(watch.page)
    assert watch.page.evaluate("document.documentElement.scrollHeight") <= WIDE["height"]


def test_every_address_is_a_page_or_named_as_none(demo):
    client = _signed_in()
    whole = {}
    for name, each in ADDRESSES.items():
        if not each.posts and each.status == 200 and name not in PAPER:
            response = client.get(url_of(name, demo.club))
            whole[name] = response["Content-Type"].startswith("text/html") and b"<!doctype html>" in response.content
    assert {name for name, is_page in whole.items() if not is_page} == NO_PAGES - {*PAPER, *OUTSIDE_CLUBS}


def _signed_in() -> Client:
    client = Client()
    client.force_login(User.objects.get(username="director"))
    return client


class _Links(HTMLParser):
    """Where the links of a page go."""

    def __init__(self) -> None:
        super().__init__()
        self.found: set[str] = set()
        self.ids: set[str] = set()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = dict(attrs)
        if tag == "a" and told.get("href"):
            self.found.add(str(told["href"]))
        if told.get("id"):
            self.ids.add(str(told["id"]))


def _shape(address: str) -> tuple[str, ...]:
    """An address without what makes it one of many: pages of one kind are tried a few times, not a hundred."""
    path, _, asked = address.partition("?")
    names = sorted({part.partition("=")[0] for part in asked.split("&")})
    return (re.sub(r"/([a-z0-9]{10,}|[0-9]+|[0-9a-f-]{36})(?=/)", "/*", path), *names)


@pytest.mark.parametrize("who", ["owner", "visitor"])
def test_no_link_leads_nowhere(who, demo):
    client = _signed_in() if who == "owner" else Client()
    waiting, seen, tried, wrong = ["/"], {"/"}, {}, []
    while waiting:
        address = waiting.pop(0)
        response = client.get(address, follow=True)
        if response.status_code != 200 or (who == "visitor" and "/sign-in/" in response.request["PATH_INFO"]):
            wrong.append(f"{address}: {response.status_code}")
        if not response["Content-Type"].startswith("text/html"):
            continue
        links = _Links()
        links.feed(response.content.decode())
        for link in links.found:
            if link.startswith("#") and link[1:] and link[1:] not in links.ids:
                wrong.append(f"{address}: {link} is nowhere on it")
            path = (response.request["PATH_INFO"] + link if link.startswith("?") else link).split("#")[0]
            shape = _shape(path)
            if not path.startswith("/") or path in seen or re.search("/print/|/cards/[?]|/blank-card/|/sign-", path):
                continue
            seen.add(path)
            if tried.setdefault(shape, 0) < 2:
                tried[shape] += 1
                waiting.append(path)
    assert sorted(set(wrong)) == []
    assert len(seen) > (100 if who == "owner" else 30)
