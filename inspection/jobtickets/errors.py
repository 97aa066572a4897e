"""What cannot be done with job tickets."""

from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import ChangedMeanwhile, Refused


class JobRefused(Refused):
    """Base of the refusals of this slice."""


class JobChangedMeanwhile(ChangedMeanwhile):
    code = "job_changed_meanwhile"


class JobClosed(JobRefused):
    code = "job_closed"
    message = _("Ticket {number} is {state}. Open it again first if there is more to write.")


class StrangerInJob(JobRefused):
    """Driver, car or part of another club."""

    code = "stranger_in_job"
    message = _("{name} is not of this club.")


class LineTakenBack(JobRefused):
    code = "line_taken_back"
    message = _("“{what}” is taken back already.")


class NothingOnLine(JobRefused):
    code = "nothing_on_line"
    message = _("Give more than nothing, and of a part a whole number.")
