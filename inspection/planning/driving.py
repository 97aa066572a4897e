"""From a bench to the car of the dynamics engine and the lanes it drives: predicted laps."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from inspection.dynamics.car import Car, Motor, motor_from_bench
from inspection.dynamics.errors import DynamicsError
from inspection.dynamics.lap import Lap, predict_lap
from inspection.dynamics.track import Stretch, lane_of
from inspection.planning.assumed import Assumed, AssumedCode, Need, NeedCode
from inspection.planning.document import Bench, BenchLane, BenchPart
from inspection.planning.errors import PlanningCode, PlanningError

# Where nothing is told. Common practice, no source: a tuned rubber or foam tire on a clean track holds about its load.
USUAL: Final[Mapping[str, Fraction]] = {
    "grip": Fraction(1),
    "efficiency": Fraction(85, 100),
    "braking_share": Fraction(6, 10),
    "rear_share": Fraction(1),
    "rolling": Fraction(0),
    "downforce": Fraction(0),
    "supply_resistance": Fraction(0),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Driving:
    """What a lap needs. car: None where needs say what is missing."""

    car: Car | None
    lanes: tuple[tuple[BenchLane, tuple[Stretch, ...]], ...]
    assumptions: tuple[Assumed, ...]
    needs: tuple[Need, ...]


def motor_of(part: BenchPart | None) -> Motor | None:
    """The motor by what is told: speed without load with stall torque, or with current and resistance. None when that
    is not enough. A stall current tells the resistance. Raises PlanningError impossible."""
    if part is None:
        return None
    sizes = part.sizes
    speed, voltage = sizes.base("no_load_speed"), sizes.base("at_voltage")
    resistance, stall = sizes.base("resistance"), sizes.base("stall_current")
    if resistance is None and stall and voltage is not None:
        resistance = voltage / stall
    torque, idle = sizes.base("stall_torque"), sizes.base("no_load_current")
    if speed is None or voltage is None or resistance is None:
        return None
    try:
        if torque is not None:
            return Motor(
                no_load_rpm=float(speed),
                stall_torque_nm=float(torque / 1000),
                at_voltage_v=float(voltage),
                resistance_ohm=float(resistance),
            )
        if idle is None:
            return None
        return motor_from_bench(
            no_load_rpm=float(speed),
            no_load_current_a=float(idle),
            resistance_ohm=float(resistance),
            at_voltage_v=float(voltage),
        )
    except DynamicsError as error:
        raise PlanningError(PlanningCode.IMPOSSIBLE, path="parts.motor.sizes", why=str(error)) from error


def driving_of(bench: Bench, mass: Fraction | None) -> Driving:
    """The car and the lanes. mass: of the whole car in g. Raises PlanningError impossible."""
    motor = motor_of(bench.parts.get("motor"))
    tire = bench.size_of("rear_tires", "diameter")
    voltage = bench.track.values.get("voltage_v")
    told = (
        ("parts.motor.sizes", motor),
        ("parts.rear_tires.sizes.diameter", tire),
        ("track.voltage_v", voltage),
        ("declared.weight-ready-to-race", mass),
        ("track.sections", bench.track.sections or None),
        ("track.lanes", bench.track.lanes or None),
    )
    lacks = tuple(path for path, value in told if value is None)
    values = {name: bench.driving.get(name, usual) for name, usual in USUAL.items()}
    assumed = tuple(
        Assumed(AssumedCode(name), f"driving.{name}", f"{float(value):g}")
        for name, value in values.items()
        if name not in bench.driving
    )
    lanes = lanes_of(bench)
    car = None
    if motor is not None and tire is not None and voltage is not None and mass is not None:
        car = car_of(motor, tire=tire.value, voltage=voltage, mass=mass, values=values)
    needs = (Need(NeedCode.LAP, lacks),) if lacks else ()
    return Driving(car=car, lanes=lanes, assumptions=assumed, needs=needs)


def car_of(motor: Motor, *, tire: Fraction, voltage: Fraction, mass: Fraction, values: Mapping[str, Fraction]) -> Car:
    """The car: tire in mm, voltage in V, mass in g. Raises PlanningError impossible."""
    try:
        return Car(
            mass_kg=float(mass / 1000),
            grip=float(values["grip"]),
            tire_diameter_m=float(tire / 1000),
            motor=motor,
            voltage_v=float(voltage),
            supply_ohm=float(values["supply_resistance"]),
            efficiency=float(values["efficiency"]),
            braking_share=float(values["braking_share"]),
            rear_share=float(values["rear_share"]),
            downforce_n=float(values["downforce"]),
            rolling=float(values["rolling"]),
        )
    except DynamicsError as error:
        raise PlanningError(PlanningCode.IMPOSSIBLE, path="driving", why=str(error)) from error


def lanes_of(bench: Bench) -> tuple[tuple[BenchLane, tuple[Stretch, ...]], ...]:
    """Every lane through the sections. Raises PlanningError impossible."""
    if not bench.track.sections:
        return ()
    try:
        return tuple(
            (lane, lane_of(bench.track.sections, offset_m=float(lane.offset / 1000))) for lane in bench.track.lanes
        )
    except DynamicsError as error:
        raise PlanningError(PlanningCode.IMPOSSIBLE, path="track.lanes", why=str(error)) from error


def lap_on(car: Car | None, ratio: Fraction | None, lane: Sequence[Stretch]) -> Lap | None:
    """A predicted lap, None where the car is not known or does not move."""
    if car is None or ratio is None:
        return None
    try:
        return predict_lap(car, ratio=float(ratio), lane=lane)
    except DynamicsError:
        return None
