"""Enter single motors and what was measured on them."""

from dataclasses import dataclass, fields
from datetime import date
from decimal import Decimal

from django.db import transaction

from inspection.clubs.services import hold_club, write_log
from inspection.gauges.selectors import last_editor_of
from inspection.models import Club, Driver, MotorTest, MotorUnit, Part, User
from inspection.motors.errors import MotorChangedMeanwhile, MotorNumberTaken, NothingMeasured, StrangerInMotor
from inspection.motors.selectors import motor_version


@dataclass(frozen=True, slots=True, kw_only=True)
class MotorContent:
    """What the form of a single motor holds. part: its kind, a motor of the register."""

    number: str
    part: Part
    owner: Driver | None = None
    hours: Decimal = Decimal(0)
    note: str = ""
    is_active: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class MotorTestContent:
    """What was measured without load; canonical texts."""

    tested_on: date
    voltage: str
    speed: str = ""
    current: str = ""
    note: str = ""


_FIELDS = tuple(field.name for field in fields(MotorContent))


@transaction.atomic
def create_motor(*, club: Club, content: MotorContent, by: User | None) -> MotorUnit:
    """A motor with a number of its own. Refused: motor_number_taken, stranger_in_motor."""
    motor = MotorUnit(club=club)
    _save(motor, content)
    write_log(club=club, action="entered single motor", subject=motor, by=by)
    return motor


@transaction.atomic
def change_motor(*, motor: MotorUnit, content: MotorContent, version: str, by: User | None) -> MotorUnit:
    """Save the form of a motor. Refused: MotorChangedMeanwhile, and what `create_motor` refuses."""
    current = MotorUnit.objects.hold(motor.pk, "club", "part")
    if version != motor_version(current):
        raise MotorChangedMeanwhile(who=last_editor_of(current.club, current))
    _save(current, content)
    write_log(club=current.club, action="changed single motor", subject=current, by=by)
    return current


def _save(motor: MotorUnit, content: MotorContent) -> None:
    if content.part.club_id != motor.club_id or content.part.kind != Part.Kind.MOTOR:
        raise StrangerInMotor(name=content.part)
    if content.owner is not None and content.owner.club_id != motor.club_id:
        raise StrangerInMotor(name=content.owner)
    hold_club(motor.club)
    taken = MotorUnit.objects.of(motor.club).filter(number=content.number).exclude(pk=motor.pk)
    if other := taken.select_related("part").first():
        raise MotorNumberTaken(number=content.number, motor=other.part)
    for name in _FIELDS:
        setattr(motor, name, getattr(content, name))
    motor.save()


@transaction.atomic
def add_motor_test(*, motor: MotorUnit, content: MotorTestContent, by: User | None) -> MotorTest:
    """What was measured on a day; tests are only added. Refused: nothing_measured."""
    if not content.speed and not content.current:
        raise NothingMeasured
    made = MotorTest.objects.create(
        motor=motor,
        **{field.name: getattr(content, field.name) for field in fields(MotorTestContent)},
        by=by,
    )
    write_log(club=motor.club, action="measured single motor", subject=motor, by=by, test=made.public_id)
    return made
