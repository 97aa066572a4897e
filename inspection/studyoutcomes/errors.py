"""What the services of outcomes refuse."""

from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import Refused


class StudyIncomplete(Refused):
    code = "study_incomplete"
    message = _("{missing} of {wanted} readings are still to be taken.")


class NotTheLatest(Refused):
    code = "not_the_latest"
    message = _("The gauge's figures have changed since this study was taken over: there is nothing to take back.")
