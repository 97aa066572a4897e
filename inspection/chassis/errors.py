"""What cannot be done with chassis records."""

from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import ChangedMeanwhile, Refused


class ChassisNameTaken(Refused):
    code = "chassis_name_taken"
    message = _("The club has a chassis “{name}” already. Give this one a name that tells them apart.")


class ChassisChangedMeanwhile(ChangedMeanwhile):
    code = "chassis_changed_meanwhile"
