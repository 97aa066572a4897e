"""What files of cars refuse."""

from django.utils.translation import gettext_lazy as _

from inspection.exchange.errors import UnreadableFile


class UnreadableCars(UnreadableFile):
    code = "unreadable_cars"
    too_large = _("The file is larger than {most} MB. Send the cars in several files.")
    another = _("The file is JSON, but it does not hold cars.")
    other_version = _("The file holds cars in version {version}; version {known} can be read here.")
