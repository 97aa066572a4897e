"""What cannot be done with builds."""

from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import ChangedMeanwhile, Refused


class NothingDeclared(Refused):
    code = "nothing_declared"
    message = _("Nothing is declared yet. Fill in what you know of the car; the rest may stay empty.")


class NothingDiffers(Refused):
    """A build that says what the last one says would only look like a change, and drop the car's clearance."""

    code = "nothing_differs"
    message = _("Nothing differs from build {number}. Change what you changed on the car, then save.")


class ValueNotUnderstood(Refused):
    """A declared value that its characteristic cannot have."""

    code = "declared_value_not_understood"
    message = _("{what}: “{text}” cannot be read. {why}")


class BuildChangedMeanwhile(ChangedMeanwhile):
    """Somebody declared a build while this form was open."""

    code = "build_changed_meanwhile"
