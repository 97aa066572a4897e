"""What cannot be done with templates of prep sheets."""

from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import ChangedMeanwhile, Refused


class PrepNameTaken(Refused):
    code = "prep_name_taken"
    message = _("The club has a prep sheet called “{name}” already.")


class StepsMissing(Refused):
    code = "prep_steps_missing"
    message = _("A prep sheet needs at least one step.")


class TooManySteps(Refused):
    code = "prep_too_many_steps"
    message = _("A prep sheet has {most} steps at most.")


class UnknownPlaceholder(Refused):
    """A text asks for a value that no bench sheet can give."""

    code = "prep_unknown_placeholder"
    message = _("“{step}” asks for {name}, which no bench sheet has. What can be asked for stands below the steps.")


class PrepChangedMeanwhile(ChangedMeanwhile):
    code = "prep_changed_meanwhile"
