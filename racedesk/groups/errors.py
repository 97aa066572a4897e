"""Why a field cannot be split."""

from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import Refused


class NoSuchGroups(Refused):
    code = "bad_groups"
    message = _("These drivers do not make such groups: a group has at least 2 drivers and at most {most}.")


class FieldChanged(Refused):
    code = "field_changed"
    message = _("Somebody came or left since these groups were shown. Below they are as they would be now: look again.")
