"""A reason, and another car."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from inspection.models import Car, Club
from racedesk.entries.forms import CarPart, reason_field
from racedesk.models import Entry


class ReasonForm(forms.Form):
    """A reason, asked for before something that the log keeps."""

    reason = reason_field(_("Reason"))


class ChangeCarForm(CarPart):
    """Another car for an entry."""

    def __init__(self, *args: Any, club: Club, entry: Entry, **kwargs: Any) -> None:
        shown = {("spare" if row.is_spare else "car"): row.car.public_id for row in entry.cars.all()}
        super().__init__(*args, club=club, race=entry.race, initial=shown, **kwargs)
        for name in ("car", "spare"):
            entered = Car.objects.filter(pk__in=[row.car_id for row in entry.cars.all()])
            self.fields[name].queryset |= entered.select_related("owner")
