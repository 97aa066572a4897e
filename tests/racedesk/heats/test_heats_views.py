"""The public list of heats, and heats on paper."""

import io

import pytest
import time_machine
from django.urls import reverse
from pypdf import PdfReader

from inspection.models import Role
from racedesk.heats.selectors import heat_cards, heats_of
from racedesk.models import Draw
from racedesk.racecontrol.services import enter_heat_laps, start_heat
from tests import factories, race_factories

pytestmark = pytest.mark.django_db

BEFORE = race_factories.RACING_AT.timestamp() - 3600
START_MS = int(race_factories.RACING_AT.timestamp() * 1000)


def page_of(race):
    return reverse("heat-list", args=[race.event.club.slug, race.public_id])


def test_anybody_reads_who_drives_where_and_when(client):
    race = race_factories.drawn_race(drivers=8)
    with time_machine.travel(BEFORE):
        page = client.get(page_of(race)).content.decode()
    for entry in race.entries.all():
        assert str(entry) in page
    assert "19:30" in page  # 18:30 UTC, as the club's clock shows it
    assert "19:34" in page
    assert "Run heat" not in page


def test_a_race_without_a_draw_says_so(client):
    race = race_factories.race()
    page = client.get(page_of(race)).content.decode()
    assert "Not drawn yet" in page
    client.force_login(factories.member(race.event.club, Role.RACE_DIRECTOR))
    assert (
        reverse("draw-create", args=[race.event.club.slug, race.public_id])
        in client.get(page_of(race)).content.decode()
    )


def test_the_director_goes_from_the_list_to_the_heat(client):
    race = race_factories.drawn_race()
    client.force_login(factories.member(race.event.club, Role.RACE_DIRECTOR))
    first = heats_of(race)[0]
    assert (
        reverse("heat-run", args=[race.event.club.slug, first.public_id]) in client.get(page_of(race)).content.decode()
    )


