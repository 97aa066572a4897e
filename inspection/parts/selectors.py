"""Read parts: the register, what fits a place of a car, their sizes as typed and as shown; read only."""

import hashlib
import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django.db.models import Q, QuerySet
from django.utils.translation import gettext

from inspection.gauges.selectors import read_stored, read_typed, units_words
from inspection.models import Club, Driver, Part
from inspection.planning.register import PART_SIZES, PLACES, SPACER_PLACES, PartKind, SizeSpec
from inspection.units import DecimalMark, Kind, UnitsError, base_unit, both_systems

LONGEST_SIZE = 40
LARGEST_STOCK = 99_999

# The register.


def parts_of(club: Club) -> QuerySet[Part]:
    """The club's parts, its drivers' too, with owner and the classes they are allowed in. Two queries."""
    return Part.objects.of(club).select_related("owner").prefetch_related("allowed_in")


_LOOSE = {"spacer": (PartKind.SPACER,), "ballast": (PartKind.BALLAST,)}


def kinds_for(place: str) -> tuple[PartKind, ...]:
    """The kinds of part that fit a place of a car: one of planning.register.PLACES, "spacer" or "ballast".

    A name of SPACER_PLACES that is no name of PLACES is a place for spacers. Raises KeyError for what is no place.
    """
    if place in PLACES:
        return PLACES[place]
    return (PartKind.SPACER,) if place in SPACER_PLACES else _LOOSE[place]


def parts_for_place(club: Club, place: str, owner: Driver | None = None) -> QuerySet[Part]:
    """Parts in use that fit a place, of the club and of the owner given; what is in stock first, then by name.

    place: as for `kinds_for`. One query.
    """
    return parts_for_kinds(club, kinds_for(place), owner)


def parts_for_kinds(club: Club, kinds: Sequence[PartKind], owner: Driver | None = None) -> QuerySet[Part]:
    """Parts in use of these kinds, of the club and of the owner given, in the same order. One query."""
    theirs = Q(owner=None) if owner is None else Q(owner=None) | Q(owner=owner)
    found = Part.objects.of(club).filter(theirs, kind__in=kinds, is_active=True)
    return found.alias(is_there=Q(stock__gt=0)).order_by("-is_there", "kind", "name", "code")


def part_document(part: Part) -> dict[str, Any]:
    """A part as a bench document holds it: canonical texts, the price as text ("" when there is none). No query."""
    return {
        "name": part.name,
        "kind": part.kind,
        "sizes": dict(part.sizes),
        "price": "" if part.price is None else f"{part.price:.2f}",
        "part": part.public_id,
    }


def owners_of_parts(club: Club) -> QuerySet[Driver]:
    """The drivers who have parts of their own here. One query."""
    return Driver.objects.of(club).filter(parts__isnull=False).distinct().order_by("name")


_SHOWN = ("code", "kind", "name", "owner_id", "sizes", "note", "is_active")


def part_version(part: Part) -> str:
    """A short mark of what the form showed; it differs once anybody has changed any of it. One query, or none."""
    shown = [getattr(part, name) for name in _SHOWN]
    classes = sorted(group.pk for group in part.allowed_in.all())
    price = None if part.price is None else f"{part.price:.2f}"
    return hashlib.sha256(json.dumps([*shown, price, classes], sort_keys=True).encode()).hexdigest()[:16]


# Sizes.


_SIZES: Mapping[str, tuple[SizeSpec, ...]] = {str(kind): specs for kind, specs in PART_SIZES.items()}


def specs_of(kind: str) -> Mapping[str, SizeSpec]:
    """The sizes that a kind of part is told by, by code; none for what is no kind."""
    return {spec.code: spec for spec in _SIZES.get(kind, ())}


def usual_unit(club: Club, kind: Kind | None) -> str:
    """The unit of a bare number: the club's for lengths, else the base unit of the kind; "" for a count or a word."""
    if kind is None:
        return ""
    if kind is Kind.LENGTH and club.units == Club.Units.INCH:
        return "in"
    return base_unit(kind).symbol


def as_typed(club: Club, spec: SizeSpec, stored: str) -> str:
    """A stored size as somebody of this club would type it: its usual unit stands beside the field."""
    if spec.kind is None:
        return stored
    unit = usual_unit(club, spec.kind)
    return (stored.removesuffix(f" {unit}") if unit else stored).replace(".", club.decimal_mark)


class SizeNotUnderstood(ValueError):  # noqa: N818  it reads as what happened
    """A size that cannot be; `str()` says what to type instead, in the language of the page."""

    def __init__(self, why: str, code: str = "invalid") -> None:
        self.code = code
        super().__init__(why)


