"""A car as what moves and holds it: a DC motor, gears, grip and mass. SI units.

The motor is linear: torque falls in proportion to speed from stall to no load, and both grow with the voltage
(the permanent-magnet DC motor of any textbook). On a straight that gives m dv/dt = F0 (1 - v / v0) - R, whose answer
is an exponential approach to the top speed, limited at low speed by grip.
"""

from dataclasses import dataclass
from math import exp, inf, log1p, pi, sqrt
from typing import Final

from inspection.dynamics.errors import DynamicsCode, DynamicsError
from inspection.dynamics.track import check_positive, check_share

GRAVITY: Final = 9.80665  # m/s2, standard gravity (CGPM 1901)


@dataclass(frozen=True, slots=True, kw_only=True)
class Motor:
    """No-load speed and stall torque at a stated voltage, and the motor's resistance.

    supply_ohm: of everything before the motor (supply, track, braid, wires, controller at full), which takes torque
    at stall and leaves the no-load speed. Raises DynamicsError not_positive.
    """

    no_load_rpm: float
    stall_torque_nm: float
    at_voltage_v: float
    resistance_ohm: float

    def __post_init__(self) -> None:
        check_positive(
            no_load_rpm=self.no_load_rpm,
            stall_torque_nm=self.stall_torque_nm,
            at_voltage_v=self.at_voltage_v,
            resistance_ohm=self.resistance_ohm,
        )

    def no_load_speed(self, voltage_v: float) -> float:
        """In rad/s at a voltage."""
        return self.no_load_rpm * pi / 30 * voltage_v / self.at_voltage_v

    def stall_torque(self, voltage_v: float, supply_ohm: float) -> float:
        """In N m at a voltage behind a resistance."""
        share = self.resistance_ohm / (self.resistance_ohm + supply_ohm)
        return self.stall_torque_nm * voltage_v / self.at_voltage_v * share

    def torque(self, speed: float, voltage_v: float, supply_ohm: float) -> float:
        """In N m at a speed in rad/s, falling in a line from stall to no load."""
        return self.stall_torque(voltage_v, supply_ohm) * (1 - speed / self.no_load_speed(voltage_v))


