"""Bring cars in from a file: all of it or nothing."""

from collections.abc import Mapping, Sequence

from django.db import transaction

from inspection.builds.selectors import WORDS, BuildContent
from inspection.builds.services import save_build
from inspection.carfiles.selectors import BuildOfFile, CarOfFile, CarsContent
from inspection.cars.services import CarContent, create_car
from inspection.clubs.services import write_log
from inspection.drivers.services import DriverContent, accept_spelling, create_driver
from inspection.exchange.services import class_named
from inspection.models import Build, Car, Club, Driver, User


@transaction.atomic
def bring_in_cars(
    *,
    club: Club,
    content: CarsContent,
    numbers: Sequence[int],
    owners: Mapping[str, Driver | None],
    by: User | None,
) -> list[Car]:
    """The cars of a file with their builds, as cars of this club.

    numbers: of each car in turn. owners: whose each spelling is, by its key; None for a driver to be entered. The
    spelling is accepted as the chosen driver's. Characteristics and classes that the club lacks are made.
    Refuses what `create_car`, `create_driver` and `accept_spelling` refuse; then nothing has come in.
    """
    for characteristic in content.new_characteristics:
        characteristic.club = club
        characteristic.save()
    drivers = {key: _owner(club, name, owners[key], by) for key, name in content.owners.items()}
    cars = []
    for number, row in zip(numbers, content.cars, strict=True):
        car = _car(club, number, row, drivers[row.owner_key], by)
        for place, build in enumerate(row.builds, start=1):
            _build(car, place, build, by)
        cars.append(car)
    write_log(club=club, action="brought in cars", subject=club, by=by, cars=list(numbers))
    return cars


def _owner(club: Club, name: str, chosen: Driver | None, by: User | None) -> Driver:
    if chosen is None:
        return create_driver(club=club, content=DriverContent(name=name), by=by)
    accept_spelling(driver=chosen, name=name, by=by)
    return chosen


def _car(club: Club, number: int, row: CarOfFile, owner: Driver, by: User | None) -> Car:
    group = class_named(club=club, name=row.racing_class, scale=row.scale)
    content = CarContent(
        number=number, name=row.name, owner=owner, racing_class=group, note=row.note, is_active=row.is_active
    )
    return create_car(club=club, content=content, by=by)


def _build(car: Car, number: int, row: BuildOfFile, by: User | None) -> None:
    build = Build(car=car, number=number, created_by=by)
    if row.declared_at is not None:
        build.created_at = row.declared_at
    declared = {characteristic.pk: text for characteristic, text in row.declared}
    save_build(build, BuildContent(**{name: getattr(row, name) for name in WORDS}, declared=declared))
