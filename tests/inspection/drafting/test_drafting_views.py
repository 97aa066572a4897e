"""Pages on which clauses are written."""

import pytest
from django.urls import reverse

from inspection.contents.selectors import version_of
from inspection.exchange.services import create_rule_sheet
from inspection.models import Clause, Role
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture
def club():
    return factories.club()


@pytest.fixture
def by(club, client):
    user = factories.member(club)
    client.force_login(user)
    return user


@pytest.fixture
def draft(club, by):
    return create_rule_sheet(club=club, name="GT 32", by=by)


@pytest.fixture
def width(club):
    return factories.characteristic(club, name="Overall width")


def typed(width, **fields):
    return {
        "number": "1",
        "text": "No wider than this.",
        "characteristic": width.pk,
        "measuring_point": "widest part",
        "comparator": "at_most",
        "upper": "3.25 in",
        "readings_wanted": "1",
        "phases": ["before", "after"],
    } | fields


def create(client, club, draft, data):
    return client.post(reverse("clause-create", args=[club.slug, draft.public_id]), data)


def stored_clause(draft):
    return Clause.objects.select_related("characteristic", "gauge").get(revision=draft)


def address(name, club, clause):
    return reverse(name, args=[club.slug, clause.revision.public_id, clause.lasting_id])


def test_a_clause_is_added_and_the_sheet_echoes_both_systems(client, club, draft, width):
    answer = create(client, club, draft, typed(width))

    assert answer.status_code == 302
    assert "At most 3.250 in (82.55 mm)" in client.get(answer.url).content.decode()


def test_writing_goes_on_with_the_next_clause(client, club, draft, width):
    answer = create(client, club, draft, typed(width, another="1"))

    page = client.get(answer.url)
    assert page.context["form"]["number"].value() == "2"


@pytest.mark.parametrize("upper", ["85 g", "NaN", "1e999", "<script>alert(1)</script>"])
def test_a_limit_that_cannot_be_read_loses_nothing(client, club, draft, width, upper):
    answer = create(client, club, draft, typed(width, upper=upper, text="Words that must not get lost."))

    assert answer.status_code == 422
    assert "Words that must not get lost." in answer.content.decode()
    assert "<script>alert(1)" not in answer.content.decode()
    assert not Clause.objects.exists()


def test_a_script_in_the_text_is_shown_as_text(client, club, draft, width):
    evil = "<script>alert(1)</script>"
    create(client, club, draft, typed(width, text=evil, measuring_point=evil, consequence=evil, number="<b>1</b>"))
    clause = stored_clause(draft)

    for page in (
        reverse("revision-edit", args=[club.slug, draft.public_id]),
        reverse("revision-detail", args=[club.slug, draft.public_id]),
        reverse("revision-print", args=[club.slug, draft.public_id]) + "?as=page",
        address("clause-edit", club, clause),
        address("clause-delete", club, clause),
    ):
        text = client.get(page).content.decode()
        assert "<script>alert" not in text
        assert "<b>1</b></b>" not in text


def test_the_second_writer_is_told_sees_what_stands_and_can_save(client, club, draft, width):
    create(client, club, draft, typed(width))
    clause = stored_clause(draft)
    opened = version_of(clause)
    Clause.objects.filter(pk=clause.pk).update(text="What the first one wrote.")

    answer = client.post(address("clause-edit", club, clause), typed(width, text="Mine.", version=opened))

    assert answer.status_code == 409
    page = answer.content.decode()
    assert "What the first one wrote." in page
    assert "Mine." in page
    again = typed(width, text="Mine.", version=answer.context["form"]["version"].value())
    assert client.post(address("clause-edit", club, clause), again).status_code == 302
    assert stored_clause(draft).text == "Mine."


def test_a_form_opened_before_publication_says_so_and_loses_nothing(client, club, by, width):
    revision = factories.published_sheet(club, clauses=1)
    clause = revision.clauses.select_related("characteristic", "gauge").get()

    answer = client.post(address("clause-edit", club, clause), typed(width, version=version_of(clause)))

    assert answer.status_code == 409
    assert "never changes" in answer.content.decode()
    assert "No wider than this." in answer.content.decode()


def test_the_echo_says_how_a_limit_is_understood_and_saves_nothing(client, club, draft, width):
    page = reverse("clause-echo", args=[club.slug, draft.public_id])

    understood = client.post(page, typed(width, upper="2 1/16 in")).content.decode()
    unfinished = client.post(page, typed(width, comparator="", measuring_point="")).content.decode()
    unread = client.post(page, typed(width, upper="NaN <b>")).content.decode()

    assert "At most 2 1/16 in (52.39 mm)" in understood
    assert "needs a comparator" in unfinished
    assert "not a number" in unread
    assert "<b>" not in unread.replace("<b>At most ?</b>", "")
    assert not Clause.objects.exists()


def test_a_clause_is_moved_and_deleted(client, club, draft, width):
    create(client, club, draft, typed(width))
    create(client, club, draft, typed(width, number="2"))
    second = draft.clauses.get(number="2")

    client.post(address("clause-move", club, second), {"to": "up"})
    assert [clause.number for clause in draft.clauses.order_by("position")] == ["2", "1"]
    assert client.get(address("clause-delete", club, second)).status_code == 200
    client.post(address("clause-delete", club, second))
    assert [clause.number for clause in draft.clauses.all()] == ["1"]


def test_those_who_do_not_write_rules_are_kept_out(client, club, draft, width):
    page = reverse("clause-create", args=[club.slug, draft.public_id])

    client.force_login(factories.member(club, Role.TECH_INSPECTOR))
    assert client.get(page).status_code == 403
    client.force_login(factories.member(factories.club()))
    assert client.get(page).status_code == 404
