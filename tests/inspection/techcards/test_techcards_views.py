"""The card by plain forms, and the pieces of it that its script asks for."""

import html
import re

import pytest
from django.urls import reverse

from inspection.inspections import services
from inspection.models import Characteristic, Finding, Role
from inspection.techcards.selectors import card as shown_card
from tests import factories
from tests.inspection.inspections import worlds
from tests.page_forms import forms_on

pytestmark = pytest.mark.django_db

FETCH = {"headers": {"X-Requested-With": "fetch"}}


@pytest.fixture
def club():
    return factories.club()


@pytest.fixture
def inspector(club, client):
    who = factories.member(club, Role.TECH_INSPECTOR)
    client.force_login(who)
    return who


@pytest.fixture
def open_card(club, inspector):
    def make(*specs):
        occasion = worlds.occasion(club, *specs)
        return services.open_inspection(occasion=occasion, car=factories.car(club, number=27), by=inspector)

    return make


def url(name, card):
    return reverse(name, args=[card.occasion.club.slug, card.public_id])


def clause(card, number):
    return card.occasion.revision.clauses.get(number=str(number))


def send(client, card, number, text, **more):
    headers = more.pop("extra", {})
    data = {"clause": clause(card, number).pk, "text": text} | more
    return client.post(url("finding-record", card), data, **headers)


def test_a_reading_is_recorded_and_the_card_moves_on(client, open_card):
    card = open_card(worlds.WIDTH, worlds.TIRE)
    response = send(client, card, 1, "63.4")
    assert (response.status_code, response.url) == (302, f"{url('inspection-detail', card)}?at=2")
    assert b"Rear tire diameter" in client.get(response.url).content


def test_after_the_last_clause_comes_the_signature(client, open_card):
    card = open_card(worlds.WIDTH)
    response = send(client, card, 1, "63.4")
    assert response.url.endswith("?at=sign")
    assert b"Sign: clear" in client.get(response.url).content


def test_a_reading_too_close_to_its_limit_stays_with_what_to_do(club, client, open_card):
    card = open_card(worlds.WIDTH | {"gauge": worlds.caliper(club)}, worlds.TIRE)
    response = send(client, card, 1, "63.99")
    assert response.url.endswith("?at=1")
    page = client.get(response.url).content.decode()
    assert "Too close: measure again" in page
    assert "this gauge is sure to 0.036 mm" in page
    assert "As it stands it counts as Pass." in page


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "Type a number."),
        ("NaN", "is not a number"),
        ("1e999", "without an exponent"),
        ("63.4 g", "is a unit of mass"),
        ("-63.4", "cannot be below 0"),
        ("634", "Did you mean 63.40 mm?"),
        ("6" * 300, "at most 200"),
        ("63.4\x00", "Null"),
    ],
)
def test_what_is_not_taken_is_said_and_stays_in_the_field(client, open_card, text, words):
    card = open_card(worlds.WIDTH, worlds.TIRE)
    response = send(client, card, 1, text)
    page = response.content.decode()
    assert response.status_code == 422
    assert words in page
    assert not Finding.objects.exists()
    if text and "\x00" not in text:
        assert f'value="{text}"' in page


def test_script_in_a_reading_is_text(client, open_card):
    card = open_card(worlds.WIDTH)
    page = send(client, card, 1, "<script>alert(1)</script>").content.decode()
    assert "<script>alert(1)" not in page


def test_script_in_a_reason_and_in_an_answer_is_text(client, open_card):
    card = open_card(worlds.TIRES, worlds.LOOKS)
    send(client, card, 1, "<script>alert(1)</script>")
    send(client, card, 2, "fail", reason="<script>alert(2)</script>")
    page = client.get(url("inspection-detail", card) + "?at=2").content.decode()
    assert "&lt;script&gt;alert(1)" in page
    assert "&lt;script&gt;alert(2)" in page
    assert "<script>alert" not in page


