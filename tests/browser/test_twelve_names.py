"""From twelve typed names to heat sheets on paper, with no car, no rule and no tech; counted as the hand counts."""

import io
import re

import pytest
from playwright.sync_api import Page, expect
from pypdf import PdfReader

from inspection.models import Car, Role, RuleSheet
from racedesk.models import Draw, Entry, LaneAssignment, Race
from tests import factories
from tests.browser.conftest import sign_in, type_text
from tests.racedesk.results.test_results_services import run

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.pdf]

NAMES = [
    "Ansel Birch", "Brisa Calloway", "Corin Dahl", "Delphine Eng", "Eamon Frost", "Fenna Groot", "Gideon Hale",
    "Hanneke Ivers", "Isidro Jonas", "Jorunn Kettle", "Kaspar Leroux", "Lioba Maddox-Wetherington",
]  # fmt: skip


class Hand:
    """Counts each tap and each key that is not a letter of a name."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.taps = 0

    def tap(self, role: str, name: str) -> None:
        self.page.get_by_role(role, name=name).first.click()
        self.page.wait_for_load_state()
        self.taps += 1


@pytest.fixture
def club():
    """A club that has a track and nothing else."""
    made = factories.club()
    factories.track_layout(made, lanes=6)
    return made


def test_twelve_typed_names_become_heat_sheets_in_a_few_taps(club, open_context):
    page = open_context().new_page()
    sign_in(page, factories.member(club, Role.RACE_DIRECTOR))
    page.goto(f"/{club.slug}/events/")
    hand = Hand(page)

    hand.tap("link", "Race tonight from typed names")
    expect(page.get_by_label("Names")).to_be_focused()
    type_text(page, "\n".join(NAMES))
    hand.tap("button", "On to the heats")
    expect(page.get_by_role("heading", level=1)).to_contain_text("12 drivers on 6 lanes")
    hand.tap("button", "Use Opponents, print the heat sheets")
    sheet = page.get_by_role("link", name="Print the whole night").get_attribute("href")
    hand.taps += 1  # the print itself: a headless browser shows no PDF

    assert hand.taps == 4
    response = page.request.get(sheet)
    assert response.headers["content-type"] == "application/pdf"
    paper = PdfReader(io.BytesIO(response.body()))
    # A long name wraps in its cell, after a hyphen too: compare without blanks.
    text = re.sub(r"\s+", "", "".join(each.extract_text() for each in paper.pages))
    assert [name for name in NAMES if name.replace(" ", "") not in text] == []
    assert 1 <= len(paper.pages) <= 2
    assert Draw.objects.get().stage.race.entries.filter(state=Entry.State.CHECKED_IN).count() == 12
    assert LaneAssignment.objects.count() == 12 * 6
    assert not Car.objects.exists()
    assert not RuleSheet.objects.exists()


def test_its_result_says_that_there_was_no_tech(club, open_context):
    page = open_context().new_page()
    sign_in(page, factories.member(club, Role.RACE_DIRECTOR))
    page.goto(f"/{club.slug}/quick-race/")
    page.get_by_label("Names").fill(", ".join(NAMES))
    page.get_by_role("button", name="On to the heats").click()
    page.get_by_role("button", name="Use Opponents, print the heat sheets").click()
    page.wait_for_load_state()
    race = Race.objects.get()
    run(race)

    page.goto(f"/{club.slug}/races/{race.public_id}/result/preview/")
    page.get_by_role("button", name="Publish this result").click()
    expect(page.locator("main")).to_contain_text("Result 1, published")
    visitor = open_context().new_page()
    visitor.goto(f"/{club.slug}/races/{race.public_id}/result/")
    expect(visitor.locator("main")).to_contain_text(re.compile("no tech tonight", re.IGNORECASE))
    for name in NAMES:
        expect(visitor.locator("main")).to_contain_text(name)
    paper = visitor.request.get(visitor.get_by_role("link", name="Print or save this result").get_attribute("href"))
    assert "no tech tonight" in PdfReader(io.BytesIO(paper.body())).pages[0].extract_text().lower()
