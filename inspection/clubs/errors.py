"""What a service says when it will not do a thing. A refusal is an answer, never a crash and never a bug."""

from typing import Any

from django.utils.translation import gettext_lazy as _


class Refused(Exception):  # noqa: N818  it reads as what happened: "refused"
    """Base of every refusal: a stable `code` for tests and callers, a sentence for people, and its parameters.

    Subclasses give `message` as a translatable sentence that says what to do, with {placeholders} for parameters.
    """

    code = "refused"
    message = _("That cannot be done now.")

    def __init__(self, **params: Any) -> None:
        self.params = params
        super().__init__(self.code)

    def __str__(self) -> str:
        return str(self.message).format(**self.params)


class ChangedMeanwhile(Refused):
    """Two people had the same form open: the second is told, and what they typed stays in the form."""

    code = "changed_meanwhile"
    message = _(
        "{who} has changed this since you opened it. What you typed is still here: look at what stands now, "
        "then save again to put yours in its place."
    )


class ClubChangedMeanwhile(ChangedMeanwhile):
    code = "club_changed_meanwhile"


class LastOwner(Refused):
    """A club without an owner could not be managed by anybody."""

    code = "last_owner"
    message = _("{user} is the club's only owner. Make somebody else an owner first.")


class NoRole(Refused):
    code = "no_role"
    message = _("Choose at least one role, or take this person out of the club.")


class SignInNameTaken(Refused):
    code = "sign_in_name_taken"
    message = _(
        "Somebody signs in as “{username}” already. Choose another name; or, if it is the same person, "
        "say that they sign in here already."
    )


class NobodySignsInAs(Refused):
    code = "nobody_signs_in_as"
    message = _("Nobody signs in as “{username}” here. Look at the spelling, or give them a password.")


class MemberOfOtherClubs(Refused):
    """A password given by one club's owner would open the other club's books."""

    code = "member_of_other_clubs"
    message = _("{user} belongs to another club too and changes the password by signing in.")
