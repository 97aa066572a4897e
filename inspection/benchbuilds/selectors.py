"""A bench sheet's document as the engines read it: the build, its gears, its weight, and what tech would find.

The document holds canonical texts by the codes of planning.register. Nothing is required: what depends on a size that
is not there is not known. Lengths come out exact, in mm, with what a caliper may be off. No query.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from inspection.conformity.observations import Observation, Reading, measured, named
from inspection.fit.check import check_fit
from inspection.fit.errors import FitError
from inspection.fit.findings import FitCode, FitReport, Place
from inspection.fit.parts import (
    Axle,
    AxleSide,
    Build,
    Corner,
    Drive,
    DrivenGear,
    Ground,
    Guide,
    Layout,
    Pinion,
    Side,
    Slot,
    Targets,
    Wheel,
)
from inspection.fit.sizes import ZERO, Size, Stack
from inspection.fit.weight import Piece, Weight, weigh
from inspection.gauges.selectors import read_stored
from inspection.gearing.errors import GearingError
from inspection.gearing.mesh import Mesh, RunningRecord, distance_across, distance_from_pair, mesh_at
from inspection.gearing.ratio import gear_ratio
from inspection.gearing.spur import Assumption, SpurGear, assume_gear
from inspection.units import Kind

# What a caliper in a hand is off, either way, in mm: common practice, no source.
CALIPER = Fraction(2, 100)
# A pair that runs free tells the distance no better than this, in mm.
BY_PAIR = Fraction(1, 10)
SCALE = Fraction(1, 10)  # what a small scale is off, in g
Document = Mapping[str, Any]
Sizes = Mapping[str, str]
NONE: Sizes = {}


@dataclass(frozen=True, slots=True, kw_only=True)
class Gears:
    """The pair on the car, as told and as assumed. mesh: None where the distance is not known, or no pair can be."""

    pinion: SpurGear
    driven: SpurGear
    assumptions: tuple[Assumption, ...]
    mesh: Mesh | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Bench:
    """Everything that is known of a document. build, gears and weight: None where too little is."""

    targets: Targets
    build: Build | None
    report: FitReport | None
    gears: Gears | None
    gears_wrong: str
    weight: Weight | None
    total_mass: Fraction | None


def number(sizes: Sizes, code: str, kind: Kind = Kind.LENGTH) -> Fraction | None:
    """A size in the base unit of its kind, exact; None when it is not there or cannot be read."""
    quantity = read_stored(sizes.get(code, "") or "", kind, "")
    return quantity.base if quantity is not None and quantity.kind is kind else None


def _size(sizes: Sizes, code: str, within: Fraction = CALIPER) -> Size | None:
    value = number(sizes, code)
    return None if value is None else Size(value, within)


def _half(sizes: Sizes, code: str) -> Size | None:
    value = number(sizes, code)
    return None if value is None else Size(value / 2, CALIPER / 2)


def sizes_at(document: Document, place: str) -> Sizes:
    """The sizes of the part at a place; none where nothing is."""
    part = document.get("parts", {}).get(place) or {}
    return part.get("sizes") or NONE


def bench_of(document: Document, *, cures: bool = True) -> Bench:
    """What the engines say of a document. cures: left out when only the verdict is wanted."""
    targets = _targets(document)
    build = build_of(document)
    report = None
    if build is not None:
        try:
            report = check_fit(build, targets, cures=cures)
        except FitError:
            build = None
    gears, wrong = _gears(document)
    weight, total = _weight(document)
    return Bench(
        targets=targets,
        build=build,
        report=report,
        gears=gears,
        gears_wrong=wrong,
        weight=weight,
        total_mass=total,
    )


def _targets(document: Document) -> Targets:
    told = document.get("targets", {})
    known = {name: value for name in told if (value := number(told, name)) is not None}
    return Targets(**known)


# The build.


def build_of(document: Document) -> Build | None:
    """The document as the fit engine reads it; None until the rear axle is known: bushings, and a tire's sizes."""
    sizes: Sizes = document["chassis"]["sizes"]
    mounting: Sizes = document.get("mounting", NONE)
    side = Side.LEFT if sizes.get("gear_side") == Side.LEFT else Side.RIGHT
    layout = Layout(sizes["layout"]) if sizes.get("layout") in set(Layout) else Layout.SIDEWINDER
    gear = _gear(document, mounting)
    rear = _axle(document, "rear", side, gear if layout is not Layout.INLINE else None)
    if rear is None:
        return None
    drive = Drive(
        layout=layout,
        side=side,
        pinion=_pinion(document, mounting),
        center_distance=center_distance_of(document),
        end_bell=_size(sizes, "end_bell"),
        wall=_size(sizes, "wall"),
        below_axle=_size(sizes, "motor_below_axle"),
        inside_gear=gear if layout is Layout.INLINE else None,
    )
    return Build(
        rear=rear,
        front=_axle(document, "front", side, None),
        drive=drive,
        ground=_ground(sizes, mounting),
        guide=_guide(document, sizes),
        slot=_slot(document),
        wear=number(mounting, "wear") or ZERO,
    )


