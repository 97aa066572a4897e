"""What cannot be done with cars."""

from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import ChangedMeanwhile, Refused


class NumberTaken(Refused):
    """Another car of the club has the number; `free` is the next one that nobody has."""

    code = "car_number_taken"
    message = _("Number {number} is on “{car}” of {owner}. The next free number is {free}.")


class OwnerOfOtherClub(Refused):
    code = "owner_of_other_club"
    message = _("{owner} is no driver of this club.")


class CarChangedMeanwhile(ChangedMeanwhile):
    code = "car_changed_meanwhile"
