"""A real browser against a real server: headless Chromium, driven from the tests."""

import os
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright

from inspection.models import User
from tests.conftest import CHROMIUM

# Playwright's own event loop runs in the thread in which the tests use the database.
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")

PHONE = {"width": 360, "height": 760}
LAPTOP = {"width": 1280, "height": 800}
PASSWORD = "correct horse 42"
# How long a step may take on a slow or busy machine before it counts as failed; a quick one never waits so long.
PATIENCE_MS = 60_000
expect.set_options(timeout=PATIENCE_MS / 2)
QUIET = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--disable-dev-shm-usage",
]  # fmt: skip


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if Path(item.fspath).is_relative_to(Path(__file__).parent):
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=CHROMIUM, args=QUIET)
        yield chromium
        chromium.close()


@pytest.fixture
def open_context(browser: Browser, live_server) -> Iterator[Callable[..., BrowserContext]]:
    """Make a browser of one visitor; a page that logs an error of its own fails the test."""
    contexts: list[BrowserContext] = []
    errors: list[str] = []

    def make(viewport: dict[str, int] = LAPTOP, **options) -> BrowserContext:
        context = browser.new_context(viewport=viewport, base_url=live_server.url, **options)
        context.set_default_timeout(PATIENCE_MS)
        context.on("page", lambda page: page.on("pageerror", lambda error: errors.append(str(error))))
        contexts.append(context)
        return context

    yield make
    for context in contexts:
        context.close()
    assert errors == []


def sign_in(page: Page, user: User) -> None:
    page.goto("/sign-in/")
    page.get_by_label("Name", exact=False).first.fill(user.username)
    page.locator("input[type=password]").fill(PASSWORD)
    page.locator("main button[type=submit], main button.primary").first.click()
    page.wait_for_load_state()


# Contrast is measured, too, where something drawn before or after an element may lie behind its words; axe would look
# for such things in every ancestor of every word, four fifths of its time, and then leave the word out as undecided.
_MORE_IS_MEASURED = "axe.configure({checks: [{id: 'color-contrast', options: {ignorePseudo: true}}]})"


def faults_of(page: Page) -> list[str]:
    """What axe finds on the page as it stands, in words."""
    if not page.evaluate("'axe' in window"):  # once a page: reading it in takes as long as a look
        page.evaluate(f"{Axe().axe_script};{_MORE_IS_MEASURED}")
    found = page.evaluate("axe.run({resultTypes: ['violations']}).then((results) => results.violations)")
    return [f"{each['id']}: {node['target']} {node['html'][:120]}" for each in found for node in each["nodes"]]


def scrolls_sideways(page: Page) -> bool:
    return bool(page.evaluate("document.documentElement.scrollWidth > document.documentElement.clientWidth"))


def in_every_way(page: Page) -> Iterator[str]:
    """The page on a phone and at the desk, in light and in the dark, one after another: gives each one's name."""
    for place, viewport in {"phone": PHONE, "desk": LAPTOP}.items():
        page.set_viewport_size(viewport)
        for scheme in ("light", "dark"):
            page.emulate_media(color_scheme=scheme)
            yield f"{place}, {scheme}"


def type_text(page: Page, text: str) -> None:
    """Type as a person does: once the page shows where the letters go."""
    page.wait_for_function("document.activeElement.matches('input, textarea')")
    page.keyboard.type(text)
