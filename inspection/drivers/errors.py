"""What cannot be done with drivers."""

from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import ChangedMeanwhile, Refused


class NameMissing(Refused):
    code = "driver_name_missing"
    message = _("Type the driver's name, with at least one letter or digit.")


class SpellingTaken(Refused):
    """Another driver has this spelling already."""

    code = "spelling_taken"
    message = _(
        "“{name}” is the spelling of {other}. Two drivers of one name need a difference, such as a middle initial "
        "or the town."
    )


class UserLinkedAlready(Refused):
    code = "user_linked_already"
    message = _("{user} is linked to {other} already. Undo that link first.")


class UserNotMember(Refused):
    code = "user_not_member"
    message = _("{user} holds no role in this club. Make them a member first.")


class LastSpelling(Refused):
    code = "last_spelling"
    message = _("This is the spelling of the driver's own name; it stays.")


class DriverChangedMeanwhile(ChangedMeanwhile):
    code = "driver_changed_meanwhile"
