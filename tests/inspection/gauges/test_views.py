"""Pages of gauges and of the register."""

import csv
import datetime as dt
import io

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inspection.gauges.selectors import version_of
from inspection.gauges.services import install_register
from inspection.models import Characteristic, Gauge, Role
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


def _queries(client, page):
    with CaptureQueriesContext(connection) as captured:
        assert client.get(page).status_code == 200
    return len(captured)


def address(name, club, *ids):
    return reverse(name, args=[club.slug, *ids])


def test_the_list_shows_doubt_and_what_is_overdue(client, club, owner):
    factories.gauge(club, name="Old caliper", calibration_due=dt.date(2020, 1, 31))

    text = client.get(address("gauge-list", club)).content.decode()

    assert "sure to 0.036 mm" in text
    assert "overdue since 31 Jan 2020" in text
    assert "Needs attention" in text


def test_a_gauge_is_entered_changed_retired_and_kept(client, club, owner):
    typed = {"name": "Scale 2", "kind": "reading", "measures": "mass", "unit": "g", "resolution": "0.01"}

    assert client.post(address("gauge-create", club), typed).status_code == 302
    gauge = Gauge.objects.of(club).get(name="Scale 2")
    edited = typed | {"note": "in the drawer", "version": version_of(gauge)}
    assert client.post(address("gauge-edit", club, gauge.public_id), edited).status_code == 302
    assert client.post(address("gauge-retire", club, gauge.public_id)).status_code == 302

    gauge.refresh_from_db()
    assert (gauge.note, gauge.resolution, gauge.retired_at is None) == ("in the drawer", "0.01 g", False)


def test_what_the_second_person_typed_stays_and_can_be_saved(client, club, owner):
    gauge = factories.gauge(club)
    page = address("gauge-edit", club, gauge.public_id)
    opened = version_of(gauge)
    Gauge.objects.filter(pk=gauge.pk).update(note="somebody else was here")
    typed = {"name": gauge.name, "kind": "reading", "measures": "length", "unit": "mm", "note": "mine"}

    answer = client.post(page, typed | {"version": opened})

    assert answer.status_code == 409
    assert answer.context["form"]["note"].value() == "mine"
    assert client.post(page, typed | {"version": answer.context["form"]["version"].value()}).status_code == 302
    gauge.refresh_from_db()
    assert gauge.note == "mine"


def test_a_refused_form_keeps_what_was_typed_and_saves_nothing(client, club, owner):
    answer = client.post(address("gauge-create", club), {"name": "<script>x</script>", "resolution": "NaN mm"})

    assert answer.status_code == 422
    assert "<script>x" not in answer.content.decode()
    assert not Gauge.objects.of(club).exists()


def test_a_script_in_a_name_is_shown_as_text(client, club, owner):
    factories.gauge(club, name="<script>alert(1)</script>")

    assert "<script>alert(1)" not in client.get(address("gauge-list", club)).content.decode()


def test_a_formula_in_a_name_does_not_run_in_a_spreadsheet(client, club, owner):
    factories.gauge(club, name="=1+1")

    content = client.get(address("gauge-list", club) + "?export=csv").content.decode("utf-8-sig")

    assert list(csv.reader(io.StringIO(content)))[1][0] == "'=1+1"


@pytest.mark.parametrize("name", ["gauge-list", "characteristic-list"])
def test_the_lists_go_out_as_spreadsheets(client, club, owner, name):
    install_register(club=club, by=owner)

    assert client.get(address(name, club) + "?export=xlsx").content.startswith(b"PK")


def test_two_gauges_and_two_hundred_take_as_many_queries(client, club, owner):
    for n in range(2):
        factories.gauge(club, name=f"a{n}")
    few = _queries(client, address("gauge-list", club))
    for n in range(198):
        factories.gauge(club, name=f"b{n}")
    assert _queries(client, address("gauge-list", club)) == few


def test_the_register_takes_as_many_queries_for_many(client, club, owner):
    caliper = factories.gauge(club)
    for n in range(2):
        factories.characteristic(club, name=f"a{n}", default_gauge=caliper)
    few = _queries(client, address("characteristic-list", club))
    for n in range(198):
        factories.characteristic(club, name=f"b{n}", default_gauge=caliper)

    assert _queries(client, address("characteristic-list", club)) == few


def test_the_built_in_entries_are_added_by_one_press(client, club, owner):
    assert client.post(address("characteristic-install", club)).status_code == 302
    assert Characteristic.objects.of(club).count() > 40


def test_a_characteristic_is_added_and_reworded(client, club, owner):
    typed = {"name": "Pin tube", "kind": "length", "unit": "in", "group": "chassis", "plausible_high": "1.5"}

    assert client.post(address("characteristic-create", club), typed).status_code == 302
    assert client.post(address("characteristic-create", club), typed).status_code == 409
    made = Characteristic.objects.of(club).get(code="pin-tube")
    edited = typed | {"plausible_high": "2 1/2 in", "version": version_of(made)}
    assert client.post(address("characteristic-edit", club, made.public_id), edited).status_code == 302
    made.refresh_from_db()
    assert made.plausible_high == "2 1/2 in"
    assert client.post(address("characteristic-edit", club, made.public_id), edited).status_code == 409


def test_an_inspector_keeps_gauges_but_does_not_write_the_register(client, club):
    client.force_login(factories.member(club, Role.TECH_INSPECTOR))

    assert client.get(address("gauge-list", club)).status_code == 200
    assert client.get(address("characteristic-list", club)).status_code == 200
    assert client.get(address("characteristic-create", club)).status_code == 403


def test_another_club_s_gauge_is_not_found(client, club, owner):
    other = factories.gauge(factories.club())

    assert client.get(address("gauge-edit", club, other.public_id)).status_code == 404
