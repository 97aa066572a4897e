"""What the service of checks refuses."""

from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import Refused


class ErrorNotStated(Refused):
    code = "error_not_stated"
    message = _("Enter the largest error that the maker of {name} permits first: a check is held against it.")
