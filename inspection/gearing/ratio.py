"""Gear ratio, rollout, module and pitch, and the standard sizes of a pair of spur gears. Exact throughout."""

from decimal import Decimal
from fractions import Fraction
from typing import Final

from inspection.gearing.errors import GearingCode, GearingError
from inspection.units import Kind, Quantity, base_unit, make_quantity

# Pi to 50 significant digits, so that a rollout used in a rule compares the same on every machine.
PI: Final = Fraction(Decimal("3.1415926535897932384626433832795028841971693993751"))

_MM_PER_INCH: Final = Fraction(254, 10)


def gear_ratio(*, pinion: int, driven: int) -> Fraction:
    """Motor revolutions per axle revolution: driven / pinion, with tooth counts of 1 or more.

    Raises GearingError teeth_below_one.
    """
    _check_teeth(pinion, driven)
    return Fraction(driven, pinion)


def rollout(*, pinion: int, driven: int, tire_diameter: Quantity) -> Quantity:
    """Distance traveled per motor revolution: pi * tire diameter * pinion / driven.

    tire_diameter: loaded rear tire. The result is in the unit of the diameter.
    Raises GearingError teeth_below_one, size_not_positive or not_a_length.
    """
    ratio = gear_ratio(pinion=pinion, driven=driven)
    _check_length(tire_diameter)
    return make_quantity(PI * tire_diameter.magnitude / ratio, tire_diameter.unit)


def module_from_pitch(diametral_pitch: Fraction | int) -> Quantity:
    """Module in mm of a diametral pitch in teeth per inch: 25.4 / pitch.

    Raises GearingError size_not_positive.
    """
    _check_positive(diametral_pitch)
    return make_quantity(_MM_PER_INCH / diametral_pitch, base_unit(Kind.LENGTH))


def pitch_from_module(module: Quantity) -> Fraction:
    """Diametral pitch in teeth per inch: 25.4 / module in mm. Raises GearingError."""
    _check_length(module)
    return _MM_PER_INCH / module.base


def outside_diameter(*, teeth: int, module: Quantity) -> Quantity:
    """Outside diameter of a standard full-depth spur gear, (teeth + 2) * module, in the unit of the module.

    Addendum of one module (ISO 53, basic rack type A), no profile shift. Raises GearingError.
    """
    _check_teeth(teeth)
    _check_length(module)
    return make_quantity((teeth + 2) * module.magnitude, module.unit)


def center_distance(*, pinion: int, driven: int, module: Quantity) -> Quantity:
    """Distance of the shafts of a standard spur pair, (pinion + driven) * module / 2, in the module's unit.

    Without profile shift and without backlash. Raises GearingError.
    """
    _check_teeth(pinion, driven)
    _check_length(module)
    return make_quantity((pinion + driven) * module.magnitude / 2, module.unit)


def _check_teeth(*counts: int) -> None:
    if min(counts) < 1:
        raise GearingError(GearingCode.TEETH_BELOW_ONE)


def _check_positive(size: Fraction | int) -> None:
    if size <= 0:
        raise GearingError(GearingCode.SIZE_NOT_POSITIVE)


def _check_length(size: Quantity) -> None:
    if size.kind is not Kind.LENGTH:
        raise GearingError(GearingCode.NOT_A_LENGTH, found=size.kind.value.replace("_", " "))
    _check_positive(size.magnitude)
