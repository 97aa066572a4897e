"""Pages of one entry: checked in, withdrawn, put back, its car and the director's decision."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _

from inspection.clubs.access import club_page
from inspection.models import Club
from racedesk.checkin.forms import ChangeCarForm, ReasonForm
from racedesk.checkin.services import change_car, check_in, mark_no_show, override_tech, put_back, withdraw
from racedesk.entries.selectors import clearance_of, loaded
from racedesk.events.views import attempt, posted
from racedesk.models import Entry
from racedesk.takings.selectors import account_of


def entry_or_404(club: Club, public_id: str) -> Entry:
    """An entry of the club with all that its page shows."""
    entries = loaded(Entry.objects.of(club)).select_related("race__event__club", "race__racing_class", "override_by")
    return get_object_or_404(entries, public_id=public_id)


def to_entry(entry: Entry) -> HttpResponseRedirect:
    """Back to the list, at the line of this entry."""
    race = entry.race
    address = reverse("entry-list", args=[race.event.club.slug, race.public_id])
    return redirect(f"{address}#entry-{entry.public_id}")


@club_page("club.run_desk")
def entry_detail(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """All about one entry, and all that can be done with it."""
    entry = entry_or_404(club, public_id)
    context = {"entry": entry, "race": entry.race, "event": entry.race.event, "account": account_of(entry)}
    context["clearance"] = clearance_of([entry])[entry.pk]
    return render(request, "racedesk/checkin/entry_detail.html", context)


@club_page("club.run_desk", methods=("POST",))
def entry_check_in(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """The driver is here."""
    entry = check_in(entry=entry_or_404(club, public_id), by=request.user)
    messages.success(request, _("%(entry)s is checked in.") % {"entry": entry})
    return to_entry(entry)


@club_page("club.run_desk", methods=("POST",))
def entry_put_back(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Undo the last step."""
    entry = put_back(entry=entry_or_404(club, public_id), by=request.user)
    messages.success(request, _("%(entry)s: %(state)s.") % {"entry": entry, "state": entry.get_state_display()})
    return to_entry(entry)


@club_page("club.run_desk", methods=("POST",))
def entry_no_show(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """The driver did not come."""
    entry = mark_no_show(entry=entry_or_404(club, public_id), by=request.user)
    messages.success(request, _("%(entry)s did not come.") % {"entry": entry})
    return to_entry(entry)


@club_page("club.run_desk", methods=("GET", "POST"))
def entry_withdraw(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Take an entry out, with the reason; what it has driven stays."""
    entry = entry_or_404(club, public_id)
    form = ReasonForm(posted(request))
    done, status = attempt(
        request, form, lambda: withdraw(entry=entry, reason=form.cleaned_data["reason"], by=request.user)
    )
    if done is not None:
        messages.success(request, _("%(entry)s is withdrawn.") % {"entry": entry})
        return to_entry(entry)
    context = {"form": form, "entry": entry, "race": entry.race, "event": entry.race.event, "what": "withdraw"}
    return render(request, "racedesk/checkin/reason_form.html", context, status=status)


@club_page("club.direct", methods=("GET", "POST"))
def entry_override(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """The director lets a car race that tech has not cleared, with the reason."""
    entry = entry_or_404(club, public_id)
    form = ReasonForm(posted(request))
    done, status = attempt(
        request, form, lambda: override_tech(entry=entry, reason=form.cleaned_data["reason"], by=request.user)
    )
    if done is not None:
        messages.success(request, _("%(entry)s races by your decision.") % {"entry": entry})
        return to_entry(entry)
    context = {"form": form, "entry": entry, "race": entry.race, "event": entry.race.event, "what": "override"}
    context["clearance"] = clearance_of([entry])[entry.pk]
    return render(request, "racedesk/checkin/reason_form.html", context, status=status)


@club_page("club.run_desk", methods=("GET", "POST"))
def entry_car(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Another car, or a spare."""
    entry = entry_or_404(club, public_id)
    form = ChangeCarForm(posted(request), club=club, entry=entry)
    done, status = attempt(request, form, lambda: change_car(entry=entry, **form.cleaned_data, by=request.user))
    if done is not None:
        messages.success(request, _("The car of %(entry)s is changed.") % {"entry": entry})
        return to_entry(entry)
    context = {"form": form, "entry": entry, "race": entry.race, "event": entry.race.event}
    return render(request, "racedesk/checkin/car_form.html", context, status=status)
