"""Lap counts against the clock. The four ratios are arithmetic on published night reports (trade practice)."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from racedesk.timing.errors import LapsError
from racedesk.timing.laps import LapCount, LapMethod
from racedesk.timing.plausible import Severity, find_problem, lap_ratio, most_laps


def laps(text, divisor=20):
    return LapCount.of_sections(int(Decimal(text) * divisor), divisor)


def problem(text, **facts):
    facts.setdefault("heat_length_s", Decimal(180))
    facts.setdefault("method", LapMethod.LANE_BY_LANE)
    return find_problem(laps=laps(text), **facts)


@pytest.mark.parametrize(
    ("count", "fastest_lap_s", "heat_length_s", "ratio"),
    [
        ("19.35", "8.91", 180, "0.958"),
        ("18.30", "8.96", 180, "0.911"),
        ("16.05", "9.07", 150, "0.970"),
        ("15.55", "9.67", 180, "0.835"),
    ],
)
def test_the_ratios_of_four_reported_heats(count, fastest_lap_s, heat_length_s, ratio):
    exact = lap_ratio(laps=laps(count), fastest_lap_s=Decimal(fastest_lap_s), heat_length_s=Decimal(heat_length_s))
    assert f"{float(exact):.3f}" == ratio
    assert problem(count, heat_length_s=Decimal(heat_length_s), fastest_lap_s=Decimal(fastest_lap_s)) is None


def test_the_laps_that_a_break_out_time_leaves_in_sixteen_minutes():
    # Trade practice: 960 / 5.3 = 181.1 laps, at 5.100 s 188.2: a lane 5.3 m long at 1 m/s is the same sum.
    assert most_laps(heat_length_s=Decimal(960), lane_length_m=Decimal("5.3"), top_speed_m_s=Decimal(1)) == 181
    assert most_laps(heat_length_s=Decimal(960), lane_length_m=Decimal("5.1"), top_speed_m_s=Decimal(1)) == 188


def test_more_laps_than_the_fastest_known_lap_allows_are_asked_about():
    found = problem("21.00", fastest_lap_s=Decimal("8.91"))
    assert (found.code, found.severity, found.most) == ("faster_than_known", Severity.ASK, 20)
    assert found.ratio > 1


def test_more_laps_than_this_heats_own_fastest_lap_allows_are_refused():
    found = problem("21.00", fastest_lap_s=Decimal("8.91"), is_fastest_of_this_heat=True)
    assert found.severity is Severity.REFUSE


def test_coasting_past_the_line_is_no_problem():
    # 20.25 x 8.91 = 180.4 s in a heat of 180 s.
    assert problem("20.25", fastest_lap_s=Decimal("8.91"), is_fastest_of_this_heat=True) is None


@pytest.mark.parametrize("method", [LapMethod.CARRIED, LapMethod.COMPLETED])
def test_a_carried_part_or_a_completed_lap_allows_one_lap_more(method):
    assert problem("21.00", fastest_lap_s=Decimal("8.91"), method=method) is None
    assert problem("22.00", fastest_lap_s=Decimal("8.91"), method=method).code == "faster_than_known"


def test_very_few_laps_are_asked_about():
    found = problem("1.85", fastest_lap_s=Decimal("8.91"))
    assert (found.code, found.severity, found.most) == ("few_laps", Severity.ASK, None)
    assert problem("0", fastest_lap_s=Decimal("8.91")).code == "few_laps"
    assert problem("0") is None


def test_exactly_six_tenths_is_no_problem():
    assert problem("12.00", fastest_lap_s=Decimal(9)) is None
    assert problem("11.95", fastest_lap_s=Decimal(9)).code == "few_laps"


def test_a_lane_and_a_clock_alone_refuse_what_no_car_does():
    found = problem("400.00", lane_length_m=Decimal(20))
    assert (found.code, found.severity, found.most) == ("more_than_the_clock_allows", Severity.REFUSE, 364)
    assert "0.45 s a lap" in found.explanation
    assert problem("200.00", lane_length_m=Decimal(20)).severity is Severity.ASK
    assert problem("100.00", lane_length_m=Decimal(20)) is None


def test_a_lane_of_unknown_length_refuses_what_no_track_allows():
    assert problem("365.00").severity is Severity.REFUSE
    assert problem("364.00").severity is Severity.ASK
    assert problem("182.00") is None


def test_a_refusal_goes_before_a_question():
    found = problem("200.00", lane_length_m=Decimal(20), fastest_lap_s=Decimal(9), is_fastest_of_this_heat=True)
    assert (found.code, found.severity) == ("faster_than_known", Severity.REFUSE)


@pytest.mark.parametrize("name", ["heat_length_s", "lane_length_m", "fastest_lap_s"])
@pytest.mark.parametrize("value", ["0", "-1", "NaN", "Infinity"])
def test_a_time_or_length_that_cannot_be_is_refused(name, value):
    with pytest.raises(LapsError) as refused:
        problem("18.00", **{name: Decimal(value)})
    assert refused.value.code == "bad_time"


@given(
    st.integers(0, 10_000),
    st.decimals("1", "100000", places=1),
    st.none() | st.decimals("0.1", "1000", places=2),
    st.none() | st.decimals("0.1", "1000", places=3),
    st.sampled_from(LapMethod),
    st.booleans(),
)
def test_fewer_laps_than_the_most_allowed_are_never_too_many(sections, heat_s, lane_m, lap_s, method, is_own):
    found = find_problem(
        laps=LapCount.of_sections(sections, 20),
        heat_length_s=heat_s,
        method=method,
        lane_length_m=lane_m,
        fastest_lap_s=lap_s,
        is_fastest_of_this_heat=is_own,
    )
    if found is not None and found.most is not None:
        assert sections > found.most * 20
