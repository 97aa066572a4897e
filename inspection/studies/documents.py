"""Studies on paper: a blank form in the order of measuring."""

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.translation import gettext as _

from inspection.models import GaugeStudy
from inspection.papers.documents import page_address, paper
from inspection.studies.selectors import blocks_of, unit_shown


def blank_study(request: HttpRequest, study: GaugeStudy) -> HttpResponse:
    """The form to fill in by hand; typed in later, it asks in the same order."""
    address = reverse("study-measure", args=[study.gauge.club.slug, study.public_id])
    context = {
        "study": study,
        "blocks": blocks_of(study),
        "unit": unit_shown(study.gauge),
        "address": page_address(request, address),
    }
    return paper(request, "print/study_form.html", context, file_name=_("gauge study {name}").format(name=study.name))
