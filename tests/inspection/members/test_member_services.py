"""Members and roles: what an owner may do, and what nobody may."""

import pytest

from inspection.members import services
from inspection.members.errors import LastOwner, MemberOfOtherClubs, NobodySignsInAs, NoRole, SignInNameTaken
from inspection.models import LogEntry, Membership, Role, User
from tests import factories

pytestmark = pytest.mark.django_db


def roles(club, user):
    return set(Membership.objects.filter(club=club, user=user).values_list("role", flat=True))


def log(club):
    return list(LogEntry.objects.of(club).order_by("id").values_list("action", flat=True))


def test_a_new_member_signs_in_by_name_and_password_and_holds_the_roles():
    club = factories.club()
    owner = factories.member(club)

    made = services.create_member(
        club=club, username="jun", name="Jun Hara", password="a quiet motor", roles=["tech_inspector"], by=owner
    )

    assert made.check_password("a quiet motor")
    assert roles(club, made) == {Role.TECH_INSPECTOR}
    assert log(club) == ["added member", "gave role"]


def test_two_people_never_share_a_sign_in_name_whatever_its_case():
    club = factories.club()
    factories.user("Jun")

    with pytest.raises(SignInNameTaken):
        services.create_member(club=club, username="jUN", name="", password="x", roles=["driver"], by=None)


def test_a_member_has_at_least_one_role():
    club = factories.club()

    with pytest.raises(NoRole):
        services.create_member(club=club, username="jun", name="", password="x", roles=[], by=None)
    assert not User.objects.filter(username="jun").exists()


def test_somebody_of_another_club_keeps_the_password_and_gains_a_role():
    elsewhere, here = factories.club(), factories.club()
    jun = factories.member(elsewhere, Role.DRIVER)
    before = jun.password

    services.add_member(club=here, username=jun.username.upper(), roles=["entry_desk"], by=None)

    jun.refresh_from_db()
    assert jun.password == before
    assert roles(here, jun) == {Role.ENTRY_DESK}
    assert roles(elsewhere, jun) == {Role.DRIVER}


def test_who_never_signed_in_here_cannot_be_added_by_name():
    with pytest.raises(NobodySignsInAs):
        services.add_member(club=factories.club(), username="nobody", roles=["driver"], by=None)


def test_roles_become_what_the_form_says_and_each_change_is_logged():
    club = factories.club()
    owner = factories.member(club)
    jun = factories.member(club, Role.DRIVER)

    services.change_member(club=club, user=jun, name="Jun", roles=["race_director", "tech_inspector"], by=owner)

    assert roles(club, jun) == {Role.RACE_DIRECTOR, Role.TECH_INSPECTOR}
    assert log(club) == ["changed member's name", "gave role", "gave role", "took role"]


def test_saving_the_same_roles_again_logs_nothing():
    club = factories.club()
    jun = factories.member(club, Role.DRIVER)

    services.change_member(club=club, user=jun, name=jun.name, roles=["driver"], by=None)

    assert log(club) == []


def test_the_last_owner_stays_an_owner():
    club = factories.club()
    owner = factories.member(club)

    with pytest.raises(LastOwner):
        services.change_member(club=club, user=owner, name="", roles=["driver"], by=owner)
    with pytest.raises(LastOwner):
        services.remove_member(club=club, user=owner, by=owner)
    assert roles(club, owner) == {Role.OWNER}


def test_an_owner_who_may_no_longer_sign_in_does_not_count():
    club = factories.club()
    owner = factories.member(club)
    factories.member(club, is_active=False)

    with pytest.raises(LastOwner):
        services.remove_member(club=club, user=owner, by=owner)


def test_one_of_two_owners_may_go():
    club = factories.club()
    owner, other = factories.member(club), factories.member(club)

    services.remove_member(club=club, user=other, by=owner)

    assert roles(club, other) == set()
    assert log(club) == ["removed member"]


def test_a_new_password_is_random_replaces_the_old_one_and_is_in_no_log():
    club = factories.club()
    jun = factories.member(club, Role.DRIVER)

    first = services.reset_password(club=club, user=jun, by=None)
    second = services.reset_password(club=club, user=jun, by=None)

    jun.refresh_from_db()
    assert first != second
    assert len(second) == 12
    assert jun.check_password(second)
    assert not jun.check_password("correct horse 42")
    assert second not in str(list(LogEntry.objects.values()))


@pytest.mark.parametrize("elsewhere", ["another club", "the installation"])
def test_a_clubs_owner_gives_no_password_that_opens_more_than_the_club(elsewhere):
    club = factories.club()
    jun = factories.member(club, Role.DRIVER, is_superuser=elsewhere == "the installation")
    if elsewhere == "another club":
        Membership.objects.create(club=factories.club(), user=jun, role=Role.OWNER)

    with pytest.raises(MemberOfOtherClubs):
        services.reset_password(club=club, user=jun, by=None)
    with pytest.raises(MemberOfOtherClubs):
        services.change_member(club=club, user=jun, name="Somebody Else", roles=[Role.DRIVER], by=None)
    services.change_member(club=club, user=jun, name=jun.name, roles=[Role.TECH_INSPECTOR], by=None)
