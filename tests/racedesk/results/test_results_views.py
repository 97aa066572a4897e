"""Result pages: public to read, the director's to publish."""

import csv
import io

import pytest
from django.urls import reverse

from inspection.models import Role
from racedesk.models import Penalty, ResultSheet
from racedesk.results.selectors import outcome_of
from racedesk.results.services import add_penalty, correct_results, publish_results
from tests import factories, race_factories
from tests.racedesk.results.test_results_services import run

pytestmark = pytest.mark.django_db


@pytest.fixture
def race():
    made = race_factories.drawn_race(drivers=4, lanes=3)
    run(made)
    return made


def url(name, race, **more):
    return reverse(name, kwargs={"club": race.event.club.slug, "public_id": race.public_id, **more})


@pytest.fixture
def director(client, race):
    who = factories.member(race.event.club, Role.RACE_DIRECTOR)
    client.force_login(who)
    return who


def test_before_publishing_the_public_sees_that_there_is_no_result_yet(client, race):
    page = client.get(url("result-detail", race)).content.decode()

    assert "No result yet" in page
    assert outcome_of(race).rows[0].driver_name not in page


def test_one_tap_shows_the_result_and_one_confirms_it(client, race, director):
    preview = client.get(url("result-preview", race)).content.decode()
    assert url("result-publish", race) in preview

    response = client.post(url("result-publish", race))

    assert response.status_code == 302
    assert ResultSheet.objects.get().published_by == director


def test_the_public_reads_winner_laps_and_earlier_results(client, race, director):
    publish_results(race=race, by=director)
    rows = outcome_of(race).rows
    add_penalty(race=race, entry=rows[0].entry, kind=Penalty.Kind.LAPS, laps=10, reason="missed duty", by=director)
    correct_results(race=race, change_note="A penalty was added", by=director)
    client.logout()

    page = client.get(url("result-detail", race)).content.decode()
    earlier = client.get(url("result-detail", race) + "?revision=1").content.decode()

    assert f"{rows[1].driver_name} wins" in page
    assert "A penalty was added" in page
    assert f"{rows[0].driver_name} wins" in earlier
    assert "has been corrected" in earlier
    assert client.get(url("result-detail", race) + "?revision=9").status_code == 404


def test_a_refusal_is_told_and_what_was_typed_stays(client, race, director):
    publish_results(race=race, by=director)

    response = client.post(url("result-correct", race), {"change_note": "Nothing really"})

    assert response.status_code == 422
    assert "nothing to correct" in response.content.decode()
    assert "Nothing really" in response.content.decode()


def test_the_csv_holds_a_row_a_placing_and_no_formula(client, race, director):
    row = outcome_of(race).rows[0]
    row.entry.drivers.get().driver.__class__.objects.filter(pk=row.entry.drivers.get().driver_id).update(
        name="=HYPERLINK(1)"
    )
    publish_results(race=race, by=director)

    content = client.get(url("result-detail", race) + "?export=csv").content.decode("utf-8-sig")
    lines = list(csv.reader(io.StringIO(content)))

    assert len(lines) == 5
    assert lines[1][:4] == ["1", "'=HYPERLINK(1)", str(row.car_number), "57.00"]


def test_script_in_a_name_is_shown_as_text(client, race, director):
    entry = outcome_of(race).rows[0].entry
    entry.team_name = "<script>alert(1)</script>"
    entry.save()
    publish_results(race=race, by=director)

    page = client.get(url("result-detail", race)).content.decode()

    assert "<script>alert(1)" not in page
    assert "&lt;script&gt;alert(1)" in page


@pytest.mark.pdf
def test_the_result_sheet_is_paper_with_every_name(client, race, director):
    publish_results(race=race, by=director)

    response = client.get(url("result-print", race))

    assert response["Content-Type"] == "application/pdf"
    assert response.content.startswith(b"%PDF")


def test_a_penalty_is_given_and_taken_back_with_reasons(client, race, director):
    entry = outcome_of(race).rows[0].entry
    data = {"entry": entry.pk, "kind": "laps", "laps": "", "reason": "missed duty"}
    assert client.post(url("penalty-create", race), data).status_code == 422

    client.post(url("penalty-create", race), data | {"laps": "2"})
    penalty = Penalty.objects.get()
    address = reverse("penalty-withdraw", args=[race.event.club.slug, penalty.pk])
    client.post(address, {"reason": "he was there"})

    penalty.refresh_from_db()
    assert penalty.withdrawn_at is not None
