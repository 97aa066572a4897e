"""Every document read back from its PDF: size, pages, running head, names, numbers, margins, fonts, QR codes.

One small world is built once, and each document printed when first asked for; the tests only read.
"""

import logging
import re
from dataclasses import dataclass, field
from decimal import Decimal

import pytest
from django.db import transaction
from django.test import Client
from django.urls import reverse

from inspection.inspections.services import open_inspection, record_measurement, sign_card
from inspection.models import Role
from inspection.papers import documents
from racedesk.results.services import publish_results
from racedesk.seasons.services import add_round, create_season
from tests import factories, race_factories
from tests.inspection.inspections import worlds
from tests.pdf_pages import MM, Page, read_pdf
from tests.racedesk.results.test_results_services import run

pytestmark = pytest.mark.django_db

# ISO 216: A4 is 210 mm x 297 mm, A5 148 mm x 210 mm. US Letter (ANSI/ASME Y14.1, size A) is 8.5 in x 11 in.
SIZES = {"A4": (210 * MM, 297 * MM), "A5": (148 * MM, 210 * MM), "Letter": (8.5 * 72, 11 * 72)}
MARGIN = 10 * MM
LONG = "Maximiliane-Wilhelmine von und zu Hohenbergenstein-Featherstonehaugh"
NAMES = (LONG, "Ada Brandt", "Tom Okafor", "Zoë O'Hanlon")
SITE = "http://testserver"
FONTS = {"RaceDesk-Sans", "RaceDesk-Sans-Semi-Bold", "RaceDesk-Sans-Bold"}
AT_THE_TRACK = ("never lean over live lanes", "hands clear before power", "no rings, tools or drinks", "local codes")


@dataclass
class World:
    """What is printed: by document and paper the page that the PDF library gets, and where its codes must lead."""

    lives: dict[str, list[str]]
    cars: list[int]
    given: dict[tuple[str, str], str] = field(default_factory=dict)
    warned: list[str] = field(default_factory=list)
    _read: dict[tuple[str, str], list[Page]] = field(default_factory=dict)

    def pages(self, document: str, paper: str) -> list[Page]:
        """The document's pages, printed when first asked for."""
        key = (document, paper)
        if key not in self._read:
            self._read[key] = read_pdf(documents.pdf_bytes(self.given[key]))
        return self._read[key]

    def words(self, document: str, paper: str) -> str:
        return " ".join(page.words for page in self.pages(document, paper))


