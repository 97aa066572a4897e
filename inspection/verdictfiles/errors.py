"""What files to be judged refuse."""

from django.utils.translation import gettext_lazy as _

from inspection.exchange.errors import UnreadableFile


class UnreadableCase(UnreadableFile):
    code = "unreadable_case"
    message = _("Nothing was judged. {why}")
    too_large = _("The file is larger than {most} MB.")
    another = _("The file is JSON, but it is not a car to be judged.")
    other_version = _("The file holds a car to be judged in version {version}; version {known} can be read here.")
