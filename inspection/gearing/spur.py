"""One spur gear: its circles, tooth thickness and undercut, and what must be assumed to know them.

Sizes come in as exact fractions in millimeters (`millimeters` reads a typed quantity); what needs no angle leaves as
exact fractions, what needs one as floats. Formulas: ISO 21771:2007; proportions: ISO 53, basic rack A.
"""

from dataclasses import dataclass, field
from enum import StrEnum
from fractions import Fraction
from math import acos, ceil, cos, pi, radians, sin, tan
from typing import Final

from inspection.gearing.errors import GearingCode, GearingError
from inspection.gearing.involute import involute
from inspection.gearing.series import guess_modules
from inspection.units import Kind, Quantity

# ISO 53, basic rack A, in modules: addendum, tip clearance, dedendum (read second-hand); fillet radius (from memory).
ADDENDUM: Final = Fraction(1)
CLEARANCE: Final = Fraction(1, 4)
DEDENDUM: Final = Fraction(5, 4)
ROOT_FILLET: Final = Fraction(38, 100)
PRESSURE_ANGLE_DEG: Final = Fraction(20)
_MOST_SHIFT: Final = Fraction(1)  # beyond it another pitch is likelier


class Assumption(StrEnum):
    """What was not measured but taken for granted about a gear."""

    MODULE_FROM_DIAMETER = "module_from_diameter"
    MODULE_FROM_MATE = "module_from_mate"
    MODULE_AMBIGUOUS = "module_ambiguous"
    SHIFT_FROM_DIAMETER = "shift_from_diameter"
    SHIFT_LARGE = "shift_large"
    STANDARD_DIAMETER = "standard_diameter"
    PRESSURE_ANGLE = "pressure_angle"
    FULL_DEPTH = "full_depth"


def millimeters(size: Quantity) -> Fraction:
    """A typed length as an exact number of millimeters. Raises GearingError not_a_length or size_not_positive."""
    if size.kind is not Kind.LENGTH:
        raise GearingError(GearingCode.NOT_A_LENGTH, found=size.kind.value.replace("_", " "))
    if size.magnitude <= 0:
        raise GearingError(GearingCode.SIZE_NOT_POSITIVE)
    return size.base


@dataclass(frozen=True, slots=True, kw_only=True)
class SpurGear:
    """A spur gear with involute teeth. Lengths in mm, exact; shift in modules (positive: outward).

    Raises GearingError teeth_below_one, size_not_positive, angle_out_of_range, no_root_circle, tip_inside_root.
    """

    teeth: int
    module_mm: Fraction
    outside_diameter_mm: Fraction
    shift: Fraction = Fraction(0)
    pressure_angle_deg: Fraction = PRESSURE_ANGLE_DEG
    base_diameter_mm: float = field(init=False, repr=False, compare=False)  # d_b = d cos(alpha)
    tooth_thickness_mm: float = field(init=False, repr=False, compare=False)  # on the reference circle
    tip_thickness_mm: float = field(init=False, repr=False, compare=False)  # 0 or less: pointed further in
    is_undercut: bool = field(init=False, repr=False, compare=False)  # would a full-depth rack cut the involute?

    def __post_init__(self) -> None:
        if self.teeth < 1:
            raise GearingError(GearingCode.TEETH_BELOW_ONE)
        if self.module_mm <= 0 or self.outside_diameter_mm <= 0:
            raise GearingError(GearingCode.SIZE_NOT_POSITIVE)
        if not 5 <= self.pressure_angle_deg <= 40:
            raise GearingError(GearingCode.ANGLE_OUT_OF_RANGE)
        if self.root_diameter_mm <= 0:
            raise GearingError(GearingCode.NO_ROOT_CIRCLE, teeth=str(self.teeth))
        if self.outside_diameter_mm <= self.root_diameter_mm:
            raise GearingError(GearingCode.TIP_INSIDE_ROOT)
        self._work_out_angles()

    def _work_out_angles(self) -> None:
        """Once a gear: a planner asks for them with every mate.

        s = m (pi / 2 + 2 x tan(alpha)); at the tip s_a = d_a (s / d + inv(alpha) - inv(alpha_a)).
        """
        alpha, pitch = radians(self.pressure_angle_deg), float(self.pitch_diameter_mm)
        base, tip = pitch * cos(alpha), float(self.outside_diameter_mm)
        thickness = float(self.module_mm) * (pi / 2 + 2 * float(self.shift) * tan(alpha))
        at_tip = involute(acos(base / tip)) if tip > base else 0.0
        least = least_shift(teeth=self.teeth, pressure_angle_deg=self.pressure_angle_deg)
        object.__setattr__(self, "base_diameter_mm", base)
        object.__setattr__(self, "tooth_thickness_mm", thickness)
        object.__setattr__(self, "tip_thickness_mm", tip * (thickness / pitch + involute(alpha) - at_tip))
        object.__setattr__(self, "is_undercut", float(self.shift) < least)

    @property
    def pitch_diameter_mm(self) -> Fraction:
        """Reference circle, d = z m."""
        return self.teeth * self.module_mm

    @property
    def root_diameter_mm(self) -> Fraction:
        """d_f = m (z + 2x - 2.5)."""
        return self.module_mm * (self.teeth + 2 * (self.shift - DEDENDUM))

    @property
    def tooth_height_mm(self) -> Fraction:
        """From root to tip."""
        return (self.outside_diameter_mm - self.root_diameter_mm) / 2

    @property
    def addendum_mm(self) -> Fraction:
        """From the reference circle to the tip."""
        return (self.outside_diameter_mm - self.pitch_diameter_mm) / 2


