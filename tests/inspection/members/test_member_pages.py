"""Signing in, and who does what in the club, as people see it."""

import re

import pytest
from django.urls import reverse

from inspection.models import Membership, Role, User
from racedesk import settings as real_settings
from tests import factories

pytestmark = pytest.mark.django_db
PASSWORD = "correct horse 42"


@pytest.fixture
def club():
    return factories.club(slug="quarry", name="Quarry Hall", is_invented=True)


@pytest.fixture
def owner(club, client):
    who = factories.member(club)
    client.force_login(who)
    return who


def page(client, name, *args, **query):
    return client.get(reverse(name, args=["quarry", *args]), query)


def test_signing_in_leads_to_the_page_asked_for(client, club):
    who = factories.member(club)
    asked = reverse("club-detail", args=["quarry"])

    response = client.get(asked)
    assert response.url == f"{reverse('sign-in')}?next={asked}"
    response = client.post(response.url, {"username": who.username, "password": PASSWORD})

    assert response.url == asked


def test_a_wrong_password_says_no_more_than_that_the_two_do_not_match(client, club):
    who = factories.member(club)

    known = client.post(reverse("sign-in"), {"username": who.username, "password": "wrong"})
    unknown = client.post(reverse("sign-in"), {"username": "nobody", "password": "wrong"})

    said = [re.findall(r"<p>(This name.*?)</p>", answer.content.decode()) for answer in (known, unknown)]
    assert said[0] == said[1] != []


def test_after_ten_wrong_passwords_even_the_right_one_must_wait(client, club, settings):
    settings.AXES_ENABLED = True
    settings.AUTHENTICATION_BACKENDS = real_settings.AUTHENTICATION_BACKENDS
    who = factories.member(club)
    for n in range(10):  # and a header that claims another sender each time is not believed
        claim = {"X-Forwarded-For": f"198.51.100.{n}"}
        client.post(reverse("sign-in"), {"username": who.username, "password": "wrong"}, headers=claim)

    response = client.post(reverse("sign-in"), {"username": who.username, "password": PASSWORD})

    assert response.status_code == 429
    assert "Too many wrong passwords" in response.content.decode()


def test_behind_a_proxy_wrong_passwords_of_one_sender_do_not_lock_out_another(client, club, settings):
    settings.AXES_ENABLED, settings.PROXIES = True, 1
    settings.AUTHENTICATION_BACKENDS = real_settings.AUTHENTICATION_BACKENDS
    who = factories.member(club)

    def sign_in(password, sender):
        sent = {"username": who.username, "password": password}
        headers = {"X-Forwarded-For": f"203.0.113.9, {sender}"}  # the first is the sender's own claim
        return client.post(reverse("sign-in"), sent, headers=headers).status_code

    answers = [sign_in("wrong", "198.51.100.1") for _ in range(10)]

    assert answers[-1] == sign_in(PASSWORD, "198.51.100.1") == 429
    assert sign_in(PASSWORD, "198.51.100.2") == 302


def test_signing_in_and_a_new_password_each_begin_a_new_session(client, club):
    who = factories.member(club)
    client.get(reverse("sign-in"))
    client.session["seen"] = True
    keys = [client.session.session_key]
    client.post(reverse("sign-in"), {"username": who.username, "password": PASSWORD})
    keys.append(client.session.session_key)
    new = {"old_password": PASSWORD, "new_password1": "a louder motor", "new_password2": "a louder motor"}
    client.post(reverse("password-change"), new)
    keys.append(client.session.session_key)

    assert len(set(keys)) == 3


def test_signing_out_needs_a_press_not_a_link(client, owner):
    assert client.get(reverse("sign-out")).status_code == 405
    client.post(reverse("sign-out"))

    assert "_auth_user_id" not in client.session


def test_everybody_changes_their_own_password(client, owner):
    response = client.post(
        reverse("password-change"),
        {"old_password": PASSWORD, "new_password1": "a louder motor", "new_password2": "a louder motor"},
    )

    assert response.status_code == 302
    owner.refresh_from_db()
    assert owner.check_password("a louder motor")


