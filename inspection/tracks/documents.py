"""The list of tracks as a file."""

from collections.abc import Iterable

from django.http import HttpRequest, HttpResponse
from django.utils.translation import gettext as _

from inspection.clubs.documents import rows_export
from inspection.models import Track


def track_list_export(request: HttpRequest, tracks: Iterable[Track]) -> HttpResponse | None:
    """One row a track with its current lanes, when the address asks for a file."""
    headers = [_("Track"), _("Layout"), _("Lanes"), _("In use")]
    rows = []
    for track in tracks:
        layout = next(iter(track.layouts.all()), None)
        lanes = ", ".join(str(lane) for lane in layout.lanes.all()) if layout else ""
        rows.append([track.name, layout.number if layout else "", lanes, _("yes") if track.is_active else _("no")])
    return rows_export(request, _("tracks"), headers, rows)
