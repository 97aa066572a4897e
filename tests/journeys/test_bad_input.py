"""Whatever is typed, sent or broken on a night: a plain message, nothing lost, nothing half-saved.

One short check a page; what a slice must refuse in depth stands in the tests of that slice. A server killed while it
saves is tried with real servers in tests/live.
"""

import csv
import datetime as dt
import html
import io
import re
import sys

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from inspection.inspections.services import open_inspection
from inspection.models import Car, Driver, Finding, LogEntry, Role, RuleSheetRevision
from racedesk.clocks.selectors import heat_state
from racedesk.heats.selectors import heats_of
from racedesk.models import Draw, Entry, ResultSheet
from tests import factories, race_factories
from tests.inspection.inspections import worlds
from tests.page_forms import form_on, forms_on, words
from tests.racedesk.results.test_results_services import run

pytestmark = pytest.mark.django_db


@pytest.fixture
def race(club, layout):
    return race_factories.race(race_factories.event(club, track_layout=layout))


# ---- readings -------------------------------------------------------------------------------------------------------


@pytest.fixture
def card(club):
    """A card with one width to read, in an English-speaking club."""
    occasion = worlds.occasion(club, worlds.WIDTH)
    return open_inspection(occasion=occasion, car=factories.car(club), by=None)


def read(inspector, card, text):
    page = inspector.get(f"/harbor/cards/{card.public_id}/")
    form = next(form for form in forms_on(page) if form.address.endswith("/answer/"))
    return form.send(inspector, text=text)


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("63.4 g", "unit of mass"),
        ("63.4 V", "volt"),
        ("NaN", "not a number"),
        ("1e999", "exponent"),
        ("", "Type a number"),
        ("634", "Did you mean"),
        ("0.634", "Did you mean"),
        ("-63.4", "below"),
        ("63.4 mm 2", "one number"),
        ("9" * 61, "at most"),
    ],
)
def test_a_reading_that_cannot_be_is_refused_in_words_and_stays_in_its_field(inspector, card, typed, said):
    answer = read(inspector, card, typed)
    assert answer.status_code == 422
    assert said.lower() in words(answer).lower()
    assert not Finding.objects.exists()
    kept = next(form for form in forms_on(answer) if form.address.endswith("/answer/"))
    assert kept.values["text"][0].startswith(typed[:60])


def test_a_decimal_comma_under_an_english_setting_is_never_a_thousands_mark(inspector, card):
    read(inspector, card, "63,4 mm")
    assert list(Finding.objects.values_list("reading", flat=True)) == ["63.4 mm"]


# ---- heats and results ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "said"), [("-3", "below zero"), ("900", "more than the clock allows"), ("18 + 20/20", "20 sections")]
)
def test_laps_that_cannot_be_are_refused_and_all_that_was_typed_stays(director, race, typed, said):
    race_factories.entries(race, 6)
    race_factories.drawn(race)
    heat = heats_of(race)[0]
    laps = form_on(director.get(f"/harbor/heats/{heat.public_id}/laps/"), "laps")
    answer = laps.send(director, laps__1="17", laps__2=typed, is_confirmed="on")
    assert answer.status_code == 422
    assert said in words(answer)
    kept = form_on(answer, "laps")
    assert (kept.values["laps-1"], kept.values["laps-2"]) == (["17"], [typed])
    assert heat_state(heat).laps == ()


def test_a_draw_needs_two(director, race):
    race_factories.entries(race, 1)
    answer = director.post(f"/harbor/races/{race.public_id}/draw/", {"seed": 1, "preset": "opponents", "replaces": 0})
    assert answer.status_code == 409
    assert "2 drivers" in words(answer)
    assert not Draw.objects.exists()


def test_a_result_with_a_heat_unrun_is_not_published_and_names_the_heat(director, anybody, race):
    race_factories.entries(race, 6)
    race_factories.drawn(race)
    run(race, only=4)
    page = director.get(f"/harbor/races/{race.public_id}/result/preview/")
    assert "heat 5, 6" in words(page)
    assert "Publish this result" not in words(page)
    answer = director.post(f"/harbor/races/{race.public_id}/result/publish/", follow=True)
    assert "5, 6" in words(answer)
    assert not ResultSheet.objects.exists()
    assert "No result yet" in words(anybody.get(f"/harbor/races/{race.public_id}/result/"))


# ---- the desk -------------------------------------------------------------------------------------------------------


def test_a_car_number_is_given_once(club, director):
    factories.car(club, factories.driver(club, "Bao Thieme"), number=20)
    new = form_on(director.get("/harbor/cars/create/"), "/cars/create/")
    owner = new.choice("owner", "Bao Thieme")
    answer = new.send(director, number="20", name="The other twenty", owner=owner)
    assert answer.status_code in {409, 422}
    assert "20" in words(answer)
    assert form_on(answer, "/cars/create/").values["name"] == ["The other twenty"]
    assert Car.objects.count() == 1


def test_a_driver_is_entered_once_a_race(club, director, race):
    driver = factories.driver(club, "Bao Thieme")
    address = f"/harbor/races/{race.public_id}/entries/new/"
    director.post(address, {"driver": driver.public_id})
    answer = director.post(address, {"driver": driver.public_id})
    assert answer.status_code in {409, 422}
    assert "Bao Thieme" in words(answer)
    assert Entry.objects.count() == 1


