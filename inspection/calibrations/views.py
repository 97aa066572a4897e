"""The page of a gauge: what it can do, when it was calibrated, checked and studied."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _

from inspection.calibrations.documents import gauge_labels, gauge_sheet
from inspection.calibrations.forms import CheckForm
from inspection.calibrations.selectors import check_rows, gauge_facts, last_check_of
from inspection.calibrations.services import record_check
from inspection.clubs.access import club_page
from inspection.clubs.errors import Refused
from inspection.gauges.selectors import calibration_state, doubt_words
from inspection.models import Club, Gauge, GaugeCheck
from inspection.studies.selectors import kind_measured, studies_of, unit_shown

SHOWN_CHECKS = 20


@club_page("club.inspect", methods=("GET", "POST"))
def gauge_detail(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """A post is a check before the cars."""
    gauge = get_object_or_404(Gauge.objects.of(club).select_related("club"), public_id=public_id)
    form = CheckForm(request.POST or None, gauge=gauge, last=last_check_of(gauge))
    if request.method == "POST" and form.is_valid():
        try:
            check = record_check(gauge=gauge, **form.cleaned_data, by=request.user)
            _tell(request, check)
            return redirect("gauge-detail", club.slug, public_id)
        except Refused as refusal:
            form.add_error(None, str(refusal))
    return render(
        request,
        "inspection/calibrations/gauge_detail.html",
        _context(gauge, form),
        status=422 if form.is_bound else 200,
    )


def _context(gauge: Gauge, form: CheckForm) -> dict[str, Any]:
    mark, state = gauge.club.decimal_mark, calibration_state(gauge, timezone.localdate())
    return {
        "here": "rulesheet-list",
        "gauge": gauge,
        "form": form,
        "reads": kind_measured(gauge) is not None,
        "doubt": doubt_words(gauge, decimal_mark=mark),
        "state": state,
        "facts": gauge_facts(gauge, state),
        "unit": unit_shown(gauge),
        "checks": check_rows(gauge, SHOWN_CHECKS),
        "studies": studies_of(gauge),
    }


def _tell(request: HttpRequest, check: GaugeCheck) -> None:
    """At once, whether the gauge may be used."""
    mark = check.gauge.club.decimal_mark
    said = {"reading": check.reading.replace(".", mark), "nominal": check.nominal.replace(".", mark)}
    if check.is_within:
        messages.success(request, _("{reading} for {nominal}: within its error.").format(**said))
    else:
        words = _("{reading} for {nominal}: further off than its maker permits. Do not measure with it tonight.")
        messages.warning(request, words.format(**said))


@club_page("club.inspect")
def gauge_print(request: HttpRequest, club: Club) -> HttpResponse:
    return gauge_sheet(request, club)


@club_page("club.inspect")
def gauge_label_print(request: HttpRequest, club: Club) -> HttpResponse:
    return gauge_labels(request, club)
