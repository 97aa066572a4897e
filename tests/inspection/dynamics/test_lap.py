"""Laps against closed forms, and what must hold for every lap."""

from dataclasses import replace
from math import inf, pi, sqrt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inspection.dynamics.car import GRAVITY, pull_of
from inspection.dynamics.errors import DynamicsCode, DynamicsError
from inspection.dynamics.lap import best_ratios, predict_lap, rank_ratios, speed_trace
from inspection.dynamics.track import Curve, Straight, Stretch, Turn, lane_of
from tests.inspection.dynamics.oval import OVAL, car, motor

LANE = lane_of(OVAL, offset_m=0)
lanes = st.lists(
    st.builds(Stretch, st.floats(0.05, 5), st.one_of(st.just(inf), st.floats(0.1, 3))), min_size=1, max_size=10
).map(tuple)
cars = st.builds(
    lambda grip, braking, torque: car(grip=grip, braking_share=braking, motor=motor(stall_torque_nm=torque)),
    st.floats(0.3, 2),
    st.floats(0.1, 1),
    st.floats(0.003, 0.05),
)
ratios = st.floats(1.5, 8)


def test_round_a_circle_the_lap_is_its_length_over_the_root_of_mu_g_r():
    """Closed form."""
    lap = predict_lap(car(grip=0.8), ratio=3.0, lane=(Stretch(pi, 0.5), Stretch(pi, 0.5)))
    assert lap.time_s == pytest.approx(2 * pi / sqrt(0.8 * GRAVITY * 0.5))
    assert lap.top_speed == pytest.approx(sqrt(0.8 * GRAVITY * 0.5))


def test_without_curves_the_lap_is_its_length_over_the_top_speed():
    one = car()
    lap = predict_lap(one, ratio=3.0, lane=(Stretch(5.0, inf), Stretch(7.0, inf)))
    assert lap.time_s == pytest.approx(12 / pull_of(one, 3.0).top, rel=1e-6)


def test_with_a_motor_to_spare_an_oval_is_grip_alone():
    """Closed form: p**2 = c**2 + 2 L a b / (a + b), and (p - c) (1 / a + 1 / b) seconds a straight."""
    strong = car(motor=motor(stall_torque_nm=5.0, no_load_rpm=90000.0))
    lap = predict_lap(strong, ratio=3.0, lane=LANE)
    a, b, corner = GRAVITY, 0.6 * GRAVITY, sqrt(GRAVITY * 0.5)
    peak = sqrt(corner**2 + 2 * 3.0 * a * b / (a + b))
    straight = (peak - corner) * (1 / a + 1 / b)
    assert lap.top_speed == pytest.approx(peak)
    assert lap.time_s == pytest.approx(2 * straight + pi / corner)


def test_a_weak_motor_never_reaches_the_speed_of_the_curve():
    """Closed form: then the whole lap is driven flat out at the top speed."""
    weak = car(motor=motor(no_load_rpm=4000.0))
    lap = predict_lap(weak, ratio=3.0, lane=LANE)
    assert pull_of(weak, 3.0).top < weak.curve_speed(0.5)
    assert lap.time_s == pytest.approx((6 + pi) / pull_of(weak, 3.0).top, rel=1e-6)


def test_a_tight_curve_after_a_wide_one_is_braked_for_in_the_wide_one():
    """Closed form: v**2 = c**2 + 2 b s at the entry of the wide one."""
    lane = (Stretch(0.2, 2.0), Stretch(0.5, 0.2), Stretch(6.0, inf))
    one = car()
    entry = predict_lap(one, ratio=3.0, lane=lane).passages[0].entry
    tight = one.curve_speed(0.2)
    assert entry == pytest.approx(sqrt(tight**2 + 2 * one.braking * 0.2))
    assert entry < one.curve_speed(2.0)


def test_ratios_are_ranked_by_their_laps():
    ranked = rank_ratios(car(), [2.0, 3.0, 4.0, 5.0, 6.0], LANE)
    assert [one.time_s for one in ranked] == sorted(one.time_s for one in ranked)
    assert ranked[-1].ratio == 6.0
    for one in ranked:
        assert one.time_s == predict_lap(car(), ratio=one.ratio, lane=LANE).time_s


