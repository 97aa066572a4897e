"""What is refused when a card is judged."""

from django.utils.translation import gettext_lazy as _

from inspection.readings.errors import AnswerRefused


class ClauseAsksNothing(AnswerRefused):
    code = "clause_asks_nothing"
    message = _("Clause {number} does not ask for that.")
