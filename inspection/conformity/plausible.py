"""Did you mean ...? A reading that cannot be right is more often a slip of the unit or of the decimal mark."""

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from typing import Final

from inspection.conformity.errors import ConformityCode, ConformityError
from inspection.conformity.subjects import PlausibleBand
from inspection.units import Quantity, accepted_units, make_quantity


class Slip(StrEnum):
    UNIT = "unit"  # the number was meant in another unit of the kind
    DECIMAL = "decimal"  # the decimal mark was moved or left out


@dataclass(frozen=True, slots=True)
class Suggestion:
    """What may have been meant, and the slip that would explain it."""

    quantity: Quantity
    slip: Slip


@dataclass(frozen=True, slots=True)
class Plausibility:
    """Whether a reading lies in its band, and if not, what may have been meant, the smallest change first."""

    is_plausible: bool
    suggestions: tuple[Suggestion, ...] = ()


_POWERS: Final = tuple(Fraction(10) ** power for power in (-3, -2, -1, 1, 2, 3))


def check_plausible(reading: Quantity, band: PlausibleBand) -> Plausibility:
    """Compare a reading with the band of its characteristic, both ends included.

    Suggestions are the same number in another unit of the kind and the number with its decimal mark moved by one
    to three places, in so far as they lie in the band. Raises ConformityError wrong_kind.
    """
    for end in (band.lower, band.upper):
        if end.kind is not reading.kind:
            raise ConformityError(ConformityCode.WRONG_KIND, found=reading.kind.value, wanted=end.kind.value)
    low, high = band.lower.base, band.upper.base
    if low <= reading.base <= high:
        return Plausibility(is_plausible=True)
    meant: dict[Fraction, Suggestion] = {}
    for suggestion in _candidates(reading):
        if low <= suggestion.quantity.base <= high:
            meant.setdefault(suggestion.quantity.base, suggestion)
    nearest_first = sorted(meant.values(), key=lambda item: _change(reading.base, item.quantity.base))
    return Plausibility(is_plausible=False, suggestions=tuple(nearest_first))


def _candidates(reading: Quantity) -> list[Suggestion]:
    """Every slip that is known. Moved marks first: of two slips to one size, the plainer one is named."""
    units = [unit for unit in accepted_units(reading.kind) if unit != reading.unit]
    moved = (make_quantity(reading.magnitude * power, reading.unit) for power in _POWERS)
    return [
        *(Suggestion(quantity, Slip.DECIMAL) for quantity in moved),
        *(Suggestion(make_quantity(reading.magnitude, unit), Slip.UNIT) for unit in units),
    ]


def _change(typed: Fraction, meant: Fraction) -> Fraction:
    """By what factor, one or more, the two differ; for a pair with a zero or of two signs, their distance."""
    if typed * meant <= 0:
        return 1 + abs(typed - meant)
    return max(typed / meant, meant / typed)
