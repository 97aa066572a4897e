"""What the tech line refuses."""

from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import Refused
from inspection.models import Finding
from inspection.readings.errors import AnswerRefused


class ClauseNotOnCard(AnswerRefused):
    code = "clause_not_on_card"
    message = _("Clause {number} is not on this card.")


class FoundMeanwhile(AnswerRefused):
    """Two stations at one clause: the second is told what the first found, and asked."""

    code = "found_meanwhile"
    message = _("{who} has found {answer} for clause {number} meanwhile. Nothing is recorded twice: which one stands?")

    def __init__(self, found: Finding) -> None:
        self.found = found
        answer = found.reading or found.answer
        super().__init__(who=found.by or "?", answer=answer, number=found.clause_number)


class NotAllChecked(Refused):
    """A card with clauses not checked is never clear; it can be signed as not clear when that is said."""

    code = "not_all_checked"
    message = _("{count} clauses are not checked: {numbers}. Check them, or sign the card as not clear.")


class NothingFailed(Refused):
    code = "nothing_failed"
    message = _("Nothing on this card failed, so there is nothing to inspect again.")


class BuildChanged(Refused):
    code = "build_changed"
    message = _("The car has build {latest} since; this card is for {inspected}. Take up build {latest} first.")


class BuildIsCurrent(Refused):
    code = "build_is_current"
    message = _("This card is for the car's latest build already.")


class CarNotFound(Refused):
    code = "car_not_found"
    message = _("No car has the number “{text}”, and no driver with a car has a name that begins so.")


class SeveralCars(Refused):
    """The letters fit several cars: the line shows them, one tap each."""

    code = "several_cars"
    message = _("Several cars fit “{text}”: choose one.")


class SheetNotPublished(Refused):
    code = "sheet_not_published"
    message = _("{sheet} is a draft. Cars are inspected by a published revision.")


class OccasionNameMissing(Refused):
    code = "occasion_name_missing"
    message = _("Give the tech day a name.")