def center_distance_of(document: Document) -> Size | None:
    """Motor shaft to axle: as typed, else across both shafts, else from a pair that runs free."""
    sizes: Sizes = document["chassis"]["sizes"]
    if (typed := _size(sizes, "center_distance")) is not None:
        return typed
    across, shaft, axle = (number(sizes, code) for code in ("across_shafts", "motor_shaft", "axle_diameter"))
    if across is not None and shaft is not None and axle is not None:
        try:
            return Size(distance_across(across_mm=across, motor_shaft_mm=shaft, axle_mm=axle), CALIPER)
        except GearingError:
            return None
    for pair in document["chassis"].get("runs_free", ()):
        gears = _pair_of(pair.get("pinion", NONE), pair.get("driven_gear", NONE))
        found = distance_from_pair(gears[0], gears[1]) if gears else None
        if found is not None:
            return Size(Fraction(round(found.likely_mm, 3)), BY_PAIR)
    return None


def _gear(document: Document, mounting: Sizes) -> DrivenGear | None:
    told = sizes_at(document, "driven_gear")
    outside, face = _size(told, "outside_diameter"), _size(told, "face_width")
    if outside is None or face is None:
        return None
    hub = _size(told, "hub_width") or Size(ZERO)
    return DrivenGear(
        outside_diameter=outside, face_width=face, hub_width=hub, hub_in=mounting.get("hub_side") != "out"
    )


def _pinion(document: Document, mounting: Sizes) -> Pinion | None:
    told = sizes_at(document, "pinion")
    outside, length, gap = _size(told, "outside_diameter"), _size(told, "length"), _size(mounting, "pinion_gap")
    if outside is None or length is None or gap is None:
        return None
    return Pinion(outside_diameter=outside, length=length, gap=gap)


def _axle(document: Document, name: str, gear_side: Side, gear: DrivenGear | None) -> Axle | None:
    sizes: Sizes = document["chassis"]["sizes"]
    mounting: Sizes = document.get("mounting", NONE)
    tire, wheel = sizes_at(document, f"{name}_tires"), sizes_at(document, f"{name}_wheels")
    reach, diameter, width = _half(sizes, f"{name}_bushing_span"), _size(tire, "diameter"), _size(tire, "width")
    if reach is None or diameter is None or width is None:
        return None
    made = Wheel(
        tire_diameter=diameter,
        tire_width=width,
        inset=_size(wheel, "inset") or Size(ZERO),
        rim_diameter=_size(wheel, "rim_diameter"),
        bore=_size(wheel, "hub_length"),
        edge=(number(mounting, "edge") or ZERO) if name == "rear" else ZERO,
    )
    left, right = (
        AxleSide(
            reach=reach,
            wheel=made,
            inner_spacers=_spacers(document, f"{name}_{side}_inner"),
            gear=gear if side is gear_side else None,
            outer_spacers=_spacers(document, f"{name}_{side}_outer"),
            body=_half(sizes, f"{name}_body_width"),
        )
        for side in Side
    )
    return Axle(
        left=left,
        right=right,
        length=_size(sizes_at(document, f"{name}_axle"), "length"),
        end_play=_size(mounting, f"{name}_end_play"),
        hub_to_hub=_size(mounting, f"{name}_hub_to_hub"),
    )


def _spacers(document: Document, place: str) -> tuple[Size, ...]:
    rows = document.get("spacers", {}).get(place, ())
    return tuple(size for row in rows if (size := _size(row, "thickness", ZERO)) is not None)


def _ground(sizes: Sizes, mounting: Sizes) -> Ground:
    return Ground(
        chassis_below_axle=_size(sizes, "chassis_below_axle"),
        rear_axle_over_bottom=_size(sizes, "rear_axle_height"),
        front_axle_over_bottom=_size(sizes, "front_axle_height"),
        wheelbase=_size(sizes, "wheelbase"),
        guide_ahead=_size(sizes, "guide_ahead"),
        guide_height=_size(mounting, "guide_height"),
        nose_ahead=_size(sizes, "nose_ahead"),
    )


