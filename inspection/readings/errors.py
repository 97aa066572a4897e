"""What is not taken as an answer to a clause, and what is said instead of guessing."""

from typing import Any

from django.utils.translation import gettext as _now
from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import Refused
from inspection.conformity.plausible import Suggestion
from inspection.units import MESSAGES, DecimalMark, UnitsError, format_quantity


class AnswerRefused(Refused):
    """What was typed for a clause is not an answer to it; nothing was recorded, and what was typed stays."""

    code = "answer_refused"


class ReadingNotUnderstood(AnswerRefused):
    """The text is no quantity of the clause's kind. `units_code` says why, as `inspection.units` does."""

    code = "reading_not_understood"
    message = _("{why}")

    def __init__(self, error: UnitsError) -> None:
        self.units_code = error.code
        super().__init__(why=_now(MESSAGES[error.code]) % error.params)


class DidYouMean(AnswerRefused):
    """The reading lies outside the plausible band. `suggestions` are texts to send instead, the likeliest first."""

    code = "did_you_mean"

    def __init__(self, suggestions: tuple[Suggestion, ...], *, decimal_mark: DecimalMark, **params: Any) -> None:
        self.suggestions = tuple(
            format_quantity(suggestion.quantity, decimal_mark=decimal_mark) for suggestion in suggestions[:3]
        )
        super().__init__(**params, meant=" / ".join(self.suggestions))

    @property
    def message(self) -> str:
        if self.suggestions:
            return _now("{reading} is outside {low} to {high} for {subject}. Did you mean {meant}?")
        return _now("{reading} is outside {low} to {high} for {subject}. Measure again, or confirm that it is right.")


class AnswerNotKnown(AnswerRefused):
    code = "answer_not_known"
    message = _("Answer this clause with one of: {allowed}.")


class ReasonMissing(AnswerRefused):
    code = "reason_missing"
    message = _("A judge's decision needs its reason: type it, then decide.")


class GaugeOfWrongKind(AnswerRefused):
    code = "gauge_of_wrong_kind"
    message = _("{gauge} does not measure what this clause asks for. Choose another gauge.")


class GaugeOverdue(AnswerRefused):
    code = "gauge_overdue"
    message = _("The calibration of {gauge} was due on {due}, and this sheet allows no such gauge. Take another one.")
