"""Declare builds: numbered revisions of what a car is. The latest counts; older ones stay."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from django.db import transaction

from inspection.builds.errors import NothingChanged, NothingDeclared
from inspection.builds.selectors import declared_texts, latest_build
from inspection.clubs.services import write_log
from inspection.models import Build, Car, Characteristic, DeclaredValue, User


@dataclass(frozen=True, slots=True, kw_only=True)
class BuildContent:
    """What a build says. declared: texts in stored form (decimal point, unit written) by characteristic."""

    drive_layout: str = ""
    motor: str = ""
    motor_class: str = ""
    note: str = ""
    declared: Mapping[Characteristic, str] = field(default_factory=dict)

    @property
    def filled(self) -> dict[Characteristic, str]:
        return {characteristic: text for characteristic, text in self.declared.items() if text}


@transaction.atomic
def create_build(*, car: Car, content: BuildContent, by: User | None) -> Build:
    """The car's next build. A car that was clear at tech is so no longer: what races is not what was inspected.

    Refuses NothingDeclared, and NothingChanged when it equals the last one (the note apart).
    """
    Car.objects.select_for_update().get(pk=car.pk)
    filled = content.filled
    if not (filled or content.drive_layout or content.motor or content.motor_class):
        raise NothingDeclared
    last = latest_build(car)
    if last is not None and _same(last, content):
        raise NothingChanged(number=last.number)
    build = Build.objects.create(
        car=car,
        number=last.number + 1 if last else 1,
        drive_layout=content.drive_layout,
        motor=content.motor,
        motor_class=content.motor_class,
        note=content.note,
        created_by=by,
    )
    DeclaredValue.objects.bulk_create(
        DeclaredValue(build=build, characteristic=characteristic, text=text) for characteristic, text in filled.items()
    )
    write_log(club=car.club, action="declared build", subject=car, by=by, build=build.number)
    return build


def _same(last: Build, content: BuildContent) -> bool:
    return (last.drive_layout, last.motor, last.motor_class) == (
        content.drive_layout,
        content.motor,
        content.motor_class,
    ) and declared_texts(last) == {characteristic.code: text for characteristic, text in content.filled.items()}
