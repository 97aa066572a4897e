"""The entry list on paper."""

from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from inspection.papers.documents import page_address, paper
from racedesk.entries.selectors import entries_of, first_car, shown_name
from racedesk.models import Entry, Race
from racedesk.takings.selectors import account_of

BLANK_LINES = 6  # for those who come to the door


def entry_list_paper(request: HttpRequest, race: Race) -> HttpResponse:
    """The list with boxes to tick by hand: who races in the order of entry, who waits, and blank lines.

    Withdrawn and absent entries are left out: the paper says who is to be checked in.
    """
    rows = [entry for entry in entries_of(race) if entry.state not in {Entry.State.WITHDRAWN, Entry.State.NO_SHOW}]
    rows.sort(key=lambda entry: entry.state == Entry.State.WAITING)
    lines = [(shown_name(entry), first_car(entry), account_of(entry), entry) for entry in rows]
    address = page_address(request, reverse("entry-list", args=[request.club.slug, race.public_id]))
    context = {"race": race, "event": race.event, "lines": lines, "blank": range(BLANK_LINES), "page_url": address}
    return paper(request, "print/entry_list.html", context, file_name=f"entries {race.name}")
