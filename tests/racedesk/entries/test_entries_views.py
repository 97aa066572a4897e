"""The desk's pages, and what the public sees of them."""

import datetime as dt
import io

import pytest
from django.urls import reverse
from django.utils import timezone
from openpyxl import load_workbook
from pypdf import PdfReader

from inspection.models import Driver, Role
from racedesk.models import Entry
from tests import factories, race_factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def race():
    return race_factories.race(race_factories.event(factories.club()), name="Saloon", fee=8)


def sign_in(client, race, role=Role.ENTRY_DESK):
    who = factories.member(race.event.club, role)
    client.force_login(who)
    return who


def page(name, race, public_id=None):
    return reverse(name, args=[race.event.club.slug, public_id or race.public_id])


def text(answer):
    return answer.content.decode()


def test_the_public_sees_public_names_and_neither_fees_nor_tools(client, race):
    club = race.event.club
    junior = factories.driver(club, "Jun Hara", public_name="Rocket", is_junior=True, contact="jun@example.org")
    race_factories.entry(race, junior, fee_due=3)

    seen = text(client.get(page("entry-list", race)))
    file = client.get(page("entry-list", race), {"export": "csv"}).content.decode("utf-8-sig")

    for shown in (seen, file):
        assert "Rocket" in shown
        assert "Jun Hara" not in shown
        assert "jun@example.org" not in shown
    assert "3.00" not in seen
    assert "Check in" not in seen


def test_three_letters_enter_enter_enters_who_raced_last_time(client, race):
    club = race.event.club
    before = race_factories.race(race_factories.event(club, date=dt.date(2026, 10, 30)))
    raced = race_factories.entry(before, factories.driver(club, "Ada Brandt"))
    sign_in(client, race)

    found = text(client.get(page("entry-list", race), {"q": "bra"}))
    driver, car = raced.drivers.get().driver, raced.cars.get().car
    first = found[found.index('class="rows candidates"') :].split("</li>")[0]
    assert f'name="driver" value="{driver.public_id}"' in first
    assert f'name="car" value="{car.public_id}"' in first
    assert "autofocus" in first
    answer = client.post(page("entry-create", race), {"driver": driver.public_id, "car": car.public_id})

    assert answer.status_code == 302
    entry = race.entries.get()
    assert (entry.drivers.get().driver, entry.cars.get().car) == (driver, car)


def test_while_typing_only_the_candidates_are_sent(client, race):
    factories.driver(race.event.club, "Ada Brandt")
    sign_in(client, race)

    seen = text(client.get(page("entry-list", race), {"q": "ada"}, headers={"HX-Request": "true"}))

    assert "Ada Brandt" in seen
    assert "<html" not in seen


def test_a_new_driver_is_entered_inline_and_a_refusal_keeps_what_was_typed(client, race):
    factories.car(race.event.club, number=27)
    sign_in(client, race)
    typed = {"new_name": "Jun Hara", "is_junior": "on", "new_car_number": "27", "new_car_name": "Eta"}

    refused = client.post(page("entry-create", race), typed)
    assert refused.status_code == 409
    assert 'value="Jun Hara"' in text(refused)
    assert "Number 27 is on" in text(refused)
    assert not Driver.objects.filter(name="Jun Hara").exists()

    client.post(page("entry-create", race), typed | {"new_car_number": "28"})
    assert race.entries.get().cars.get().car.number == 28


def test_the_same_driver_twice_is_told_plainly(client, race):
    entry = race_factories.entry(race)
    sign_in(client, race)

    answer = client.post(page("entry-create", race), {"driver": entry.drivers.get().driver.public_id})

    assert answer.status_code == 409
    assert "is already in Saloon" in text(answer)


def test_after_closing_only_the_director_admits_and_only_with_a_reason(client, race):
    race.entries_close_at = timezone.now()
    race.save()
    driver = factories.driver(race.event.club)
    typed = {"driver": driver.public_id, "late_reason": "train was late"}

    sign_in(client, race)
    refused = client.post(page("entry-create", race), typed)
    assert refused.status_code == 409
    assert "Entries closed at" in text(refused)

    sign_in(client, race, Role.RACE_DIRECTOR)
    assert client.post(page("entry-create", race), typed | {"late_reason": ""}).status_code == 409
    client.post(page("entry-create", race), typed)
    assert race.entries.get().late_reason == "train was late"


def test_a_driver_of_another_club_cannot_be_entered(client, race):
    sign_in(client, race)

    answer = client.post(page("entry-create", race), {"driver": factories.driver(factories.club()).public_id})

    assert answer.status_code == 422
    assert not race.entries.exists()


