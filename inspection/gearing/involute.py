"""The involute function and its inverse. Floats, in radians: they inform about a mesh and decide no clause."""

from math import atan, cbrt, inf, isfinite, pi, tan

from inspection.gearing.errors import GearingCode, GearingError

_STEPS = 60  # Newton's method ends after six at most; this only bounds the loop


def involute(angle: float) -> float:
    """inv(angle) = tan(angle) - angle, angle in radians from 0 to below a right angle (ISO 21771).

    Raises GearingError angle_out_of_range.
    """
    if not 0 <= angle < pi / 2:
        raise GearingError(GearingCode.ANGLE_OUT_OF_RANGE)
    return tan(angle) - angle


def involute_angle(value: float) -> float:
    """The angle in radians whose involute is `value`, 0 or more, by Newton's method.

    tan(a) - a is convex and rises, so from a start above the root every step stays above it. Two such starts are
    known: the cube root of 3 * value (a**3 / 3 is below the involute) and atan(value + pi / 2).
    Raises GearingError angle_out_of_range below 0 or for a number that is none.
    """
    if not (isfinite(value) and value >= 0):
        raise GearingError(GearingCode.ANGLE_OUT_OF_RANGE)
    if value == 0:
        return 0.0
    angle, before = min(cbrt(3 * value), atan(value + pi / 2)), inf
    for _ in range(_STEPS):
        if not angle < before:
            break
        slope = tan(angle)
        before, angle = angle, angle - (slope - angle - value) / (slope * slope)
    return min(angle, before)