def _world() -> World:
    club = factories.club(name="Quarry Hall Slot Club", is_invented=True)
    owner = factories.member(club, Role.OWNER)
    event = race_factories.event(club, lanes=4, name="Club night 5")
    revision = factories.published_sheet(club, clauses=24)
    clearance = factories.characteristic(club, name="Ground clearance", code="ground-clearance")
    revision.clauses.filter(number="24").update(characteristic=clearance)
    occasion = factories.occasion(club, revision)
    race = race_factories.race(
        event, name="Grand Touring", needs_tech=True, tech_occasion=occasion, rule_revision=revision, fee=Decimal(8)
    )
    for name in NAMES:
        entry = race_factories.entry(race, factories.driver(club, name), fee_due=Decimal(8))
        entry.override_by, entry.override_at, entry.override_reason = owner, entry.entered_at, "friendly night"
        entry.save()
    draw = race_factories.drawn(race, by=owner)
    run(race)
    publish_results(race=race, by=owner)
    season = create_season(club=club, name="Winter season", points=[Decimal(9), Decimal("6.5")], by=owner)
    add_round(season=season, race=race, number=1, by=owner)
    cars = [entry.cars.get().car for entry in race.entries.order_by("pk")]
    cards = [open_inspection(occasion=occasion, car=car, by=owner) for car in cars[:2]]
    for clause in worlds.clauses_of(occasion):
        record_measurement(inspection=cards[0], clause=clause, text="63.48", by=owner)
    sign_card(inspection=cards[0], by=owner)

    def at(name, public_id, *more):
        return reverse(name, args=[club.slug, public_id, *more])

    def here(name, public_id):
        return [SITE + at(name, public_id)]

    heats = draw.heats.count()
    paths = {
        "rule sheet": at("revision-print", revision.public_id),
        "card": at("card-print", cards[0].public_id),
        "cards": at("cards-print", occasion.public_id),
        "blank card": at("card-blank-print", occasion.public_id),
        "entry list": at("entry-print", race.public_id),
        "wall sheet": at("heat-print", draw.public_id, "wall"),
        "heat sheets": at("heat-print", draw.public_id, "each"),
        "driver slips": at("heat-print", draw.public_id, "driver"),
        "lane cards": at("heat-print", draw.public_id, "lane"),
        "marshal roster": at("roster-print", race.public_id),
        "result sheet": at("result-print", race.public_id),
        "season table": at("season-print", season.public_id),
    }
    lives = {
        "rule sheet": here("revision-detail", revision.public_id),
        "card": here("inspection-detail", cards[0].public_id),
        "cards": [SITE + at("inspection-detail", card.public_id) for card in cards],
        "blank card": here("occasion-detail", occasion.public_id),
        "entry list": here("entry-list", race.public_id),
        "wall sheet": here("driver-find", event.public_id),
        "heat sheets": here("heat-list", race.public_id) * heats,
        "driver slips": [SITE + at("driver-page", entry.public_id) for entry in race.entries.all()],
        "lane cards": here("heat-list", race.public_id) * 4,
        "marshal roster": here("roster-detail", race.public_id),
        "result sheet": here("result-detail", race.public_id),
        "season table": here("season-detail", season.public_id),
    }
    made = World(lives=lives, cars=[car.number for car in cars[:2]])
    client = Client()
    client.force_login(owner)
    for paper in ("A4", "Letter"):
        type(club).objects.update(paper=paper)
        for document, path in paths.items():
            made.given[document, "A5" if document in CARDS else paper] = client.get(path).content.decode()
    return made


class _Kept(logging.Handler):
    def __init__(self, kept: list[str]) -> None:
        super().__init__(logging.WARNING)
        self.kept = kept

    def emit(self, record: logging.LogRecord) -> None:
        self.kept.append(record.getMessage())


@pytest.fixture(scope="module")
def world(django_db_setup, django_db_blocker):
    """Built once and rolled back at once: the tests only print and read."""
    with (
        django_db_blocker.unblock(),
        transaction.atomic(),
        pytest.MonkeyPatch.context() as patch,
    ):
        patch.setattr(documents, "pdf_bytes", str.encode)
        made = _world()
        transaction.set_rollback(True)
    handler = _Kept(made.warned)
    logging.getLogger("weasyprint").addHandler(handler)
    yield made
    logging.getLogger("weasyprint").removeHandler(handler)


