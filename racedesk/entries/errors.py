"""What the entry desk refuses."""

from django.utils.translation import gettext_lazy as _

from inspection.clubs.errors import Refused


class EntryRefused(Refused):
    """Base of the refusals of this slice."""


class EntriesClosed(EntryRefused):
    code = "entries_closed"
    message = _("Entries closed at {at}. The race director may still admit a late entry, with a reason.")


class EntriesClosedByDraw(EntryRefused):
    code = "entries_closed_by_draw"
    message = _("The heats are drawn. The race director may still admit a late entry, with a reason.")


class AlreadyEntered(EntryRefused):
    code = "already_entered"
    message = _("{driver} is already in {race} ({state}). One entry a driver a race.")


class CarAlreadyEntered(EntryRefused):
    code = "car_already_entered"
    message = _("Car {car} is already in {race}, entered by {who}. One entry a car a race.")


class NotOfThisClub(EntryRefused):
    code = "not_of_this_club"
    message = _("{what} belongs to another club.")
