"""The list of nights."""

import django_tables2 as tables
from django.utils.translation import gettext_lazy as _

from racedesk.models import Event


class EventTable(tables.Table):
    """Nights, each with its races."""

    date = tables.DateColumn(verbose_name=_("Date"), format="D j N Y")
    name = tables.LinkColumn(
        "event-detail",
        kwargs={"club": tables.A("club__slug"), "public_id": tables.A("public_id")},
        verbose_name=_("Night"),
    )
    races = tables.Column(verbose_name=_("Races"), orderable=False, empty_values=())
    track = tables.Column(accessor="track_layout__track", verbose_name=_("Track"))

    class Meta:
        model = Event
        fields = ("date", "name", "races", "track")
        attrs = {"class": "sheet"}

    def render_races(self, record: Event) -> str:
        """The names of the races, in order."""
        return ", ".join(race.name for race in sorted(record.races.all(), key=lambda race: race.position))
