"""The words of the night for pages of the inspection side, which knows nothing of races."""

from typing import Any

from django.http import HttpRequest
from django.urls import reverse
from django.utils.translation import gettext as _

from racedesk.models import Race

_TECH_LINE = "occasion-detail"


def night_words(request: HttpRequest) -> dict[str, Any]:
    """The running head of a tech line that serves a race: the night's own words. 1 query there, none elsewhere."""
    match, club = request.resolver_match, getattr(request, "club", None)
    if club is None or match is None or match.url_name != _TECH_LINE:
        return {}
    public_id = match.kwargs["public_id"]
    races = Race.objects.filter(event__club=club, tech_occasion__public_id=public_id).select_related("event")
    race = races.order_by("position", "pk").first()
    if race is None:
        return {}
    pages = (
        (_("Day"), "event-day", race.event.public_id),
        (_("Entries"), "entry-list", race.public_id),
        (_("Tech"), _TECH_LINE, public_id),
        (_("Heats"), "heat-list", race.public_id),
        (_("Results"), "result-detail", race.public_id),
    )
    words = [{"label": label, "name": name, "url": reverse(name, args=[club.slug, key])} for label, name, key in pages]
    return {"night_navigation": words}
