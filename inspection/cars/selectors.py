"""Read cars: the register, what a build declares, and what tech found; read only."""

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby

from django.db.models import Count, OuterRef, Prefetch, Q, QuerySet, Subquery
from django.utils.translation import gettext as _

from inspection.gauges.selectors import kind_of, quantity_kind_of, read_stored
from inspection.gearing.errors import GearingError
from inspection.gearing.ratio import gear_ratio, rollout
from inspection.models import Build, Car, Characteristic, Club, DeclaredValue, Driver, Inspection
from inspection.units import DecimalMark, Kind, Quantity, both_systems, format_decimal

LARGEST_NUMBER = 99_999

# The register.


def cars_of(club: Club) -> QuerySet[Car]:
    """The club's cars with owner, class and `latest_build` (number of its latest build), for lists. One query."""
    latest = Build.objects.filter(car=OuterRef("pk")).order_by("-number")
    return (
        Car.objects.of(club)
        .select_related("owner", "racing_class")
        .annotate(latest_build=Subquery(latest.values("number")[:1]))
        .order_by("number")
    )


def next_free_number(club: Club, *, after: int = 0) -> int:
    """The lowest number above `after` that no car of the club has, retired cars included. One query."""
    taken = set(Car.objects.of(club).filter(number__gt=after).values_list("number", flat=True))
    number = after + 1
    while number in taken:
        number += 1
    return number


def owners_of(club: Club, besides: Driver | None = None) -> QuerySet[Driver]:
    """Who may own a car: the club's drivers in use, and the one who owns it now. One query."""
    return Driver.objects.of(club).filter(Q(is_active=True) | Q(pk=besides.pk if besides else None)).order_by("name")


_SHOWN = ("number", "name", "owner_id", "racing_class_id", "note", "is_active")


def car_version(car: Car) -> str:
    """A short mark of what the form showed; it differs once anybody has changed one of its fields."""
    shown = "\x1f".join(str(getattr(car, field)) for field in _SHOWN)
    return hashlib.sha256(shown.encode()).hexdigest()[:16]


# What a build declares.


@dataclass(frozen=True, slots=True)
class SpecLine:
    """One declared value. stored: canonical; shown: for people, in both systems of measures where there are two."""

    characteristic: Characteristic
    stored: str
    shown: str

    @property
    def code(self) -> str:
        return self.characteristic.code

    @property
    def name(self) -> str:
        return self.characteristic.name

    @property
    def group(self) -> str:
        return self.characteristic.get_group_display()


@dataclass(frozen=True, slots=True)
class Gears:
    """What follows from pinion, driven gear and rear tire; None where one of them is not declared."""

    ratio: Fraction | None = None
    rollout: Quantity | None = None
    decimal_mark: DecimalMark = "."

    @property
    def ratio_shown(self) -> str:
        return "" if self.ratio is None else format_decimal(self.ratio, places=3, decimal_mark=self.decimal_mark)

    @property
    def rollout_shown(self) -> str:
        return "" if self.rollout is None else both_systems(self.rollout, decimal_mark=self.decimal_mark)


@dataclass(frozen=True, slots=True)
class Spec:
    """A build as people read it: its own words, its lines under where they are checked, its gears."""

    build: Build
    lines: tuple[SpecLine, ...]
    gears: Gears

    @property
    def groups(self) -> list[tuple[str, list[SpecLine]]]:
        return [(group, list(lines)) for group, lines in groupby(self.lines, key=lambda line: line.group)]


def builds_of(car: Car) -> QuerySet[Build]:
    """A car's builds, the latest first, each with what it declares. Two queries."""
    return car.builds.select_related("created_by").prefetch_related(declared_in_order()).order_by("-number")


def declared_in_order() -> Prefetch:
    """The declared values of builds with their characteristics, in measuring order."""
    rows = DeclaredValue.objects.select_related("characteristic")
    return Prefetch("declared", queryset=rows.order_by("characteristic__position", "characteristic__name"))


