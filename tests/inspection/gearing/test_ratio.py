"""Ratios, rollouts and gear sizes against published definitions and the trade's own figures."""

from fractions import Fraction
from math import pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspection.gearing.errors import MESSAGES, GearingCode, GearingError
from inspection.gearing.ratio import (
    PI,
    center_distance,
    gear_ratio,
    module_from_pitch,
    outside_diameter,
    pitch_from_module,
    rollout,
)
from inspection.units import Kind, Quantity, format_decimal, format_quantity, make_quantity, parse_quantity

teeth = st.integers(1, 500)


def length(text: str) -> Quantity:
    return parse_quantity(text, Kind.LENGTH, default_unit="mm")


@pytest.mark.parametrize(
    ("tire", "pinion", "driven", "ratio", "millimeters", "inches"),
    [
        # Figures of the trade: tooth counts from rule sheets or common practice without source; the arithmetic
        # is recomputed. The first inch figure of the first row rounds 22.73 mm.
        ("20.5 mm", 12, 34, "2.8333", "22.73", "0.895"),
        ("20.5 mm", 12, 32, "2.6667", "24.15", "0.951"),
        ("19.0 mm", 11, 28, "2.5455", "23.45", "0.923"),
        ("19.5 mm", 9, 28, "3.1111", "19.69", "0.775"),
        ("20.0 mm", 9, 27, "3.0000", "20.94", None),
        ("20.0 mm", 10, 27, "2.7000", "23.27", None),
        ("20.0 mm", 11, 27, "2.4545", "25.60", None),
        ("20.0 mm", 12, 34, "2.8333", "22.18", "0.873"),
        ("27.0 mm", 12, 44, "3.6667", "23.13", "0.911"),
        (".8125 in", 8, 26, "3.2500", None, "0.785"),
        (".8125 in", 8, 27, "3.3750", None, "0.756"),
        ("13/16 in", 8, 28, "3.5000", None, "0.729"),
        (".8125 in", 9, 28, "3.1111", None, "0.820"),
        (".760 in", 9, 28, "3.1111", None, "0.767"),
        (".760 in", 7, 38, "5.4286", None, "0.440"),
    ],
)
def test_ratio_and_rollout_are_those_of_the_trade(tire, pinion, driven, ratio, millimeters, inches):
    assert format_decimal(gear_ratio(pinion=pinion, driven=driven), places=4) == ratio
    distance = rollout(pinion=pinion, driven=driven, tire_diameter=length(tire))
    assert distance.unit == length(tire).unit
    if millimeters:
        assert format_quantity(distance, unit="mm", places=2) == f"{millimeters} mm"
    if inches:
        assert format_quantity(distance, unit="in", places=3) == f"{inches} in"


def test_a_tuning_text_has_the_same_ratio():
    assert gear_ratio(pinion=9, driven=27) == 3


def test_pi_has_fifty_digits():
    """The first 50 digits, against Machin's formula in exact fractions."""

    def arctangent_of_inverse(n: int) -> Fraction:
        return sum((Fraction((-1) ** k, (2 * k + 1) * n ** (2 * k + 1)) for k in range(80)), Fraction(0))

    machin = 16 * arctangent_of_inverse(5) - 4 * arctangent_of_inverse(239)
    assert abs(PI - machin) < Fraction(1, 10**49)
    assert float(PI) == pi


@pytest.mark.parametrize(
    ("pitch", "module"),
    [
        # S09: derived from the exact inch.
        (24, Fraction(127, 120)),
        (32, Fraction(127, 160)),
        (48, Fraction(127, 240)),
        (64, Fraction(127, 320)),
        (72, Fraction(127, 360)),
        (80, Fraction(127, 400)),
    ],
)
def test_a_module_is_an_inch_over_the_pitch(pitch, module):
    assert module_from_pitch(pitch).base == module
    assert pitch_from_module(module_from_pitch(pitch)) == pitch


