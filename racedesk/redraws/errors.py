"""Why the rest of a night cannot be drawn again."""

from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import Refused


class NothingToRedraw(Refused):
    code = "nothing_to_redraw"
    message = _("No heat has begun yet: draw all of them again instead.")


class NightWentOn(Refused):
    code = "night_went_on"
    message = _(
        "The night has gone on since this page was opened: a heat began, or somebody came or left. "
        "Below is the plan as it would be now: look at it, then use it."
    )
