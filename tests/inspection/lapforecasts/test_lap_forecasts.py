import html
from decimal import Decimal
from fractions import Fraction

import pytest
from django.urls import reverse

from inspection.benchsheets.selectors import sheets_of
from inspection.dynamics.lap import predict_lap
from inspection.lapforecasts.pictures import draw_trace
from inspection.lapforecasts.selectors import Assumptions, forecast_of
from inspection.models import Part
from tests import factories
from tests.inspection.prepsheets.prep_case import PARTS, sheet_of

SECTIONS = [
    {"length": "3 m"}, {"radius": "500 mm", "angle": "180", "turn": "left"},
    {"length": "3 m"}, {"radius": "500 mm", "angle": "180", "turn": "left"},
]  # fmt: skip
MOTOR = {
    "name": "Motor with a long can", "kind": "motor",
    "sizes": {"no_load_speed": "20000 rpm", "at_voltage": "12 V", "stall_torque": "20 mNm", "resistance": "3 ohm"},
}  # fmt: skip
WEIGHED = Assumptions(mass=Fraction(85))


@pytest.fixture
def club(db):
    return factories.club()


@pytest.fixture
def sheet(club):
    layout = factories.track_layout(club, lanes=2, sections=SECTIONS, voltage_v=12, slot_depth_mm=Decimal("6.5"))
    layout.lanes.filter(number=1).update(offset_mm=50)
    layout.lanes.filter(number=2).update(offset_mm=-50)
    made = sheet_of(factories.car(club), track_layout=layout, parts=PARTS | {"motor": MOTOR})
    return sheets_of(club).get(pk=made.pk)


def gear(club, kind, teeth, diameter, **sizes):
    size = {"teeth": str(teeth), "outside_diameter": f"{diameter} mm", "module": "0.5 mm"} | sizes
    return Part.objects.create(club=club, code=f"{kind}-{teeth}", kind=kind, name=f"{kind} {teeth}", sizes=size)


def register(club):
    pinions = [gear(club, "pinion", teeth, "6.5", length="5 mm") for teeth in (10, 11)]
    spurs = [gear(club, "spur_gear", teeth, "19.5", face_width="2 mm", hub_width="2.5 mm") for teeth in (35, 37)]
    gear(club, "spur_gear", 20, "11", face_width="2 mm", hub_width="2.5 mm")
    return pinions, spurs


def test_each_lane_has_a_lap_with_its_spread(sheet):
    forecast = forecast_of(sheet, WEIGHED)

    inner, outer = forecast.lanes
    assert forecast.lacks == ()
    assert 0 < inner.spread_s < inner.own.time_s
    assert inner.own.time_s != outer.own.time_s
    assert inner.own.top_speed > 0


def test_a_lap_of_a_forecast_is_the_engines_own(sheet):
    forecast = forecast_of(sheet, WEIGHED)
    lane = forecast.lanes[0]

    lap = predict_lap(forecast.driving.car, ratio=35 / 11, lane=lane.stretches)

    assert lap.time_s == lane.own.time_s == forecast.lap_on(lane).time_s


def test_what_is_missing_is_named_and_nothing_is_predicted(sheet):
    forecast = forecast_of(sheet, Assumptions())

    assert forecast.lanes == ()
    assert len(forecast.lacks) == 1


def test_a_sheet_that_says_nothing_is_no_error(club):
    made = factories.bench_sheet(factories.car(club))

    forecast = forecast_of(sheets_of(club).get(pk=made.pk), Assumptions())

    assert forecast.lanes == ()
    assert forecast.lacks


def test_more_grip_is_quicker(sheet):
    usual, more = (
        forecast_of(sheet, Assumptions(mass=Fraction(85), grip=grip)).lanes[0].own.time_s
        for grip in (Fraction(1), Fraction(2))
    )

    assert more < usual


def test_nothing_uncertain_but_sizes_gives_a_smaller_spread(sheet):
    sure = Assumptions(
        mass=Fraction(85), grip_within=Fraction(0), braking_within=Fraction(0), efficiency_within=Fraction(0)
    )

    assert forecast_of(sheet, sure).lanes[0].spread_s < forecast_of(sheet, WEIGHED).lanes[0].spread_s


def test_the_best_gears_fit_and_drive(sheet, club):
    register(club)

    lane = forecast_of(sheet, WEIGHED).lanes[0]

    # 20 teeth of 11 mm would give another ratio, but do not reach the pinion.
    assert lane.best.name == "pinion 11 / spur_gear 37"
    assert lane.best_time.time_s <= lane.own.time_s
    assert lane.words.startswith("Cannot be ranked against the sheet's own gears")


def test_an_empty_register_says_so(sheet):
    assert forecast_of(sheet, WEIGHED).lanes[0].words == "No gears of the register fit, drive and are legal."


def test_laps_driven_with_the_sheet_stand_beside(sheet):
    factories.run(sheet.car, "3.10", "3.20", "3.15", sheet=sheet, track_layout=sheet.track_layout, lane=1)
    factories.run(sheet.car, "9.99", sheet=factories.bench_sheet(sheet.car), track_layout=sheet.track_layout, lane=1)

    first, second = forecast_of(sheet, WEIGHED).lanes

    assert first.driven.median == Fraction("3.15")
    assert second.driven is None


def test_the_picture_holds_the_whole_lap_and_marks_its_curves(sheet):
    forecast = forecast_of(sheet, WEIGHED)
    lane = forecast.lanes[0]

    picture = draw_trace(forecast.lap_on(lane), lane.stretches)

    assert len(picture.curves) == 2
    assert picture.curves[0].width == pytest.approx(picture.curves[1].width, abs=0.2)
    assert picture.line.startswith("M44.0 ")
    ends = [float(point.split()[0]) for point in picture.line[1:].split("L")]
    assert ends == sorted(ends)
    assert ends[-1] <= picture.width


@pytest.fixture
def desk(client, club):
    client.force_login(factories.member(club))
    return client


def test_the_page_shows_laps_and_what_is_assumed(desk, club, sheet):
    url = reverse("lap-prediction", args=[club.slug, sheet.public_id])

    page = html.unescape(desk.get(url, {"grip": "1.2", "mass": "85", "lane": "2"}).content.decode())

    assert "Lane by lane" in page
    assert "Speed along the lap" in page
    assert 'value="1.2"' in page
    assert 'value="0.85"' in page  # what is left empty is the usual


def test_the_page_asks_for_what_is_missing(desk, club, sheet):
    page = html.unescape(desk.get(reverse("lap-prediction", args=[club.slug, sheet.public_id])).content.decode())

    assert "Not known yet, and needed for it:" in page


@pytest.mark.parametrize("typed", [{"grip": "sticky"}, {"grip": "-1"}, {"braking": "2"}, {"mass": "0"}])
def test_what_cannot_be_is_marked(desk, club, sheet, typed):
    page = desk.get(reverse("lap-prediction", args=[club.slug, sheet.public_id]), {"grip": "1"} | typed)

    assert page.status_code == 200
    assert page.context["form"].errors