@pytest.mark.parametrize(
    ("pitch", "count", "millimeters"),
    # S10: standard full-depth proportions, derived.
    [(48, 8, "5.291667"), (64, 9, "4.365625"), (64, 28, "11.90625"), (80, 34, "11.43")],
)
def test_an_outside_diameter_is_two_modules_over_the_pitch_circle(pitch, count, millimeters):
    size = outside_diameter(teeth=count, module=module_from_pitch(pitch))
    assert abs(size.base - Fraction(millimeters)) < Fraction(1, 10**6)


def test_the_published_standard_pair_has_its_sizes():
    """S01: module 3, 12 and 24 teeth: a 54, outside diameters 42 and 78 mm (KHK table 4.1; from memory)."""
    module = length("3 mm")
    assert center_distance(pinion=12, driven=24, module=module).base == 54
    assert outside_diameter(teeth=12, module=module).base == 42
    assert outside_diameter(teeth=24, module=module).base == 78


@pytest.mark.parametrize(
    ("module", "pinion", "driven", "millimeters"),
    [
        # S11: two derived; the last from a university gear course's example.
        (module_from_pitch(64), 9, 28, "7.3421875"),
        (length("0.5 mm"), 9, 28, "9.25"),
        (length("2 mm"), 20, 10, "30"),
    ],
)
def test_a_center_distance_is_half_the_sum_of_the_pitch_circles(module, pinion, driven, millimeters):
    assert center_distance(pinion=pinion, driven=driven, module=module).base == Fraction(millimeters)


@pytest.mark.parametrize(
    "calculate",
    [
        lambda: gear_ratio(pinion=0, driven=28),
        lambda: gear_ratio(pinion=9, driven=0),
        lambda: rollout(pinion=-1, driven=28, tire_diameter=length("20")),
        lambda: outside_diameter(teeth=0, module=length("0.5")),
        lambda: center_distance(pinion=9, driven=-28, module=length("0.5")),
    ],
)
def test_a_gear_has_a_tooth(calculate):
    with pytest.raises(GearingError) as refused:
        calculate()
    assert refused.value.code is GearingCode.TEETH_BELOW_ONE


@pytest.mark.parametrize(
    "calculate",
    [
        lambda: rollout(pinion=9, driven=28, tire_diameter=length("0")),
        lambda: module_from_pitch(0),
        lambda: module_from_pitch(-48),
        lambda: pitch_from_module(length("0")),
        lambda: outside_diameter(teeth=9, module=length("0")),
    ],
)
def test_a_size_is_above_zero(calculate):
    with pytest.raises(GearingError) as refused:
        calculate()
    assert refused.value.code is GearingCode.SIZE_NOT_POSITIVE


def test_a_tire_is_not_measured_in_grams():
    with pytest.raises(GearingError) as refused:
        rollout(pinion=9, driven=28, tire_diameter=parse_quantity("20 g", Kind.MASS, default_unit=None))
    assert refused.value.code is GearingCode.NOT_A_LENGTH
    assert str(refused.value) == "A length is needed, not a mass."


def test_every_code_has_a_message():
    assert set(MESSAGES) == set(GearingCode)


@given(teeth, teeth, st.fractions(min_value=Fraction(1, 100), max_value=100), st.sampled_from(["mm", "in", "thou"]))
def test_rollout_times_ratio_is_one_turn_of_the_tire_in_any_unit(pinion, driven, diameter, unit):
    tire = make_quantity(diameter, length("1 mm").unit)
    distance = rollout(pinion=pinion, driven=driven, tire_diameter=tire.to(unit))
    assert distance.base * gear_ratio(pinion=pinion, driven=driven) == PI * diameter


@given(teeth, teeth, st.fractions(min_value=Fraction(1, 100), max_value=10))
def test_two_standard_gears_touch_with_two_modules_of_overlap(pinion, driven, size):
    """Outside radii overlap by twice the addendum: each tooth reaches one module past the pitch circle."""
    module = make_quantity(size, length("1 mm").unit)
    radii = (
        outside_diameter(teeth=pinion, module=module).base + outside_diameter(teeth=driven, module=module).base
    ) / 2
    assert radii - center_distance(pinion=pinion, driven=driven, module=module).base == 2 * size
