"""Pages for many entries at once."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _

from inspection.clubs.access import club_page
from inspection.models import Club
from racedesk.entries.selectors import are_closed
from racedesk.entries.views import race_or_404
from racedesk.entrylists.forms import QuickRaceForm, RepeatForm
from racedesk.entrylists.selectors import last_race, last_time
from racedesk.entrylists.services import repeat_entries, start_quick_race
from racedesk.events.selectors import tracks_with_a_layout
from racedesk.events.views import attempt, posted
from racedesk.models import Entry


@club_page("club.run_desk", methods=("GET", "POST"))
def entry_repeat(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Who raced last time, with their cars: tick and enter in one step."""
    race = race_or_404(club, public_id)
    rows = last_time(race)
    late = are_closed(race, now=timezone.now()) and request.user.has_perm("club.direct", club)
    form = RepeatForm(posted(request), drivers=[row.driver for row in rows], may_admit_late=late)

    def enter() -> list[Entry]:
        ticked = set(form.cleaned_data["drivers"])
        chosen = [(row.driver, row.car) for row in rows if row.driver in ticked]
        reason = form.cleaned_data.get("late_reason", "")
        return repeat_entries(race=race, drivers=chosen, by=request.user, now=timezone.now(), late_reason=reason)

    entries, status = attempt(request, form, enter)
    if entries is not None:
        messages.success(request, _("%(count)s entered.") % {"count": len(entries)})
        return redirect("entry-list", club.slug, race.public_id)
    ticked = request.POST.getlist("drivers")
    context = {"form": form, "rows": rows, "race": race, "event": race.event, "before": last_race(race)}
    return render(request, "racedesk/entrylists/entry_repeat.html", context | {"ticked": ticked}, status=status)


@club_page("club.plan_events", methods=("GET", "POST"))
def quick_race(request: HttpRequest, club: Club) -> HttpResponse:
    """Typed names, track and heat length to a race tonight, and on to its draw."""
    form = QuickRaceForm(posted(request), club=club)
    race, status = attempt(
        request, form, lambda: start_quick_race(club=club, **form.cleaned_data, by=request.user, now=timezone.now())
    )
    if race is not None:
        return redirect("draw-create", club.slug, race.public_id)
    context = {"form": form, "has_track": tracks_with_a_layout(club).exists()}
    return render(request, "racedesk/entrylists/quick_race.html", context, status=status)
