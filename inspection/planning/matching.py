"""Do parts go on each other: tires on rims, gears and wheels on the axle, the pinion on the motor's shaft?"""

from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from inspection.planning.document import Bench

# Bores that differ from a shaft by more than this are for another shaft; a rubber tire stretches further. In mm,
# common practice, no source.
SHAFT_OFF: Final = Fraction(1, 10)
TIRE_OFF: Final = Fraction(1, 2)
_PAIRS: Final = (
    ("rear_tires", "rim_diameter", "rear_wheels", "rim_diameter", TIRE_OFF),
    ("front_tires", "rim_diameter", "front_wheels", "rim_diameter", TIRE_OFF),
    ("pinion", "bore", "motor", "shaft_diameter", SHAFT_OFF),
    ("driven_gear", "bore", "rear_axle", "diameter", SHAFT_OFF),
    ("rear_wheels", "bore", "rear_axle", "diameter", SHAFT_OFF),
    ("front_wheels", "bore", "front_axle", "diameter", SHAFT_OFF),
)


PAIRED: Final = tuple((place, other) for place, _code, other, _other_code, _off in _PAIRS)


@dataclass(frozen=True, slots=True)
class Mismatch:
    """Two parts that do not go on each other: their places, and the sizes in mm that say so."""

    place: str
    size: Fraction
    other: str
    other_size: Fraction


MISMATCH: Final = "The %(part)s does not go on the %(other)s: it is for %(size)s mm, and that has %(other_size)s mm."


def mismatches_of(bench: Bench) -> tuple[Mismatch, ...]:
    """All that is known not to go together."""
    found = []
    for place, code, other, other_code, off in _PAIRS:
        one, two = bench.parts.get(place), bench.parts.get(other)
        size = None if one is None else one.sizes.base(code)
        shaft = None if two is None else two.sizes.base(other_code)
        if size is not None and shaft is not None and abs(size - shaft) > off:
            found.append(Mismatch(place, size, other, shaft))
    return tuple(found)
