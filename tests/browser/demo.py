"""The demo's whole invented club on a server of its own, loaded once for a module that only reads it."""

import gzip
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from django.core.management import call_command
from django.test import Client
from playwright.sync_api import Error, Page, Response
from pytest_django.live_server_helper import LiveServer

from inspection.models import Club, Driver, RuleSheet, User
from inspection.rulesheets.services import start_next_draft
from racedesk.entrylists.imports import TypedRow
from racedesk.entrylists.services import keep_import
from racedesk.models import Race
from tests.scenario_file import load

PICTURES = {"image", "media"}


@dataclass(frozen=True, slots=True)
class Demo:
    club: Club
    url: str
    owner_session: str

    @property
    def cookie(self) -> dict[str, str]:
        """The owner's session, as a browser keeps it."""
        return {"name": "sessionid", "value": self.owner_session, "url": self.url}


def _what_the_scenario_leaves_out(club: Club) -> None:
    """A draft with clauses and a file of entries that waits for a word: pages that a finished club may lack."""
    owner = User.objects.get(username="director")
    start_next_draft(rule_sheet=RuleSheet.objects.of(club).latest("pk"), by=owner)
    race = Race.objects.filter(event__club=club).latest("pk")
    drivers = Driver.objects.of(club).order_by("pk")
    names = [drivers[0].name, drivers[1].name[:-1] + "x", "Nell Ironwood", ""]
    rows = [TypedRow(row=n, name=name, typed={"name": name}) for n, name in enumerate(names, start=2)]
    keep_import(race=race, file_name="entries.csv", rows=rows, by=owner)


@contextmanager
def running_demo(kept: Path) -> Iterator[Demo]:
    """Loads the scenario, serves it, and leaves the database as empty as every other test expects it."""
    load(kept, progress=lambda _done, _total, _what: None)
    _what_the_scenario_leaves_out(Club.objects.get())
    club = Club.objects.get()
    client = Client()
    client.force_login(User.objects.get(username="director"))
    server = LiveServer("localhost")
    try:
        yield Demo(club=club, url=server.url, owner_session=client.cookies["sessionid"].value)
    finally:
        server.stop()
        call_command("flush", verbosity=0, interactive=False, inhibit_post_migrate=False)


@dataclass
class Watch:
    """Everything a page asks for while it loads: how much, from where, and what it complains of."""

    page: Page
    own_host: str
    complaints: list[str] = field(default_factory=list)
    elsewhere: list[str] = field(default_factory=list)
    weights: dict[str, int] = field(default_factory=dict)
    _answers: list[Response] = field(default_factory=list)

    def __post_init__(self) -> None:
        # Without the browser's own cache each page is weighed as at a first visit.
        self.page.context.new_cdp_session(self.page).send("Network.setCacheDisabled", {"cacheDisabled": True})
        self.page.on("request", lambda request: self._look_where(request.url))
        self.page.on("response", lambda response: self._answers.append(response))  # noqa: PLW0108  it must be a function
        self.page.on("pageerror", lambda error: self.complaints.append(str(error)))
        self.page.on("console", lambda said: said.type == "error" and self.complaints.append(said.text))

    def _look_where(self, url: str) -> None:
        if not url.startswith((self.own_host + "/", "data:", "blob:")):
            self.elsewhere.append(url)

    def open(self, address: str) -> Response:
        """Load the page as at a first visit and weigh what came over the wire, pictures apart."""
        for told in (self.complaints, self.elsewhere, self.weights, self._answers):
            told.clear()
        response = self.page.goto(address)
        assert response is not None
        self.page.evaluate("document.fonts.ready.then(() => null)")
        for each in self._answers:
            if each.request.resource_type not in PICTURES and not each.url.startswith(("data:", "blob:")):
                self.weights[each.url] = _on_the_wire(each)
        return response

    @property
    def total(self) -> int:
        return sum(self.weights.values())


# Files that every page asks for do not change while the tests run, and are weighed once.
_files: dict[str, int] = {}


def _on_the_wire(response: Response) -> int:
    """Bytes of an answer, compressed as the servers of `demo` and `serve` send it; the test's own server does not."""
    if "/static/" not in response.url:
        return _weighed(response)
    if response.url not in _files:
        _files[response.url] = _weighed(response)
    return _files[response.url]


def _weighed(response: Response) -> int:
    try:
        body = response.body()
    except Error:  # a redirect, or nothing
        return 300
    head = sum(len(name) + len(value) + 4 for name, value in response.headers.items())
    packed = response.url.endswith((".woff2", ".png", ".jpg"))
    return head + (len(body) if packed else min(len(body), len(gzip.compress(body, 6))))
