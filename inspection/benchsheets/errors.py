"""What cannot be done with bench sheets."""

from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import ChangedMeanwhile, Refused


class SheetOvertaken(ChangedMeanwhile):
    """Somebody saved a sheet of the car while this form was open."""

    code = "bench_sheet_overtaken"


class NothingBuilt(Refused):
    code = "bench_sheet_empty"
    message = _("Nothing is chosen yet. Take a chassis or one part, then save.")


class CureNotThere(Refused):
    code = "cure_not_there"
    message = _("That cure does not belong to this sheet any more. Look at what is found now.")


class CureNeedsAnotherPart(Refused):
    code = "cure_needs_another_part"
    message = _("That cure asks for another part. Choose one on a new sheet.")


class NothingToDeclare(Refused):
    code = "bench_sheet_declares_nothing"
    message = _("The sheet says nothing yet that a build declares. Choose parts, then declare.")
