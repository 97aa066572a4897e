"""Two spur gears on the shafts of a chassis: do they run, and what does theory say about it.

Distances come in as exact fractions in millimeters. What is rational is decided exactly (reach, tip against root,
pitch); backlash, angles and contact ratios are floats that inform. Formulas: ISO 21771:2007 (also in the published
worked examples that the tests quote). Teeth are involute and of full depth unless an outside diameter says otherwise;
shafts are parallel. What a builder has seen running outranks all of it.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from fractions import Fraction
from math import acos, cos, degrees, pi, radians, sin, sqrt, tan
from typing import Final

from inspection.gearing.errors import GearingCode, GearingError
from inspection.gearing.involute import involute, involute_angle
from inspection.gearing.spur import ADDENDUM, DEDENDUM, SpurGear


class MeshVerdict(StrEnum):
    """What a mesh at a distance comes to. In the order of a growing distance, save wrong_pitch."""

    BOTTOMS = "bottoms"
    TIGHT = "tight"
    RUNS = "runs"
    LOOSE = "loose"
    DRIVE_INTERRUPTED = "drive_interrupted"
    DOES_NOT_REACH = "does_not_reach"
    WRONG_PITCH = "wrong_pitch"

    @property
    def runs(self) -> bool:
        """Does the pair drive? A loose one does, with noise and wear."""
        return self in {MeshVerdict.RUNS, MeshVerdict.LOOSE}


class MeshNote(StrEnum):
    """What else should be known about a mesh; none of it changes the verdict."""

    UNDERCUT_PINION = "undercut_pinion"
    UNDERCUT_DRIVEN = "undercut_driven"
    POINTED_PINION = "pointed_pinion"
    POINTED_DRIVEN = "pointed_driven"
    CONTACT_LOW = "contact_low"
    CONTACT_SHORT = "contact_short"
    SHAFTS_AT_ANGLE = "shafts_at_angle"
    THEORY_DIFFERS = "theory_differs"


class Basis(StrEnum):
    """What a verdict rests on."""

    THEORY = "theory"
    RECORD = "record"


ORDER: Final = tuple(MeshVerdict)
# Backlash below this many mm is none: it absorbs rounding where theory says exactly zero.
_NOTHING: Final = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class MeshTargets:
    """What a builder wants of a mesh, in modules: common practice of gear handbooks (from memory), to be set.

    backlash: aimed at, along the line of action. loose_above: more than this is called loose. contact_low: a contact
    ratio below this is noted.
    """

    backlash: Fraction = Fraction(1, 25)
    loose_above: Fraction = Fraction(1, 4)
    contact_low: float = 1.2


@dataclass(frozen=True, slots=True, kw_only=True)
class RunningRecord:
    """A pair that somebody has seen running free at this distance, give or take `within_mm` of measuring."""

    distance_mm: Fraction
    within_mm: Fraction = Fraction(2, 100)


@dataclass(frozen=True, slots=True, kw_only=True)
class LineOfAction:
    """How teeth meet at a distance, by theory.

    pressure_angle_deg: the operating one. contact_ratio: from tip circle to tip circle; clipped: between the base
    tangents, where teeth can drive. carried: the one that decides about the drive. backlash_mm: along the line of
    action; play_mm: along the pitch circles; below 0 the teeth would stand in each other.
    """

    pressure_angle_deg: float
    contact_ratio: float
    contact_ratio_clipped: float
    carried: float
    backlash_mm: float
    play_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Mesh:
    """A pair at a distance. Lengths in mm; the exact ones are fractions.

    findings: everything that is true of it, the verdict first. zero_backlash_mm: None when theory has none (teeth so
    thin that they have play wherever they touch). working_mm: distance with the backlash aimed at and with tips clear.
    tip_clearance_mm: the smaller of both; below 0 tips would stand in the roots. overlap_mm: of the tip circles.
    line: None below the sum of the base radii, where no line of action exists, and for gears of two pitches; what
    is read from it is None then too.
    """

    verdict: MeshVerdict
    findings: tuple[MeshVerdict, ...]
    notes: tuple[MeshNote, ...]
    basis: Basis
    theory: MeshVerdict
    ratio: Fraction
    distance_mm: Fraction
    reach_mm: Fraction
    overlap_mm: Fraction
    tip_to_root_mm: Fraction
    tip_clearance_mm: Fraction
    zero_backlash_mm: float | None = None
    working_mm: float | None = None
    line: LineOfAction | None = None

    @property
    def pressure_angle_deg(self) -> float | None:
        return None if self.line is None else self.line.pressure_angle_deg

    @property
    def contact_ratio(self) -> float | None:
        return None if self.line is None else self.line.contact_ratio

    @property
    def contact_ratio_clipped(self) -> float | None:
        return None if self.line is None else self.line.contact_ratio_clipped

    @property
    def backlash_mm(self) -> float | None:
        return None if self.line is None else self.line.backlash_mm

    @property
    def play_mm(self) -> float | None:
        return None if self.line is None else self.line.play_mm


TARGETS: Final = MeshTargets()


def is_same_pitch(pinion: SpurGear, driven: SpurGear) -> bool:
    """Do both have one module and one pressure angle?"""
    return pinion.module_mm == driven.module_mm and pinion.pressure_angle_deg == driven.pressure_angle_deg


def zero_backlash_distance(pinion: SpurGear, driven: SpurGear) -> float | None:
    """Distance in mm at which both flanks touch: a' = (r_b1 + r_b2) / cos(alpha').

    inv(alpha') = inv(alpha) + 2 tan(alpha) (x1 + x2) / (z1 + z2). None for gears of two pitches, and when that is
    below 0: then teeth have play wherever they touch.
    """
    return _distance_with(pinion, driven, 0.0) if is_same_pitch(pinion, driven) else None


def working_distance(pinion: SpurGear, driven: SpurGear, *, targets: MeshTargets = TARGETS) -> float | None:
    """Distance in mm with the backlash aimed at, and at least as far as leaves tips as far off the roots.

    None for gears of two pitches, or when the teeth no longer touch there.
    """
    if not is_same_pitch(pinion, driven):
        return None
    wanted = float(targets.backlash * pinion.module_mm)
    by_backlash = _distance_with(pinion, driven, wanted)
    clear = float(tip_to_root_distance(pinion, driven)) + wanted
    distance = max(clear, by_backlash if by_backlash is not None else _base_radii(pinion, driven))
    return distance if distance < float(reach(pinion, driven)) else None


def reach(pinion: SpurGear, driven: SpurGear) -> Fraction:
    """Sum of the tip radii in mm: from this distance on they do not touch at all."""
    return (pinion.outside_diameter_mm + driven.outside_diameter_mm) / 2


def tip_to_root_distance(pinion: SpurGear, driven: SpurGear) -> Fraction:
    """Distance in mm, exact, at which the first tip meets a root."""
    return (
        max(pinion.outside_diameter_mm + driven.root_diameter_mm, driven.outside_diameter_mm + pinion.root_diameter_mm)
        / 2
    )


def shift_sum_at(pinion: SpurGear, driven: SpurGear, distance_mm: float) -> float | None:
    """x1 + x2 with which gears of these teeth mesh without backlash at this distance; the inverse problem.

    None where no line of action exists. Only teeth, module and pressure angle of the gears count.
    """
    base = _base_radii(pinion, driven)
    if distance_mm < base:
        return None
    alpha = radians(pinion.pressure_angle_deg)
    rise = involute(acos(base / distance_mm)) - involute(alpha)
    return (pinion.teeth + driven.teeth) * rise / (2 * tan(alpha))


def distance_across(*, across_mm: Fraction, motor_shaft_mm: Fraction, axle_mm: Fraction) -> Fraction:
    """Center distance from a caliper over the outsides of both shafts: less half the sum of their diameters.

    Raises GearingError size_not_positive or shafts_overlap.
    """
    if min(across_mm, motor_shaft_mm, axle_mm) <= 0:
        raise GearingError(GearingCode.SIZE_NOT_POSITIVE)
    if across_mm <= max(motor_shaft_mm, axle_mm):
        raise GearingError(GearingCode.SHAFTS_OVERLAP)
    return across_mm - (motor_shaft_mm + axle_mm) / 2


@dataclass(frozen=True, slots=True)
class DistanceRange:
    """Distances in mm: from where the pair first runs free, where it runs best, and where its drive breaks off."""

    least_mm: float
    likely_mm: float
    most_mm: float


def distance_from_pair(pinion: SpurGear, driven: SpurGear, *, targets: MeshTargets = TARGETS) -> DistanceRange | None:
    """What a pair known to run free tells about a chassis's center distance.

    None for gears of two pitches or a pair that by theory runs nowhere.
    """
    likely = working_distance(pinion, driven, targets=targets)
    if likely is None:
        return None
    zero = zero_backlash_distance(pinion, driven)
    least = max(float(tip_to_root_distance(pinion, driven)), zero if zero is not None else _base_radii(pinion, driven))
    most = _last_contact(pinion, driven)
    return DistanceRange(least, likely, most) if least < most and likely <= most else None


def mesh_at(
    pinion: SpurGear,
    driven: SpurGear,
    *,
    distance_mm: Fraction,
    targets: MeshTargets = TARGETS,
    records: Sequence[RunningRecord] = (),
    shaft_angle_deg: Fraction = Fraction(0),
) -> Mesh:
    """Everything about a pair at a center distance in mm.

    records: distances at which this very pair ran free; they outrank theory, there and on both sides of it (further
    apart it is no tighter, closer together no looser). shaft_angle_deg: of an anglewinder; noted, since contact
    ratio and backlash hold for parallel shafts. Raises GearingError size_not_positive.
    """
    if distance_mm <= 0:
        raise GearingError(GearingCode.SIZE_NOT_POSITIVE)
    mesh = _by_theory(pinion, driven, distance_mm, targets)
    if shaft_angle_deg:
        mesh = replace(mesh, notes=(*mesh.notes, MeshNote.SHAFTS_AT_ANGLE))
    return _by_record(mesh, records)


@dataclass(frozen=True, slots=True, kw_only=True)
class ShiftedPair:
    """A pair with profile shift and shortened tips, as a gear handbook lays it out. Lengths in mm.

    center_coefficient: y = (a' - a) / m. Floats: the shortening depends on an angle.
    """

    distance_mm: float
    pressure_angle_deg: float
    center_coefficient: float
    addendum_mm: tuple[float, float]
    tooth_height_mm: float
    outside_mm: tuple[float, float]
    root_mm: tuple[float, float]
    base_mm: tuple[float, float]
    operating_mm: tuple[float, float]
    contact_ratio: float


def shifted_pair(pinion: SpurGear, driven: SpurGear) -> ShiftedPair | None:
    """The pair laid out without backlash and with a quarter of a module between tip and root.

    Only teeth, module, shift and pressure angle count: h_a1 = (1 + y - x2) m, h = (2.25 + y - x1 - x2) m.
    None for gears of two pitches or where no such distance exists.
    """
    distance = zero_backlash_distance(pinion, driven)
    if distance is None:
        return None
    gears, module = (pinion, driven), float(pinion.module_mm)
    base = (pinion.base_diameter_mm, driven.base_diameter_mm)
    angle = acos(min(1.0, sum(base) / 2 / distance))
    total = float(pinion.shift + driven.shift)
    y = distance / module - (pinion.teeth + driven.teeth) / 2
    # one gear's tip is shortened by what the other's shift pushes out
    addenda = tuple((float(ADDENDUM) + y - total + float(gear.shift)) * module for gear in gears)
    outside = tuple(float(gear.pitch_diameter_mm) + 2 * height for gear, height in zip(gears, addenda, strict=True))
    paths = [sqrt(max(0.0, tip * tip - one * one)) / 2 for tip, one in zip(outside, base, strict=True)]
    return ShiftedPair(
        distance_mm=distance,
        pressure_angle_deg=degrees(angle),
        center_coefficient=y,
        addendum_mm=(addenda[0], addenda[1]),
        tooth_height_mm=(float(ADDENDUM + DEDENDUM) + y - total) * module,
        outside_mm=(outside[0], outside[1]),
        root_mm=(float(pinion.root_diameter_mm), float(driven.root_diameter_mm)),
        base_mm=base,
        operating_mm=(base[0] / cos(angle), base[1] / cos(angle)),
        contact_ratio=(sum(paths) - distance * sin(angle)) / _base_pitch(pinion),
    )


def _base_radii(pinion: SpurGear, driven: SpurGear) -> float:
    return (pinion.base_diameter_mm + driven.base_diameter_mm) / 2


def _base_pitch(gear: SpurGear) -> float:
    return pi * float(gear.module_mm) * cos(radians(gear.pressure_angle_deg))


def _involute_at_zero(pinion: SpurGear, driven: SpurGear) -> float:
    """inv(alpha') at which both flanks touch; below 0 they never do."""
    alpha = radians(pinion.pressure_angle_deg)
    shifts = float((pinion.shift + driven.shift) / (pinion.teeth + driven.teeth))
    return involute(alpha) + 2 * tan(alpha) * shifts


def _distance_with(pinion: SpurGear, driven: SpurGear, backlash_mm: float) -> float | None:
    base = _base_radii(pinion, driven)
    value = _involute_at_zero(pinion, driven) + backlash_mm / (2 * base)
    return base / cos(involute_angle(value)) if value >= 0 else None


def _tip_paths(pinion: SpurGear, driven: SpurGear) -> tuple[float, float]:
    """For each gear, from its base tangent along the line of action to its tip circle, in mm."""
    return _tip_path(pinion), _tip_path(driven)


def _tip_path(gear: SpurGear) -> float:
    tip, base = float(gear.outside_diameter_mm), gear.base_diameter_mm
    return sqrt(max(0.0, tip * tip - base * base)) / 2


def _last_contact(pinion: SpurGear, driven: SpurGear) -> float:
    """The distance in mm beyond which less than one pair of teeth is in contact; 0 if that is so everywhere."""
    one, other = _tip_paths(pinion, driven)
    pitch = _base_pitch(pinion)
    if min(one, other) < pitch:
        return 0.0
    return sqrt(_base_radii(pinion, driven) ** 2 + (one + other - pitch) ** 2)


def _by_theory(pinion: SpurGear, driven: SpurGear, distance: Fraction, targets: MeshTargets) -> Mesh:
    root, tips = tip_to_root_distance(pinion, driven), reach(pinion, driven)
    mesh = Mesh(
        verdict=MeshVerdict.WRONG_PITCH,
        findings=(MeshVerdict.WRONG_PITCH,) + (MeshVerdict.DOES_NOT_REACH,) * (distance >= tips),
        notes=(),
        basis=Basis.THEORY,
        theory=MeshVerdict.WRONG_PITCH,
        ratio=Fraction(driven.teeth, pinion.teeth),
        distance_mm=distance,
        reach_mm=tips,
        overlap_mm=tips - distance,
        tip_to_root_mm=root,
        tip_clearance_mm=distance - root,
    )
    if not is_same_pitch(pinion, driven):
        return mesh
    line = _line_of_action(pinion, driven, float(distance))
    findings = _findings(mesh, line, float(targets.loose_above * pinion.module_mm))
    return replace(
        mesh,
        verdict=findings[0],
        theory=findings[0],
        findings=findings,
        notes=_notes(pinion, driven, line, findings[0], targets),
        zero_backlash_mm=zero_backlash_distance(pinion, driven),
        working_mm=working_distance(pinion, driven, targets=targets),
        line=line,
    )


def _line_of_action(pinion: SpurGear, driven: SpurGear, distance_mm: float) -> LineOfAction | None:
    """None below the sum of the base radii.

    No tooth drives past the base tangents. Where both tips reach past them a larger distance lengthens the contact:
    `carried` is the longest contact from here on, and a shorter one is noted as short, not called interrupted.
    """
    base = _base_radii(pinion, driven)
    if distance_mm < base:
        return None
    angle = acos(base / distance_mm)
    one, other = _tip_paths(pinion, driven)
    line, pitch = distance_mm * sin(angle), _base_pitch(pinion)
    backlash = 2 * base * (involute(angle) - _involute_at_zero(pinion, driven))
    return LineOfAction(
        pressure_angle_deg=degrees(angle),
        contact_ratio=(one + other - line) / pitch,
        contact_ratio_clipped=(min(one, line) + min(other, line) - line) / pitch,
        carried=min(one, other, one + other - line) / pitch,
        backlash_mm=backlash,
        play_mm=backlash / cos(angle),
    )


def _findings(mesh: Mesh, line: LineOfAction | None, loose_above_mm: float) -> tuple[MeshVerdict, ...]:
    """All that is true, the verdict first: too close before too far, and of each the worst."""
    found = {
        MeshVerdict.BOTTOMS: mesh.tip_clearance_mm <= 0,
        MeshVerdict.TIGHT: mesh.overlap_mm > 0 and (line is None or line.backlash_mm <= _NOTHING),
        MeshVerdict.DOES_NOT_REACH: mesh.overlap_mm <= 0,
        MeshVerdict.DRIVE_INTERRUPTED: line is not None and line.carried < 1,
        MeshVerdict.LOOSE: line is not None and line.backlash_mm > loose_above_mm,
    }
    return tuple(verdict for verdict, holds in found.items() if holds) or (MeshVerdict.RUNS,)


def _notes(
    pinion: SpurGear, driven: SpurGear, line: LineOfAction | None, verdict: MeshVerdict, targets: MeshTargets
) -> tuple[MeshNote, ...]:
    clipped = None if line is None else line.contact_ratio_clipped
    said = {
        MeshNote.UNDERCUT_PINION: pinion.is_undercut,
        MeshNote.UNDERCUT_DRIVEN: driven.is_undercut,
        MeshNote.POINTED_PINION: pinion.tip_thickness_mm <= 0,
        MeshNote.POINTED_DRIVEN: driven.tip_thickness_mm <= 0,
        MeshNote.CONTACT_LOW: clipped is not None and 1 <= clipped < targets.contact_low,
        MeshNote.CONTACT_SHORT: verdict is not MeshVerdict.DRIVE_INTERRUPTED and clipped is not None and clipped < 1,
    }
    return tuple(note for note, holds in said.items() if holds)


def _by_record(mesh: Mesh, records: Sequence[RunningRecord]) -> Mesh:
    """What ran free at one distance is no tighter further apart and no looser closer together."""
    verdict = mesh.theory
    for record in records:
        off = mesh.distance_mm - record.distance_mm
        if abs(off) <= record.within_mm:
            verdict = MeshVerdict.RUNS
            break
        if mesh.theory is MeshVerdict.WRONG_PITCH:
            continue
        choose = max if off > 0 else min
        verdict = choose(verdict, MeshVerdict.RUNS, key=ORDER.index)
    if not records or verdict is mesh.theory:
        return mesh
    rest = tuple(finding for finding in mesh.findings if finding is not verdict)
    return replace(
        mesh,
        verdict=verdict,
        findings=(verdict, *rest),
        basis=Basis.RECORD,
        notes=(*mesh.notes, MeshNote.THEORY_DIFFERS),
    )
