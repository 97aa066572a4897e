"""What a car is declared to be: the sheet to fill in, what was filled in, and what follows from it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

from django.db.models import QuerySet

from inspection.conformity.clauses import CharacteristicKind
from inspection.gauges.selectors import characteristics_of, kind_of, quantity_kind_of, read_stored
from inspection.gearing.errors import GearingError
from inspection.gearing.ratio import gear_ratio, rollout
from inspection.models import Build, Car, Characteristic, Club
from inspection.units import DecimalMark, Quantity, both_systems, format_decimal

DATA = Path(__file__).parent / "data"

PINION, DRIVEN, REAR_TIRE = "pinion-teeth", "driven-gear-teeth", "rear-tire-diameter"


def schema_text() -> str:
    """The JSON Schema of cars as a file."""
    return (DATA / "car.schema.json").read_text(encoding="utf-8")


def build_sheet(club: Club) -> list[Characteristic]:
    """What a build declares, in measuring order; one query."""
    return list(characteristics_of(club).filter(on_build_sheet=True))


def latest_build(car: Car) -> Build | None:
    """One query."""
    return car.builds.order_by("-number").first()


def declared_texts(build: Build | None) -> dict[str, str]:
    """What a build declares, by the code of the characteristic; one query."""
    if build is None:
        return {}
    return {value.characteristic.code: value.text for value in build.declared.select_related("characteristic")}


@dataclass(frozen=True, slots=True)
class Gearing:
    """What follows from tooth counts and the rear tire; "" where it cannot be worked out."""

    ratio: str
    rollout: str


def _count(texts: Mapping[str, str], characteristics: Mapping[str, Characteristic], code: str) -> int | None:
    quantity = _quantity(texts, characteristics, code)
    return int(quantity.magnitude) if quantity and quantity.magnitude.denominator == 1 else None


def _quantity(texts: Mapping[str, str], characteristics: Mapping[str, Characteristic], code: str) -> Quantity | None:
    known = characteristics.get(code)
    return read_stored(texts.get(code, ""), quantity_kind_of(known), known.unit) if known else None


def gearing_of(
    texts: Mapping[str, str], characteristics: Iterable[Characteristic], *, decimal_mark: DecimalMark = "."
) -> Gearing:
    """Gear ratio and rollout of declared texts (stored form). No query."""
    by_code = {characteristic.code: characteristic for characteristic in characteristics}
    pinion, driven = (_count(texts, by_code, code) for code in (PINION, DRIVEN))
    if pinion is None or driven is None:
        return Gearing("", "")
    try:
        ratio = format_decimal(gear_ratio(pinion=pinion, driven=driven), places=2, decimal_mark=decimal_mark)
        tire = _quantity(texts, by_code, REAR_TIRE)
        if tire is None:
            return Gearing(f"{ratio} : 1", "")
        travelled = rollout(pinion=pinion, driven=driven, tire_diameter=tire)
    except GearingError:
        return Gearing("", "")
    places = {"mm": 2, "in": 3}.get(travelled.unit.symbol, 2)
    rounded = format_decimal(travelled.magnitude, places=places, decimal_mark=decimal_mark)
    return Gearing(f"{ratio} : 1", f"{rounded} {travelled.unit.symbol}")


@dataclass(frozen=True, slots=True)
class DeclaredLine:
    """One declared thing for people: the text as declared, in both systems of measures where it is a quantity."""

    characteristic: Characteristic
    text: str
    words: str


def shown_words(characteristic: Characteristic, text: str, *, decimal_mark: DecimalMark = ".") -> str:
    """A stored text for people: "19.38 mm (0.763 in)"; words stay as they are."""
    quantity = read_stored(text, quantity_kind_of(characteristic), characteristic.unit)
    if quantity is None or kind_of(characteristic) is CharacteristicKind.TEXT or not quantity_kind_of(characteristic):
        return text
    return both_systems(quantity, decimal_mark=decimal_mark)


def declared_groups(build: Build, *, decimal_mark: DecimalMark = ".") -> list[tuple[str, list[DeclaredLine]]]:
    """What a build declares under the place where it is checked; one query."""
    groups: dict[str, list[DeclaredLine]] = {}
    values = build.declared.select_related("characteristic").order_by("characteristic__position")
    for value in values:
        words = shown_words(value.characteristic, value.text, decimal_mark=decimal_mark)
        line = DeclaredLine(value.characteristic, value.text, words)
        groups.setdefault(value.characteristic.get_group_display(), []).append(line)
    return list(groups.items())


@dataclass(frozen=True, slots=True)
class Difference:
    """One thing that two builds declare differently, for people; "" where one does not declare it."""

    name: str
    before: str
    now: str


def differences(older: Build, newer: Build, *, decimal_mark: DecimalMark = ".") -> list[Difference]:
    """What changed from one build to a later one. Two queries."""
    found = [
        Difference(str(Build._meta.get_field(name).verbose_name), _choice(older, name), _choice(newer, name))
        for name in ("drive_layout", "motor", "motor_class")
        if getattr(older, name) != getattr(newer, name)
    ]
    was, now = (
        {value.characteristic: value.text for value in build.declared.select_related("characteristic")}
        for build in (older, newer)
    )
    for characteristic in sorted(was.keys() | now.keys(), key=lambda one: (one.position, one.name)):
        before, after = was.get(characteristic, ""), now.get(characteristic, "")
        if before != after:
            words = [shown_words(characteristic, text, decimal_mark=decimal_mark) for text in (before, after)]
            found.append(Difference(characteristic.name, *words))
    return found


def _choice(build: Build, name: str) -> str:
    return build.get_drive_layout_display() if name == "drive_layout" else getattr(build, name)


def cars_to_export(club: Club) -> QuerySet[Car]:
    """Cars in use with owner and class, by number; one query."""
    return Car.objects.of(club).filter(is_active=True).select_related("owner", "racing_class").order_by("number")