def _guide(document: Document, sizes: Sizes) -> Guide:
    told = sizes_at(document, "guide")
    corners = ((number(row, "back"), number(row, "side")) for row in document["chassis"].get("corners", ()))
    return Guide(
        blade_depth=_size(told, "blade_depth"),
        blade_thickness=_size(told, "blade_thickness"),
        shaft=_size(told, "shaft_length"),
        holder=_size(sizes, "guide_holder"),
        spacers=_spacers(document, "guide"),
        clip=_size(told, "clip"),
        tail=_size(told, "tail"),
        corners=tuple(Corner(back=back, side=side) for back, side in corners if back is not None and side is not None),
        contact=_size(told, "blade_length"),
    )


def _slot(document: Document) -> Slot:
    track: Sizes = document.get("track", NONE)
    return Slot(depth=_size(track, "slot_depth"), width=_size(track, "slot_width"))


# Gears.


def _told(sizes: Sizes) -> dict[str, Any]:
    module, pitch = number(sizes, "module"), number(sizes, "diametral_pitch", Kind.COUNT)
    if module is None and pitch:
        module = Fraction(254, 10) / pitch
    return {
        "teeth": int(number(sizes, "teeth", Kind.COUNT) or 0),
        "module_mm": module,
        "outside_diameter_mm": number(sizes, "outside_diameter"),
    }


def _pair_of(pinion: Sizes, driven: Sizes) -> tuple[SpurGear, SpurGear, tuple[Assumption, ...]] | None:
    """Both gears with what was assumed. None without teeth; raises GearingError for what makes no gears."""
    if not pinion.get("teeth") or not driven.get("teeth"):
        return None
    first, second = _told(pinion), _told(driven)
    one = assume_gear(**first, mate_module_mm=None if first["module_mm"] else second["module_mm"])
    other = assume_gear(**second, mate_module_mm=None if second["module_mm"] else one.gear.module_mm)
    return one.gear, other.gear, (*one.assumptions, *other.assumptions)


def _gears(document: Document) -> tuple[Gears | None, str]:
    """The pair on the car, or what is wrong with it. A crown gear's mesh is another matter: only its ratio is told."""
    pinion, driven = sizes_at(document, "pinion"), sizes_at(document, "driven_gear")
    try:
        pair = _pair_of(pinion, driven)
        if pair is None:
            return None, ""
        distance = center_distance_of(document)
        kind = (document["parts"].get("driven_gear") or {}).get("kind")
        mesh = None
        if distance is not None and kind != "crown_gear":
            records = [
                RunningRecord(distance_mm=distance.value, within_mm=max(distance.within, CALIPER))
                for told in document["chassis"].get("runs_free", ())
                if _is_this_pair(told, pinion, driven)
            ]
            angle = number(document["chassis"]["sizes"], "shaft_angle", Kind.ANGLE) or ZERO
            mesh = mesh_at(pair[0], pair[1], distance_mm=distance.value, records=records, shaft_angle_deg=angle)
    except GearingError as error:
        return None, str(error)
    return Gears(pinion=pair[0], driven=pair[1], assumptions=pair[2], mesh=mesh), ""


def _is_this_pair(told: Mapping[str, Sizes], pinion: Sizes, driven: Sizes) -> bool:
    """Is a recorded pair this very one, as far as its sizes are told?"""
    pairs = ((told.get("pinion", NONE), pinion), (told.get("driven_gear", NONE), driven))
    return all(
        _told(one)["teeth"] == _told(other)["teeth"]
        and None
        in {number(one, "outside_diameter"), number(other, "outside_diameter")}
        | ({None} if number(one, "outside_diameter") == number(other, "outside_diameter") else set())
        for one, other in pairs
    )


# Weight.


def _weight(document: Document) -> tuple[Weight | None, Fraction | None]:
    """Where the car's weight rests, as far as pieces have a mass and a place; and the sum of all masses."""
    sizes: Sizes = document["chassis"]["sizes"]
    ahead = {
        "rear_tires": ZERO, "rear_wheels": ZERO, "rear_axle": ZERO, "driven_gear": ZERO,
        "motor": number(sizes, "center_distance") or ZERO, "pinion": number(sizes, "center_distance") or ZERO,
        "guide": number(sizes, "guide_ahead"), "braid": number(sizes, "guide_ahead"),
    } | dict.fromkeys(("front_tires", "front_wheels", "front_axle"), number(sizes, "wheelbase"))  # fmt: skip
    masses: list[tuple[str, Fraction, Fraction | None]] = []
    for place in document.get("parts", {}):
        mass = number(sizes_at(document, place), "mass", Kind.MASS)
        if mass is not None:
            twice = 2 if place.endswith(("tires", "wheels")) else 1
            masses.append((place, mass * twice, ahead.get(place)))
    if (mass := number(sizes, "mass", Kind.MASS)) is not None:
        masses.append(("chassis", mass, number(sizes, "mass_ahead")))
    for place, row in enumerate(document.get("ballast", ())):
        mass = number(row, "mass", Kind.MASS)
        if mass is not None:
            masses.append((f"ballast.{place}", mass, number(row, "ahead")))
    total = sum((mass for _name, mass, _ahead in masses), ZERO) if masses else None
    guide = _size(sizes, "guide_ahead")
    if guide is None or not masses or any(at is None for _name, _mass, at in masses):
        return None, total
    pieces = [
        Piece(name=name, mass=Size(mass, SCALE), ahead=Size(at or ZERO, Fraction(1))) for name, mass, at in masses
    ]
    try:
        return weigh(pieces, guide_ahead=guide), total
    except FitError:
        return None, total