def test_a_suggestion_is_sent_by_its_button_though_the_field_still_holds_the_slip(client, open_card):
    card = open_card(worlds.WIDTH)
    send(client, card, 1, ["634", "63.40 mm"])
    assert Finding.objects.get().reading == "63.40 mm"


def test_an_absurd_reading_is_taken_when_it_is_said_to_be_right(client, open_card):
    card = open_card(worlds.WIDTH)
    send(client, card, 1, "634", confirmed="1")
    assert Finding.objects.get().outcome == "fail"


def test_the_unit_chosen_beside_the_field_holds_unless_one_is_typed(client, open_card):
    card = open_card(worlds.WIDTH, worlds.WIDTH)
    send(client, card, 1, "2.5", unit="in")
    send(client, card, 2, "63.4 mm", unit="in")
    assert list(Finding.objects.order_by("pk").values_list("reading", flat=True)) == ["2.5 in", "63.4 mm"]


def test_a_double_tap_on_the_same_page_records_once(client, open_card):
    card = open_card(worlds.WIDTH)
    page = client.get(url("inspection-detail", card)).content.decode()
    key = page.split('name="client_key" value="')[1].split('"')[0]
    for _ in range(2):
        assert send(client, card, 1, "63.4", client_key=key).status_code == 302
    assert Finding.objects.count() == 1


def test_the_second_inspector_is_told_whose_finding_was_replaced(club, client, open_card):
    card = open_card(worlds.WIDTH, worlds.TIRE)
    send(client, card, 1, "63.4")
    second = factories.member(club, Role.TECH_INSPECTOR, name="Pat Ledger")
    client.force_login(second)
    send(client, card, 1, "64.4")
    page = client.get(url("inspection-detail", card)).content.decode()
    assert "had found 63.4 for clause 1; yours stands now, and both are kept." in page
    assert Finding.objects.count() == 2


def test_the_script_gets_the_pieces_that_changed_and_where_to_go(client, open_card):
    card = open_card(worlds.WIDTH, worlds.TIRE)
    response = send(client, card, 1, "63.4", extra=FETCH)
    page = response.content.decode()
    assert (response.status_code, response.headers["X-Go"]) == (200, "clause-2")
    assert all(f'id="{name}"' in page for name in ("card-strip", "card-list", "clause-1", "clause-2", "clause-sign"))
    assert "<html" not in page


def test_the_script_gets_why_a_reading_was_not_taken(client, open_card):
    card = open_card(worlds.WIDTH)
    response = send(client, card, 1, "634", extra=FETCH)
    page = response.content.decode()
    assert response.status_code == 422
    assert 'id="verdict-1"' in page
    assert 'value="63.40 mm"' in page
    assert "634 mm is right" in page


def test_looking_ahead_judges_and_records_nothing(client, open_card):
    card = open_card(worlds.WIDTH)
    query = {"clause": clause(card, 1).pk, "text": "64.4"}
    page = client.get(url("finding-assess", card), query).content.decode()
    assert "Fail" in page
    assert "0.40 mm above the limit" in page
    assert "2.535 in" in page
    assert not Finding.objects.exists()


@pytest.mark.parametrize("text", ["", "63."])
def test_a_number_still_being_typed_is_no_mistake_yet(client, open_card, text):
    card = open_card(worlds.WIDTH)
    page = client.get(url("finding-assess", card), {"clause": clause(card, 1).pk, "text": text}).content.decode()
    assert "<p" not in page


def test_a_judges_decision_needs_its_reason_and_keeps_it(client, open_card):
    card = open_card(worlds.WIDTH)
    ruling = {"clause": clause(card, 1).pk, "passes": "pass"}
    assert client.post(url("finding-rule", card), ruling | {"reason": " "}).status_code == 422
    client.post(url("finding-rule", card), ruling | {"reason": "It goes through the channel."})
    assert Finding.objects.get().reason == "It goes through the channel."


