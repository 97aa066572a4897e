"""Who raced last time."""

from django.db.models import Exists, OuterRef, Q

from racedesk.entries.selectors import RACING, Candidate, cars_to_enter, entered_states
from racedesk.models import Entry, EntryDriver, Race


def last_race(race: Race) -> Race | None:
    """The race of this class before this one, that somebody took part in. 1 query."""
    took_part = Entry.objects.filter(race=OuterRef("pk")).racing()
    before = Q(event__date__lt=race.event.date) | Q(event=race.event, position__lt=race.position)
    races = Race.objects.filter(before, event__club=race.event.club, racing_class=race.racing_class)
    return races.filter(Exists(took_part)).select_related("event").order_by("event__date", "position").last()


def last_time(race: Race) -> list[Candidate]:
    """Who raced this class last time, by name, each with the car to enter. Constant queries."""
    before = last_race(race)
    if before is None:
        return []
    rows = EntryDriver.objects.filter(race=before, entry__state__in=RACING).select_related("driver")
    drivers = sorted((row.driver for row in rows), key=lambda driver: driver.name.casefold())
    entered, cars = entered_states(race), cars_to_enter(race, drivers)
    return [
        Candidate(driver, *cars.get(driver.pk, (None, False)), entered=entered.get(driver.pk, "")) for driver in drivers
    ]
