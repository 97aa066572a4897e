"""Pages of the entry desk."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _

from inspection.clubs.access import club_page
from inspection.clubs.documents import table_export
from inspection.models import Club
from racedesk.entries.documents import entry_list_paper
from racedesk.entries.forms import EntryForm
from racedesk.entries.selectors import (
    are_closed,
    candidates,
    desk_counts,
    entry_lines,
)
from racedesk.entries.services import (
    enter_newcomer,
    move_up_waiting,
)
from racedesk.entries.tables import DeskTable, EntryTable
from racedesk.events.selectors import race_status
from racedesk.events.views import attempt, posted
from racedesk.models import Race


def race_or_404(club: Club, public_id: str) -> Race:
    """A race of the club with its night."""
    races = Race.objects.of(club).select_related("event__club", "event__track_layout__track", "racing_class")
    return get_object_or_404(races, public_id=public_id)


@club_page(public=True)
def entry_list(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Who is entered: for everybody by public names; for the desk with its tools."""
    race = race_or_404(club, public_id)
    if request.user.has_perm("club.run_desk", club):
        return _desk(request, race)
    table = EntryTable(entry_lines(race))
    if response := table_export(table, request, f"entries {race.name}"):
        return response
    context = {"race": race, "event": race.event, "table": table, "status": race_status(race)}
    return render(request, "racedesk/entries/entry_list.html", context)


def _desk(request: HttpRequest, race: Race) -> HttpResponse:
    lines = entry_lines(race, for_desk=True)
    table = DeskTable(lines)
    if response := table_export(table, request, f"entries {race.name}"):
        return response
    letters = request.GET.get("q", "").strip()[:120]
    context = {
        "race": race,
        "event": race.event,
        "letters": letters,
        "found": candidates(race, letters) if letters else [],
        "is_closed": are_closed(race, now=timezone.now()),
        "may_direct": request.user.has_perm("club.direct", race.event.club),
    }
    if request.htmx:
        return render(request, "racedesk/entries/_candidates.html", context)
    context |= {"table": table, "counts": desk_counts(race, lines), "status": race_status(race)}
    return render(request, "racedesk/entries/desk.html", context)


@club_page("club.run_desk", methods=("GET", "POST"))
def entry_create(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Enter a driver: known or new, with a car known or new; after closing only the director, with a reason."""
    race = race_or_404(club, public_id)
    closed = are_closed(race, now=timezone.now())
    may_admit_late = closed and request.user.has_perm("club.direct", club)
    initial = {"driver": request.GET.get("driver"), "new_name": request.GET.get("name", "")[:120]}
    form = EntryForm(posted(request), club=club, race=race, may_admit_late=may_admit_late, initial=initial)
    entry, status = attempt(
        request,
        form,
        lambda: enter_newcomer(race=race, **form.cleaned_data, by=request.user, now=timezone.now()),
    )
    if entry is not None:
        messages.success(request, f"{entry}: {entry.get_state_display()}")
        return redirect("entry-list", club.slug, race.public_id)
    context = {"form": form, "race": race, "event": race.event, "is_closed": closed, "may_admit_late": may_admit_late}
    return render(request, "racedesk/entries/entry_form.html", context, status=status)


@club_page("club.run_desk")
def entry_print(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """The entry list on paper, with room for handwriting."""
    return entry_list_paper(request, race_or_404(club, public_id))


@club_page("club.run_desk", methods=("POST",))
def entry_move_up(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Give free places to those who wait."""
    race = race_or_404(club, public_id)
    moved = move_up_waiting(race=race, by=request.user)
    messages.success(request, _("%(count)s moved up from the waiting list.") % {"count": len(moved)})
    return redirect("entry-list", club.slug, race.public_id)
