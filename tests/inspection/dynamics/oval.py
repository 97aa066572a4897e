"""An oval and a car of our own, with round numbers, for the tests of the dynamics engine."""

from inspection.dynamics.car import Car, Motor
from inspection.dynamics.track import Curve, Straight, Turn

OVAL = (Straight(3.0), Curve(0.5, 180, Turn.LEFT), Straight(3.0), Curve(0.5, 180, Turn.LEFT))


def motor(**changes):
    values = {"no_load_rpm": 20000.0, "stall_torque_nm": 0.012, "at_voltage_v": 12.0, "resistance_ohm": 5.0}
    return Motor(**(values | changes))


def car(**changes):
    values = {"mass_kg": 0.08, "grip": 1.0, "tire_diameter_m": 0.02, "motor": motor(), "voltage_v": 12.0}
    return Car(**(values | changes))
