"""The page of a study: how far it has come, then what it has found and who took that over."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from inspection.clubs.access import club_page
from inspection.models import Club
from inspection.studies.selectors import Progress, progress_of, reading_rows, studies_in, unit_shown
from inspection.studyoutcomes.pictures import bias_picture, readings_picture
from inspection.studyoutcomes.selectors import (
    CrossedOutcome,
    anova_rows,
    bias_figures,
    bias_words,
    crossed_words,
    outcome_of,
    spread_rows,
)
from inspection.studyoutcomes.services import adopt_study, release_study

INSPECT, GAUGES = "club.inspect", "club.manage_gauges"


@club_page(INSPECT)
def study_detail(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    study = get_object_or_404(studies_in(club), public_id=public_id)
    progress = progress_of(study)
    context = {
        "here": "rulesheet-list",
        "study": study,
        "progress": progress,
        "unit": unit_shown(study.gauge),
        "rows": reading_rows(progress, decimal_mark=club.decimal_mark),
        **_outcome(progress, club),
    }
    return render(request, "inspection/studyoutcomes/study_detail.html", context)


def _outcome(progress: Progress, club: Club) -> dict[str, Any]:
    """What the page shows of a finished study."""
    outcome, study, mark = outcome_of(progress), progress.study, club.decimal_mark
    if outcome is None:
        return {"outcome": None}
    if isinstance(outcome, CrossedOutcome):
        return {
            "outcome": outcome,
            "words": crossed_words(outcome, study.gauge, decimal_mark=mark),
            "spread": spread_rows(outcome, decimal_mark=mark),
            "anova": anova_rows(outcome, decimal_mark=mark),
            "picture": readings_picture(outcome, study, decimal_mark=mark),
        }
    return {
        "outcome": outcome,
        "words": bias_words(outcome, study.gauge, decimal_mark=mark),
        "figures": bias_figures(outcome, decimal_mark=mark),
        "picture": bias_picture(outcome, decimal_mark=mark),
    }


@club_page(GAUGES, methods=("POST",))
def study_adopt(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    study = adopt_study(study=get_object_or_404(studies_in(club), public_id=public_id), by=request.user)
    messages.success(request, _("{gauge} has it from now on.").format(gauge=study.gauge.name))
    return redirect("study-detail", club.slug, public_id)


@club_page(GAUGES, methods=("POST",))
def study_release(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    study = release_study(study=get_object_or_404(studies_in(club), public_id=public_id), by=request.user)
    messages.success(request, _("{gauge} has again what it had before.").format(gauge=study.gauge.name))
    return redirect("study-detail", club.slug, public_id)
