"""Why a result is not published or corrected."""

from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import Refused


class ResultRefused(Refused):
    """Base of this slice's refusals."""


class NotDrawn(ResultRefused):
    code = "not_drawn"
    message = _("There are no heats yet: make the draw and run it first.")


class HeatsUnrun(ResultRefused):
    code = "heats_unrun"
    message = _("Heat {heats} is not finished: run it, or enter its laps, then publish.")


class AlreadyPublished(ResultRefused):
    code = "already_published"
    message = _("Result {number} is published. To change it, publish a correction that says what changed.")


class NotPublished(ResultRefused):
    code = "not_published"
    message = _("Nothing is published yet, so there is nothing to correct.")


class ChangeNotSaid(ResultRefused):
    code = "change_not_said"
    message = _("Say what changed and why: it stands on the new result.")


class NothingChanged(ResultRefused):
    code = "nothing_changed"
    message = _("Laps, penalties and states are as published: there is nothing to correct. Correct those first.")


class PenaltyGivenAlready(ResultRefused):
    code = "penalty_given_already"
    message = _("{entry} has this penalty for this reason already. For a second one word the reason differently.")


class PenaltyTakenBack(ResultRefused):
    code = "penalty_taken_back"
    message = _("This penalty has been taken back already.")


class PenaltyNeedsLaps(ResultRefused):
    code = "penalty_needs_laps"
    message = _("Give the number of laps taken away, 1 or more.")


class PenaltyNeedsReason(ResultRefused):
    code = "penalty_needs_reason"
    message = _("Give the reason: it stands on the result.")
