"""A pinion on a crown gear, as in an inline drive: ratio, diameter, depth, and the limits of the model.

The shafts cross at right angles in one plane. Near the circle on which both roll without sliding, z m across, a crown
gear is like a rack with its teeth along the axle, so depth and backlash follow the rack (ISO 53). Further in teeth
come together to a point, further out they are undercut; where, and how many teeth carry, a rack cannot say, so no
contact ratio is given. Lengths are exact fractions in millimeters; backlash is a float that informs.
"""

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from math import radians, sin
from typing import Final

from inspection.gearing.errors import GearingCode, GearingError
from inspection.gearing.mesh import TARGETS, MeshTargets, MeshVerdict
from inspection.gearing.spur import ADDENDUM, CLEARANCE, DEDENDUM, SpurGear


class CrownFinding(StrEnum):
    """What does not fit about the diameters."""

    ROLLS_OUTSIDE_TEETH = "rolls_outside_teeth"
    PINION_MISSES_ROLLING = "pinion_misses_rolling"
    PINION_MISSES_TEETH = "pinion_misses_teeth"
    PINION_MEETS_AXLE = "pinion_meets_axle"


class CrownLimit(StrEnum):
    """What the model leaves out; always shown with a result."""

    LIKE_A_RACK = "like_a_rack"
    NO_CONTACT_RATIO = "no_contact_ratio"
    SHAFTS_CROSS_SQUARE = "shafts_cross_square"


@dataclass(frozen=True, slots=True, kw_only=True)
class CrownGear:
    """A crown gear: its teeth stand on a flat ring from inner to outside diameter, pointing along the axle.

    Raises GearingError teeth_below_one, size_not_positive, band_turned_around.
    """

    teeth: int
    module_mm: Fraction
    outside_diameter_mm: Fraction
    inner_diameter_mm: Fraction

    def __post_init__(self) -> None:
        if self.teeth < 1:
            raise GearingError(GearingCode.TEETH_BELOW_ONE)
        if min(self.module_mm, self.outside_diameter_mm, self.inner_diameter_mm) <= 0:
            raise GearingError(GearingCode.SIZE_NOT_POSITIVE)
        if self.inner_diameter_mm >= self.outside_diameter_mm:
            raise GearingError(GearingCode.BAND_TURNED_AROUND)

    @property
    def rolling_diameter_mm(self) -> Fraction:
        """The circle on which a pinion of the same module rolls without sliding: z m."""
        return self.teeth * self.module_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class CrownMesh:
    """A pinion on a crown gear. Lengths in mm.

    verdict: None while the distance of the motor shaft from the tips of the crown's teeth is not known.
    setting_mm: that distance with the backlash aimed at. covered_mm: tooth length on which both stand, 0 at least.
    """

    verdict: MeshVerdict | None
    findings: tuple[CrownFinding, ...]
    limits: tuple[CrownLimit, ...]
    ratio: Fraction
    rolling_diameter_mm: Fraction
    covered_mm: Fraction
    setting_mm: float
    tip_clearance_mm: Fraction | None = None
    backlash_mm: float | None = None

    @property
    def fits(self) -> bool:
        """Do the diameters fit, and if the depth is known, does it drive?"""
        return not self.findings and (self.verdict is None or self.verdict.runs)


_NOTHING: Final = 1e-9


def crown_mesh(
    pinion: SpurGear,
    crown: CrownGear,
    *,
    pinion_from_mm: Fraction,
    pinion_length_mm: Fraction,
    axle_diameter_mm: Fraction,
    shaft_to_tips_mm: Fraction | None = None,
    targets: MeshTargets = TARGETS,
) -> CrownMesh:
    """Does the pinion fit the crown gear, and how deep should it stand?

    pinion_from_mm: from the center of the axle to the near end of the pinion, which is pinion_length_mm long.
    shaft_to_tips_mm: from the center of the motor shaft to the tips of the crown's teeth, along the axle.
    Raises GearingError size_not_positive.
    """
    if min(pinion_from_mm, pinion_length_mm, axle_diameter_mm) <= 0:
        raise GearingError(GearingCode.SIZE_NOT_POSITIVE)
    if shaft_to_tips_mm is not None and shaft_to_tips_mm <= 0:
        raise GearingError(GearingCode.SIZE_NOT_POSITIVE)
    module, alpha = pinion.module_mm, radians(pinion.pressure_angle_deg)
    # Without backlash the rack's reference line touches the pinion at r + x m; its tips stand one module nearer.
    tight = module * (Fraction(pinion.teeth, 2) + pinion.shift - ADDENDUM)
    begin = max(pinion_from_mm, crown.inner_diameter_mm / 2)
    end = min(pinion_from_mm + pinion_length_mm, crown.outside_diameter_mm / 2)
    verdict: MeshVerdict | None = None
    clearance: Fraction | None = None
    backlash: float | None = None
    if pinion.module_mm != crown.module_mm:
        verdict = MeshVerdict.WRONG_PITCH
    elif shaft_to_tips_mm is not None:
        off = shaft_to_tips_mm - tight
        backlash = 2 * float(off) * sin(alpha)
        clearance = min(
            off + CLEARANCE * module,  # the crown's tips over the pinion's roots
            shaft_to_tips_mm + (ADDENDUM + DEDENDUM) * module - pinion.outside_diameter_mm / 2,
        )
        verdict = _verdict(pinion, shaft_to_tips_mm, clearance, backlash, targets)
    return CrownMesh(
        verdict=verdict,
        findings=_diameters(pinion_from_mm, axle_diameter_mm, crown, begin, end),
        limits=tuple(CrownLimit),
        ratio=Fraction(crown.teeth, pinion.teeth),
        rolling_diameter_mm=crown.rolling_diameter_mm,
        covered_mm=max(Fraction(0), end - begin),
        setting_mm=float(tight) + float(targets.backlash * module) / (2 * sin(alpha)),
        tip_clearance_mm=clearance,
        backlash_mm=backlash,
    )


def _verdict(
    pinion: SpurGear, shaft_to_tips: Fraction, clearance: Fraction, backlash: float, targets: MeshTargets
) -> MeshVerdict:
    if shaft_to_tips >= pinion.outside_diameter_mm / 2:
        return MeshVerdict.DOES_NOT_REACH
    if clearance <= 0:
        return MeshVerdict.BOTTOMS
    if backlash <= _NOTHING:
        return MeshVerdict.TIGHT
    return MeshVerdict.LOOSE if backlash > float(targets.loose_above * pinion.module_mm) else MeshVerdict.RUNS


def _diameters(
    pinion_from: Fraction, axle_diameter: Fraction, crown: CrownGear, begin: Fraction, end: Fraction
) -> tuple[CrownFinding, ...]:
    rolling = crown.rolling_diameter_mm / 2
    found: list[CrownFinding] = []
    if not crown.inner_diameter_mm / 2 <= rolling <= crown.outside_diameter_mm / 2:
        found.append(CrownFinding.ROLLS_OUTSIDE_TEETH)
    if begin >= end:
        found.append(CrownFinding.PINION_MISSES_TEETH)
    elif not begin <= rolling <= end:
        found.append(CrownFinding.PINION_MISSES_ROLLING)
    if pinion_from <= axle_diameter / 2:
        found.append(CrownFinding.PINION_MEETS_AXLE)
    return tuple(found)
