"""Why a season or a round is not taken."""

from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import Refused


class SeasonRefused(Refused):
    """Base of this slice's refusals."""


class SeasonNameTaken(SeasonRefused):
    code = "season_name_taken"
    message = _("There is a season called {name} already. Give this one another name.")


class RoundTaken(SeasonRefused):
    code = "round_taken"
    message = _("Round {number} of {season} is {race} already. Choose another number.")


class RaceScoresAlready(SeasonRefused):
    code = "race_scores_already"
    message = _("{race} is round {number} of {season} already.")


class RoundPublished(SeasonRefused):
    code = "round_published"
    message = _("Round {number} has a published result, so it stays in the season.")
