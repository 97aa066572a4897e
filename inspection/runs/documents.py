"""A car's runs as a file."""

from collections.abc import Iterable

from django.http import HttpRequest, HttpResponse
from django.utils.translation import gettext as _

from inspection.clubs.documents import rows_export
from inspection.models import Car
from inspection.runs.selectors import RunLine, lane_in, seconds_words


def run_list_export(request: HttpRequest, car: Car, lines: Iterable[RunLine]) -> HttpResponse | None:
    """One row a run with what its laps come to and the laps themselves, when the address asks for a file."""
    run_words = [_("Date"), _("Track"), _("Lane"), _("Bench sheet"), _("Laps")]
    times_words = [_("Best, s"), _("Median, s"), _("Mean, s"), _("Spread, s"), _("Slow laps")]
    headers = [*run_words, *times_words, _("Changed before it"), _("Note"), _("Lap times, s")]
    mark = car.club.decimal_mark
    rows = []
    for line in lines:
        run, summary = line.run, line.summary
        figures = [seconds_words(each, decimal_mark=mark) for each in (summary.best, summary.median, summary.mean)]
        rows.append(
            [
                run.run_on,
                str(run.track_layout or ""),
                str(lane_in(run.track_layout, run.lane) or run.lane or ""),
                run.sheet.number if run.sheet else "",
                summary.laps,
                *figures,
                seconds_words(summary.mad, decimal_mark=mark),
                " ".join(str(number + 1) for number in line.slow),
                run.changes,
                run.note,
                " ".join(text.replace(".", mark) for text in run.lap_times),
            ]
        )
    return rows_export(request, _("runs of car {number}").format(number=car.number), headers, rows)
