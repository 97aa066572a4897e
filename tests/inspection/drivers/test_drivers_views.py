"""Pages of drivers: by role, by bad input, and with nobody taken for somebody else."""

import csv
import io

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inspection.drivers.services import accept_spelling, driver_version
from inspection.models import Driver, DriverSpelling, Role
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def club():
    return factories.club()


@pytest.fixture
def owner(club, client):
    user = factories.member(club)
    client.force_login(user)
    return user


def address(name, club, *ids):
    return reverse(name, args=[club.slug, *ids])


def typed(**values):
    return {"name": "Ada Brandt", "is_active": "on"} | values


def queries(client, page):
    with CaptureQueriesContext(connection) as captured:
        assert client.get(page).status_code == 200
    return len(captured)


def test_a_driver_is_entered_with_all_that_was_typed(client, club, owner):
    sent = typed(public_name="Ada B.", grade="B", is_junior="on", contact="0123", note="left-handed")

    answer = client.post(address("driver-create", club), sent)

    driver = Driver.objects.of(club).get()
    assert answer.url == address("driver-detail", club, driver.public_id)
    assert (driver.public_name, driver.grade, driver.is_junior, driver.contact, driver.note, driver.is_active) == (
        *("Ada B.", "B", True, "0123", "left-handed"),
        True,
    )


def test_a_name_nearly_known_is_offered_and_not_entered(client, club, owner):
    known = factories.driver(club, "Ada Brandt")

    answer = client.post(address("driver-create", club), typed(name="Ada Brant", contact="kept"))

    text = answer.content.decode()
    assert answer.status_code == 409
    assert "The same person as" in text
    assert address("spelling-accept", club, known.public_id) in text
    assert answer.context["form"]["contact"].value() == "kept"
    assert Driver.objects.of(club).count() == 1


def test_the_tick_enters_a_different_person(client, club, owner):
    factories.driver(club, "Ada Brandt")
    first = client.post(address("driver-create", club), typed(name="Ada Brant"))

    answer = client.post(
        address("driver-create", club), typed(name="Ada Brant", different_from=first.context["form"].key)
    )

    assert answer.status_code == 302
    assert Driver.objects.of(club).count() == 2


def test_the_tick_for_one_name_does_not_hold_for_another(client, club, owner):
    factories.driver(club, "Ada Brandt")
    factories.driver(club, "Bram de Wit")

    answer = client.post(address("driver-create", club), typed(name="Bram de Witt", different_from="ada brant"))

    assert answer.status_code == 409
    assert Driver.objects.of(club).count() == 2


def test_the_same_name_cannot_be_ticked_away(client, club, owner):
    factories.driver(club, "Ada Brandt")

    answer = client.post(address("driver-create", club), typed(name="ADA  Brändt", different_from="ada brandt"))

    assert answer.status_code == 409
    assert "There is a driver of this name already" in answer.content.decode()
    assert "different_from" not in answer.content.decode().split("same-person")[1]
    assert Driver.objects.of(club).count() == 1


def test_the_same_person_gets_the_spelling(client, club, owner):
    known = factories.driver(club, "Ada Brandt")

    client.post(address("spelling-accept", club, known.public_id), typed(name="Ada Brant"))

    assert set(known.spellings.values_list("key", flat=True)) == {"ada brandt", "ada brant"}


@pytest.mark.parametrize("name", ["", "   ", "…", "x" * 121, "a\x00b"])
def test_what_is_no_name_is_refused_and_nothing_is_lost(client, club, owner, name):
    answer = client.post(address("driver-create", club), typed(name=name, contact="kept"))

    assert answer.status_code in {409, 422}
    assert answer.context["form"]["contact"].value() == "kept"
    assert not Driver.objects.exists()


def test_who_saves_second_is_told_and_can_save_after_all(client, club, owner):
    driver = factories.driver(club, "Ada Brandt")
    opened = driver_version(driver)
    Driver.objects.filter(pk=driver.pk).update(grade="A")
    page = address("driver-edit", club, driver.public_id)

    answer = client.post(page, typed(note="mine", version=opened))

    assert answer.status_code == 409
    assert "What stands now" in answer.content.decode()
    assert answer.context["form"]["note"].value() == "mine"
    assert client.post(page, typed(note="mine", version=answer.context["form"]["version"].value())).status_code == 302
    driver.refresh_from_db()
    assert driver.note == "mine"


def test_saving_without_a_change_of_name_asks_nothing(client, club, owner):
    factories.driver(club, "Ada Brant")
    driver = factories.driver(club, "Ada Brandt")
    sent = typed(grade="A", version=driver_version(driver))

    assert client.post(address("driver-edit", club, driver.public_id), sent).status_code == 302


