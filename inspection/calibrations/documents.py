"""The calibration sheet: every gauge of a club on paper."""

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _

from inspection.calibrations.selectors import calibration_sheet
from inspection.clubs.documents import page_address, paper
from inspection.models import Club


def gauge_sheet(request: HttpRequest, club: Club) -> HttpResponse:
    """All gauges with step, error, doubt, calibration, last study and last check; the retired ones last."""
    context = {
        "rows": calibration_sheet(club, timezone.localdate()),
        "address": page_address(request, reverse("gauge-list", args=[club.slug])),
    }
    return paper(request, "print/calibration_sheet.html", context, file_name=_("gauges"))
