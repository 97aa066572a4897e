"""Pages of the night's takings."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from inspection.clubs.access import club_page
from inspection.clubs.documents import table_export
from inspection.models import Club
from racedesk.events.views import attempt, posted
from racedesk.models import Entry, Event, Payment
from racedesk.takings.forms import PaymentForm, TakeBackForm
from racedesk.takings.selectors import account_of, credit_of, takings_of
from racedesk.takings.services import record_payment, take_back_payment
from racedesk.takings.tables import PaymentTable, TakingsTable


@club_page("club.run_desk")
def takings(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """The night's takings by driver, in total and line by line; `?list=lines` exports the lines."""
    event = get_object_or_404(Event.objects.of(club), public_id=public_id)
    found = takings_of(event)
    by_driver, lines = TakingsTable(found.rows), PaymentTable(found.lines)
    exported = lines if request.GET.get("list") == "lines" else by_driver
    if response := table_export(exported, request, f"takings {event.date}"):
        return response
    context = {"event": event, "takings": found, "by_driver": by_driver, "lines": lines}
    return render(request, "racedesk/takings/takings.html", context)


@club_page("club.run_desk", methods=("GET", "POST"))
def entry_payment(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Record a payment for an entry; the amount still owed stands in the field."""
    entries = (
        Entry.objects.of(club)
        .select_related("race__event")
        .prefetch_related("drivers__driver", "payments__corrected_by", "payments__driver")
    )
    entry = get_object_or_404(entries, public_id=public_id)
    account = account_of(entry)
    owed = f"{account.owed:.2f}" if account.owed else ""
    initial = {"kind": Payment.Kind.PAID, "amount": owed, "version": account.version}
    form = PaymentForm(posted(request), initial=initial)
    line, status = attempt(
        request, form, lambda: record_payment(entry=entry, **form.line(), by=request.user), version=account.version
    )
    if line is not None:
        messages.success(request, _("Written down: %(line)s.") % {"line": line})
        return redirect("entry-list", club.slug, entry.race.public_id)
    driver = entry.drivers.all()[0].driver
    context = {"form": form, "entry": entry, "race": entry.race, "event": entry.race.event, "account": account}
    context["credit"] = credit_of(club, [driver])[driver.pk]
    return render(request, "racedesk/takings/payment_form.html", context, status=status)


@club_page("club.run_desk", methods=("GET", "POST"))
def payment_take_back(request: HttpRequest, club: Club, number: int) -> HttpResponse:
    """Set a mistaken line right by a line the other way."""
    payment = get_object_or_404(Payment.objects.of(club).select_related("event", "driver"), pk=number)
    form = TakeBackForm(posted(request))
    line, status = attempt(
        request, form, lambda: take_back_payment(payment=payment, by=request.user, **form.cleaned_data)
    )
    if line is not None:
        messages.success(request, _("Taken back: %(line)s.") % {"line": line})
        return redirect("takings", club.slug, payment.event.public_id)
    context = {"form": form, "payment": payment, "event": payment.event}
    return render(request, "racedesk/takings/take_back_form.html", context, status=status)
