"""Pages of results: as they stand, published, corrected, printed."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _

from inspection.clubs.access import club_page
from inspection.clubs.errors import Refused
from inspection.models import Club, Lane
from racedesk.entries.selectors import entries_of
from racedesk.models import Penalty, Race, ResultSheet
from racedesk.results import documents, services
from racedesk.results.forms import CorrectionForm, PenaltyForm, WithdrawPenaltyForm
from racedesk.results.selectors import changes_between, outcome_of, penalties_of, sheets_of, shown_rows


def _race(club: Club, public_id: str) -> Race:
    races = Race.objects.of(club).select_related("event__club", "event__track_layout__track", "racing_class")
    return get_object_or_404(races, public_id=public_id)


def _lanes(race: Race) -> list[Lane]:
    return list(race.event.track_layout.lanes.all())


def _chosen(sheets: list[ResultSheet], number: str) -> ResultSheet | None:
    """The revision asked for, the latest when none is; 404 for one that is not there."""
    if not number:
        return sheets[0] if sheets else None
    found = next((sheet for sheet in sheets if str(sheet.number) == number), None)
    if found is None:
        raise Http404
    return found


@club_page(public=True)
def result_detail(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """The published result; `?revision=` shows an earlier one. Without one, what is still to be done."""
    race = _race(club, public_id)
    sheets = sheets_of(race)
    sheet = _chosen(sheets, request.GET.get("revision", ""))
    lanes = _lanes(race)
    rows = shown_rows(list(sheet.rows.all()), [lane.number for lane in lanes]) if sheet else []
    if sheet and request.GET.get("export") in {"csv", "xlsx"}:
        return documents.result_export(request.GET["export"], race=race, rows=rows, lanes=lanes)
    context = {"race": race, "event": race.event, "sheet": sheet, "sheets": sheets, "rows": rows, "lanes": lanes}
    return render(request, "racedesk/results/result_detail.html", context | {"here": "result-detail"})


@club_page(public=True)
def result_print(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """The result sheet as paper."""
    race = _race(club, public_id)
    sheet = _chosen(sheets_of(race), request.GET.get("revision", ""))
    if sheet is None:
        raise Http404
    lanes = _lanes(race)
    rows = shown_rows(list(sheet.rows.all()), [lane.number for lane in lanes])
    return documents.result_paper(request, race=race, sheet=sheet, rows=rows, lanes=lanes)


@club_page("club.publish_results")
def result_preview(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """The result as it would be published now, with what stands in the way."""
    race = _race(club, public_id)
    lanes = _lanes(race)
    outcome = outcome_of(race)
    context = {
        "race": race,
        "event": race.event,
        "lanes": lanes,
        "outcome": outcome,
        "rows": shown_rows(outcome.rows, [lane.number for lane in lanes]),
        "penalties": penalties_of(race),
        "published": race.result_sheets.current().first(),
        "here": "result-detail",
    }
    return render(request, "racedesk/results/result_preview.html", context)


@club_page("club.publish_results", methods=("POST",))
def result_publish(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Publish; a refusal is told on the preview."""
    race = _race(club, public_id)
    try:
        sheet = services.publish_results(race=race, by=request.user)
    except Refused as refusal:
        messages.error(request, str(refusal))
        return redirect("result-preview", club=club.slug, public_id=public_id)
    messages.success(request, _("Result {number} is published.").format(number=sheet.number))
    return redirect("result-detail", club=club.slug, public_id=public_id)


@club_page("club.publish_results", methods=("GET", "POST"))
def result_correct(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """What a new revision would change, and the note that must go with it."""
    race = _race(club, public_id)
    form = CorrectionForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            services.correct_results(race=race, by=request.user, **form.cleaned_data)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, _("The corrected result is published."))
            return redirect("result-detail", club=club.slug, public_id=public_id)
    published = race.result_sheets.current().first()
    changes = changes_between(list(published.rows.all()) if published else [], outcome_of(race).rows)
    context = {"race": race, "event": race.event, "form": form, "published": published, "changes": changes}
    return render(request, "racedesk/results/result_correct.html", context, status=422 if form.errors else 200)


@club_page("club.publish_results", methods=("GET", "POST"))
def penalty_create(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """Take laps away, or exclude, with a reason."""
    race = _race(club, public_id)
    form = PenaltyForm(request.POST or None, entries=list(entries_of(race)))
    if request.method == "POST" and form.is_valid():
        try:
            services.add_penalty(race=race, by=request.user, **form.cleaned_data)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, _("The penalty is recorded. It shows once the result is published or corrected."))
            return redirect("result-preview", club=club.slug, public_id=public_id)
    context = {"race": race, "event": race.event, "form": form}
    return render(request, "racedesk/results/penalty_create.html", context, status=422 if form.errors else 200)


@club_page("club.publish_results", methods=("GET", "POST"))
def penalty_withdraw(request: HttpRequest, club: Club, pk: int) -> HttpResponse:
    """Take a penalty back, with a reason; its line stays on record."""
    penalties = Penalty.objects.filter(race__event__club=club, withdrawn_at__isnull=True)
    penalty = get_object_or_404(penalties.select_related("race__event__club", "entry"), pk=pk)
    form = WithdrawPenaltyForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            services.withdraw_penalty(penalty=penalty, by=request.user, **form.cleaned_data)
        except Refused as refusal:
            form.add_error(None, str(refusal))
        else:
            messages.success(request, _("The penalty is taken back."))
            return redirect("result-preview", club=club.slug, public_id=penalty.race.public_id)
    context = {"penalty": penalty, "race": penalty.race, "event": penalty.race.event, "form": form}
    return render(request, "racedesk/results/penalty_withdraw.html", context, status=422 if form.errors else 200)
