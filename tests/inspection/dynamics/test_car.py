"""Motor and pull against closed forms and against plain integration."""

from math import exp, inf, pi, sqrt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inspection.dynamics.car import GRAVITY, Pull, motor_from_bench, pull_of
from inspection.dynamics.errors import DynamicsCode, DynamicsError
from tests.inspection.dynamics.oval import car, motor

pulls = st.builds(
    lambda top, tau, share: Pull(top, tau, top / tau * share, max(0.0, top - top * share)),
    st.floats(1, 20),
    st.floats(0.05, 2),
    st.floats(0.05, 2),
)


def test_torque_falls_in_a_line_from_stall_to_no_load():
    """The textbook's linear motor."""
    one = motor()
    free = one.no_load_speed(12)
    assert free == pytest.approx(20000 * 2 * pi / 60)
    assert one.torque(0, 12, 0) == pytest.approx(0.012)
    assert one.torque(free / 2, 12, 0) == pytest.approx(0.006)
    assert one.torque(free, 12, 0) == pytest.approx(0, abs=1e-15)


def test_voltage_and_resistance_before_the_motor_count():
    one = motor()
    assert one.no_load_speed(6) == pytest.approx(one.no_load_speed(12) / 2)
    assert one.stall_torque(6, 0) == pytest.approx(0.006)
    # as much resistance before the motor as in it halves the current at stall
    assert one.stall_torque(12, 5) == pytest.approx(0.006)


def test_a_motor_is_known_from_speed_current_and_resistance():
    """Derived: 12 V, 0.2 A and 5 ohm leave 11 V at 1000 rad/s: k = 0.011 V s; 2.4 - 0.2 A at stall."""
    one = motor_from_bench(no_load_rpm=1000 * 30 / pi, no_load_current_a=0.2, resistance_ohm=5.0, at_voltage_v=12.0)
    assert one.stall_torque_nm == pytest.approx(0.011 * 2.2)
    with pytest.raises(DynamicsError) as refused:
        motor_from_bench(no_load_rpm=1000, no_load_current_a=2.4, resistance_ohm=5.0, at_voltage_v=12.0)
    assert refused.value.code is DynamicsCode.DOES_NOT_MOVE


@pytest.mark.parametrize("radius", [0.15, 0.5, 2.0])
def test_the_speed_round_a_curve_is_the_root_of_mu_g_r(radius):
    """Closed form."""
    assert car(grip=0.9).curve_speed(radius) == pytest.approx(sqrt(0.9 * GRAVITY * radius))
    assert car().curve_speed(inf) == inf


def test_downforce_as_large_as_the_weight_is_twice_the_grip():
    one = car(downforce_n=0.08 * GRAVITY)
    assert one.curve_speed(0.5) == pytest.approx(sqrt(2 * GRAVITY * 0.5))
    assert one.braking == pytest.approx(2 * car().braking)


@pytest.mark.parametrize("time", [0.01, 0.1, 0.5, 2.0])
def test_a_car_with_grip_to_spare_approaches_its_top_speed_exponentially(time):
    """Closed form: v = v0 (1 - exp(-t / tau)), tau = m v0 / F0, s = v0 t - tau v."""
    pull = pull_of(car(grip=1000.0), 3.0)
    top = 20000 * pi / 30 * 0.01 / 3
    tau = 0.08 * top / (0.85 * 0.012 * 3 / 0.01)
    assert (pull.top, pull.tau) == (pytest.approx(top), pytest.approx(tau))
    speed = top * (1 - exp(-time / tau))
    distance = top * time - tau * speed
    assert pull.run(0, distance) == (pytest.approx(time), pytest.approx(speed))
    assert pull.time(0, speed) == pytest.approx(time)
    assert pull.distance(0, speed) == pytest.approx(distance)


def test_a_car_short_of_grip_gathers_speed_evenly():
    """Closed form: v**2 = 2 mu g s."""
    pull = pull_of(car(grip=0.5), 3.0)
    time, speed = pull.run(0, 1.0)
    assert speed == pytest.approx(sqrt(2 * 0.5 * GRAVITY))
    assert time == pytest.approx(speed / (0.5 * GRAVITY))


