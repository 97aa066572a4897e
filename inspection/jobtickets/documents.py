"""A job ticket on paper, for the customer to take along."""

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.translation import gettext as _

from inspection.jobtickets.selectors import lines_of, sums_of
from inspection.models import JobTicket
from inspection.papers.documents import page_address, paper


def print_job(request: HttpRequest, ticket: JobTicket) -> HttpResponse:
    """A5. Its code leads to the ticket, for who keeps the shop; contact and notes are not on it."""
    address = reverse("job-detail", args=[ticket.club.slug, ticket.public_id])
    context = {
        "ticket": ticket,
        "lines": [each for each in lines_of(ticket) if each.stands],
        "sums": sums_of(ticket),
        "address": page_address(request, address),
    }
    name = _("job ticket {number}").format(number=ticket.number)
    return paper(request, "print/jobticket.html", context, file_name=name, size="A5")
