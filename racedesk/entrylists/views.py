"""Pages for many entries at once."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _

from inspection.clubs.access import club_page
from inspection.models import Club
from racedesk.entries.selectors import are_closed
from racedesk.entries.views import race_or_404
from racedesk.entrylists.forms import ConfirmForm, ImportForm, QuickRaceForm, RepeatForm
from racedesk.entrylists.imports import read_entries
from racedesk.entrylists.selectors import ImportLine, last_race, last_time, plan_import, typed_rows
from racedesk.entrylists.services import enter_import, keep_import, repeat_entries, start_quick_race
from racedesk.events.selectors import tracks_with_a_layout
from racedesk.events.views import attempt, posted
from racedesk.models import Entry, EntryImport, Race

OUTCOMES = ("error", "choose", "enter", "skip")
MOST_SHOWN = 200  # rows of each kind on the page; a file of thousands stays readable


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


@club_page("club.run_desk", methods=("GET", "POST"))
def entry_import(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Choose a file; its rows are kept and shown, and nobody is entered yet."""
    race = race_or_404(club, public_id)
    form = ImportForm(posted(request), request.FILES or None)

    def read() -> EntryImport:
        upload = form.cleaned_data["file"]
        rows, unread = read_entries(upload)
        if unread:
            messages.info(request, _("Columns that are not read: %(names)s.") % {"names": ", ".join(unread)[:200]})
        return keep_import(race=race, file_name=upload.name, rows=rows, by=request.user)

    kept, status = attempt(request, form, read)
    if kept is not None:
        return redirect("entry-import-confirm", club.slug, kept.public_id)
    context = {"form": form, "race": race, "event": race.event}
    return render(request, "racedesk/entrylists/entry_import.html", context, status=status)


@club_page("club.run_desk", methods=("GET", "POST"))
def entry_import_confirm(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Each row with what will become of it; say who is meant, then enter all."""
    kept = get_object_or_404(EntryImport.objects.filter(race__event__club=club), public_id=public_id)
    race = race_or_404(club, kept.race.public_id)
    lines = plan_import(race, typed_rows(kept))
    late = are_closed(race, now=timezone.now()) and request.user.has_perm("club.direct", club)
    form = ConfirmForm(posted(request), lines=lines, may_admit_late=late)

    def enter() -> list[Entry]:
        said = {"choices": form.choices(), "late_reason": form.cleaned_data.get("late_reason", "")}
        return enter_import(entry_import=kept, **said, by=request.user, now=timezone.now())

    entries, status = attempt(request, form, enter)
    if entries is not None:
        messages.success(request, _("%(count)s entered.") % {"count": len(entries)})
        return redirect("entry-list", club.slug, race.public_id)
    return render(
        request, "racedesk/entrylists/entry_import_confirm.html", _preview(kept, race, lines, form), status=status
    )


def _preview(kept: EntryImport, race: Race, lines: list[ImportLine], form: ConfirmForm) -> dict[str, object]:
    by_outcome = {outcome: [line for line in lines if line.outcome == outcome] for outcome in OUTCOMES}
    shown = {outcome: found[:MOST_SHOWN] for outcome, found in by_outcome.items()}
    more = {outcome: max(0, len(found) - MOST_SHOWN) for outcome, found in by_outcome.items()}
    counts = {outcome: len(found) for outcome, found in by_outcome.items()}
    return {
        "kept": kept,
        "race": race,
        "event": race.event,
        "form": form,
        "lines": shown,
        "more": more,
        "counts": counts,
        "can_enter": not kept.entered_at and not counts["error"] and counts["enter"] + counts["choose"] > 0,
    }
