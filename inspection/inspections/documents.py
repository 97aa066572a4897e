"""The tech line as a file."""

from django.http import HttpRequest, HttpResponse
from django.utils.translation import gettext as _

from inspection.clubs.documents import rows_export
from inspection.inspections.selectors import TechLine
from inspection.models import TechOccasion


def tech_line_export(request: HttpRequest, occasion: TechOccasion, line: TechLine) -> HttpResponse | None:
    """One row a card with how it stands, when the address asks for a file. Public names only, as on the page."""
    headers = [
        _("Car"),
        _("Name of the car"),
        _("Owner"),
        _("Stands"),
        _("Found"),
        _("Clauses"),
        _("Fails"),
        _("Too close"),
    ]
    rows = [
        [
            *(row.inspection.car.number, row.inspection.car.name, row.inspection.car.owner.shown_name),
            *(str(row.clearance.state).replace("_", " "), row.found, row.clauses),
            *("; ".join(row.clearance.fails), "; ".join(row.clearance.too_close)),
        ]
        for group in (line.attention, line.ready, line.open, line.waiting, line.clear, line.excused)
        for row in group
    ]
    return rows_export(request, str(occasion), headers, rows)
