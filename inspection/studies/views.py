"""Pages of gauge studies."""

import secrets
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from inspection.clubs.access import club_page
from inspection.clubs.errors import Refused
from inspection.gauges.selectors import shown_text
from inspection.models import Club, Gauge, GaugeStudy
from inspection.studies.documents import blank_study
from inspection.studies.errors import AlreadyMeasured, FarFromOthers
from inspection.studies.forms import BiasStudyForm, CrossedStudyForm, ReadingForm
from inspection.studies.selectors import asked_place, progress_of, prompt_of, studies_in, unit_shown
from inspection.studies.services import discard_study, record_reading, start_study

INSPECT = "club.inspect"


def _page(request: HttpRequest, name: str, context: dict[str, Any], status: int = 200) -> HttpResponse:
    return render(request, f"inspection/studies/{name}.html", {"here": "rulesheet-list"} | context, status=status)


@club_page(INSPECT, methods=("GET", "POST"))
def study_create(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    gauge = get_object_or_404(Gauge.objects.of(club).select_related("club"), public_id=public_id)
    kind = "bias" if request.GET.get("kind") == "bias" else "crossed"
    form = (BiasStudyForm if kind == "bias" else CrossedStudyForm)(request.POST or None, gauge=gauge)
    if request.method == "POST" and form.is_valid():
        try:
            seed = secrets.randbelow(1_000_000)
            study = start_study(gauge=gauge, content=form.content(), seed=seed, by=request.user)
            return redirect("study-measure", club.slug, study.public_id)
        except Refused as refusal:
            form.add_error(None, str(refusal))
    context = {"form": form, "gauge": gauge, "kind": kind, "unit": unit_shown(gauge)}
    return _page(request, "study_form", context, status=422 if form.is_bound else 200)


@club_page(INSPECT, methods=("GET", "POST"))
def study_measure(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """One reading after the other: Enter records it and asks for the next."""
    study = get_object_or_404(studies_in(club), public_id=public_id)
    form = ReadingForm(request.POST or None, gauge=study.gauge)
    if request.method == "POST" and form.is_valid():
        said = form.cleaned_data
        try:
            record_reading(
                study=study, place=said["place"], reading=said["text"], corrects=said["corrects"], sure=said["sure"],
                by=request.user,
            )  # fmt: skip
            return redirect("study-measure", club.slug, study.public_id)
        except Refused as refusal:
            form.add_error(None, str(refusal))
            return _measuring(request, study, form, refusal=refusal)
    return _measuring(request, study, form)


def _measuring(
    request: HttpRequest, study: GaugeStudy, form: ReadingForm, refusal: Refused | None = None
) -> HttpResponse:
    progress = progress_of(study)
    was_there = isinstance(refusal, AlreadyMeasured)
    asked = "" if was_there else form.data.get("place") or request.GET.get("at", "")
    place = asked_place(progress, asked)
    if place is None or study.adopted_at:
        return redirect("study-detail", study.gauge.club.slug, study.public_id)
    prompt, mark = prompt_of(progress, place), study.gauge.club.decimal_mark
    context = {
        "study": study,
        "progress": progress,
        "prompt": prompt,
        "standing": shown_text(prompt.stands.reading, decimal_mark=mark) if prompt.stands else "",
        "before_shown": shown_text(prompt.shown, decimal_mark=mark),
        "typed": "" if was_there else form.data.get("text", ""),
        "form": form,
        "unit": unit_shown(study.gauge),
        "asks_again": isinstance(refusal, FarFromOthers),
    }
    status = 200 if not form.is_bound else (409 if refusal else 422)
    return _page(request, "study_measure", context, status=status)


@club_page(INSPECT, methods=("POST",))
def study_discard(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    study = get_object_or_404(studies_in(club), public_id=public_id)
    discard_study(study=study, by=request.user)
    messages.success(request, _("“{name}” is dropped.").format(name=study.name))
    return redirect("gauge-detail", club.slug, study.gauge.public_id)


@club_page(INSPECT)
def study_blank_print(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    return blank_study(request, get_object_or_404(studies_in(club), public_id=public_id))
