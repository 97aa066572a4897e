"""The fail notice on a phone and on paper, and the inspection report of a car."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from inspection.clubs.access import club_page
from inspection.models import Club, Inspection
from inspection.reports import documents
from inspection.techcards.selectors import Card, card


def _card(club: Club, public_id: str) -> Card:
    return card(get_object_or_404(Inspection.objects.of(club), public_id=public_id))


@club_page()
def notice(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """What failed and by when to be back, for the driver's own phone."""
    shown = _card(club, public_id)
    context = {"card": shown, "inspection": shown.inspection, "here": "event-list"}
    return render(request, "inspection/reports/notice_detail.html", context)


@club_page()
def notice_print(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """The same on paper, A5."""
    return documents.notice_paper(request, _card(club, public_id))


@club_page()
def report_print(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Every clause with its proof, on paper."""
    return documents.report_paper(request, _card(club, public_id))
