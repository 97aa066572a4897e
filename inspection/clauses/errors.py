"""What the writing of clauses refuses."""

from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import Refused


class PublishedIsFinal(Refused):
    code = "published_is_final"
    message = _("Revision {number} is published and never changes. Start the next draft and change that.")
