"""Why the rest of a night cannot be planned."""

from typing import Any

from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import Refused
from racedesk.rotation.errors import RedrawError


class RedrawNotPossible(Refused):
    """What the rotation engine said no to; the code is the engine's."""

    messages = {
        "bad_pair": _("Nobody can be kept apart from himself."),
        "unknown_driver": _("Driver {driver} is not in this draw."),
        "run_twice": _("Driver {driver} has driven one lane twice: void one of the two heats first."),
    }

    def __init__(self, error: RedrawError) -> None:
        params: dict[str, Any] = {"explanation": error.message} | error.params
        super().__init__(**params)
        self.code = error.code
        self.message = self.messages.get(error.code, "{explanation}")
