"""The result as paper, CSV and XLSX."""

from collections.abc import Sequence

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.translation import gettext as _

from inspection.clubs.documents import export_rows
from inspection.models import Lane
from inspection.papers.documents import page_address, paper
from inspection.templatetags.kit import laps_text
from racedesk.models import Race, ResultSheet
from racedesk.results.selectors import ShownRow


def result_paper(
    request: HttpRequest, *, race: Race, sheet: ResultSheet, rows: Sequence[ShownRow], lanes: Sequence[Lane]
) -> HttpResponse:
    """The result sheet on the club's paper."""
    live = reverse("result-detail", args=[race.event.club.slug, race.public_id])
    context = {"race": race, "event": race.event, "sheet": sheet, "rows": rows, "lanes": lanes}
    context["live_url"] = page_address(request, live)
    name = f"{race.event.name} {race.name} result {sheet.number}"
    return paper(request, "print/result_sheet.html", context, file_name=name)


def result_export(file_format: str, *, race: Race, rows: Sequence[ShownRow], lanes: Sequence[Lane]) -> HttpResponse:
    """One row a placing; laps as the page shows them, lanes in columns."""
    headers = [
        *(_("Place"), _("Driver"), _("Car"), _("Laps"), _("Penalty laps"), _("State")),
        *(str(lane) for lane in lanes),
    ]
    lines = [
        [
            shown.row.place,
            shown.row.driver_name,
            shown.row.car_number,
            laps_text(shown.net, shown.row.divisor),
            shown.row.penalty_laps,
            shown.row.get_status_display(),
            *("" if lane.sections is None else laps_text(lane.sections, shown.row.divisor) for lane in shown.lanes),
        ]
        for shown in rows
    ]
    return export_rows(f"{race.event.name} {race.name} result", file_format, headers, lines)
