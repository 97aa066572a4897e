"""Every gauge of a club on paper: the calibration sheet, and labels for their cases."""

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from inspection.calibrations.selectors import calibration_sheet
from inspection.models import Club
from inspection.papers.documents import page_address, paper


def gauge_sheet(request: HttpRequest, club: Club) -> HttpResponse:
    """All gauges with step, error, doubt, calibration, last study and last check; the retired ones last."""
    context = {
        "rows": calibration_sheet(club, timezone.localdate()),
        "address": page_address(request, reverse("gauge-list", args=[club.slug])),
    }
    return paper(request, "print/calibration_sheet.html", context, file_name=_("gauges"))


def gauge_labels(request: HttpRequest, club: Club) -> HttpResponse:
    """A label for each gauge in use; the code on it leads to its page, where it is checked."""
    rows = [row for row in calibration_sheet(club, timezone.localdate()) if row.gauge.retired_at is None]
    addresses = [reverse("gauge-detail", args=[club.slug, row.gauge.public_id]) for row in rows]
    labels = [(row, page_address(request, address)) for row, address in zip(rows, addresses, strict=True)]
    return paper(request, "print/gauge_labels.html", {"labels": labels}, file_name=_("gauge labels"))