def test_a_clear_card_leads_back_to_the_line(client, open_card):
    card = open_card(worlds.WIDTH)
    send(client, card, 1, "63.4")
    response = client.post(url("inspection-sign", card))
    assert response.url == reverse("occasion-detail", args=[card.occasion.club.slug, card.occasion.public_id])
    card.refresh_from_db()
    assert card.signed_clear is True


def test_a_card_with_clauses_not_checked_is_signed_only_as_not_clear(client, open_card):
    card = open_card(worlds.WIDTH)
    client.post(url("inspection-sign", card))
    card.refresh_from_db()
    assert card.signed_at is None
    client.post(url("inspection-sign", card), {"not_clear": "1"})
    card.refresh_from_db()
    assert card.signed_clear is False


def test_a_failed_car_is_cured_inspected_again_and_clear(client, open_card):
    card = open_card(worlds.WIDTH, worlds.TIRE)
    send(client, card, 1, "63.4")
    send(client, card, 2, "18")
    client.post(url("inspection-sign", card))
    response = client.post(url("inspection-again", card), follow=True)
    assert "Rear tire diameter" in response.content.decode()
    assert send(client, card, 2, "19.4").url.endswith("?at=sign")
    client.post(url("inspection-sign", card))
    card.refresh_from_db()
    assert (card.signed_clear, card.attempt) == (True, 2)


def test_a_changed_build_is_said_on_the_card_and_taken_up(client, open_card):
    card = open_card(worlds.WIDTH)
    send(client, card, 1, "63.4")
    factories.build(card.car)
    assert "Take up build 1" in client.get(url("inspection-detail", card)).content.decode()
    client.post(url("inspection-take-up", card))
    card.refresh_from_db()
    assert card.build.number == 1


def test_a_driver_reads_the_card_and_cannot_write_on_it(club, client, open_card):
    card = open_card(worlds.WIDTH)
    send(client, card, 1, "63.4")
    client.force_login(factories.member(club, Role.DRIVER))
    page = client.get(url("inspection-detail", card) + "?at=1").content.decode()
    assert "63.4" in page
    assert "<form" not in page.split("<main")[1]
    assert send(client, card, 1, "65").status_code == 403


def test_a_junior_shows_by_the_public_name_to_other_members(club, client, inspector):
    owner = factories.driver(club, "Jo Little", public_name="J.")
    occasion = worlds.occasion(club, worlds.WIDTH)
    card = services.open_inspection(occasion=occasion, car=factories.car(club, owner=owner), by=inspector)
    client.force_login(factories.member(club, Role.DRIVER))
    assert "Jo Little" not in client.get(url("inspection-detail", card)).content.decode()


def test_a_card_of_another_club_is_not_found(client, open_card):
    card = open_card(worlds.WIDTH)
    other = factories.club()
    client.force_login(factories.member(other, Role.OWNER))
    assert client.get(reverse("inspection-detail", args=[other.slug, card.public_id])).status_code == 404


def test_a_sheet_without_clauses_at_this_phase_says_so(client, open_card):
    card = open_card(worlds.WIDTH | {"phases": ["after"]})
    assert "no clause that is checked at this phase" in client.get(url("inspection-detail", card)).content.decode()


@pytest.mark.parametrize("asked", ["0", "99", "-1", "x", "9" * 50, "٣"])
def test_a_place_that_is_not_on_the_card_shows_the_next_clause(client, open_card, asked):
    card = open_card(worlds.WIDTH, worlds.TIRE)
    response = client.get(url("inspection-detail", card), {"at": asked})
    assert response.status_code == 200
    assert b"Clause 1 of 2" in response.content


