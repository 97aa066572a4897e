"""Read single motors: what was measured on each, speed for each volt, and what has changed since the first time."""

import hashlib
import json
from dataclasses import dataclass
from fractions import Fraction

from django.db.models import Prefetch, QuerySet

from inspection.gauges.selectors import read_stored
from inspection.models import Club, MotorTest, MotorUnit, Part
from inspection.units import DecimalMark, Kind, format_decimal


def motors_of(club: Club) -> QuerySet[MotorUnit]:
    """The club's single motors and its drivers', in use first, with kind, owner and tests. Two queries."""
    tests = Prefetch("tests", queryset=MotorTest.objects.select_related("by"))
    found = MotorUnit.objects.of(club).select_related("club", "part", "owner").prefetch_related(tests)
    return found.order_by("-is_active", "number")


def kinds_of_motor(club: Club) -> QuerySet[Part]:
    """The motors of the register, those in use first. One query."""
    return Part.objects.of(club).filter(kind=Part.Kind.MOTOR).order_by("-is_active", "name")


_SHOWN = ("part_id", "number", "owner_id", "note", "is_active")


def motor_version(motor: MotorUnit) -> str:
    """A short mark of what the form showed; it differs once anybody has changed any of it. No query."""
    shown = [*(str(getattr(motor, name)) for name in _SHOWN), f"{motor.hours:.1f}"]
    return hashlib.sha256(json.dumps(shown).encode()).hexdigest()[:16]


@dataclass(frozen=True, slots=True)
class MotorLine:
    """A test for people. per_volt: exact, None without speed. change: against the first with speed, a share of it."""

    test: MotorTest
    per_volt: Fraction | None
    change: Fraction | None
    decimal_mark: DecimalMark = "."

    @property
    def per_volt_shown(self) -> str:
        return "" if self.per_volt is None else format_decimal(self.per_volt, places=0)

    @property
    def change_shown(self) -> str:
        """The change in percent with its sign, such as "+3.2 %"; "" for the first."""
        if self.change is None:
            return ""
        words = format_decimal(abs(self.change) * 100, places=1, decimal_mark=self.decimal_mark)
        sign = "+" if self.change > 0 else "\N{MINUS SIGN}" if self.change < 0 else ""
        return f"{sign}{words} %"

    @property
    def shown(self) -> dict[str, str]:
        """Voltage, speed and current as this club writes numbers."""
        names = ("voltage", "speed", "current")
        return {name: getattr(self.test, name).replace(".", self.decimal_mark) for name in names}


def speed_per_volt(test: MotorTest) -> Fraction | None:
    """Turns a minute for each volt, exact; None without a speed or at no volts. No query."""
    speed = read_stored(test.speed, Kind.ROTATION_SPEED, "rpm")
    voltage = read_stored(test.voltage, Kind.VOLTAGE, "V")
    if speed is None or voltage is None or speed.kind is not Kind.ROTATION_SPEED or voltage.kind is not Kind.VOLTAGE:
        return None
    return speed.base / voltage.base if voltage.base > 0 else None


def motor_lines(motor: MotorUnit) -> list[MotorLine]:
    """The tests, the latest first. Changes are of the speed for each volt, so that other volts compare. No query."""
    rows = list(motor.tests.all())
    told = [(row, speed_per_volt(row)) for row in rows]
    first = next(((row, per_volt) for row, per_volt in reversed(told) if per_volt), None)
    lines = []
    for row, per_volt in told:
        change = None
        if first is not None and per_volt is not None and row is not first[0] and first[1]:
            change = per_volt / first[1] - 1
        lines.append(MotorLine(row, per_volt, change, motor.club.decimal_mark))
    return lines


def latest_speed(motor: MotorUnit) -> MotorLine | None:
    """The latest test that has a speed. No query when loaded."""
    return next((line for line in motor_lines(motor) if line.per_volt is not None), None)
