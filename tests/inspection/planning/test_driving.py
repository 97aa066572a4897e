"""A bench as a car that drives: the motor by what is told of it, lanes, and laps."""

import pytest

from inspection.planning.assumed import AssumedCode, NeedCode
from inspection.planning.document import read_bench
from inspection.planning.driving import USUAL, driving_of, lap_on, motor_of
from inspection.planning.errors import PlanningCode, PlanningError
from inspection.planning.evaluation import evaluate
from tests.inspection.planning.benches import document, with_value, without


def motor(**sizes):
    return motor_of(read_bench({"parts": {"motor": {"sizes": sizes}}}).parts["motor"])


BENCH = {"no_load_speed": "20000 rpm", "at_voltage": "12 V"}


def test_a_motor_is_told_by_torque_or_by_current_and_resistance():
    by_torque = motor(**BENCH, stall_torque="10 mN·m", resistance="6 ohm")
    assert by_torque.stall_torque_nm == pytest.approx(0.01)
    assert motor(**BENCH, stall_torque="0.01 N·m", resistance="6 ohm") == by_torque
    # k = (12 - 0.2 * 6) / 2094.4 rad/s = 5.157 mV s; stall torque k (12 / 6 - 0.2)
    by_current = motor(**BENCH, no_load_current="0.2 A", resistance="6 ohm")
    assert by_current.stall_torque_nm == pytest.approx(0.0051566 * 1.8, rel=1e-4)
    assert motor(**BENCH, no_load_current="0.2 A", stall_current="2 A") == by_current


def test_what_is_not_enough_makes_no_motor():
    assert motor(**BENCH) is None
    assert motor(**BENCH, resistance="6 ohm") is None
    assert motor_of(None) is None


def test_a_motor_that_cannot_be_is_refused():
    with pytest.raises(PlanningError) as refused:
        motor(**BENCH, no_load_current="9 A", resistance="6 ohm")
    assert refused.value.code is PlanningCode.IMPOSSIBLE


def driving(plain):
    bench = read_bench(plain)
    return driving_of(bench, evaluate(bench, cures=False).weighed.mass)


def test_the_car_drives_every_lane():
    found = driving(document())
    assert not found.needs
    done = evaluate(read_bench(document()), cures=False)
    times = [lap_on(found.car, done.ratio, lane).time_s for _told, lane in found.lanes]
    assert times[0] < times[1]
    assert {one.code for one in found.assumptions} == {AssumedCode(name) for name in USUAL}


def test_what_is_told_is_not_assumed():
    found = driving(with_value("driving.grip", "0.8"))
    assert found.car.grip == pytest.approx(0.8)
    assert AssumedCode.GRIP not in {one.code for one in found.assumptions}


@pytest.mark.parametrize("path", ["parts.motor.sizes", "track.voltage_v", "track.sections", "track.lanes"])
def test_what_a_lap_lacks_is_named(path):
    needs = driving(without(path)).needs
    assert [need.code for need in needs] == [NeedCode.LAP]
    assert path in needs[0].paths