def test_a_club_with_a_decimal_comma_sees_and_types_one(client):
    club = factories.club(decimal_mark=",")
    who = factories.member(club, Role.TECH_INSPECTOR)
    client.force_login(who)
    occasion = worlds.occasion(club, worlds.WIDTH, worlds.TIRE)
    card = services.open_inspection(occasion=occasion, car=factories.car(club), by=who)
    send(client, card, 1, "63,4")
    page = client.get(url("inspection-detail", card) + "?at=1").content.decode()
    assert "At most 64,00 mm (2,520 in)" in page
    assert "0,60 mm to spare" in page
    assert Finding.objects.get().reading == "63.4 mm"


# ---- a clause of several things, corrected --------------------------------------------------------------------------


@pytest.fixture
def either(club, open_card):
    """A card with one either/or: a motor off the list, or no faster than 25,000 rpm; and a width."""
    factories.characteristic(club, name="Motor", code="motor", kind="choice", unit="")
    factories.characteristic(
        club, name="Motor speed", code="rpm", kind="rotation_speed", unit="rpm", plausible_low="", plausible_high=""
    )
    parts = [
        {"characteristic": "motor", "comparator": "one_of", "choices": ["Wren", "Finch"]},
        {"characteristic": "rpm", "comparator": "at_most", "upper": "25000 rpm"},
    ]
    return open_card({"comparator": "all_of", "parts": parts, "characteristic": None}, worlds.WIDTH)


def page_of(client, card, **asked):
    return client.get(url("inspection-detail", card), {"at": place_of(card)} | asked)


def answers_on(page, card):
    """The forms of a page that answer the card's first clause."""
    own = [str(clause(card, 1).pk)]
    return [form for form in forms_on(page) if form.values.get("clause") == own and "characteristic" in form.values]


def place_of(card):
    return next(line.place for line in shown_card(card).clauses if line.clause.number == "1")


def test_each_thing_of_a_clause_is_corrected_by_itself(client, either):
    for text in ("Wren", "25100 rpm"):
        send(client, either, 1, text)
    assert Finding.objects.get(superseded_at=None).outcome == "fail"
    links = re.findall(r'href="([^"]*again=[^"]*)"', page_of(client, either).content.decode())
    assert len(links) == 2
    asked = client.get(url("inspection-detail", either) + html.unescape(links[1]))
    (form,) = answers_on(asked, either)
    form.send(client, text="24900")
    assert Finding.objects.get(superseded_at=None).outcome == "pass"
    assert [one.texts for one in shown_card(either).line_of(clause(either, 1)).inputs] == [("Wren",), ("24900 rpm",)]


def test_what_is_corrected_stays_asked_for_when_the_correction_is_refused(client, either):
    for text in ("Wren", "25100 rpm"):
        send(client, either, 1, text)
    speed = Characteristic.objects.get(code="rpm").pk
    data = {"clause": clause(either, 1).pk, "characteristic": speed, "number": 1, "text": "24900 mm"}
    page = client.post(url("finding-record", either), data)
    assert page.status_code == 422
    (form,) = answers_on(page, either)
    assert form.values["characteristic"] == [str(speed)]
    assert form.values["text"] == ["24900 mm"]


@pytest.mark.parametrize("asked", ["", "1", "99999999-1", "x-y", "1-0"])
def test_an_address_that_names_no_input_asks_for_the_first_one(client, either, asked):
    for text in ("Wren", "25100 rpm"):
        send(client, either, 1, text)
    first = Characteristic.objects.get(code="motor").pk
    page = page_of(client, either, again=asked)
    assert page.status_code == 200
    forms = answers_on(page, either)
    assert forms
    assert {form.values["characteristic"][0] for form in forms} == {str(first)}


def test_a_card_of_a_large_installation_takes_an_answer(client, either):
    key = f"{'0e3419d288976c9133ee02cd'}-2-{10**9}-1-reading"
    motor = Characteristic.objects.get(code="motor").pk
    data = {"clause": clause(either, 1).pk, "characteristic": motor, "number": 1, "text": "Wren", "client_key": key}

    client.post(url("finding-record", either), data)
    client.post(url("finding-record", either), data)

    assert either.readings.get(superseded_at=None).client_key == key