def test_a_pull_agrees_with_plain_integration():
    """Runge-Kutta over m dv/dt = min(grip, motor) - rolling, in steps of 0.1 ms."""
    one = car(rolling=0.05, rear_share=0.6)
    pull, radius = pull_of(one, 3.0), one.tire_diameter_m / 2

    def gain(speed):
        push = one.efficiency * one.motor.torque(speed * 3 / radius, 12, 0) * 3 / radius
        return (min(push, one.grip * one.rear_share * one.load_n) - one.rolling * one.load_n) / one.mass_kg

    speed = distance = 0.0
    step = 1e-4
    for _ in range(15000):
        a = gain(speed)
        b = gain(speed + a * step / 2)
        c = gain(speed + b * step / 2)
        d = gain(speed + c * step)
        distance += step * (speed + step * (a + b + c) / 6)
        speed += step * (a + 2 * b + 2 * c + d) / 6
    assert 0 < pull.until < speed < pull.top
    assert pull.run(0, distance) == (pytest.approx(1.5, abs=1e-5), pytest.approx(speed, abs=1e-6))


def test_rolling_resistance_takes_from_the_top_speed_in_proportion():
    """Closed form: v0 (1 - R / F0)."""
    free, held = pull_of(car(), 3.0), pull_of(car(rolling=0.1), 3.0)
    assert held.top / free.top == pytest.approx(1 - 0.1 * 0.08 * GRAVITY / (0.85 * 0.012 * 3 / 0.01))
    assert held.tau == pytest.approx(free.tau)


@settings(max_examples=60)
@given(pulls, st.floats(0, 0.99), st.floats(0.001, 0.99))
def test_time_and_distance_of_a_pull_agree_with_its_run(pull, begin, end):
    low, high = sorted((begin * pull.top, end * pull.top))
    time, speed = pull.run(low, pull.distance(low, high))
    assert speed == pytest.approx(high, rel=1e-6)
    assert time == pytest.approx(pull.time(low, high), rel=1e-5, abs=1e-7)


def test_the_first_hair_of_a_run_is_gathered_evenly():
    """Where digits could be lost: v**2 / 2 a with a = top / tau, whether by distance or by time."""
    pull = Pull(top=20.0, tau=1.0, limit=100.0, until=0.0)
    assert pull.distance(0, 1e-6) == pytest.approx(1e-12 / 40, rel=1e-6)
    assert pull.time(0, 1e-6) == pytest.approx(5e-8, rel=1e-6)
    assert pull.run(1.0, -1e-18) == (pytest.approx(0, abs=1e-12), pytest.approx(1.0))


@settings(max_examples=40)
@given(pulls, st.floats(0, 0.9), st.floats(0, 50), st.floats(0, 50))
def test_a_longer_run_is_never_slower_at_its_end(pull, begin, one, other):
    near, far = sorted((one, other))
    first, second = pull.run(begin * pull.top, near), pull.run(begin * pull.top, far)
    assert first[0] <= second[0] + 1e-12
    assert first[1] <= second[1] + 1e-9
    assert second[1] <= pull.top


@pytest.mark.parametrize(
    ("make", "code"),
    [
        (lambda: car(mass_kg=0), DynamicsCode.NOT_POSITIVE),
        (lambda: car(grip=float("nan")), DynamicsCode.NOT_POSITIVE),
        (lambda: car(downforce_n=-1.0), DynamicsCode.NOT_POSITIVE),
        (lambda: car(supply_ohm=inf), DynamicsCode.NOT_POSITIVE),
        (lambda: car(efficiency=1.1), DynamicsCode.NOT_A_SHARE),
        (lambda: car(rolling=-0.1), DynamicsCode.NOT_A_SHARE),
        (lambda: motor(no_load_rpm=0), DynamicsCode.NOT_POSITIVE),
        (lambda: pull_of(car(), 0), DynamicsCode.NOT_POSITIVE),
        (lambda: pull_of(car(rolling=0.9, motor=motor(stall_torque_nm=0.0001)), 1.0), DynamicsCode.DOES_NOT_MOVE),
        (lambda: pull_of(car(rolling=0.5, grip=0.4), 3.0), DynamicsCode.DOES_NOT_MOVE),
    ],
)
def test_what_no_car_can_be_is_refused(make, code):
    with pytest.raises(DynamicsError) as refused:
        make()
    assert refused.value.code is code
