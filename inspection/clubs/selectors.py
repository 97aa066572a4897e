"""Reads members and the log."""

from dataclasses import dataclass

from django.db.models import QuerySet

from inspection.models import Club, LogEntry, Membership, Role, User


@dataclass(frozen=True, slots=True)
class Member:
    """A person and the roles they hold, in the order of `Role`."""

    user: User
    roles: tuple[Role, ...]

    @property
    def role_words(self) -> str:
        return ", ".join(str(role.label) for role in self.roles)


def members_of(club: Club) -> list[Member]:
    """Everybody with a role, by name. One query."""
    held: dict[User, set[str]] = {}
    for row in Membership.objects.filter(club=club).select_related("user"):
        held.setdefault(row.user, set()).add(row.role)
    members = [Member(user, tuple(role for role in Role if role in roles)) for user, roles in held.items()]
    return sorted(members, key=lambda member: (str(member.user).casefold(), member.user.pk))


def member_users(club: Club) -> QuerySet[User]:
    """Users with a role in the club; look members up through this."""
    return User.objects.filter(memberships__club=club).distinct()


def log_of(club: Club) -> QuerySet[LogEntry]:
    """The club's log, newest first, with who did it. One query."""
    return LogEntry.objects.of(club).select_related("by")
