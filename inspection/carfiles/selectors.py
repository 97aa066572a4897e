"""What a file of cars says, and what of it this club knows already; read only."""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from inspection.drivers.selectors import Match, name_index
from inspection.models import Car, Characteristic, Club, RacingClass, name_key

DATA = Path(__file__).parent / "data"


def schema_text() -> str:
    """The JSON Schema of a file of cars."""
    return (DATA / "car.schema.json").read_text(encoding="utf-8")


@dataclass(frozen=True, slots=True, kw_only=True)
class BuildOfFile:
    """A build as a file brings it. declared: pairs of a characteristic, perhaps not saved yet, and canonical text."""

    drive_layout: str = ""
    motor: str = ""
    motor_class: str = ""
    note: str = ""
    declared_at: dt.datetime | None = None
    declared: tuple[tuple[Characteristic, str], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class CarOfFile:
    """A car as a file brings it, its builds from the first to the latest. racing_class, scale: "" for none."""

    number: int
    name: str
    owner: str
    racing_class: str = ""
    scale: str = ""
    note: str = ""
    is_active: bool = True
    builds: tuple[BuildOfFile, ...] = ()

    @property
    def owner_key(self) -> str:
        return name_key(self.owner)


@dataclass(frozen=True, slots=True, kw_only=True)
class CarsContent:
    """All of a file. new_characteristics: rows not saved yet, to which the builds refer."""

    cars: tuple[CarOfFile, ...]
    new_characteristics: tuple[Characteristic, ...] = ()

    @property
    def owners(self) -> dict[str, str]:
        """Each owner once: the name as first written, by its spelling's key."""
        found: dict[str, str] = {}
        for car in self.cars:
            found.setdefault(car.owner_key, car.owner)
        return found


def owner_matches(club: Club, content: CarsContent) -> dict[str, Match]:
    """Whose names the owners' may be, by key of the spelling. One query."""
    index = name_index(club)
    return {key: index.match(name) for key, name in content.owners.items()}


def cars_by_number(club: Club) -> Mapping[int, Car]:
    """The club's cars with their owners, by number. One query."""
    return {car.number: car for car in Car.objects.of(club).select_related("owner")}


def classes_to_make(club: Club, content: CarsContent) -> list[str]:
    """The classes that the file names and the club lacks. One query."""
    known = {name.casefold() for name in RacingClass.objects.of(club).values_list("name", flat=True)}
    wanted = {car.racing_class.casefold(): car.racing_class for car in content.cars if car.racing_class}
    return [name for key, name in wanted.items() if key not in known]
