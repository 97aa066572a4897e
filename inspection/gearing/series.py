"""Standard modules and pitches, and which of them a measured gear may have."""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from inspection.gearing.errors import GearingCode, GearingError


def _modules(text: str) -> tuple[Fraction, ...]:
    return tuple(Fraction(one) for one in text.split())


# ISO 54:1996 (1 to 10 confirmed second-hand, the rest from memory); 6.5 is to be avoided, so it stands last.
MODULES_FIRST: Final = _modules("1 1.25 1.5 2 2.5 3 4 5 6 8 10 12 16 20 25 32 40 50")
MODULES_SECOND: Final = _modules("1.125 1.375 1.75 2.25 2.75 3.5 4.5 5.5 7 9 11 14 18 22 28 36 45 6.5")
# Below 1 mm, where ISO 54 ends: JIS B 1701-2 (DIN 780 agrees), from memory.
MODULES_FINE: Final = _modules("0.1 0.2 0.3 0.4 0.5 0.6 0.8")
MODULES_FINE_SECOND: Final = _modules("0.15 0.25 0.35 0.45 0.55 0.7 0.75 0.9")
# Diametral pitches that small cars use: common practice, no source.
PITCHES: Final = (24, 32, 48, 64, 72, 80)

_INCH: Final = Fraction(254, 10)


@dataclass(frozen=True, slots=True, kw_only=True)
class ModuleGuess:
    """One standard size that teeth and outside diameter may have, and the profile shift that it asks for.

    module_mm: exact. pitch: teeth per inch when it is an inch size. shift: in modules.
    """

    module_mm: Fraction
    pitch: int | None
    shift: Fraction


def _sizes() -> Iterable[tuple[Fraction, int | None]]:
    for module in (*MODULES_FINE, *MODULES_FINE_SECOND, *MODULES_FIRST, *MODULES_SECOND):
        yield module, None
    for pitch in PITCHES:
        yield _INCH / pitch, pitch


_STANDARD: Final = tuple(_sizes())


def guess_modules(
    *, teeth: int, outside_diameter_mm: Fraction, most_shift: Fraction = Fraction(1)
) -> tuple[ModuleGuess, ...]:
    """The standard sizes that fit a measured gear, the one with the least profile shift first.

    From d_a = m (z + 2 + 2x), full depth. Those that ask for more than most_shift modules either way are left out;
    there may be none. Several near the top mean that the diameter alone does not tell the module.
    Raises GearingError teeth_below_one or size_not_positive.
    """
    if teeth < 1:
        raise GearingError(GearingCode.TEETH_BELOW_ONE)
    if outside_diameter_mm <= 0:
        raise GearingError(GearingCode.SIZE_NOT_POSITIVE)
    guesses = (
        ModuleGuess(module_mm=module, pitch=pitch, shift=(outside_diameter_mm / module - teeth - 2) / 2)
        for module, pitch in _STANDARD
    )
    near = [guess for guess in guesses if abs(guess.shift) <= most_shift]
    return tuple(sorted(near, key=lambda guess: (abs(guess.shift), guess.pitch is not None, guess.module_mm)))
