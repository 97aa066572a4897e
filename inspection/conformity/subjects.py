"""What a rule can speak of: the characteristics of a register, measured, answered or worked out of others."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from inspection.units import Kind, Quantity, Unit


class CharacteristicKind(StrEnum):
    """What the value of a characteristic is: a quantity of a `units.Kind` (same words), or an answer."""

    LENGTH = "length"
    MASS = "mass"
    ANGLE = "angle"
    ROTATION_SPEED = "rotation_speed"
    VOLTAGE = "voltage"
    CURRENT = "current"
    RESISTANCE = "resistance"
    FORCE = "force"
    TORQUE = "torque"
    MAGNETIC_PULL = "magnetic_pull"
    TEMPERATURE = "temperature"
    TIME = "time"
    RATIO = "ratio"
    COUNT = "count"
    CHOICE = "choice"
    YES_NO = "yes_no"
    TEXT = "text"

    @property
    def quantity_kind(self) -> Kind | None:
        """The kind of its quantity, or None for a choice, a yes or no, and a text."""
        return None if self in _ANSWERS else Kind(self.value)

    @property
    def needs_measuring_point(self) -> bool:
        """Does a reading depend on where it is taken? Not so for counts, ratios and answers."""
        return self.quantity_kind not in {None, Kind.COUNT, Kind.RATIO}


_ANSWERS: Final = frozenset({CharacteristicKind.CHOICE, CharacteristicKind.YES_NO, CharacteristicKind.TEXT})


@dataclass(frozen=True, slots=True, kw_only=True)
class PlausibleBand:
    """The range that a reading of a characteristic can sensibly lie in, both ends included."""

    lower: Quantity
    upper: Quantity


class DerivationForm(StrEnum):
    """How a characteristic is worked out of others."""

    RATIO = "ratio"  # a / b
    ROLLOUT = "rollout"  # pi * tire * pinion / driven gear
    SUM = "sum"
    DIFFERENCE = "difference"  # a - b
    SHARE = "share"  # a / (a + b)
    PRODUCT = "product"
    TRACK = "track"  # a value of the track record


# What the track record can tell, by the name of its field, in the base unit of the kind.
TRACK_VALUES: Final[Mapping[str, Kind]] = {
    "slot_depth_mm": Kind.LENGTH,
    "slot_width_mm": Kind.LENGTH,
    "lane_spacing_mm": Kind.LENGTH,
    "conductor_height_mm": Kind.LENGTH,
    "voltage_v": Kind.VOLTAGE,
    "fuse_a": Kind.CURRENT,
    "supply_a": Kind.CURRENT,
}

# How many characteristics each form takes: at least, at most.
FORM_TAKES: Final[Mapping[DerivationForm, tuple[int, int]]] = {
    DerivationForm.RATIO: (2, 2),
    DerivationForm.ROLLOUT: (3, 3),
    DerivationForm.SUM: (2, 10),
    DerivationForm.DIFFERENCE: (2, 2),
    DerivationForm.SHARE: (2, 2),
    DerivationForm.PRODUCT: (2, 10),
    DerivationForm.TRACK: (0, 0),
}


@dataclass(frozen=True, slots=True)
class Derivation:
    """A characteristic worked out of others. of: their codes, in the order of the form (a rollout: tire, pinion,
    driven gear). track_value: a name of `TRACK_VALUES`, of the form `track` alone."""

    form: DerivationForm
    of: tuple[str, ...] = ()
    track_value: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Subject:
    """A characteristic as the register has it. unit: what a quantity without a unit is read in."""

    code: str
    name: str
    kind: CharacteristicKind
    unit: Unit | None = None
    measuring_point: str = ""
    plausible: PlausibleBand | None = None
    derivation: Derivation | None = None


Register = Mapping[str, Subject]  # by code


def expand(codes: Sequence[str], register: Register) -> tuple[str, ...]:
    """The codes that must be found by a person so that these are known: derived ones give way to what they are
    worked out of, track values to nothing. Each once, in order; cycles end. An unknown code stands for itself."""
    found: dict[str, None] = {}
    seen: set[str] = set()

    def walk(code: str) -> None:
        if not code or code in seen:
            return
        seen.add(code)
        subject = register.get(code)
        if subject is None or subject.derivation is None:
            found[code] = None
            return
        for part in subject.derivation.of:
            walk(part)

    for code in codes:
        walk(code)
    return tuple(found)


def derived_kind(derivation: Derivation, kinds: Sequence[Kind]) -> Kind | None:
    """The kind of what is worked out of quantities of these kinds, or None when they do not go together.

    A ratio of like kinds is a ratio; a quantity over or times a count or ratio keeps its kind.
    """
    least, most = FORM_TAKES[derivation.form]
    if not least <= len(kinds) <= most:
        return None
    if derivation.form is DerivationForm.TRACK:
        return TRACK_VALUES.get(derivation.track_value)
    if derivation.form is DerivationForm.RATIO:
        return _kind_of_ratio(*kinds)
    if derivation.form is DerivationForm.PRODUCT:
        return _kind_of_product(kinds)
    if derivation.form is DerivationForm.ROLLOUT:
        return Kind.LENGTH if list(kinds) == [Kind.LENGTH, Kind.COUNT, Kind.COUNT] else None
    alike = Kind.RATIO if derivation.form is DerivationForm.SHARE else kinds[0]
    return alike if len(set(kinds)) == 1 else None


_PLAIN: Final = frozenset({Kind.COUNT, Kind.RATIO})


def _kind_of_ratio(upper: Kind, lower: Kind) -> Kind | None:
    if upper is lower or {upper, lower} <= _PLAIN:
        return Kind.RATIO
    return upper if lower in _PLAIN else None


def _kind_of_product(kinds: Sequence[Kind]) -> Kind | None:
    measured = [kind for kind in kinds if kind not in _PLAIN]
    if len(measured) > 1:
        return None
    if measured:
        return measured[0]
    return Kind.COUNT if set(kinds) == {Kind.COUNT} else Kind.RATIO


def settled_kind(code: str, register: Register, under_way: frozenset[str] = frozenset()) -> Kind | None:
    """The kind of quantity of a characteristic, or None where it has none or cannot be worked out: an unknown code,
    a circle, kinds that do not go together."""
    subject = register.get(code)
    if subject is None or code in under_way:
        return None
    if subject.derivation is None:
        return subject.kind.quantity_kind
    kinds = [settled_kind(part, register, under_way | {code}) for part in subject.derivation.of]
    known = [kind for kind in kinds if kind is not None]
    if len(known) != len(kinds):
        return None
    found = derived_kind(subject.derivation, known)
    return found if found is subject.kind.quantity_kind else None
