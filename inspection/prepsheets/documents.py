"""The work order of a bench sheet on paper."""

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.translation import gettext as _

from inspection.papers.documents import page_address, paper
from inspection.prepsheets.selectors import PrepSheet


def print_prep(request: HttpRequest, prep: PrepSheet) -> HttpResponse:
    """A4 or Letter, to be filled in at the bench. Its code leads to the bench sheet."""
    sheet = prep.sheet
    address = reverse("prep-sheet", args=[sheet.car.club.slug, sheet.public_id])
    name = _("prep sheet car {number} sheet {sheet}").format(number=sheet.car.number, sheet=sheet.number)
    context = {"prep": prep, "sheet": sheet, "car": sheet.car, "address": page_address(request, address)}
    return paper(request, "print/prepsheet.html", context, file_name=name)
