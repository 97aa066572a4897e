"""Say whether the heats of a night's races are run in turn."""

from django.db import transaction

from inspection.clubs.services import write_log
from inspection.models import User
from racedesk.models import Event


@transaction.atomic
def set_turns(*, event: Event, takes_turns: bool, by: User) -> None:
    """From now on the heats of the races are run in turn, or one race after the other. Can be changed at any time."""
    held = Event.objects.hold(event.pk, "club")
    if held.takes_turns == takes_turns:
        return
    held.takes_turns = takes_turns
    held.save(update_fields=["takes_turns"])
    action = "set the races to take turns" if takes_turns else "set the races to follow one another"
    write_log(club=held.club, action=action, subject=held, by=by)
