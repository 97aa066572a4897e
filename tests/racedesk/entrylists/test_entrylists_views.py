"""Typed names, last time's list and files, in the browser."""

import datetime as dt

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from inspection.models import Role
from racedesk.models import Entry, EntryImport, Event, Race
from tests import factories, race_factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def race():
    return race_factories.race(name="Saloon")


@pytest.fixture
def desk(client, race):
    who = factories.member(race.event.club, Role.ENTRY_DESK)
    client.force_login(who)
    return who


def page(name, race, public_id=None):
    return reverse(name, args=[race.event.club.slug, public_id or race.public_id])


def upload(client, race, content, name="entries.csv"):
    return client.post(page("entry-import", race), {"file": SimpleUploadedFile(name, content.encode())})


def test_typed_names_lead_straight_to_the_draw(client):
    club = factories.club()
    layout = factories.track_layout(club)
    client.force_login(factories.member(club, Role.RACE_DIRECTOR))
    address = reverse("quick-race", args=[club.slug])
    assert client.get(address).context["form"]["track"].value() == layout.track.pk

    typed = {"names": "Ada Brandt\nJun Hara\r\n\nMo Fairweather", "track": layout.track.pk, "heat_length_s": "2:00"}
    answer = client.post(address, typed)

    race = Race.objects.of(club).get()
    assert answer.url == reverse("draw-create", args=[club.slug, race.public_id])
    assert race.entries.filter(state=Entry.State.CHECKED_IN).count() == 3


@pytest.mark.parametrize(
    ("names", "count"),
    [("Ada Brandt, Jun Hara; Mo Fairweather", 3), ("Ada Brandt,\nJun Hara,\n", 2)],
)
def test_names_come_on_lines_or_with_commas(client, names, count):
    club = factories.club()
    layout = factories.track_layout(club)
    client.force_login(factories.member(club, Role.RACE_DIRECTOR))

    client.post(
        reverse("quick-race", args=[club.slug]), {"names": names, "track": layout.track.pk, "heat_length_s": "2"}
    )

    assert Race.objects.of(club).get().entries.count() == count


@pytest.mark.parametrize(
    ("names", "said"),
    [
        ("", "at least two names"),
        ("Ada Brandt", "at least two names"),
        ("Ada Brandt\nada brandt", "twice in the list"),
        ("Brandt, Ada\nHara, Jun", "has a comma"),
    ],
)
def test_names_that_cannot_be_a_race_stay_in_the_form(client, names, said):
    club = factories.club()
    layout = factories.track_layout(club)
    client.force_login(factories.member(club, Role.RACE_DIRECTOR))

    typed = {"names": names, "track": layout.track.pk, "heat_length_s": "2:00"}
    answer = client.post(reverse("quick-race", args=[club.slug]), typed)

    assert answer.status_code in {409, 422}
    assert said in answer.content.decode()
    assert names.split("\n")[0] in answer.content.decode()
    assert not Event.objects.of(club).exists()


def test_last_times_list_is_ticked_and_entered(client, race, desk):
    club = race.event.club
    before = race_factories.race(race_factories.event(club, date=dt.date(2026, 10, 30)))
    first, second = race_factories.entries(before, 2)

    client.post(page("entry-repeat", race), {"drivers": [first.drivers.get().driver.public_id]})
    assert race.entries.get().cars.get().car == first.cars.get().car

    assert client.post(page("entry-repeat", race), {"drivers": []}).status_code == 409
    shown = client.get(page("entry-repeat", race)).content.decode()
    assert str(second) in shown


def test_a_file_is_shown_row_by_row_and_entered_when_confirmed(client, race, desk):
    ada = factories.driver(race.event.club, "Ada Brandt")
    shown = client.get(upload(client, race, "Driver;Car no.\nAda Brand;27\nJun Hara;14").url).content.decode()
    kept = EntryImport.objects.get(race=race)
    assert "the same person as Ada Brandt" in shown
    assert "a new driver" in shown
    assert not race.entries.exists()

    address = page("entry-import-confirm", race, kept.public_id)
    undecided = client.post(address, {})
    assert undecided.status_code == 409
    assert "Say who is meant" in undecided.content.decode()

    client.post(address, {"row-2": ada.public_id})
    assert [str(entry) for entry in race.entries.order_by("id")] == ["Ada Brandt", "Jun Hara"]
    assert client.post(address, {"row-2": ada.public_id}).status_code == 409
    assert race.entries.count() == 2


def test_a_file_with_a_wrong_row_shows_the_row_and_offers_no_way_to_enter(client, race, desk):
    shown = client.get(upload(client, race, "Driver;Car no.\nAda Brandt;twelve\nJun Hara;14").url).content.decode()

    assert "is not a number" in shown
    assert 'form="rows"' not in shown


@pytest.mark.parametrize(
    ("content", "name", "said"),
    [
        ("Driver\nAda", "entries.xlsx", "is not an XLSX file"),
        ("Driver\nAda", "entries.pdf", "neither CSV nor XLSX"),
        ("Ada Brandt;27\nJun Hara;14", "entries.csv", "should say what the columns are"),
    ],
)
def test_a_file_that_cannot_be_read_says_what_to_do(client, race, desk, content, name, said):
    answer = upload(client, race, content, name)

    assert answer.status_code == 409
    assert said in answer.content.decode()
    assert not EntryImport.objects.exists()


def test_script_in_a_file_is_shown_as_text(client, race, desk):
    script = "<script>alert(1)</script>"

    shown = client.get(upload(client, race, f"Driver;Car;Grade\n{script};{script};{script}").url).content.decode()

    assert script not in shown
    assert "&lt;script&gt;" in shown


def test_a_large_file_is_shown_in_part_and_entered_whole(client, race, desk):
    lines = "\n".join(f"Person {'abcdefghij'[n % 10] * 3}{n} Zz{n * 7919};{n + 1}" for n in range(900))
    answer = client.get(upload(client, race, f"Driver;Car no.\n{lines}").url)

    assert len(answer.content) < 400_000
    kept = EntryImport.objects.get(race=race)
    client.post(page("entry-import-confirm", race, kept.public_id), {})
    assert race.entries.count() == 900


def test_the_preview_runs_no_more_queries_with_more_rows(client, race, desk, django_assert_max_num_queries):
    few = upload(client, race, "Driver\nAda Brandt\nJun Hara").url
    many = upload(client, race, "Driver\n" + "\n".join(f"Qx{n} Yw{n * 31}" for n in range(150))).url
    client.get(few)
    with django_assert_max_num_queries(24) as counted:
        client.get(few)
    with django_assert_max_num_queries(len(counted)):
        client.get(many)


def test_an_import_of_another_club_is_not_found(client, race, desk):
    other = race_factories.race()
    kept = EntryImport.objects.create(race=other, file_name="x.csv", rows=[])

    assert client.get(page("entry-import-confirm", race, kept.public_id)).status_code == 404
