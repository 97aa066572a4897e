"""Read chassis records, and say what follows from their sizes; read only."""

import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from django.db.models import Count, Q, QuerySet
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from inspection.gauges.selectors import read_stored
from inspection.gearing.errors import GearingError
from inspection.gearing.mesh import distance_across, distance_from_pair
from inspection.gearing.spur import SpurGear, assume_gear
from inspection.models import Chassis, Club, Driver
from inspection.parts.selectors import length_of, shown_size
from inspection.planning.register import CHASSIS_SIZES, SizeSpec
from inspection.units import DecimalMark, Kind, base_unit, format_quantity, from_base

SPECS: Mapping[str, SizeSpec] = {spec.code: spec for spec in CHASSIS_SIZES}
MILLIMETER = base_unit(Kind.LENGTH)
# Two ways to the same distance that differ by more than this are worth a second look, in mm.
WORTH_A_LOOK = Fraction(1, 5)


@dataclass(frozen=True, slots=True)
class Group:
    """Sizes that are taken in one go, with what to do."""

    code: str
    title: Any
    how: Any
    codes: tuple[str, ...]


GROUPS = (
    Group(
        "drive",
        _("Drive"),
        _("Sizes from the middle are easiest as half of a width."),
        ("layout", "gear_side", "shaft_angle", "end_bell", "wall"),
    ),
    Group(
        "shafts",
        _("Motor shaft to axle"),
        _("One of three ways is enough: the distance itself, across both shafts, or a pair known to run free."),
        ("center_distance", "across_shafts", "motor_shaft", "axle_diameter"),
    ),
    Group(
        "rear",
        _("Rear axle"),
        _("With the bushings seated. The body on, its screws as they are raced."),
        ("rear_bushing_span", "rear_body_width"),
    ),
    Group(
        "front",
        _("Front axle"),
        _("Leave it empty if the front wheels carry nothing and do not matter here."),
        ("front_bushing_span", "front_body_width", "wheelbase"),
    ),
    Group(
        "ground",
        _("Over the track"),
        _("Lay the chassis upside down on a flat plate for the heights."),
        ("motor_below_axle", "chassis_below_axle", "rear_axle_height", "front_axle_height"),
    ),
    Group(
        "guide",
        _("Guide and wires"),
        _("Ahead of the rear axle, along the middle of the car."),
        ("guide_ahead", "nose_ahead", "guide_holder", "lead_exit_back", "lead_exit_side", "lead_routed"),
    ),
    Group("weight", _("Weight"), _("Balance it on a ruler's edge."), ("mass", "mass_ahead")),
)


def chassis_of(club: Club) -> QuerySet[Chassis]:
    """The club's chassis with owner and `sheet_count`, those in use first. One query."""
    counted = Chassis.objects.of(club).select_related("owner").annotate(sheet_count=Count("sheets"))
    return counted.order_by("-is_active", "name")


def chassis_to_build_on(club: Club, owner: Driver | None = None) -> QuerySet[Chassis]:
    """What a car of this owner can be built on: the club's chassis and the owner's, in use. One query."""
    theirs = Q(owner=None) if owner is None else Q(owner=None) | Q(owner=owner)
    return Chassis.objects.of(club).filter(theirs, is_active=True).order_by("name")


def chassis_version(chassis: Chassis) -> str:
    """A short mark of what the form showed; it differs once anybody has changed any of it."""
    names = ("name", "owner_id", "sizes", "runs_free", "corners", "zones", "note", "is_active")
    shown = json.dumps([getattr(chassis, name) for name in names], sort_keys=True)
    return hashlib.sha256(shown.encode()).hexdigest()[:16]


# What follows.


@dataclass(frozen=True, slots=True)
class Follow:
    """One thing that follows from what was typed. is_odd: it deserves a second look."""

    what: str
    value: str
    why: str = ""
    is_odd: bool = False


@dataclass(frozen=True, slots=True)
class CenterDistance:
    """Motor shaft to axle by one way, in mm. how: "typed", "across" or "pair"."""

    how: str
    mm: Fraction
    words: str