# What tech would find.


def found_of(document: Document, build: Build | None, report: FitReport | None) -> dict[str, Observation]:
    """What can be told of a build before it stands on the tech table, by the code of the characteristic.

    A size may be off either way as its tolerance says, all values alike (variance: tolerance squared over 3).
    """
    found = {code: named(text) for code, text in document.get("declared", {}).items() if text}
    for place, code in _COUNTS.items():
        if (teeth := number(sizes_at(document, place), "teeth", Kind.COUNT)) is not None:
            found[code] = measured(Reading(Kind.COUNT, teeth))
    for (place, size), code in _LENGTHS.items():
        sizes = document["chassis"]["sizes"] if place == "chassis" else sizes_at(document, place)
        if (length := number(sizes, size)) is not None:
            found[code] = _at(Size(length, CALIPER))
    if build is not None and report is not None:
        found |= _found_on(build, report)
    return found


def _found_on(build: Build, report: FitReport) -> dict[str, Observation]:
    """What the build's sums tell. Gears count towards the ground clearance, as the register says of it."""
    sides = (build.rear.left.wheel, build.rear.right.wheel)
    found = {
        "rear-tire-diameter": _at(sides[0].tire_diameter),
        "rear-tire-width": _at(min((side.tire_width for side in sides), key=lambda size: size.value)),
    }
    for axle in (Place.REAR, Place.FRONT):
        if (width := report.find(FitCode.WIDTH, axle)) is not None:
            found[f"width-over-{axle}-tires"] = _at_stack(width.stack)
    under = [report.find(code) for code in (FitCode.UNDER_SPUR, FitCode.UNDER_MOTOR, FitCode.UNDER_CHASSIS)]
    known = [one for one in under if one is not None]
    if len(known) == len(under):
        found["ground-clearance"] = _at_stack(min(known, key=lambda one: one.value).stack)
    if under[0] is not None:
        found["rear-clearance"] = _at_stack(under[0].stack)
    return found


def _at(size: Size) -> Observation:
    return measured(Reading(Kind.LENGTH, size.value, size.within**2 / 3))


def _at_stack(stack: Stack) -> Observation:
    return measured(Reading(Kind.LENGTH, stack.value, stack.squared / 3))


_COUNTS = {"pinion": "pinion-teeth", "driven_gear": "driven-gear-teeth"}
_LENGTHS = {
    ("pinion", "outside_diameter"): "pinion-outside-diameter",
    ("driven_gear", "outside_diameter"): "driven-gear-outside-diameter",
    ("front_tires", "diameter"): "front-tire-diameter",
    ("front_tires", "width"): "front-tire-width",
    ("rear_wheels", "rim_diameter"): "rear-rim-diameter",
    ("front_wheels", "rim_diameter"): "front-rim-diameter",
    ("guide", "blade_length"): "guide-blade-length",
    ("guide", "blade_depth"): "guide-blade-depth",
    ("guide", "shaft_diameter"): "guide-shaft-diameter",
    ("chassis", "axle_diameter"): "axle-diameter",
    ("chassis", "wheelbase"): "wheelbase",
}


def ratio_of(document: Document) -> Fraction | None:
    """Driven teeth over the pinion's; None where one is not told."""
    pinion, driven = (number(sizes_at(document, place), "teeth", Kind.COUNT) for place in ("pinion", "driven_gear"))
    if not pinion or not driven:
        return None
    return gear_ratio(pinion=int(pinion), driven=int(driven))


# By how much a clearance falls, in mm, for each mm that the rear tires lose in diameter (worn or trued).
WEARS: Mapping[str, Fraction] = {
    "rear-tire-diameter": Fraction(1),
    "ground-clearance": Fraction(1, 2),
    "rear-clearance": Fraction(1, 2),
}
