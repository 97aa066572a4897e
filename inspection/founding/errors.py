"""What can stop the first club from being founded."""

from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import Refused


class WrongCode(Refused):
    code = "wrong_first_run_code"
    message = _("That is not the code. It stands in the window in which RaceDesk was started.")


class FoundedAlready(Refused):
    code = "founded_already"
    message = _("Somebody has founded the club meanwhile. Sign in instead.")