def center_distances(
    sizes: Mapping[str, str], runs_free: Sequence[Mapping[str, Any]], *, decimal_mark: DecimalMark = "."
) -> tuple[list[CenterDistance], list[str]]:
    """The distance by every way that is known, the one that counts first; and what is wrong with any. No query."""
    found: list[CenterDistance] = []
    wrong: list[str] = []
    typed = length_of(sizes, "center_distance")
    if typed is not None:
        found.append(CenterDistance("typed", typed, gettext("as typed")))
    across, shaft, axle = (length_of(sizes, code) for code in ("across_shafts", "motor_shaft", "axle_diameter"))
    if across is not None and shaft is not None and axle is not None:
        try:
            distance = distance_across(across_mm=across, motor_shaft_mm=shaft, axle_mm=axle)
            found.append(CenterDistance("across", distance, gettext("across both shafts, less half of both diameters")))
        except GearingError as error:
            wrong.append(str(error))
    elif across is not None:
        wrong.append(gettext("Across both shafts tells the distance once both diameters are there."))
    for pair in runs_free:
        try:
            ranged = distance_from_pair(*_gears_of(pair))
        except GearingError as error:
            wrong.append(str(error))
            continue
        if ranged is None:
            wrong.append(gettext("By theory that pair runs nowhere; look at its teeth and diameters again."))
            continue
        least, most = (shown_mm(Fraction(end), decimal_mark) for end in (ranged.least_mm, ranged.most_mm))
        words = gettext("the pair that runs free: somewhere from {least} to {most}").format(least=least, most=most)
        found.append(CenterDistance("pair", Fraction(round(ranged.likely_mm, 3)), words))
    return found, wrong


def _gears_of(pair: Mapping[str, Any]) -> tuple[SpurGear, SpurGear]:
    """Both gears of a pair. Raises GearingError when teeth and sizes do not make gears."""
    pinion, driven = pair.get("pinion", {}), pair.get("driven_gear", {})
    first = assume_gear(**_told(pinion)).gear
    second = _told(driven)
    mate = None if second["module_mm"] else first.module_mm
    return first, assume_gear(**second, mate_module_mm=mate).gear


def _told(sizes: Mapping[str, str]) -> dict[str, Any]:
    teeth = read_stored(sizes.get("teeth", ""), Kind.COUNT, "")
    return {
        "teeth": int(teeth.base) if teeth else 0,
        "module_mm": length_of(sizes, "module"),
        "outside_diameter_mm": length_of(sizes, "outside_diameter"),
    }


def follows_of(
    sizes: Mapping[str, str], runs_free: Sequence[Mapping[str, Any]], *, decimal_mark: DecimalMark = "."
) -> list[Follow]:
    """What can be said of a chassis from the sizes so far, in words. No query."""
    distances, wrong = center_distances(sizes, runs_free, decimal_mark=decimal_mark)
    lines = []
    for place, one in enumerate(distances):
        is_odd = abs(one.mm - distances[0].mm) > WORTH_A_LOOK
        what = gettext("Motor shaft to axle") if place == 0 else gettext("the same another way")
        lines.append(Follow(what, shown_mm(one.mm, decimal_mark), one.words, is_odd))
    lines += [Follow(gettext("Motor shaft to axle"), "", words, is_odd=True) for words in wrong]
    for axle, words in (("rear", gettext("rear")), ("front", gettext("front"))):
        span, body = (length_of(sizes, f"{axle}_{what}") for what in ("bushing_span", "body_width"))
        if span is not None and body is not None:
            what = gettext("For gear, spacers and wheel, {axle}, each side").format(axle=words)
            room = (body - span) / 2
            lines.append(Follow(what, shown_mm(room, decimal_mark), gettext("bushing to body"), is_odd=room <= 0))
    return lines


def shown_mm(value: Fraction, decimal_mark: DecimalMark = ".") -> str:
    """A length in mm that was worked out, in both systems of measures: mm to a hundredth, inches to a thousandth."""
    length = from_base(value, MILLIMETER)
    metric = format_quantity(length, places=2, decimal_mark=decimal_mark)
    return f"{metric} ({format_quantity(length, unit=MILLIMETER.counterpart, places=3, decimal_mark=decimal_mark)})"


@dataclass(frozen=True, slots=True)
class SizeLine:
    """A size of a record for people."""

    label: str
    value: str


def sizes_shown(chassis: Chassis, *, decimal_mark: DecimalMark = ".") -> list[tuple[Group, list[SizeLine]]]:
    """What is known of a chassis, under how it was taken; groups of which nothing is known are left out. No query."""
    groups = []
    for group in GROUPS:
        lines = [
            SizeLine(gettext(SPECS[code].label), shown_size(SPECS[code], text, decimal_mark=decimal_mark))
            for code in group.codes
            if (text := chassis.sizes.get(code))
        ]
        if lines:
            groups.append((group, lines))
    return groups