@dataclass(frozen=True, slots=True)
class AssumedGear:
    """A gear as far as it is known, and what was assumed to know it."""

    gear: SpurGear
    assumptions: tuple[Assumption, ...]


def module_from_diameter(*, teeth: int, outside_diameter_mm: Fraction, shift: Fraction = Fraction(0)) -> Fraction:
    """Module in mm of a full-depth gear: d_a / (z + 2 + 2x), exact.

    Raises GearingError teeth_below_one, size_not_positive, no_root_circle.
    """
    if teeth < 1:
        raise GearingError(GearingCode.TEETH_BELOW_ONE)
    if outside_diameter_mm <= 0:
        raise GearingError(GearingCode.SIZE_NOT_POSITIVE)
    span = teeth + 2 * (ADDENDUM + shift)
    if span <= 0:
        raise GearingError(GearingCode.NO_ROOT_CIRCLE, teeth=str(teeth))
    return outside_diameter_mm / span


def shift_from_diameter(*, teeth: int, module_mm: Fraction, outside_diameter_mm: Fraction) -> Fraction:
    """Profile shift in modules of a full-depth gear, x = (d_a / m - z - 2) / 2, exact.

    Raises GearingError teeth_below_one or size_not_positive.
    """
    if teeth < 1:
        raise GearingError(GearingCode.TEETH_BELOW_ONE)
    if module_mm <= 0 or outside_diameter_mm <= 0:
        raise GearingError(GearingCode.SIZE_NOT_POSITIVE)
    return (outside_diameter_mm / module_mm - teeth) / 2 - ADDENDUM


def undercut_limit(*, pressure_angle_deg: Fraction = PRESSURE_ANGLE_DEG) -> float:
    """Tooth count below which an unshifted full-depth gear is undercut: 2 / sin(alpha)**2 (17.097 at 20 degrees)."""
    return 2 * float(ADDENDUM) / sin(radians(_angle(pressure_angle_deg))) ** 2


def undercut_limit_teeth(*, pressure_angle_deg: Fraction = PRESSURE_ANGLE_DEG) -> int:
    """The tooth count that is free of undercut in theory: 18 at 20 degrees (the usual rule says 17)."""
    return ceil(undercut_limit(pressure_angle_deg=pressure_angle_deg))


def least_shift(*, teeth: int, pressure_angle_deg: Fraction = PRESSURE_ANGLE_DEG) -> float:
    """Least profile shift in modules without undercut: x = 1 - z sin(alpha)**2 / 2. Raises GearingError."""
    if teeth < 1:
        raise GearingError(GearingCode.TEETH_BELOW_ONE)
    return float(ADDENDUM) - teeth / 2 * sin(radians(_angle(pressure_angle_deg))) ** 2


def assume_gear(
    *,
    teeth: int,
    module_mm: Fraction | None = None,
    outside_diameter_mm: Fraction | None = None,
    mate_module_mm: Fraction | None = None,
    pressure_angle_deg: Fraction | None = None,
) -> AssumedGear:
    """A gear from what a caliper and a price list tell, with everything that was assumed.

    module_mm: as marked or listed; else that of the gear it is to run with; else the standard size with the least
    profile shift. outside_diameter_mm: measured; it gives the profile shift. Without it the gear is a standard one.
    Raises GearingError size_missing when neither is known, no_standard_module, and those of `SpurGear`.
    """
    assumed: list[Assumption] = []
    module = module_mm
    if module is None and mate_module_mm is not None:
        module = mate_module_mm
        assumed.append(Assumption.MODULE_FROM_MATE)
    if module is None:
        if outside_diameter_mm is None:
            raise GearingError(GearingCode.SIZE_MISSING)
        module, ambiguous = _guess(teeth, outside_diameter_mm)
        assumed.append(Assumption.MODULE_FROM_DIAMETER)
        if ambiguous:
            assumed.append(Assumption.MODULE_AMBIGUOUS)
    if outside_diameter_mm is None:
        shift, diameter = Fraction(0), module * (teeth + 2 * ADDENDUM)
        assumed.append(Assumption.STANDARD_DIAMETER)
    else:
        diameter = outside_diameter_mm
        shift = shift_from_diameter(teeth=teeth, module_mm=module, outside_diameter_mm=diameter)
        assumed.append(Assumption.SHIFT_FROM_DIAMETER)
        if abs(shift) > _MOST_SHIFT:
            assumed.append(Assumption.SHIFT_LARGE)
    if pressure_angle_deg is None:
        assumed.append(Assumption.PRESSURE_ANGLE)
    assumed.append(Assumption.FULL_DEPTH)
    gear = SpurGear(
        teeth=teeth,
        module_mm=module,
        outside_diameter_mm=diameter,
        shift=shift,
        pressure_angle_deg=PRESSURE_ANGLE_DEG if pressure_angle_deg is None else pressure_angle_deg,
    )
    return AssumedGear(gear, tuple(assumed))


def _guess(teeth: int, outside_diameter_mm: Fraction) -> tuple[Fraction, bool]:
    """The likeliest module, and whether another is about as likely."""
    guesses = guess_modules(teeth=teeth, outside_diameter_mm=outside_diameter_mm)
    if not guesses:
        raise GearingError(GearingCode.NO_STANDARD_MODULE, teeth=str(teeth))
    return guesses[0].module_mm, len(guesses) > 1


def _angle(pressure_angle_deg: Fraction) -> Fraction:
    if not 5 <= pressure_angle_deg <= 40:
        raise GearingError(GearingCode.ANGLE_OUT_OF_RANGE)
    return pressure_angle_deg
