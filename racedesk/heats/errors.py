"""Why heats cannot be drawn."""

from typing import Any

from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import Refused
from racedesk.rotation.errors import DrawError


class TooFewDrivers(Refused):
    code = "too_few_drivers"
    message = _("A draw needs at least 2 drivers who are ready; there are {drivers}. Check in those who are here.")


class HeatHasBegun(Refused):
    code = "heat_has_begun"
    message = _("Heat {number} has begun, so this draw stands.")


class RedrawNeedsReason(Refused):
    code = "redraw_needs_reason"
    message = _("These heats are drawn already. To draw them again, say why: the reason is kept with the new draw.")


class DrawChangedMeanwhile(Refused):
    code = "draw_changed_meanwhile"
    message = _("Somebody has drawn these heats since you opened the page: draw {number} stands. Look at it first.")


class DrawNotPossible(Refused):
    """What the rotation engine said no to; the code is the engine's."""

    messages = {
        "too_many_drivers": _("A draw takes at most {most} drivers, not {drivers}: make two races of them."),
        "too_many_lanes": _("A draw takes at most {most} lanes, not {lanes}."),
        "too_few_lanes": _("The track of this night has no lanes yet: give it some first."),
        "bad_rounds": _("A draw has 1 to 20 rounds, not {rounds}."),
        "bad_lanes_each": _("Everybody drives 1 to {most} lanes, not {lanes_each}."),
        "bad_empty": _("Leave empty only lanes of this track, and drive on one at least."),
        "bad_seed": _("A seed is a whole number from 0 to {most}."),
    }

    def __init__(self, error: DrawError) -> None:
        params: dict[str, Any] = {"explanation": error.message} | error.params
        super().__init__(**params)
        self.code = error.code
        self.message = self.messages.get(error.code, "{explanation}")
