"""What the shared lists refuse."""

from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import Refused


class ListNameTaken(Refused):
    code = "list_name_taken"
    message = _("There is already a list called “{name}”. Revise that one, or give this one another name.")


class ListIsEmpty(Refused):
    code = "list_is_empty"
    message = _("A list needs at least one entry.")


class NothingChanged(Refused):
    code = "nothing_changed"
    message = _("Nothing differs from revision {number}, so there is nothing to save.")
