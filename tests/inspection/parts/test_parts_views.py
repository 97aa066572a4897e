"""Pages of parts."""

import pytest
from django.urls import reverse

from inspection.models import Part, Role
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def club():
    return factories.club(decimal_mark=",")


@pytest.fixture
def desk(client, club):
    client.force_login(factories.member(club, Role.ENTRY_DESK))
    return client


def sent(**fields):
    return {"kind": "tire", "code": "T1", "name": "Tire", "is_active": "on"} | fields


def test_a_part_is_entered_with_the_sizes_of_its_kind(desk, club):
    desk.post(
        reverse("part-create", args=[club.slug]),
        sent(**{"size-size_code": "200", "size-width": "9,5", "price": "3,20", "stock": "4"}),
    )

    part = Part.objects.get()
    assert part.sizes == {"diameter": "20.0 mm", "width": "9.5 mm", "size_code": "200"}
    assert (str(part.price), part.stock) == ("3.20", 4)


def test_the_fields_are_those_of_the_kind_that_the_address_or_the_form_names(desk, club):
    url = reverse("part-create", args=[club.slug])

    asked = desk.get(url, {"kind": "wheel"}).content.decode()
    assert "Hub to tire" in asked
    assert '<option value="wheel" selected>' in asked
    page = desk.post(url, sent(kind="guide", look="kind"))
    assert "Depth of the blade" in page.content.decode()
    assert 'value="Tire"' in page.content.decode()
    assert not Part.objects.exists()


def test_what_is_typed_is_shown_as_understood_in_both_systems(desk, club):
    url = reverse("part-echo", args=[club.slug])

    page = desk.post(url, sent(**{"size-size_code": "200", "size-width": "9,5"})).content.decode()

    assert "means 20,00 mm (0,787 in) mounted" in page
    assert "9,50 mm (0,374 in)" in page
    fields = desk.post(url, sent(kind="axle"), headers={"HX-Target": "sizes"}).content.decode()
    assert 'name="size-length"' in fields


def test_a_mistake_leaves_what_was_typed(desk, club):
    page = desk.post(reverse("part-create", args=[club.slug]), sent(**{"size-width": "wide", "size-diameter": "20"}))

    assert page.status_code == 422
    assert 'value="wide"' in page.content.decode()


def test_a_number_that_another_part_has_is_told_at_its_field(desk, club):
    factories.part(club, code="T1", name="First")

    page = desk.post(reverse("part-create", args=[club.slug]), sent())

    assert page.status_code == 409
    assert "is on “First” already" in page.content.decode()


def test_one_the_same_begins_with_all_but_number_and_stock(desk, club):
    like = factories.part(club, code="T9", name="Rear tire", sizes={"width": "9.5 mm"}, stock=7)

    form = desk.get(reverse("part-create", args=[club.slug]), {"from": like.public_id}).context["form"]

    assert (form["name"].value(), form["size-width"].value()) == ("Rear tire", "9,5")
    assert not form["code"].value()
    assert not form["stock"].value()


def test_who_saves_second_is_told_and_loses_nothing(desk, club):
    part = factories.part(club, code="T1", name="Tire")
    url = reverse("part-edit", args=[club.slug, part.public_id])
    version = desk.get(url).context["form"]["version"].value()
    desk.post(url, sent(name="First", version=version))

    page = desk.post(url, sent(name="Second", version=version))

    assert page.status_code == 409
    assert "has changed this since you opened it" in page.content.decode()
    assert 'value="Second"' in page.content.decode()
    desk.post(url, sent(name="Second", version=page.context["form"]["version"].value()))
    assert Part.objects.get().name == "Second"


def test_stock_is_moved_on_the_page_and_refused_with_words(desk, club):
    part = factories.part(club, stock=2)
    url = reverse("part-stock", args=[club.slug, part.public_id])

    desk.post(url, {"what": "add", "quantity": "3", "reason": "order"})
    page = desk.post(url, {"what": "use", "quantity": "9"})

    assert page.status_code == 409
    assert "there are 5 in stock, not 9" in page.content.decode()
    desk.post(url, {"what": "count", "quantity": "0"})
    assert Part.objects.get().stock == 0


def test_the_list_is_narrowed_by_kind_owner_and_stock(desk, club):
    ada = factories.driver(club, "Ada Brandt")
    factories.part(club, name="Of club", stock=1)
    factories.part(club, name="Of Ada", owner=ada)
    factories.part(club, name="Gone", is_active=False)
    url = reverse("part-list", args=[club.slug])

    def names(**asked):
        return {row.record.name for row in desk.get(url, asked).context["table"].rows}

    assert names() == {"Of club", "Of Ada"}
    assert names(owner="club") == {"Of club"}
    assert names(owner=ada.public_id) == {"Of Ada"}
    assert names(stock="out") == {"Of Ada"}
    assert names(kind="wheel") == set()
    assert names(use="retired") == {"Gone"}


def test_a_part_of_another_club_is_not_found(desk, club):
    part = factories.part(factories.club())

    assert desk.get(reverse("part-detail", args=[club.slug, part.public_id])).status_code == 404