def motor_from_bench(
    *, no_load_rpm: float, no_load_current_a: float, resistance_ohm: float, at_voltage_v: float
) -> Motor:
    """A motor from what a bench measures: speed and current without load, and the resistance of the winding.

    k = (V - I0 R) / speed in V s; stall torque = k (V / R - I0). Raises DynamicsError not_positive, or does_not_move
    when the current leaves nothing to turn.
    """
    check_positive(no_load_rpm=no_load_rpm, resistance_ohm=resistance_ohm, at_voltage_v=at_voltage_v)
    if not 0 <= no_load_current_a < at_voltage_v / resistance_ohm:
        raise DynamicsError(DynamicsCode.DOES_NOT_MOVE)
    constant = (at_voltage_v - no_load_current_a * resistance_ohm) / (no_load_rpm * pi / 30)
    return Motor(
        no_load_rpm=no_load_rpm,
        stall_torque_nm=constant * (at_voltage_v / resistance_ohm - no_load_current_a),
        at_voltage_v=at_voltage_v,
        resistance_ohm=resistance_ohm,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Car:
    """Everything that decides a lap besides the track.

    grip: coefficient of friction. downforce_n: from magnets, on top of the weight. rear_share: of the load on the
    driven axle. braking_share: of all grip, used for braking. efficiency: what the drive passes on. rolling: share of
    the load that holds the car back. Raises DynamicsError not_positive or not_a_share.
    """

    mass_kg: float
    grip: float
    tire_diameter_m: float
    motor: Motor
    voltage_v: float
    supply_ohm: float = 0.0
    efficiency: float = 0.85
    braking_share: float = 0.6
    rear_share: float = 1.0
    downforce_n: float = 0.0
    rolling: float = 0.0

    def __post_init__(self) -> None:
        check_positive(
            mass_kg=self.mass_kg,
            grip=self.grip,
            tire_diameter_m=self.tire_diameter_m,
            voltage_v=self.voltage_v,
            efficiency=self.efficiency,
            braking_share=self.braking_share,
            rear_share=self.rear_share,
        )
        check_share(
            efficiency=self.efficiency,
            braking_share=self.braking_share,
            rear_share=self.rear_share,
            rolling=self.rolling,
        )
        for name in ("supply_ohm", "downforce_n"):
            if not 0 <= getattr(self, name) < inf:
                raise DynamicsError(DynamicsCode.NOT_POSITIVE, name=name)

    @property
    def load_n(self) -> float:
        """On the track: weight and downforce."""
        return self.mass_kg * GRAVITY + self.downforce_n

    @property
    def braking(self) -> float:
        """In m/s2."""
        return self.braking_share * self.grip * self.load_n / self.mass_kg

    def curve_speed(self, radius_m: float) -> float:
        """Greatest speed in m/s round a radius: sqrt(grip * load / mass * radius), sqrt(mu g r) without downforce."""
        return inf if radius_m == inf else sqrt(self.grip * self.load_n / self.mass_kg * radius_m)


@dataclass(frozen=True, slots=True)
class Pull:
    """How a car with one gear ratio gathers speed: first as grip lets it, then exponentially toward its top speed.

    top: m/s, where pull and resistance are equal. tau: s, of the exponential. limit: m/s2, by grip. until: m/s, up to
    which grip decides.
    """

    top: float
    tau: float
    limit: float
    until: float

    def time(self, begin: float, end: float) -> float:
        """Seconds from one speed to another, both in m/s and below the top speed."""
        spun = 0.0
        if begin < self.until:
            stop = min(end, self.until)
            spun = (stop - begin) / self.limit
            begin = stop
        return spun - self.tau * log1p((begin - end) / (self.top - begin)) if end > begin else spun

    def distance(self, begin: float, end: float) -> float:
        """Meters from one speed to another: v**2 / 2 a while grip decides, then top * t - tau * (v2 - v1)."""
        spun = 0.0
        if begin < self.until:
            stop = min(end, self.until)
            spun = (stop * stop - begin * begin) / (2 * self.limit)
            begin = stop
        if end <= begin:
            return spun
        share = (end - begin) / (self.top - begin)
        return spun + self.tau * (self.top * _log_rest(share) + begin * share)

    def run(self, begin: float, distance_m: float) -> tuple[float, float]:
        """Seconds for so many meters at full throttle, and the speed then in m/s, from a speed below the top speed.

        While grip decides v**2 = v0**2 + 2 a s. After that s(t) = top t - gap tau (1 - exp(-t / tau)), solved for t by
        Newton's method: s is convex in t, so from a start above the root every step stays above it.
        """
        distance_m = max(0.0, distance_m)
        speed = sqrt(begin * begin + 2 * self.limit * distance_m)
        if speed <= self.until:
            return (speed - begin) / self.limit, speed
        before, left = 0.0, distance_m
        if begin < self.until:
            before = (self.until - begin) / self.limit
            left -= (self.until * self.until - begin * begin) / (2 * self.limit)
            begin = self.until
        gap = self.top - begin
        time = (left + gap * self.tau) / self.top  # as if the whole gap were lost at once
        for _ in range(_STEPS):
            decay = exp(-time / self.tau)
            step = (self.top * time - gap * self.tau * (1 - decay) - left) / (self.top - gap * decay)
            time -= step
            if abs(step) <= 1e-13 * (time + self.tau):
                break
        return before + time, self.top - gap * exp(-time / self.tau)


def _log_rest(share: float) -> float:
    """-log(1 - x) - x, by its series where the difference would lose all its digits."""
    if share > 1e-3:
        return -log1p(-share) - share
    return share * share * (1 / 2 + share * (1 / 3 + share * (1 / 4 + share / 5)))


_STEPS: Final = 50  # Newton's method ends after about six; this only bounds the loop


def pull_of(car: Car, ratio: float) -> Pull:
    """How the car gathers speed with a gear ratio (motor turns per axle turn).

    Force at stall F0 = efficiency * torque * ratio / tire radius, speed at no load v0 = motor speed * radius / ratio.
    Raises DynamicsError not_positive or does_not_move.
    """
    check_positive(ratio=ratio)
    radius = car.tire_diameter_m / 2
    force = car.efficiency * car.motor.stall_torque(car.voltage_v, car.supply_ohm) * ratio / radius
    free = car.motor.no_load_speed(car.voltage_v) * radius / ratio
    drag = car.rolling * car.load_n
    limit = (car.grip * car.rear_share * car.load_n - drag) / car.mass_kg
    if force <= drag or limit <= 0:
        raise DynamicsError(DynamicsCode.DOES_NOT_MOVE)
    top, tau = free * (1 - drag / force), car.mass_kg * free / force
    return Pull(top=top, tau=tau, limit=limit, until=max(0.0, top - limit * tau))
