"""The season table as CSV, XLSX and paper."""

from collections.abc import Iterable

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.translation import gettext as _

from inspection.clubs.documents import export_rows, rows_export
from inspection.papers.documents import page_address, paper
from racedesk.models import Season
from racedesk.seasons.selectors import SeasonTable


def season_list_export(request: HttpRequest, seasons: Iterable[Season]) -> HttpResponse | None:
    """One row a season, when the address asks for a file."""
    headers = [_("Season"), _("Rounds"), _("Rounds planned"), _("Best rounds that count"), _("Running")]
    rows = [
        [
            *(season.name, len(season.rounds.all()), season.rounds_planned, season.rounds_that_count),
            _("yes") if season.is_active else _("no"),
        ]
        for season in seasons
    ]
    return rows_export(request, _("seasons"), headers, rows)


def season_export(file_format: str, table: SeasonTable) -> HttpResponse:
    """One row a driver; a dropped round's points in brackets."""
    headers = [_("Place"), _("Driver"), _("Points"), _("All rounds")]
    headers += [_("Round {n}").format(n=number) for number in table.run]
    lines = [
        [
            *(row.place, row.driver.shown_name, row.counted, row.gross),
            *(f"({cell.points})" if cell.is_dropped else cell.points for cell in row.rounds),
        ]
        for row in table.rows
    ]
    return export_rows(table.season.name, file_format, headers, lines)


def season_paper(request: HttpRequest, table: SeasonTable) -> HttpResponse:
    """The table on the club's paper."""
    live = page_address(request, reverse("season-detail", args=[request.club.slug, table.season.public_id]))
    context = {"table": table, "season": table.season, "live_url": live}
    return paper(request, "print/season_table.html", context, file_name=table.season.name)