# By document: how many pages on A4 and on Letter, what every page's head says, and what its pages must name.
NIGHT = "Club night 5, 27 November 2026"
DOCUMENTS = {
    "rule sheet": ((2, 2), ["Rule sheet", "revision 1, from 1 January 2026"], ["At most 64.00 mm (2.520 in)"]),
    "entry list": ((1, 1), ["Entry list", NIGHT], ["Grand Touring: 4 entries", "8.00 EUR", *NAMES]),
    "wall sheet": (
        (1, 1),
        ["Heat sheet, whole night", NIGHT, "Draw 1, seed 4471"],
        ["4 heats, 4 drivers", "3 Blue", "Marshals stand at 1 Post 1", *NAMES],
    ),
    "heat sheets": (
        (4, 4),
        ["Heat sheet", NIGHT, "Draw 1, seed 4471", "Sections of 20", "Track calls"],
        ["Heat 1 of 4", "Heat 4 of 4", *NAMES],
    ),
    "driver slips": ((1, 1), ["Driver slips, to be cut", NIGHT, "Draw 1, seed 4471"], ["No. 4 in the draw", *NAMES]),
    "marshal roster": (
        (1, 1),
        ["Marshal roster", NIGHT, "Draw 1, seed 4471"],
        ["who marshals", "1 Post 1", "A missed duty costs 1 lap", "wear eye protection where cars leave", *NAMES],
    ),
    "result sheet": (
        (1, 1),
        ["Result sheet", "Club night 5, Grand Touring", "Result 1"],
        ["Place Driver Car Laps Behind", "76.00", "72.00 4.00", *NAMES],
    ),
    "season table": (
        (1, 1),
        ["Season table", "Winter season", "after 1 round"],
        ["Place Driver Points", "6.5", *NAMES],
    ),
}
CARDS = {
    "card": (
        2,
        ["Tech card", "Sheet"],
        [LONG, "63.48 Pass", "Pass Fail Too close Not checked Judge decides"],
    ),
    "cards": (4, ["Tech card", "Sheet"], [LONG, "Ada Brandt", "63.48 Pass", "Not checked"]),
    "lane cards": (4, ["Lane card", NIGHT, "Draw 1, seed 4471"], ["1 White", "4 Green", "heat by heat", *NAMES]),
    "blank card": (2, ["Tech card, blank", "Sheet"], ["Number", "Driver", "Car, build", "Gauges", "Tech inspector"]),
}
ALL = [(name, paper) for name in DOCUMENTS for paper in ("A4", "Letter")] + [(name, "A5") for name in CARDS]
every_document = pytest.mark.parametrize(("document", "paper"), ALL)


def expected(document, paper):
    if paper == "A5":
        return CARDS[document]
    counts, head, named = DOCUMENTS[document]
    return counts[paper == "Letter"], head, named


def together(text):
    """Without blanks: a long name may go on in the next line at any letter."""
    return text.replace(" ", "")


@pytest.mark.pdf
@every_document
class TestEveryDocument:
    def test_has_the_size_of_its_paper_and_the_pages_it_needs(self, world, document, paper):
        pages = world.pages(document, paper)
        assert len(pages) == expected(document, paper)[0]
        for page in pages:
            assert page.size == pytest.approx(SIZES[paper], abs=0.01)

    def test_has_its_running_head_on_every_page(self, world, document, paper):
        pages = world.pages(document, paper)
        for number, page in enumerate(pages, start=1):
            assert f"page {number} of {len(pages)}" in page.words
            assert "Quarry Hall Slot Club (invented)" in page.words
            assert re.search(r"printed \d{1,2} [A-Z]\w+, \d\d:\d\d", page.words)
            for part in expected(document, paper)[1]:
                assert part in page.words

    def test_names_all_it_must(self, world, document, paper):
        words = together(world.words(document, paper))
        for part in expected(document, paper)[2]:
            assert together(part) in words

    def test_keeps_ten_millimeters_and_eight_points(self, world, document, paper):
        for page in world.pages(document, paper):
            assert page.runs
            assert min(run.left for run in page.runs) >= MARGIN - 0.1
            assert max(run.right for run in page.runs) <= page.width - MARGIN + 0.1
            assert min(run.base - 0.7 * run.size for run in page.runs) >= MARGIN - 0.5
            assert max(run.base for run in page.runs) <= page.height - MARGIN
            assert min(run.size for run in page.runs) >= 8 - 0.01

    def test_is_set_in_our_font_in_three_weights_all_inside_the_file(self, world, document, paper):
        for page in world.pages(document, paper):
            assert set(page.fonts) == FONTS
            assert all(page.fonts.values())

    def test_leads_to_its_live_pages_by_codes_that_another_reader_reads(self, world, document, paper):
        codes = [code for page in world.pages(document, paper) for code in page.codes]
        assert sorted(words for words, _ in codes) == sorted(world.lives[document])
        assert min(module for _, module in codes) > 0.4  # mm; far above what a phone needs at arm's length

    def test_gives_the_pdf_library_nothing_to_complain_of(self, world, document, paper):
        world.pages(document, paper)
        assert world.warned == []


