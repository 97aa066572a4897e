"""A pinion on a crown gear."""

from fractions import Fraction
from math import radians, sin

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inspection.gearing.crown import CrownFinding, CrownGear, CrownLimit, crown_mesh
from inspection.gearing.errors import GearingCode, GearingError
from inspection.gearing.meanings import CROWN_FINDINGS, CROWN_LIMITS
from inspection.gearing.mesh import ORDER, MeshVerdict
from inspection.gearing.spur import SpurGear

HALF = Fraction(1, 2)
# 9/27 is a pair of the trade; the diameters are our own.
PINION = SpurGear(teeth=9, module_mm=HALF, outside_diameter_mm=Fraction("5.5"))
CROWN = CrownGear(teeth=27, module_mm=HALF, outside_diameter_mm=Fraction(15), inner_diameter_mm=Fraction("11.5"))


def mesh(crown=CROWN, **changes):
    values = {
        "pinion_from_mm": Fraction(5),
        "pinion_length_mm": Fraction(3),
        "axle_diameter_mm": Fraction("2.38"),
    } | changes
    return crown_mesh(PINION, crown, **values)


def test_the_ratio_and_the_circle_that_rolls():
    """Derived: z m = 13.5 mm, 27 / 9 = 3.00 (a tuning text's example of a ratio)."""
    found = mesh()
    assert found.ratio == 3
    assert found.rolling_diameter_mm == Fraction("13.5")
    assert found.covered_mm == Fraction("1.75")
    assert found.verdict is None
    assert found.fits


def test_the_limits_of_the_model_are_always_stated():
    assert mesh().limits == tuple(CrownLimit)
    assert set(CROWN_LIMITS) == set(CrownLimit)
    assert set(CROWN_FINDINGS) == set(CrownFinding)


@pytest.mark.parametrize(
    ("distance", "verdict"),
    [
        # Derived from the rack: tips stand one module nearer than the reference line, 2.25 - 0.5 = 1.75 mm.
        ("1.625", MeshVerdict.BOTTOMS),
        ("1.70", MeshVerdict.TIGHT),
        ("1.75", MeshVerdict.TIGHT),
        ("1.80", MeshVerdict.RUNS),
        ("2.00", MeshVerdict.LOOSE),
        ("2.75", MeshVerdict.DOES_NOT_REACH),
    ],
)
def test_the_depth_of_the_teeth(distance, verdict):
    assert mesh(shaft_to_tips_mm=Fraction(distance)).verdict is verdict


def test_the_setting_gives_the_backlash_aimed_at():
    setting = mesh().setting_mm
    found = mesh(shaft_to_tips_mm=Fraction(setting))
    assert setting == pytest.approx(1.75 + 0.02 / (2 * sin(radians(20))))
    assert found.backlash_mm == pytest.approx(0.02)
    assert found.tip_clearance_mm > 0
    assert found.fits


@pytest.mark.parametrize(
    ("crown", "changes", "finding"),
    [
        (CROWN, {"pinion_from_mm": Fraction(7)}, CrownFinding.PINION_MISSES_ROLLING),
        (CROWN, {"pinion_from_mm": Fraction(8)}, CrownFinding.PINION_MISSES_TEETH),
        (CROWN, {"pinion_from_mm": Fraction("1.19"), "pinion_length_mm": Fraction(7)}, CrownFinding.PINION_MEETS_AXLE),
        (
            CrownGear(teeth=31, module_mm=HALF, outside_diameter_mm=Fraction(15), inner_diameter_mm=Fraction(11)),
            {},
            CrownFinding.ROLLS_OUTSIDE_TEETH,
        ),
    ],
)
def test_diameters_that_do_not_fit_are_named(crown, changes, finding):
    found = mesh(crown, **changes)
    assert finding in found.findings
    assert not found.fits


def test_a_crown_of_another_pitch_is_the_wrong_one():
    other = CrownGear(
        teeth=27, module_mm=Fraction(127, 240), outside_diameter_mm=Fraction(16), inner_diameter_mm=Fraction(11)
    )
    assert mesh(other, shaft_to_tips_mm=Fraction(2)).verdict is MeshVerdict.WRONG_PITCH


def crown(**changes):
    values = {
        "teeth": 27, "module_mm": HALF, "outside_diameter_mm": Fraction(15), "inner_diameter_mm": Fraction(11),
    }  # fmt: skip
    return CrownGear(**(values | changes))


@pytest.mark.parametrize(
    ("make", "code"),
    [
        (lambda: crown(teeth=0), GearingCode.TEETH_BELOW_ONE),
        (lambda: crown(module_mm=Fraction(0)), GearingCode.SIZE_NOT_POSITIVE),
        (lambda: crown(inner_diameter_mm=Fraction(15)), GearingCode.BAND_TURNED_AROUND),
        (lambda: mesh(pinion_length_mm=Fraction(0)), GearingCode.SIZE_NOT_POSITIVE),
        (lambda: mesh(shaft_to_tips_mm=Fraction(0)), GearingCode.SIZE_NOT_POSITIVE),
    ],
)
def test_what_no_crown_can_be_is_refused(make, code):
    with pytest.raises(GearingError) as refused:
        make()
    assert refused.value.code is code


@settings(max_examples=40)
@given(st.fractions(Fraction(1, 2), 4, max_denominator=500), st.fractions(Fraction(1, 2), 4, max_denominator=500))
def test_further_apart_is_never_tighter(distance, further):
    near, far = sorted((distance, further))
    close, wide = mesh(shaft_to_tips_mm=near), mesh(shaft_to_tips_mm=far)
    assert ORDER.index(close.verdict) <= ORDER.index(wide.verdict)
    assert close.backlash_mm <= wide.backlash_mm
    assert close.tip_clearance_mm <= wide.tip_clearance_mm
