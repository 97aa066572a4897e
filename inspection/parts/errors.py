"""What cannot be done with parts and their stock."""

from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import ChangedMeanwhile, Refused


class PartRefused(Refused):
    """Base of the refusals of this slice."""


class PartCodeTaken(PartRefused):
    code = "part_code_taken"
    message = _("Article number {number} is on “{part}” already. Give this part one of its own.")


class StrangerInPart(PartRefused):
    """The owner, or a class, belongs to another club."""

    code = "stranger_in_part"
    message = _("{name} is not of this club.")


class PartChangedMeanwhile(ChangedMeanwhile):
    code = "part_changed_meanwhile"


class NotInStock(PartRefused):
    code = "not_in_stock"
    message = _("Of {part} there are {stock} in stock, not {wanted}. Count them anew if more lie in the drawer.")


class NothingMoved(PartRefused):
    code = "nothing_moved"
    message = _("Give how many: a whole number from 1 up, or from 0 up when they were counted.")
