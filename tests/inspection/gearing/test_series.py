"""Standard modules, and telling a gear's module from a caliper."""

from fractions import Fraction

import pytest

from inspection.gearing.errors import GearingCode, GearingError
from inspection.gearing.series import (
    MODULES_FINE,
    MODULES_FINE_SECOND,
    MODULES_FIRST,
    MODULES_SECOND,
    guess_modules,
)


def test_the_first_series_is_that_of_the_standard():
    """S14: ISO 54:1996 (1 to 10 confirmed second-hand, the rest from memory)."""
    assert [float(one) for one in MODULES_FIRST] == [
        1, 1.25, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10, 12, 16, 20, 25, 32, 40, 50,
    ]  # fmt: skip


def test_the_second_series_is_that_of_the_standard():
    """S14b: ISO 54:1996, from memory; 6.5 is to be avoided."""
    assert sorted(float(one) for one in MODULES_SECOND) == [
        1.125, 1.375, 1.75, 2.25, 2.75, 3.5, 4.5, 5.5, 6.5, 7, 9, 11, 14, 18, 22, 28, 36, 45,
    ]  # fmt: skip


def test_the_fine_series_ends_below_one_millimeter():
    """S14c: JIS B 1701-2 and DIN 780, from memory."""
    assert [float(one) for one in MODULES_FINE] == [0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.8]
    assert [float(one) for one in MODULES_FINE_SECOND] == [0.15, 0.25, 0.35, 0.45, 0.55, 0.7, 0.75, 0.9]


@pytest.mark.parametrize(
    ("teeth", "diameter", "module", "pitch"),
    [
        # Standard proportions, (z + 2) m, derived.
        (12, "7", Fraction(1, 2), None),
        (36, "19", Fraction(1, 2), None),
        (28, "11.90625", Fraction(127, 320), 64),
        (8, "5.29", Fraction(127, 240), 48),
    ],
)
def test_a_standard_gear_shows_its_module(teeth, diameter, module, pitch):
    best = guess_modules(teeth=teeth, outside_diameter_mm=Fraction(diameter))[0]
    assert (best.module_mm, best.pitch) == (module, pitch)


def test_a_shifted_gear_may_look_like_one_of_another_pitch():
    """34 teeth on 19 mm: a 48 pitch gear, or module 0.5 pushed out by one module."""
    guesses = guess_modules(teeth=34, outside_diameter_mm=Fraction(19))
    assert guesses[0].pitch == 48
    assert [guess.shift for guess in guesses if guess.module_mm == Fraction(1, 2)] == [1]


def test_a_gear_of_no_standard_size_has_no_guess():
    assert guess_modules(teeth=10, outside_diameter_mm=Fraction(1, 2)) == ()


@pytest.mark.parametrize(
    ("teeth", "diameter", "code"),
    [(0, 5, GearingCode.TEETH_BELOW_ONE), (9, 0, GearingCode.SIZE_NOT_POSITIVE)],
)
def test_what_is_no_gear_has_no_module(teeth, diameter, code):
    with pytest.raises(GearingError) as refused:
        guess_modules(teeth=teeth, outside_diameter_mm=Fraction(diameter))
    assert refused.value.code is code