def test_a_one_time_password_is_shown_once_and_signs_in(client, club, owner):
    data = {"username": "jun", "name": "Jun Hara", "roles": ["tech_inspector"], "how": "one_time"}

    response = client.post(reverse("member-add", args=["quarry"]), data)

    password = response.context["password"]
    assert password in response.content.decode()
    assert "no-store" in response.headers["Cache-Control"]
    assert client.login(username="jun", password=password)


def test_a_typed_password_must_be_a_good_one(client, owner):
    data = {"username": "jun", "roles": ["driver"], "how": "typed", "password": "short"}

    response = client.post(reverse("member-add", args=["quarry"]), data)

    assert response.status_code == 422
    assert response.context["form"].errors["password"]
    assert not User.objects.filter(username="jun").exists()


def test_somebody_of_another_club_is_added_by_name(client, club, owner):
    jun = factories.member(factories.club(), Role.DRIVER)

    client.post(reverse("member-add", args=["quarry"]), {"username": jun.username, "roles": ["driver"], "how": "known"})

    assert Membership.objects.filter(club=club, user=jun).exists()


def test_a_name_that_is_taken_keeps_what_was_typed(client, owner):
    data = {"username": owner.username, "name": "Other", "roles": ["driver"], "how": "one_time"}

    response = client.post(reverse("member-add", args=["quarry"]), data)

    assert response.status_code == 422
    assert "signs in as" in response.content.decode()
    assert 'value="Other"' in response.content.decode()


def test_roles_are_changed_from_the_page(client, club, owner):
    jun = factories.member(club, Role.DRIVER)

    client.post(reverse("member-edit", args=["quarry", jun.pk]), {"name": "Jun", "roles": ["entry_desk"]})

    assert list(Membership.objects.filter(club=club, user=jun).values_list("role", flat=True)) == ["entry_desk"]


def test_the_last_owner_is_told_and_stays(client, club, owner):
    response = client.post(reverse("member-edit", args=["quarry", owner.pk]), {"name": "", "roles": ["driver"]})

    assert response.status_code == 422
    assert "only owner" in response.content.decode()


def test_taking_out_the_last_owner_is_refused_on_a_plain_page(client, club, owner):
    response = client.post(reverse("member-remove", args=["quarry", owner.pk]))

    assert response.status_code == 409
    assert "only owner" in response.content.decode()
    assert Membership.objects.filter(club=club, user=owner).exists()


def test_a_member_is_taken_out(client, club, owner):
    jun = factories.member(club, Role.DRIVER)

    response = client.post(reverse("member-remove", args=["quarry", jun.pk]))

    assert response.url == reverse("member-list", args=["quarry"])
    assert not Membership.objects.filter(club=club, user=jun).exists()


def test_a_new_password_ends_the_old_session(client, club, owner):
    jun = factories.member(club, Role.DRIVER)
    theirs = type(client)()
    theirs.force_login(jun)

    response = client.post(reverse("member-password", args=["quarry", jun.pk]))

    assert response.context["password"] in response.content.decode()
    assert theirs.get(reverse("club-detail", args=["quarry"])).status_code == 302


@pytest.mark.parametrize("name", ["member-edit", "member-remove", "member-password"])
def test_a_person_of_another_club_cannot_be_reached_from_this_one(client, owner, name):
    stranger = factories.member(factories.club())

    response = client.post(reverse(name, args=["quarry", stranger.pk]), {"roles": ["driver"]})

    assert response.status_code == 404
    assert stranger.check_password(PASSWORD)


def test_the_member_page_needs_one_query_more_for_nobody(client, club, owner, django_assert_max_num_queries):
    for _ in range(30):
        factories.member(club, Role.DRIVER)

    with django_assert_max_num_queries(8):
        page(client, "member-list")
