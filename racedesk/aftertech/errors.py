"""What the call to tech after a race refuses."""

from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import Refused


class NoTechForCall(Refused):
    code = "no_tech_for_call"
    message = _("{race} has no tech tonight, so nobody is called to it.")


class NobodyToCall(Refused):
    code = "nobody_to_call"
    message = _("No car of {race} has driven yet, so there is nobody to call.")


class CallsNobody(Refused):
    code = "calls_nobody"
    message = _("Call at least one car: by place, or drawn besides.")


class DismissalNeedsReason(Refused):
    code = "dismissal_needs_reason"
    message = _("Say why nothing follows: the reason is kept and shown.")


class NotProposed(Refused):
    code = "not_proposed"
    message = _("That finding does not stand any more, or has been decided already.")
