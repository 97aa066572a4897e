"""Enter cars into the club's register and change what it says of them."""

from dataclasses import dataclass, fields

from django.db import transaction

from inspection.cars.errors import CarChangedMeanwhile, NumberTaken, OwnerOfOtherClub
from inspection.cars.selectors import car_version, next_free_number
from inspection.clubs.services import hold_club, write_log
from inspection.gauges.selectors import last_editor_of
from inspection.models import Car, Club, Driver, RacingClass, User


@dataclass(frozen=True, slots=True, kw_only=True)
class CarContent:
    """What the form of a car holds."""

    number: int
    name: str
    owner: Driver
    racing_class: RacingClass | None = None
    note: str = ""
    is_active: bool = True


_FIELDS = tuple(field.name for field in fields(CarContent))


@transaction.atomic
def create_car(*, club: Club, content: CarContent, by: User | None) -> Car:
    """A new car. Refuses a number the club has (NumberTaken) and a driver of another club (OwnerOfOtherClub)."""
    car = Car(club=club)
    _save(car, content)
    write_log(club=club, action="entered car", subject=car, by=by)
    return car


@transaction.atomic
def change_car(*, car: Car, content: CarContent, version: str, by: User | None) -> Car:
    """Save the form of a car.

    Refuses when somebody saved meanwhile (CarChangedMeanwhile), and what `create_car` refuses.
    """
    current = Car.objects.hold(car.pk, "club")
    if version != car_version(current):
        raise CarChangedMeanwhile(who=last_editor_of(current.club, current))
    _save(current, content)
    write_log(club=current.club, action="changed car", subject=current, by=by)
    return current


def _save(car: Car, content: CarContent) -> None:
    if content.owner.club_id != car.club_id:
        raise OwnerOfOtherClub(owner=content.owner)
    hold_club(car.club)
    _check_number(car, content.number)
    for field in _FIELDS:
        setattr(car, field, getattr(content, field))
    car.save()


def _check_number(car: Car, number: int) -> None:
    taken = Car.objects.of(car.club).filter(number=number).exclude(pk=car.pk).select_related("owner").first()
    if taken is not None:
        free = next_free_number(car.club, after=number)
        raise NumberTaken(number=number, car=taken.name, owner=taken.owner, free=free)