def shown_value(characteristic: Characteristic, stored: str, *, decimal_mark: DecimalMark = ".") -> str:
    """A stored value for people: "63.40 mm (2.496 in)", "12", "yes", or the words as they are. No query."""
    kind = quantity_kind_of(characteristic)
    if kind is not None:
        quantity = read_stored(stored, kind, characteristic.unit)
        return both_systems(quantity, decimal_mark=decimal_mark) if quantity else stored
    if kind_of(characteristic) == "yes_no":
        return {"yes": _("yes"), "no": _("no")}.get(stored, stored)
    return stored


def spec_of(build: Build, *, decimal_mark: DecimalMark = ".") -> Spec:
    """What a build declares, in the order in which it is checked. No query when it comes from `builds_of`."""
    declared = sorted(build.declared.all(), key=lambda row: group_place(row.characteristic))
    lines = tuple(
        SpecLine(
            characteristic=row.characteristic,
            stored=row.text,
            shown=shown_value(row.characteristic, row.text, decimal_mark=decimal_mark),
        )
        for row in declared
    )
    values = {
        row.characteristic.code: read_stored(row.text, kind, row.characteristic.unit)
        for row in declared
        if (kind := quantity_kind_of(row.characteristic)) is not None
    }
    return Spec(build=build, lines=lines, gears=gears_of(values, decimal_mark=decimal_mark))


def group_place(characteristic: Characteristic) -> int:
    """Where the group of a characteristic stands in the measuring order; a stable sort keeps the order within."""
    known = Characteristic.Group.values
    return known.index(characteristic.group) if characteristic.group in known else len(known)


def gears_of(values: Mapping[str, Quantity | None], *, decimal_mark: DecimalMark = ".") -> Gears:
    """Ratio and rollout from the values by code of characteristic; what cannot be worked out is None."""
    pinion, driven = (_teeth(values.get(code)) for code in ("pinion-teeth", "driven-gear-teeth"))
    if pinion is None or driven is None:
        return Gears(decimal_mark=decimal_mark)
    try:
        ratio = gear_ratio(pinion=pinion, driven=driven)
    except GearingError:
        return Gears(decimal_mark=decimal_mark)
    tire = values.get("rear-tire-diameter")
    try:
        rolled = rollout(pinion=pinion, driven=driven, tire_diameter=tire) if tire else None
    except GearingError:
        rolled = None
    return Gears(ratio=ratio, rollout=rolled, decimal_mark=decimal_mark)


def _teeth(value: Quantity | None) -> int | None:
    return int(value.base) if value is not None and value.kind is Kind.COUNT else None


# What tech found.


def cards_of(car: Car) -> QuerySet[Inspection]:
    """The car's cards, the latest first, with `fails`, `too_close` and `found` (standing findings). One query."""
    stands = Q(findings__superseded_at__isnull=True)
    return (
        car.inspections.select_related("occasion", "build")
        .annotate(
            found=Count("findings", filter=stands),
            fails=Count("findings", filter=stands & Q(findings__outcome="fail")),
            too_close=Count("findings", filter=stands & Q(findings__is_too_close=True)),
        )
        .order_by("-opened_at")
    )


@dataclass(frozen=True, slots=True)
class CardLine:
    """A card in few words. outcome: "pass" once signed clear, "fail" while something fails, else "not_checked"."""

    inspection: Inspection
    outcome: str
    words: str


def card_lines(cards: Iterable[Inspection]) -> list[CardLine]:
    """The rows of `cards_of` as people read them. No query."""
    lines = []
    for card in cards:
        if card.fails:
            outcome, words = "fail", _("{count} failed").format(count=card.fails)
        elif card.signed_clear:
            outcome, words = "pass", ""
        elif card.signed_at is not None:
            outcome, words = "not_checked", _("signed, not clear")
        else:
            outcome, words = "not_checked", _("open, {count} found").format(count=card.found)
        if card.too_close:
            words = ", ".join(filter(None, [words, _("{count} too close").format(count=card.too_close)]))
        lines.append(CardLine(card, outcome, words))
    return lines
