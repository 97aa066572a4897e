"""Lists on their pages: typed one entry a line, revised, read by everybody."""

import pytest
from django.urls import reverse

from inspection.choicelists.forms import EntriesField
from inspection.choicelists.selectors import EntryContent
from inspection.choicelists.services import create_choice_list
from inspection.models import ChoiceList, Role
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def club():
    return factories.club()


@pytest.fixture
def owner(client, club):
    made = factories.member(club, Role.OWNER)
    client.force_login(made)
    return made


def test_a_list_is_made_of_lines_and_leads_to_its_page(client, club, owner):
    typed = {"name": "Motors", "entries": "Swift 20\n\nDart 18 | | 2027-01-01 | | newly announced"}

    answer = client.post(reverse("choicelist-create", args=[club.slug]), typed)

    made = ChoiceList.objects.get(club=club)
    assert answer.url == reverse("choicelist-detail", args=[club.slug, made.public_id])
    page = client.get(answer.url).content.decode()
    assert "Swift 20" in page
    assert "1 Jan 2027" in page
    assert "newly announced" in page


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        ("Swift | | 1.1.2027", "Line 1: write a day as year"),
        ("Swift | | 2027-01-02 | 2027-01-01", "ends before it begins"),
        ("ok\n| body", "Line 2 does not say what is allowed"),
        ("a | b | | | note | more", "more than five parts"),
        ("Swift 20\nswift  20", "stands twice"),
        ("x" * 81, "more than 80 characters"),
        ("\n".join(f"m{n}" for n in range(501)), "At most 500 entries"),
    ],
)
def test_a_line_that_cannot_be_read_is_named(client, club, owner, lines, words):
    answer = client.post(reverse("choicelist-create", args=[club.slug]), {"name": "M", "entries": lines})

    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert not ChoiceList.objects.exists()


def test_the_same_value_may_stand_for_several_keys():
    read = EntriesField().clean("60 mm | Plover\n60 mm | Heron")

    assert [(entry.value, entry.key) for entry in read] == [("60 mm", "Plover"), ("60 mm", "Heron")]


def test_a_list_is_revised_and_the_older_one_can_still_be_read(client, club, owner):
    first = create_choice_list(club=club, name="Motors", entries=[EntryContent(value="Swift 20")], by=owner)
    address = reverse("choicelist-edit", args=[club.slug, first.choice_list.public_id])
    page = client.get(address)
    assert page.context["form"].initial == {"entries": "Swift 20", "based_on": 1}

    client.post(address, {"entries": "Dart 18", "change_note": "another maker", "based_on": "1"})

    detail = reverse("choicelist-detail", args=[club.slug, first.choice_list.public_id])
    assert "Dart 18" in client.get(detail).content.decode()
    older = client.get(f"{detail}?revision=1").content.decode()
    assert "Swift 20" in older
    assert "There is a newer one" in older


def test_what_was_typed_stays_when_another_was_quicker(client, club, owner):
    first = create_choice_list(club=club, name="Motors", entries=[EntryContent(value="Swift 20")], by=owner)
    address = reverse("choicelist-edit", args=[club.slug, first.choice_list.public_id])
    client.post(address, {"entries": "Dart 18", "change_note": "one", "based_on": "1"})

    answer = client.post(address, {"entries": "Heron 16", "change_note": "two", "based_on": "1"})

    assert answer.status_code == 409
    assert "Heron 16" in answer.content.decode()
    assert client.post(address, {"entries": "Heron 16", "change_note": "two", "based_on": "2"}).status_code == 302