def test_a_spelling_is_dropped_but_not_the_name_itself(client, club, owner):
    driver = factories.driver(club, "Ada Brandt")
    accept_spelling(driver=driver, name="Addi", by=None)
    page = address("spelling-drop", club, driver.public_id)
    own, other = (driver.spellings.get(key=key).pk for key in ("ada brandt", "addi"))

    assert client.post(page, {"spelling": other}).status_code == 302
    assert client.post(page, {"spelling": own}).status_code == 409
    assert list(driver.spellings.values_list("key", flat=True)) == ["ada brandt"]


def test_a_spelling_of_another_driver_is_not_dropped_here(client, club, owner):
    driver, other = factories.driver(club, "Ada Brandt"), factories.driver(club, "Bram de Wit")

    answer = client.post(address("spelling-drop", club, driver.public_id), {"spelling": other.spellings.get().pk})

    assert answer.status_code == 422
    assert DriverSpelling.objects.count() == 2


def test_a_member_is_linked_and_unlinked(client, club, owner):
    driver = factories.driver(club)
    member = factories.member(club, Role.DRIVER)
    page = address("driver-link", club, driver.public_id)

    client.post(page, {"user": member.pk})
    driver.refresh_from_db()
    assert driver.user == member
    client.post(page, {"user": ""})
    driver.refresh_from_db()
    assert driver.user is None


def test_who_is_no_member_cannot_be_linked(client, club, owner):
    driver = factories.driver(club)

    assert client.post(address("driver-link", club, driver.public_id), {"user": factories.user().pk}).status_code == 422
    driver.refresh_from_db()
    assert driver.user is None


def test_those_who_no_longer_come_stand_apart(client, club, owner):
    factories.driver(club, "Ada Brandt")
    factories.driver(club, "Bram de Wit", is_active=False)

    answer = client.get(address("driver-list", club))

    assert [row.record.name for row in answer.context["table"].rows] == ["Ada Brandt"]
    assert [driver.name for driver in answer.context["gone"]] == ["Bram de Wit"]


@pytest.mark.parametrize(("letters", "found"), [("wi", ["Bram de Wit"]), ("ada b", ["Ada Brandt"]), ("rand", [])])
def test_a_search_goes_by_the_first_letters_of_words(client, club, owner, letters, found):
    factories.driver(club, "Ada Brandt")
    factories.driver(club, "Bram de Wit")

    answer = client.get(address("driver-list", club), {"q": letters})

    assert [driver.name for driver in answer.context["found"]] == found


def test_the_file_holds_everybody_and_no_formula_runs(client, club, owner):
    factories.driver(club, "=1+1", contact="@SUM(A1)")
    factories.driver(club, "Gone", is_active=False)

    content = client.get(address("driver-list", club) + "?export=csv").content.decode("utf-8-sig")

    rows = list(csv.reader(io.StringIO(content)))
    assert [row[0] for row in rows[1:]] == ["'=1+1", "Gone"]
    assert "'@SUM(A1)" in rows[1]
    assert client.get(address("driver-list", club) + "?export=xlsx").content.startswith(b"PK")


@pytest.mark.parametrize("name", ["driver-list", "driver-detail", "driver-edit", "driver-create"])
def test_a_script_is_shown_as_text(client, club, owner, name):
    script = "<script>alert(1)</script>"
    driver = factories.driver(club, script, grade=script[:40], contact=script, note=script, public_name=script)
    ids = [] if name in {"driver-list", "driver-create"} else [driver.public_id]

    text = client.get(address(name, club, *ids), {"name": script, "q": ""}).content.decode()

    assert "<script>alert" not in text
    assert "&lt;script&gt;alert(1)" in text


def test_an_inspector_reads_and_changes_nothing(client, club):
    driver = factories.driver(club, contact="0123")
    client.force_login(factories.member(club, Role.TECH_INSPECTOR))

    text = client.get(address("driver-detail", club, driver.public_id)).content.decode()

    assert "0123" in text
    assert address("driver-edit", club, driver.public_id) not in text
    assert address("spelling-accept", club, driver.public_id) not in text
    assert client.get(address("driver-edit", club, driver.public_id)).status_code == 403


def test_a_driver_of_another_club_is_not_found(client, club, owner):
    stranger = factories.driver(factories.club())

    assert client.get(address("driver-detail", club, stranger.public_id)).status_code == 404


def test_two_drivers_and_two_hundred_take_as_many_queries(client, club, owner):
    for _ in range(2):
        factories.car(club)
    few = queries(client, address("driver-list", club) + "?q=d")
    for _ in range(198):
        factories.car(club)

    assert queries(client, address("driver-list", club) + "?q=d") == few


def test_a_driver_with_many_cars_and_spellings_takes_as_many_queries(client, club, owner):
    driver = factories.driver(club)
    factories.car(club, driver)
    few = queries(client, address("driver-detail", club, driver.public_id))
    for n in range(30):
        factories.car(club, driver, racing_class=factories.racing_class(club))
        accept_spelling(driver=driver, name=f"Spelling {n}", by=None)

    assert queries(client, address("driver-detail", club, driver.public_id)) == few