def test_after_closing_the_desk_is_told_and_the_director_needs_a_reason(club, director, race):
    race.entries_close_at = timezone.now() - dt.timedelta(minutes=1)
    race.save()
    driver = factories.driver(club, "Bao Thieme")
    desk = Client()
    desk.force_login(factories.member(club, Role.ENTRY_DESK))
    address = f"/harbor/races/{race.public_id}/entries/new/"
    refused = desk.post(address, {"driver": driver.public_id, "late_reason": "He is my cousin"})
    assert refused.status_code in {409, 422}
    assert "closed" in words(refused).lower()
    assert director.post(address, {"driver": driver.public_id}).status_code in {409, 422}
    assert not Entry.objects.exists()
    assert director.post(address, {"driver": driver.public_id, "late_reason": "Road closed"}).status_code == 302
    assert Entry.objects.get().late_reason == "Road closed"


# ---- files ----------------------------------------------------------------------------------------------------------

ZIP = b"PK\x03\x04" + bytes(200)
PDF = b"%PDF-1.7\n" + bytes(range(256))


@pytest.mark.parametrize(
    ("page", "name", "content"),
    [
        ("entries", "entries.xlsx", b"driver,car\nBao,1\n"),
        ("entries", "entries.csv", ZIP),
        ("entries", "entries.csv", PDF),
        ("entries", "entries.xlsx", ZIP),
        ("entries", "entries.csv", b""),
        ("rules", "rules.json", ZIP),
        ("rules", "rules.json", b"{"),
        ("rules", "rules.json", b"[1e999, NaN]"),
        ("cars", "cars.json", PDF),
        ("cars", "cars.json", b'{"document": "rule sheet"}'),
    ],
)
def test_a_file_that_is_not_what_its_name_says_is_refused_in_words(director, race, page, name, content):
    address = {
        "entries": f"/harbor/races/{race.public_id}/entries/import/",
        "rules": "/harbor/rule-sheets/import/",
        "cars": "/harbor/cars/import/",
    }[page]
    answer = director.post(address, {"file": SimpleUploadedFile(name, content)})
    assert answer.status_code in {409, 422}
    assert answer.context["form"].errors
    assert not Entry.objects.exists()
    assert not RuleSheetRevision.objects.exists()
    assert not Car.objects.exists()


def test_ten_thousand_rows_with_one_that_is_wrong_are_refused_whole_with_its_row(director, race):
    rows = [f"Driver {n:05},{n}" for n in range(1, 10_001)]
    rows[7_000] = ",7001"
    content = "\n".join(["driver,car number", *rows]).encode()
    page = director.post(
        f"/harbor/races/{race.public_id}/entries/import/",
        {"file": SimpleUploadedFile("entries.csv", content)},
        follow=True,
    )
    assert page.status_code == 200
    assert "7002" in words(page)  # as the spreadsheet counts: below the row of headings
    answer = director.post(page.request["PATH_INFO"], {}, follow=True)
    assert answer.status_code in {200, 409, 422}
    assert not Entry.objects.exists()
    assert not Driver.objects.exists()


def test_a_formula_in_a_name_leaves_as_text(club, director, race):
    race_factories.entry(race, factories.driver(club, "=HYPERLINK(0)"))
    race_factories.entry(race, factories.driver(club, "+1-@x"))
    answer = director.get(f"/harbor/races/{race.public_id}/entries/?export=csv")
    cells = [cell for row in csv.reader(io.StringIO(answer.content.decode("utf-8-sig"))) for cell in row]
    assert "'=HYPERLINK(0)" in cells
    assert [cell for cell in cells if cell[:1] in "=+-@" and cell] == []


# ---- paper ----------------------------------------------------------------------------------------------------------


@pytest.fixture
def papers(club, race, director):
    race_factories.entries(race, 6)
    race_factories.drawn(race)
    draw = Draw.objects.get()
    return [
        reverse("heat-print", args=["harbor", draw.public_id, "wall"]),
        reverse("heat-print", args=["harbor", draw.public_id, "driver"]),
        reverse("entry-print", args=["harbor", race.public_id]),
    ]


@pytest.mark.parametrize("how", ["missing", "broken"])
def test_without_a_working_pdf_library_the_browser_prints(director, papers, monkeypatch, how):
    if how == "missing":
        monkeypatch.setitem(sys.modules, "weasyprint", None)
    else:
        weasyprint = pytest.importorskip("weasyprint", exc_type=(ImportError, OSError))
        monkeypatch.setattr(weasyprint.HTML, "write_pdf", lambda *_args, **_more: 1 / 0)
    for address in papers:
        answer = director.get(address)
        assert answer.status_code == 503
        assert answer["Content-Type"].startswith("text/html")
        if how == "missing":
            assert "pango" in words(answer).lower()
        link = re.search(r'href="([^"]*as=page[^"]*)"', answer.content.decode())
        page = director.get(html.unescape(link[1]))
        assert page.status_code == 200
        assert "Driver" in words(page)
    assert LogEntry.objects.exists()
