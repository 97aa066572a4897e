"""Read the nights that the calendar shows."""

import datetime as dt
from dataclasses import dataclass

from django.db.models import Count, Max

from inspection.models import Club, LogEntry
from racedesk.events.selectors import events_of
from racedesk.models import Event


@dataclass(frozen=True, slots=True)
class PlannedNight:
    """A night for the calendar. changed_at, changes: when it was last changed, and how often, by the log."""

    event: Event
    changed_at: dt.datetime
    changes: int


def calendar_nights(club: Club, *, today: dt.date) -> list[PlannedNight]:
    """The nights of the past year and all to come, in order. 3 queries."""
    events = events_of(club).filter(date__gte=today - dt.timedelta(days=365)).order_by("date", "pk")
    lines = LogEntry.objects.filter(club=club, subject_type=Event.__name__).order_by().values("subject_id")
    logged = {each["subject_id"]: each for each in lines.annotate(last=Max("at"), times=Count("pk"))}
    nights = []
    for event in events:
        log = logged.get(str(event.public_id), {"last": event.created_at, "times": 1})
        nights.append(PlannedNight(event, max(log["last"], event.created_at), max(log["times"] - 1, 0)))
    return nights
