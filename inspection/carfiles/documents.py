"""Cars that go out as JSON, in the form of data/car.schema.json."""

from typing import Any

from django.db.models import Prefetch, QuerySet

from inspection.carfiles.imports import DOCUMENT, VERSION
from inspection.cars.selectors import declared_in_order
from inspection.exchange.documents import plain_characteristic
from inspection.gauges.selectors import quantity_kind_of, read_stored
from inspection.models import Build, Car, Characteristic, Club


def cars_document(club: Club, cars: QuerySet[Car]) -> dict[str, Any]:
    """Cars with all their builds as JSON values; contacts stay here. Three queries, however many cars."""
    builds = Prefetch("builds", Build.objects.order_by("number").prefetch_related(declared_in_order()))
    spoken_of: dict[str, Characteristic] = {}
    rows = [
        _car(car, spoken_of)
        for car in cars.select_related("owner", "racing_class").prefetch_related(builds).order_by("number")
    ]
    return {
        "document": DOCUMENT,
        "version": VERSION,
        "club": club.name,
        "characteristics": [plain_characteristic(spoken_of[code]) for code in sorted(spoken_of)],
        "cars": rows,
    }


def _car(car: Car, spoken_of: dict[str, Characteristic]) -> dict[str, Any]:
    group = car.racing_class
    return {
        "number": car.number,
        "name": car.name,
        "owner": car.owner.name,
        "racing_class": {"name": group.name, "scale": group.scale} if group else None,
        "note": car.note,
        "is_active": car.is_active,
        "builds": [_build(build, spoken_of) for build in car.builds.all()],
    }


def _build(build: Build, spoken_of: dict[str, Characteristic]) -> dict[str, Any]:
    declared = {}
    for row in build.declared.all():
        spoken_of[row.characteristic.code] = row.characteristic
        declared[row.characteristic.code] = _value(row.characteristic, row.text)
    return {
        "number": build.number,
        "declared_at": build.created_at.isoformat(),
        "drive_layout": build.drive_layout,
        "motor": build.motor,
        "motor_class": build.motor_class,
        "note": build.note,
        "declared": declared,
    }


def _value(characteristic: Characteristic, text: str) -> str:
    """With its unit, whatever was left out when it was stored."""
    kind = quantity_kind_of(characteristic)
    quantity = read_stored(text, kind, characteristic.unit) if kind else None
    return quantity.canonical if quantity else text
