"""The time to end by."""

import datetime as dt
import zoneinfo

from django import forms
from django.http import QueryDict
from django.utils.translation import gettext_lazy as _

from racedesk.events.forms import ClockField, night_moment
from racedesk.models import Event


class ClosingForm(forms.Form):
    """When the night must be over; the hall's closing time until another is typed."""

    by = ClockField(label=_("To end by"), help_text=_("A time after midnight counts as the next day's."))

    def __init__(self, data: QueryDict | None, *, event: Event) -> None:
        self.event = event
        self.zone = zoneinfo.ZoneInfo(event.club.time_zone)
        closes = event.hall_closes_at.astimezone(self.zone).time() if event.hall_closes_at else None
        super().__init__(data if data and "by" in data else None, initial={"by": closes})

    def until(self) -> dt.datetime | None:
        """The moment that was typed, else the hall's closing; None where there is neither, or what is typed is none."""
        if not self.is_bound:
            return self.event.hall_closes_at
        time = self.cleaned_data.get("by") if self.is_valid() else None
        if time is None:
            return None
        return night_moment(self.event.date, time, self.zone, after=self.event.racing_at)