def test_a_longer_lane_with_wider_curves_may_want_another_ratio():
    """Long straights want speed, short ones pull."""
    weak = car(motor=motor(stall_torque_nm=0.004))
    short = lane_of((Straight(0.8), Curve(0.3, 180, Turn.LEFT)) * 2, offset_m=0)
    long = lane_of((Straight(12.0), Curve(0.3, 180, Turn.LEFT)) * 2, offset_m=0)
    quickest = best_ratios(weak, [1.5 + 0.25 * step for step in range(20)], [short, long])
    assert quickest[0].ratio > quickest[1].ratio


def test_a_ratio_that_does_not_move_the_car_is_left_out():
    heavy = car(rolling=0.3, motor=motor(stall_torque_nm=0.001))
    assert [one.ratio for one in rank_ratios(heavy, [0.5, 6.0], LANE)] == [6.0]
    assert best_ratios(heavy, [0.5], [LANE]) == (None,)


def test_a_trace_runs_through_every_stretch():
    lap = predict_lap(car(), ratio=3.0, lane=LANE)
    points = speed_trace(lap)
    places = [place for place, _ in points]
    assert places == sorted(places)
    assert (places[0], places[-1]) == (0, pytest.approx(lap.length_m))
    assert max(speed for _, speed in points) == pytest.approx(lap.top_speed)
    assert points[0][1] == pytest.approx(points[-1][1])


@pytest.mark.parametrize(
    ("make", "code"),
    [
        (lambda: predict_lap(car(), ratio=3.0, lane=()), DynamicsCode.NO_SECTIONS),
        (lambda: predict_lap(car(), ratio=-1.0, lane=LANE), DynamicsCode.NOT_POSITIVE),
        (lambda: rank_ratios(car(), [], LANE), DynamicsCode.NO_RATIOS),
        (lambda: rank_ratios(car(), [0.0], LANE), DynamicsCode.NOT_POSITIVE),
    ],
)
def test_a_lap_of_nothing_is_refused(make, code):
    with pytest.raises(DynamicsError) as refused:
        make()
    assert refused.value.code is code


@settings(max_examples=60, deadline=None)
@given(cars, ratios, lanes)
def test_no_lap_breaks_a_law(one, ratio, lane):
    """No faster than grip or motor allow, never braking harder than it can, speeds that join up."""
    lap = predict_lap(one, ratio=ratio, lane=lane)
    for number, (stretch, passage) in enumerate(zip(lane, lap.passages, strict=True)):
        following = lap.passages[(number + 1) % len(lane)]
        assert passage.exit == following.entry
        assert passage.peak <= min(one.curve_speed(stretch.radius_m), lap.pull.top) * (1 + 1e-9)
        assert max(passage.entry, passage.exit) <= passage.peak * (1 + 1e-9)
        gained = lap.pull.distance(passage.entry, passage.peak)
        braked = (passage.peak**2 - passage.exit**2) / (2 * one.braking)
        assert gained + braked <= stretch.length_m + 1e-6
        assert passage.time_s >= stretch.length_m / passage.peak * (1 - 1e-6)


@settings(max_examples=40, deadline=None)
@given(cars, ratios, lanes, st.integers(0, 9))
def test_a_lap_is_the_same_wherever_the_line_is(one, ratio, lane, shift):
    cut = shift % len(lane)
    turned = lane[cut:] + lane[:cut]
    first, second = predict_lap(one, ratio=ratio, lane=lane), predict_lap(one, ratio=ratio, lane=turned)
    assert first.time_s == pytest.approx(second.time_s, rel=1e-6)


@settings(max_examples=40, deadline=None)
@given(cars, ratios, lanes, st.floats(1, 2))
def test_more_grip_or_more_torque_is_never_slower(one, ratio, lane, more):
    time = predict_lap(one, ratio=ratio, lane=lane).time_s
    grippy = replace(one, grip=one.grip * more)
    strong = replace(one, motor=replace(one.motor, stall_torque_nm=one.motor.stall_torque_nm * more))
    for better in (grippy, strong):
        assert predict_lap(better, ratio=ratio, lane=lane).time_s <= time * (1 + 1e-6)
