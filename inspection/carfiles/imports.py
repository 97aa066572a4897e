"""Cars that come in as JSON, in the form of data/car.schema.json: read whole, strictly, all that is wrong said at once.

A quantity must have its unit: a bare number would be in another unit at a club whose caliper shows inches.
"""

import datetime as dt
from collections.abc import Mapping
from typing import Any

from django.utils import timezone
from django.utils.dateparse import parse_datetime
from django.utils.translation import gettext as _

from inspection.builds.selectors import LONGEST_VALUE
from inspection.carfiles.errors import UnreadableCars
from inspection.carfiles.selectors import BuildOfFile, CarOfFile, CarsContent
from inspection.cars.selectors import LARGEST_NUMBER
from inspection.exchange.imports import StrictReader, read_json
from inspection.gauges.selectors import kind_of, quantity_kind_of, read_typed, units_words
from inspection.models import Build, Characteristic, Club, name_key
from inspection.units import UnitsError

LARGEST_FILE = 2_000_000
MOST_CARS = 400
MOST_BUILDS = 200
DOCUMENT, VERSION = "cars", 1

_FILE: dict[str, tuple[type, int]] = {
    "document": (str, 40),
    "version": (int, 0),
    "club": (str, 120),
    "characteristics": (list, 0),
    "cars": (list, 0),
}
_CAR: dict[str, tuple[type, int]] = {
    "number": (int, 0),
    "name": (str, 80),
    "owner": (str, 120),
    "racing_class": (dict, 0),
    "note": (str, 300),
    "is_active": (bool, 0),
    "builds": (list, 0),
}
_CLASS: dict[str, tuple[type, int]] = {"name": (str, 80), "scale": (str, 20)}
_BUILD: dict[str, tuple[type, int]] = {
    "number": (int, 0),
    "declared_at": (str, 40),
    "drive_layout": (str, 12),
    "motor": (str, 80),
    "motor_class": (str, 40),
    "note": (str, 500),
    "declared": (dict, 0),
}


def read_cars(data: bytes, *, club: Club) -> CarsContent:
    """What a file says, ready to be brought into this club; nothing is saved. Two queries.

    Raises UnreadableCars with everything that is wrong.
    """
    document = read_json(data, document=DOCUMENT, version=VERSION, refused=UnreadableCars, largest=LARGEST_FILE)
    return _CarsReader(club).cars(document)


class _CarsReader(StrictReader):
    """Reads cars with their builds."""

    def cars(self, document: Mapping[str, Any]) -> CarsContent:
        head = self.checked(document, _FILE, _("The file"))
        for plain in self.items(head, "characteristics"):
            self.describe(plain)
        plain_cars = head.get("cars", [])
        if not plain_cars:
            self.say(_("The file"), _("has no cars"))
        if len(plain_cars) > MOST_CARS:
            self.say(_("The file"), _("has more than {most} cars").format(most=MOST_CARS))
            plain_cars = []
        cars = tuple(self.car(plain, place) for place, plain in enumerate(plain_cars, start=1))
        self.check_numbers(cars)
        if self.problems:
            raise UnreadableCars(why=_("These places need mending first:"), problems=tuple(self.problems))
        return CarsContent(cars=cars, new_characteristics=tuple(self.new.values()))

    def check_numbers(self, cars: tuple[CarOfFile, ...]) -> None:
        seen: set[int] = set()
        for car in cars:
            if car.number in seen:
                self.say(_("Car {number}").format(number=car.number), _("stands in the file twice"))
            seen.add(car.number)

    def car(self, plain: Any, place: int) -> CarOfFile:
        number = plain.get("number") if isinstance(plain, dict) else None
        is_number = type(number) is int and 0 <= number <= LARGEST_NUMBER
        where = _("Car {number}").format(number=number) if is_number else _("Car in place {n}").format(n=place)
        good = self.checked(plain, _CAR, where)
        if not is_number:
            self.say(where, _("has no number from 0 to {most}").format(most=LARGEST_NUMBER))
        if not good.get("name", "").strip():
            self.say(where, _("has no name"))
        if not name_key(good.get("owner", "")):
            self.say(where, _("has no owner's name"))
        group = self.checked(good.get("racing_class", {}), _CLASS, where)
        builds = good.get("builds", [])
        if len(builds) > MOST_BUILDS:
            self.say(where, _("has more than {most} builds").format(most=MOST_BUILDS))
            builds = []
        return CarOfFile(
            number=number if is_number else -place,
            name=good.get("name", "").strip(),
            owner=" ".join(good.get("owner", "").split()),
            racing_class=group.get("name", "").strip(),
            scale=group.get("scale", "").strip(),
            note=good.get("note", "").strip(),
            is_active=good.get("is_active", True),
            builds=tuple(self.build(each, where, n) for n, each in enumerate(builds, start=1)),
        )

    def build(self, plain: Any, car: str, place: int) -> BuildOfFile:
        where = _("{car}, build {number},").format(car=car, number=place)
        good = self.checked(plain, _BUILD, where)
        declared = good.get("declared", {})
        values = [self.value(code, text, where) for code, text in declared.items()]
        found = BuildOfFile(
            drive_layout=self.one_of(good, "drive_layout", Build.DriveLayout.values, where),
            declared_at=self.moment(good, where),
            declared=tuple(value for value in values if value is not None),
            **{name: good.get(name, "").strip() for name in ("motor", "motor_class", "note")},
        )
        if not (declared or found.drive_layout or found.motor or found.motor_class):
            self.say(where, _("declares nothing"))
        return found

    def value(self, code: str, text: Any, where: str) -> tuple[Characteristic, str] | None:
        """A declared value, read by the kind of its characteristic; what cannot be read is said."""
        if not self.fits(text, str, LONGEST_VALUE, key=code[:60], where=where):
            return None
        characteristic = self.find(code[:60], where)
        if characteristic is None:
            return None
        try:
            return characteristic, _stored(characteristic, " ".join(text.split()))
        except UnitsError as error:
            why = units_words(error)
        except ValueError as error:
            why = str(error)
        self.say(where, _("has a “{key}” that cannot be read: {error}").format(key=code[:60], error=why.rstrip(".")))
        return None

    def moment(self, good: Mapping[str, Any], where: str) -> dt.datetime | None:
        """When the build was declared, with its zone and not in the future."""
        text = good.get("declared_at", "")
        if not text:
            return None
        try:
            found = parse_datetime(text)
            if found is not None and found.tzinfo is not None and found <= timezone.now():
                return found.astimezone(dt.UTC)
        except (ValueError, OverflowError):
            pass
        self.say(where, _("has a “declared_at” that is not a time gone by, such as 2026-03-01T19:30:00+01:00"))
        return None


def _stored(characteristic: Characteristic, text: str) -> str:
    """Canonical text of a value. Raises UnitsError, or ValueError with what is wanted."""
    kind = quantity_kind_of(characteristic)
    if kind is not None:
        return read_typed(text, kind=kind).canonical
    if not text:
        raise ValueError(_("it is empty"))
    if kind_of(characteristic) == "yes_no" and text not in {"yes", "no"}:
        raise ValueError(_("it is neither yes nor no"))
    return text
