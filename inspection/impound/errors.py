"""What impound refuses."""

from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import Refused


class NotClear(Refused):
    code = "not_clear"
    message = _("Only a car that is clear goes into impound: sign the card first.")


class NotInImpound(Refused):
    code = "not_in_impound"
    message = _("{car} is not in impound.")


class TouchNeedsReason(Refused):
    code = "touch_needs_reason"
    message = _("Say what was done to the car.")
