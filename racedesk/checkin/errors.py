"""What the check-in refuses."""

from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import Refused


class CheckInRefused(Refused):
    """Base of the refusals of this slice."""


class NotInThisState(CheckInRefused):
    code = "not_in_this_state"
    message = _("{entry} is {state}, so that cannot be done.")


class ReasonNeeded(CheckInRefused):
    code = "reason_needed"
    message = _("Give the reason: it is kept in the log.")


class NoTechTonight(CheckInRefused):
    code = "no_tech_tonight"
    message = _("Cars do not go through tech in {race}: there is nothing to override.")
