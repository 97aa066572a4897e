"""What cannot be done with members."""

from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import Refused


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
    """A password given by one club's owner would open the other club's books; a name is the other club's too."""

    code = "member_of_other_clubs"
    message = _("{user} belongs to another club too: the name stays, and the password is changed by signing in.")
