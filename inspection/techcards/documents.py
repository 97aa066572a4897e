"""The tech card on paper, A5: filled, or blank to be filled in by hand and typed in later in the same order."""

from collections.abc import Sequence

from django.http import HttpRequest, HttpResponse
from django.urls import reverse

from inspection.clauses.selectors import cautions_for
from inspection.papers.documents import page_address, paper
from inspection.techcards.selectors import Card


def cards_paper(request: HttpRequest, cards: Sequence[Card], *, file_name: str, blank: bool = False) -> HttpResponse:
    """One A5 page or more a card, each with the QR code of its own page; a blank one has that of its tech day."""
    club = request.club
    addressed = []
    for card in cards:
        inspection = card.inspection
        if inspection.pk:
            path = reverse("inspection-detail", args=[club.slug, inspection.public_id])
        else:
            path = reverse("occasion-detail", args=[club.slug, inspection.occasion.public_id])
        cautions = cautions_for(line.clause for line in card.clauses)
        addressed.append((card, page_address(request, path), cautions))
    context = {"cards": addressed, "occasion": cards[0].inspection.occasion, "blank": blank}
    return paper(request, "print/tech_card.html", context, file_name=file_name, size="A5")
