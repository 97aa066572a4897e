"""The page of the lap prediction."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from inspection.benchsheets.selectors import sheets_of
from inspection.clubs.access import club_page
from inspection.lapforecasts.forms import AssumedForm
from inspection.lapforecasts.pictures import draw_trace
from inspection.lapforecasts.selectors import forecast_of
from inspection.models import Club

BENCH = "club.use_bench"


@club_page(BENCH)
def lap_prediction(request: HttpRequest, club: Club, public_id: str) -> HttpResponse:
    """What a sheet promises on each lane, beside what was driven with it."""
    sheet = get_object_or_404(sheets_of(club), public_id=public_id)
    form = AssumedForm(request.GET or None, club=club)
    forecast = forecast_of(sheet, form.assumptions)
    context = {"here": "bench", "sheet": sheet, "car": sheet.car, "form": form, "forecast": forecast}
    shown = [each for each in forecast.lanes if str(each.lane.number) == request.GET.get("lane")] or forecast.lanes[:1]
    if shown and shown[0].own is not None and (lap := forecast.lap_on(shown[0])):
        context |= {"shown": shown[0], "picture": draw_trace(lap, shown[0].stretches, decimal_mark=club.decimal_mark)}
    return render(request, "inspection/lapforecasts/lap_prediction.html", context)
