"""Take people in, give and take their roles, and give them passwords."""

import secrets
from collections.abc import Iterable

from django.db import IntegrityError, transaction

from inspection.clubs.services import grant_role, hold_club, write_log
from inspection.members.errors import LastOwner, MemberOfOtherClubs, NobodySignsInAs, NoRole, SignInNameTaken
from inspection.models import Club, Membership, Role, User
from inspection.models.public import ALPHABET

ONE_TIME_LENGTH = 12  # letters of ALPHABET: about 57 random bits


def one_time_password() -> str:
    """A random password to be read aloud or copied from a screen: no vowels, no look-alikes."""
    return "".join(secrets.choice(ALPHABET) for _ in range(ONE_TIME_LENGTH))


@transaction.atomic
def create_member(
    *, club: Club, username: str, name: str, password: str, roles: Iterable[str], by: User | None
) -> User:
    """A new person who signs in by this name and password, with these roles.

    Refuses a name that somebody signs in by, whatever the case of its letters (SignInNameTaken), and no role (NoRole).
    """
    if User.objects.filter(username__iexact=username).exists():
        raise SignInNameTaken(username=username)
    try:
        with transaction.atomic():
            user = User.objects.create_user(username=username, name=name, password=password)
    except IntegrityError as error:  # two owners added the same name at the same moment
        raise SignInNameTaken(username=username) from error
    write_log(club=club, action="added member", subject=user, by=by, username=username)
    _replace_roles(club, user, roles, by)
    return user


@transaction.atomic
def add_member(*, club: Club, username: str, roles: Iterable[str], by: User | None) -> User:
    """Give roles to somebody who signs in here already, for another club; adds to roles held.

    Refuses an unknown name (NobodySignsInAs) and no role (NoRole).
    """
    user = User.objects.filter(username__iexact=username).first()
    if user is None:
        raise NobodySignsInAs(username=username)
    held = Membership.objects.filter(club=club, user=user).values_list("role", flat=True)
    _replace_roles(club, user, set(held) | set(roles), by)
    return user


@transaction.atomic
def change_member(*, club: Club, user: User, name: str, roles: Iterable[str], by: User | None) -> User:
    """A member's name and roles as they shall be from now on.

    Refuses no role (NoRole), taking the owner's role from the last owner (LastOwner), and another name for somebody
    who belongs to another club too, or who manages the installation (MemberOfOtherClubs).
    """
    hold_club(club)
    if name != user.name:
        _refuse_for_other_clubs(club, user)
        user.name = name
        user.save(update_fields=["name"])
        write_log(club=club, action="changed member's name", subject=user, by=by)
    _replace_roles(club, user, roles, by)
    return user


@transaction.atomic
def remove_member(*, club: Club, user: User, by: User | None) -> None:
    """Takes all roles; what the person did stays in the log under their name. Refuses the last owner (LastOwner)."""
    hold_club(club)
    _keep_an_owner(club, user)
    Membership.objects.filter(club=club, user=user).delete()
    write_log(club=club, action="removed member", subject=user, by=by)


@transaction.atomic
def reset_password(*, club: Club, user: User, by: User | None) -> str:
    """A new one-time password, which is returned and nowhere kept. Ends the person's open sessions.

    Refuses for somebody who belongs to another club too, or who manages the installation (MemberOfOtherClubs).
    """
    _refuse_for_other_clubs(club, user)
    password = one_time_password()
    user.set_password(password)
    user.save(update_fields=["password"])
    write_log(club=club, action="gave new password", subject=user, by=by)
    return password


def _refuse_for_other_clubs(club: Club, user: User) -> None:
    if user.is_superuser or Membership.objects.filter(user=user).exclude(club=club).exists():
        raise MemberOfOtherClubs(user=user)


def _replace_roles(club: Club, user: User, roles: Iterable[str], by: User | None) -> None:
    wanted = set(roles)
    if not wanted:
        raise NoRole
    held = set(Membership.objects.filter(club=club, user=user).values_list("role", flat=True))
    if Role.OWNER in held - wanted:
        _keep_an_owner(club, user)
    for role in sorted(wanted - held):
        grant_role(club=club, user=user, role=Role(role), by=by)
    for role in sorted(held - wanted):
        Membership.objects.filter(club=club, user=user, role=role).delete()
        write_log(club=club, action="took role", subject=user, by=by, role=str(role))


def _keep_an_owner(club: Club, user: User) -> None:
    owners = Membership.objects.filter(club=club, role=Role.OWNER, user__is_active=True)
    if owners.filter(user=user).exists() and not owners.exclude(user=user).exists():
        raise LastOwner(user=user)
