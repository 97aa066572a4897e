"""What the services of studies refuse."""

from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import Refused


class NothingToRead(Refused):
    code = "nothing_to_read"
    message = _("{name} goes or does not go: it gives no reading that could be studied or checked.")


class StudyFinal(Refused):
    code = "study_final"
    message = _("This study is taken over into the gauge: its readings are final. Take that back to change one.")


class NoSuchPlace(Refused):
    code = "no_such_place"
    message = _("This study has no such reading. Open it again and go on from what it asks for.")


class AlreadyMeasured(Refused):
    code = "already_measured"
    message = _("{who} had entered this reading already. It stands; open it to correct it.")


class FarFromOthers(Refused):
    code = "far_from_others"
    message = _("{reading} is far from what this part can be. Look at the decimal mark; send it again if it is right.")
