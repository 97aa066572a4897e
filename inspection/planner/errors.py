"""What the planner's page refuses."""

from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import Refused


class PartNotThere(Refused):
    code = "part_not_there"
    message = _("One of these parts is no longer in the register, or is not this driver's. Work the plan out again.")
