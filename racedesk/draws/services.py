"""Let into the draw whom the director decides about."""

from django.db import transaction

from inspection.models import User
from racedesk.checkin.services import check_in, override_tech
from racedesk.entries.selectors import unready_entries
from racedesk.models import Entry


@transaction.atomic
def admit_to_draw(*, entry: Entry, reason: str = "", by: User) -> Entry:
    """Check the entry in; where tech has not cleared its car, override that with the director's reason, recorded once.

    Refused: not_in_this_state (waiting, withdrawn, absent), reason_needed.
    """
    checked = check_in(entry=entry, by=by)
    if any(each.entry.pk == entry.pk for each in unready_entries(entry.race)):
        return override_tech(entry=entry, reason=reason, by=by)
    return checked
