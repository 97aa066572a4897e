"""The call to tech as paper, to be read out and hung up."""

from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from inspection.papers.documents import page_address, paper
from racedesk.aftertech.selectors import called_rows
from racedesk.models import TechCall


def call_paper(request: HttpRequest, call: TechCall) -> HttpResponse:
    """Who is called and why, with the seed of the draw, A5."""
    race = call.race
    live = reverse("techcall-detail", args=[race.event.club.slug, race.public_id])
    context = {"call": call, "race": race, "event": race.event, "rows": called_rows(call)}
    context["live_url"] = page_address(request, live)
    name = f"{race.event.name} {race.name} called to tech"
    return paper(request, "print/tech_call.html", context, file_name=name, size="A5")