def test_the_desk_is_for_the_desk(client, race):
    for role, status in ((Role.DRIVER, 403), (Role.TECH_INSPECTOR, 403), (Role.ENTRY_DESK, 200)):
        sign_in(client, race, role)
        assert client.get(page("entry-create", race)).status_code == status
    client.logout()
    assert client.get(page("entry-create", race)).status_code == 302


def test_a_formula_in_a_name_goes_out_as_text(client, race):
    race_factories.entry(race, factories.driver(race.event.club, '=HYPERLINK("http://example.org")'))
    sign_in(client, race)

    file = client.get(page("entry-list", race), {"export": "csv"}).content.decode("utf-8-sig")
    sheet = load_workbook(io.BytesIO(client.get(page("entry-list", race), {"export": "xlsx"}).content)).active

    assert "'=HYPERLINK" in file
    cell = next(cell for row in sheet.iter_rows() for cell in row if "HYPERLINK" in str(cell.value))
    assert cell.data_type == "s"


def test_script_in_any_text_is_shown_as_text(client, race):
    script = "<script>alert(1)</script>"
    entry = race_factories.entry(race, factories.driver(race.event.club, script), late_reason=script, is_late=True)
    entry.state_reason = script
    entry.save()
    sign_in(client, race, Role.RACE_DIRECTOR)

    for address in (
        page("entry-list", race),
        page("entry-list", race) + "?q=" + script,
        page("entry-create", race) + "?name=" + script,
        page("entry-detail", race, entry.public_id),
        page("entry-withdraw", race, entry.public_id),
        page("entry-payment", race, entry.public_id),
    ):
        seen = text(client.get(address))
        assert script not in seen
        assert "&lt;script&gt;" in seen


@pytest.mark.parametrize("role", [None, Role.ENTRY_DESK])
def test_the_entry_list_runs_no_more_queries_with_more_entries(client, role, django_assert_max_num_queries):
    race = race_factories.race_with_tech()
    if role:
        sign_in(client, race, role)
    race_factories.entries(race, 2)
    client.get(page("entry-list", race))
    most = 26
    with django_assert_max_num_queries(most) as few:
        client.get(page("entry-list", race))

    race_factories.entries(race, 60)
    with django_assert_max_num_queries(len(few)):
        client.get(page("entry-list", race))


def test_the_waiting_move_up_at_one_tap(client, race):
    race.cap = 1
    race.save()
    waiting = race_factories.entry(race, state=Entry.State.WAITING)
    sign_in(client, race)

    client.post(page("entry-move-up", race))

    waiting.refresh_from_db()
    assert waiting.state == Entry.State.ENTERED


def test_the_printed_list_from_the_browser_has_boxes_and_blank_lines(client, race):
    race_factories.entry(race, factories.driver(race.event.club, "Ada Brandt"), state=Entry.State.ENTERED)
    race_factories.entry(race, factories.driver(race.event.club, "Gone Home"), state=Entry.State.WITHDRAWN)
    sign_in(client, race)

    seen = text(client.get(page("entry-print", race), {"as": "page"}))

    assert "Ada Brandt" in seen
    assert "Gone Home" not in seen
    assert seen.count('class="box"') == 2 + 2 * 6


@pytest.mark.pdf
@pytest.mark.parametrize(("paper", "size"), [("A4", (595.28, 841.89)), ("Letter", (612, 792))])
def test_the_printed_list_reads_back(client, race, paper, size):
    race.event.club.paper = paper
    race.event.club.save()
    for n in range(40):
        long = "Maximiliane-Wilhelmine von und zu Hohenbergenstein-Quarrie" if n == 3 else f"Driver Number{n}"
        race_factories.entry(race, factories.driver(race.event.club, long), state=Entry.State.ENTERED)
    sign_in(client, race)

    answer = client.get(page("entry-print", race))

    pdf = PdfReader(io.BytesIO(answer.content))
    assert answer["Content-Type"] == "application/pdf"
    assert (float(pdf.pages[0].mediabox.width), float(pdf.pages[0].mediabox.height)) == pytest.approx(size, abs=0.5)
    assert len(pdf.pages) == 2
    words = " ".join(" ".join(one.extract_text() for one in pdf.pages).split())
    assert "Hohenbergenstein-Quarrie" in words
    assert all(f"Number{n}" in words for n in range(40) if n != 3)
    for one in pdf.pages:
        assert "Entry list" in one.extract_text()
        assert race.event.name in one.extract_text()