def read_size(spec: SizeSpec, text: str, *, club: Club, unit: str = "", may_be_zero: bool = False) -> str:
    """A size as typed, as it is kept: canonical text ("12.05 mm"), or the words as they are; "" for nothing.

    unit: that of a bare number where it is not the usual one. Raises SizeNotUnderstood. No query.
    """
    typed = " ".join(text.split())
    kind = spec.kind
    if not typed or kind is None:
        if len(typed) > LONGEST_SIZE:
            raise SizeNotUnderstood(gettext("Give at most {most} characters.").format(most=LONGEST_SIZE), "too_long")
        return typed
    unit = unit or usual_unit(club, kind)
    try:
        read = read_typed(
            typed, kind=kind, unit=unit, decimal_mark=club.decimal_mark, allow_negative=spec.may_be_negative
        )
    except UnitsError as error:
        raise SizeNotUnderstood(units_words(error), error.code) from error
    if read.base == 0 and not may_be_zero and not spec.may_be_negative:
        raise SizeNotUnderstood(gettext("That is nothing. Leave it empty if it is not known."), "zero")
    if kind is Kind.COUNT and read.base.denominator != 1:
        raise SizeNotUnderstood(gettext("Type a whole number."), "not_whole")
    return read.canonical


_SIZE_CODE = re.compile(r"[1-3][0-9]{2}")


def diameter_of_code(size_code: str) -> str:
    """The mounted diameter that a tire's size code of three digits means, in tenths of a millimeter: 200 is 20.0 mm.

    "" for any other code. Common practice, no source.
    """
    code = size_code.strip()
    return f"{code[:2]}.{code[2]} mm" if _SIZE_CODE.fullmatch(code) else ""


def with_diameter_of_code(kind: str, sizes: Mapping[str, str]) -> dict[str, str]:
    """The sizes, and of a tire whose diameter nobody gave, the one that its size code means."""
    found = dict(sizes)
    if kind == PartKind.TIRE and not found.get("diameter") and (meant := diameter_of_code(found.get("size_code", ""))):
        found["diameter"] = meant
    return found


def shown_size(spec: SizeSpec, text: str, *, decimal_mark: DecimalMark = ".") -> str:
    """A stored size for people, in both systems of measures where there are two. No query."""
    if spec.kind is None:
        return gettext(text) if spec.choices and text else text
    quantity = read_stored(text, spec.kind, "")
    return both_systems(quantity, decimal_mark=decimal_mark) if quantity else text


def length_of(sizes: Mapping[str, str], code: str) -> Fraction | None:
    """A stored length in mm, exact; None when it is not there or cannot be read."""
    quantity = read_stored(sizes.get(code, ""), Kind.LENGTH, "mm")
    return quantity.base if quantity is not None and quantity.kind is Kind.LENGTH else None


@dataclass(frozen=True, slots=True)
class SizeLine:
    """A size for people. note: what else there is to say of it."""

    label: str
    value: str
    note: str = ""


def size_lines(kind: str, sizes: Mapping[str, str], *, decimal_mark: DecimalMark = ".") -> list[SizeLine]:
    """What is known of a part, in the order in which it is asked. No query."""
    lines = []
    meant = diameter_of_code(sizes.get("size_code", "")) if kind == PartKind.TIRE else ""
    for code, spec in specs_of(kind).items():
        if not (text := sizes.get(code)):
            continue
        note = ""
        if code == "size_code" and meant:
            shown = shown_size(SizeSpec(code="", label=""), meant, decimal_mark=decimal_mark)
            note = gettext("means {diameter} mounted").format(diameter=shown)
            if (given := length_of(sizes, "diameter")) is not None and given != length_of({"d": meant}, "d"):
                note = gettext("would mean {diameter} mounted; the diameter given counts").format(diameter=shown)
        lines.append(SizeLine(gettext(spec.label), shown_size(spec, text, decimal_mark=decimal_mark), note))
    return lines


_MAIN: Mapping[str, tuple[str, ...]] = {
    PartKind.MOTOR: ("motor_class", "no_load_speed"),
    PartKind.TIRE: ("diameter", "width"),
    PartKind.WHEEL: ("rim_diameter", "width"),
    PartKind.GUIDE: ("blade_depth", "blade_thickness"),
    PartKind.BODY: ("mass",),
}


def main_sizes(part: Part, *, decimal_mark: DecimalMark = ".") -> str:
    """The two sizes by which one part is told from others of its kind, short: "36 teeth, 19.00 mm". No query."""
    specs = specs_of(part.kind)
    codes = _MAIN.get(part.kind, tuple(specs)[:2])
    words = []
    for code in codes:
        if text := part.sizes.get(code, ""):
            teeth = gettext("{count} teeth").format(count=text) if code == "teeth" else ""
            words.append(teeth or (text if specs[code].kind is None else text.replace(".", decimal_mark)))
    return ", ".join(words)


# Money.

_AMOUNT = re.compile(r"([0-9]{1,6})(?:[.,]([0-9]{1,2}))?")


def read_amount(text: str) -> Decimal | None:
    """An amount of money: "7.50", "7,50", "7", with or without its currency; None for nothing.

    Raises ValueError for anything else: also below 0, and with marks between thousands.
    """
    bare = re.sub(r"^[A-Z]{3}\s*|\s*[A-Z]{3}$|[€$£¥]", "", text.strip()).strip()
    if not bare:
        return None
    found = _AMOUNT.fullmatch(bare)
    if found is None:
        raise ValueError(text)
    return Decimal(f"{found[1]}.{(found[2] or '0').ljust(2, '0')}")
