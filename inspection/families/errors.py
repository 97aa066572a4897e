"""What the building of sheets on sheets refuses."""

from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import Refused


class BuildsInACircle(Refused):
    code = "builds_in_a_circle"
    message = _("“{parent}” builds on “{name}” itself. A sheet cannot build on one that builds on it.")


class ParentNotInForce(Refused):
    code = "parent_not_in_force"
    message = _("“{parent}” has no revision in force on {day}. Publish that one first, or choose a later day.")