@pytest.mark.pdf
@pytest.mark.parametrize("document", ["wall sheet", "heat sheets", "driver slips", "marshal roster"])
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_what_may_hurt_at_the_track_stands_on_every_sheet_of_heats(world, document, paper):
    pages = world.pages(document, paper)
    for page in pages if document == "heat sheets" else pages[-1:]:
        for part in AT_THE_TRACK:
            assert part in page.words


@pytest.mark.pdf
def test_each_slip_says_what_may_hurt_when_it_is_cut_off(world):
    words = world.words("driver slips", "A4")
    assert words.count("Never lean over live lanes; hands clear before power comes back.") == len(NAMES)


@pytest.mark.pdf
@pytest.mark.parametrize(("document", "paper"), [("rule sheet", "A4"), ("card", "A5"), ("blank card", "A5")])
def test_rules_and_cards_say_what_may_hurt_when_their_clauses_are_checked(world, document, paper):
    assert "Take care. No metal tools, gauges or rings on a track with its power on." in world.words(document, paper)


@pytest.mark.pdf
def test_the_second_page_of_each_card_still_says_which_car_it_is(world):
    pages = [page.words for page in world.pages("cards", "A5")]
    numbers = [re.search(r"Tech card (\d+)", page)[1] for page in pages]
    assert numbers == [str(number) for number in world.cars for _ in range(2)]


@pytest.mark.pdf
def test_the_blank_card_asks_in_the_order_in_which_the_filled_one_was_typed(world):
    def order(document):
        return re.findall(r"(Width \d+|Ground clearance) at most", world.words(document, "A5"))

    assert len(order("card")) == 24
    assert order("blank card") == order("card")


@pytest.mark.pdf
def test_a_row_is_never_split_between_pages(world):
    """Each clause's number, name and reading share a page: the reading count goes with the clause count."""
    for page in world.pages("card", "A5"):
        assert page.words.count("63.48") == len(re.findall(r"(?:Width \d+|Ground clearance) at most", page.words))


@pytest.mark.django_db
class TestWithoutThePdfLibrary:
    @pytest.fixture
    def race(self):
        return race_factories.drawn_race(drivers=3, lanes=3)

    def wall(self, race):
        return reverse("heat-print", args=[race.event.club.slug, race.stages.get().draws.get().public_id, "wall"])

    def test_the_page_says_what_to_install_and_offers_the_browsers_print(self, client, race, monkeypatch):
        def missing(html):
            raise documents.PrintUnavailableError("missing")

        monkeypatch.setattr(documents, "pdf_bytes", missing)

        answer = client.get(self.wall(race))

        page = answer.content.decode()
        assert answer.status_code == 503
        for package in ("libpango-1.0-0", "libpangoft2-1.0-0", "libharfbuzz-subset0", "macOS"):
            assert package in page
        assert f'href="{self.wall(race)}?as=page"' in page
        assert "Open it for printing" in page

    def test_a_broken_library_is_not_said_to_be_missing(self, client, race, monkeypatch):
        def broken(html):
            raise documents.PrintUnavailableError("broken")

        monkeypatch.setattr(documents, "pdf_bytes", broken)

        page = client.get(self.wall(race)).content.decode()

        assert "The PDF could not be made" in page
        assert "libpango" not in page
        assert f'href="{self.wall(race)}?as=page"' in page

    def test_what_was_chosen_goes_along_to_the_browsers_print(self, client, race, monkeypatch):
        def missing(html):
            raise documents.PrintUnavailableError("missing")

        monkeypatch.setattr(documents, "pdf_bytes", missing)

        each = self.wall(race).replace("/wall/", "/each/")
        page = client.get(each, {"heat": "2"}).content.decode()

        assert f'href="{each}?heat=2&amp;as=page"' in page
        printed = client.get(each, {"heat": "2", "as": "page"}).content.decode()
        assert "Heat 2 of 3" in printed
        assert "Heat 1 of 3" not in printed

    def test_the_browser_gets_a_head_that_it_can_repeat(self, client, race):
        assert "print-browser.css" in client.get(self.wall(race), {"as": "page"}).content.decode()