class TestTimes:
    @pytest.fixture
    def race(self):
        return race_factories.drawn_race(heat_length_s=180, changeover_s=75, countdown_s=5)

    def about(self, race, at_ms):
        return [round(card.about.timestamp() * 1000 - START_MS) // 1000 for card in heat_cards(race, at_ms=at_ms)]

    def test_follow_the_plan_until_a_heat_was_driven(self, race):
        assert self.about(race, START_MS - 1)[:3] == [0, 255, 510]

    def test_follow_what_was_driven_from_then_on(self, race):
        first = heats_of(race)[0]
        late = START_MS + 600_000
        start_heat(heat=first, at_ms=late, by=None)
        assert self.about(race, late + 10_000)[:3] == [605, 605 + 255, 605 + 510]

    def test_are_never_in_the_past_for_a_heat_to_come(self, race):
        assert self.about(race, START_MS + 900_000)[:2] == [900, 900 + 255]

    def test_of_the_second_race_begin_after_the_first(self, race):
        second = race_factories.race(race.event, position=2)
        race_factories.entries(second, 3)
        race_factories.drawn(second)
        assert self.about(second, START_MS - 1)[0] == 8 * 255

    def test_are_left_out_when_nobody_said_when_racing_starts(self):
        race = race_factories.drawn_race(of=race_factories.event(racing_at=None))
        assert {card.about for card in heat_cards(race)} == {None}


def test_the_heat_on_and_the_next_are_marked():
    race = race_factories.drawn_race()
    first, second, *_ = heats_of(race)
    marks = [(card.is_on, card.is_next) for card in heat_cards(race, at_ms=START_MS)[:3]]
    assert marks == [(False, True), (False, False), (False, False)]
    start_heat(heat=first, at_ms=START_MS, by=None)
    marks = [(card.is_on, card.is_next) for card in heat_cards(race, at_ms=START_MS + 9_000)[:3]]
    assert marks == [(True, False), (False, True), (False, False)]
    enter_heat_laps(heat=first, typed=dict.fromkeys(range(1, 7), "5"), at_ms=START_MS + 300_000, by=None)
    marks = [(card.is_on, card.is_next) for card in heat_cards(race, at_ms=START_MS + 300_000)[:3]]
    assert marks == [(False, False), (False, True), (False, False)]
    assert second.number == 2


def test_the_list_takes_no_more_queries_with_more_drivers(client, django_assert_max_num_queries):
    for drivers in (3, 40):
        race = race_factories.drawn_race(drivers=drivers)
        with django_assert_max_num_queries(22):
            assert client.get(page_of(race)).status_code == 200


# --- paper -----------------------------------------------------------------------------------------------


def sheet(client, race, kind, query=""):
    made = Draw.objects.get(stage__race=race, superseded_at=None)
    return client.get(reverse("heat-print", args=[race.event.club.slug, made.public_id, kind]) + query)


def words_of(answer):
    assert answer["Content-Type"] == "application/pdf", answer.status_code
    reader = PdfReader(io.BytesIO(answer.content))
    return reader, "\n".join(page.extract_text() for page in reader.pages)


@pytest.mark.pdf
class TestPaper:
    def test_the_whole_night_of_fourteen_drivers_is_one_sheet_of_a4(self, client):
        race = race_factories.drawn_race(drivers=14)
        reader, words = words_of(sheet(client, race, "wall"))
        assert len(reader.pages) == 1
        # ISO 216: A4 is 210 x 297 mm, 595.3 x 841.9 points.
        assert [round(float(side), 1) for side in reader.pages[0].mediabox[2:]] == [595.3, 841.9]
        assert "seed 4471" in words
        assert "Heat sheet, whole night" in words
        for entry in race.entries.all():
            assert str(entry).split()[-1] in words
        assert "never lean over live lanes" in " ".join(words.split())

    def test_a_club_with_letter_paper_has_the_same_night_on_one_sheet_of_letter(self, client):
        race = race_factories.drawn_race(drivers=14)
        type(race.event.club).objects.update(paper="Letter")
        reader, words = words_of(sheet(client, race, "wall"))
        assert len(reader.pages) == 1
        assert "never lean over live lanes" in " ".join(words.split())
        assert [round(float(side)) for side in reader.pages[0].mediabox[2:]] == [612, 792]

    def test_a_long_night_repeats_the_lanes_on_every_page(self, client):
        race = race_factories.drawn_race(drivers=30)
        reader, _ = words_of(sheet(client, race, "wall"))
        assert len(reader.pages) >= 2
        assert all("Yellow" in page.extract_text() for page in reader.pages[:-1])

    def test_one_sheet_a_heat(self, client):
        race = race_factories.drawn_race(drivers=7)
        reader, words = words_of(sheet(client, race, "each"))
        assert len(reader.pages) == 7
        assert "Heat 7 of 7" in words
        reader, words = words_of(sheet(client, race, "each", "?heat=3"))
        assert len(reader.pages) == 1
        assert "Heat 3 of 7" in words

    def test_one_slip_a_driver_with_lanes_and_posts(self, client):
        race = race_factories.drawn_race(drivers=7)
        _, words = words_of(sheet(client, race, "driver"))
        for entry in race.entries.all():
            assert str(entry) in words
        assert words.count("Yellow") == 7


def test_the_same_sheet_prints_from_the_browser(client):
    race = race_factories.drawn_race()
    answer = sheet(client, race, "wall", "?as=page")
    assert answer["Content-Type"].startswith("text/html")
    assert "heat-wall" in answer.content.decode()


def test_names_are_written_as_text_and_nothing_else(client):
    race = race_factories.race()
    race_factories.entry(race, factories.driver(race.event.club, "<script>alert(1)</script>"))
    race_factories.entries(race, 3)
    race_factories.drawn(race)
    for page in (
        client.get(page_of(race)),
        sheet(client, race, "wall", "?as=page"),
        sheet(client, race, "driver", "?as=page"),
    ):
        assert "<script>alert" not in page.content.decode()
        assert "&lt;script&gt;alert" in page.content.decode()


def test_an_older_draw_and_an_unknown_sheet_are_not_printed(client):
    race = race_factories.drawn_race()
    assert sheet(client, race, "poster").status_code == 404
    old = Draw.objects.get(stage__race=race)
    old.superseded_at = old.drawn_at
    old.save()
    assert client.get(reverse("heat-print", args=[race.event.club.slug, old.public_id, "wall"])).status_code == 404
