"""A shopping list on paper and as rows."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.utils.translation import gettext as _

from inspection.papers.documents import page_address, paper
from inspection.parts.forms import amount_shown
from inspection.shopping.selectors import ShoppingList


def print_list(request: HttpRequest, shopping: ShoppingList, address: str) -> HttpResponse:
    """What is needed, place by place, with a box to tick. address: of the page, which the code leads to."""
    name = _("what you need for {racing_class}").format(racing_class=shopping.racing_class)
    context = {"shopping": shopping, "address": page_address(request, address)}
    return paper(request, "print/shopping.html", context, file_name=name)


def list_rows(shopping: ShoppingList) -> tuple[list[str], list[list[Any]]]:
    """Headings and rows: each part for each place, allowed or why not."""
    club = shopping.racing_class.club
    headings = [_("place"), _("needed"), _("article number"), _("part"), _("sizes"), _("price"), _("in stock")]
    headings += [_("allowed"), _("why not")]
    rows: list[list[Any]] = []
    for place in shopping.places:
        for offer in (*place.allowed, *place.ruled_out):
            part = offer.part
            allowed = _("yes") if offer.is_allowed else _("no")
            told = [part.code, part.name, offer.sizes, amount_shown(part.price, club), part.stock]
            rows.append([place.label, place.quantity, *told, allowed, "; ".join(offer.ruled_out)])
        if not place.offers:
            rows.append([place.label, place.quantity, *[""] * 5, "", _("no such part in the register")])
    return headings, rows
