"""What a car takes home from tech on paper: the fail notice (A5), and the report with every clause and its proof."""

from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from inspection.papers.documents import page_address, paper
from inspection.photos.selectors import photos_of
from inspection.techcards.selectors import Card


def notice_paper(request: HttpRequest, card: Card) -> HttpResponse:
    """What failed, by how much, and by when the car is to be back: one A5 page or more."""
    path = reverse("notice-detail", args=[request.club.slug, card.inspection.public_id])
    context = {"card": card, "inspection": card.inspection, "address": page_address(request, path)}
    name = f"fail-notice-{card.inspection.car.number}"
    return paper(request, "print/fail_notice.html", context, file_name=name, size="A5")


def report_paper(request: HttpRequest, card: Card) -> HttpResponse:
    """Every clause of a card with the reading, the gauge, its doubt, the limit, the zone, the rule, who and when."""
    path = reverse("inspection-detail", args=[request.club.slug, card.inspection.public_id])
    context = {
        "card": card,
        "inspection": card.inspection,
        "photos": photos_of(card.inspection),
        "address": page_address(request, path),
    }
    name = f"inspection-report-{card.inspection.car.number}"
    return paper(request, "print/inspection_report.html", context, file_name=name)
