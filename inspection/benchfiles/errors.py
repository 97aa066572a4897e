"""What files of a bench refuse."""

from django.utils.translation import gettext_lazy as _

from inspection.exchange.errors import UnreadableFile


class UnreadableBench(UnreadableFile):
    code = "unreadable_bench"
    message = _("Nothing was worked out. {why}")
    too_large = _("The file is larger than {most} MB.")
    another = _("The file is JSON, but it is not a bench.")
    other_version = _("The file holds a bench in version {version}; version {known} can be read here.")
