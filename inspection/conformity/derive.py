"""Characteristics that are worked out of others, exactly, with the variance of the result.

Variances go by first-order propagation for independent inputs, u2(y) = sum of (dy/dx)2 u2(x): JCGM 100:2008 (GUM)
5.1.2. Slopes are kept by what was observed, so that an input used twice counts as the one thing that it is.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import prod
from typing import Final

from inspection.conformity.assess import Measurement
from inspection.conformity.conditions import Lacking, Missing
from inspection.conformity.subjects import (
    TRACK_VALUES,
    Derivation,
    DerivationForm,
    Register,
    Subject,
    derived_kind,
)
from inspection.units import Kind

# Fifty digits, as a fraction: no decision uses a float.
PI: Final = Fraction(Decimal("3.1415926535897932384626433832795028841971693993751"))

Observed = Callable[[str], Measurement | tuple[Missing, ...]]


@dataclass(frozen=True, slots=True)
class Known:
    """A value in the base unit of its kind, and its slopes by the code of what was observed (none for a constant)."""

    kind: Kind
    value: Fraction
    slopes: Mapping[str, Fraction]

    def times(self, factor: Fraction) -> "Known":
        return Known(self.kind, self.value * factor, {code: slope * factor for code, slope in self.slopes.items()})

    def plus(self, other: "Known") -> "Known":
        slopes = dict(self.slopes)
        for code, slope in other.slopes.items():
            slopes[code] = slopes.get(code, Fraction(0)) + slope
        return Known(self.kind, self.value + other.value, slopes)

    def variance(self, observed: Observed) -> Fraction:
        total = Fraction(0)
        for code, slope in self.slopes.items():
            found = observed(code)
            if isinstance(found, Measurement) and found.variance:
                total += slope**2 * found.variance
        return total


def work_out(
    code: str,
    register: Register,
    observed: Observed,
    track_values: Mapping[str, Fraction],
    under_way: frozenset[str] = frozenset(),
) -> Known | tuple[Missing, ...]:
    """The value of a characteristic, observed or worked out; or everything that would have to be found for it.

    A derived one that was itself observed counts as observed. track_values: by the names of `TRACK_VALUES`, in the
    base unit. A derivation that goes round in a circle, or whose kinds do not go together, is missing as a rule.
    """
    subject = register.get(code)
    found = observed(code)
    if isinstance(found, Measurement):
        return Known(found.kind, found.value, {code: Fraction(1)})
    if subject is None or subject.derivation is None:
        return found
    if code in under_way:
        return (Missing(Lacking.RULE, code),)
    if subject.derivation.form is DerivationForm.TRACK:
        return _of_the_track(subject.derivation, track_values)
    return _from_parts(subject, subject.derivation, register, observed, track_values, under_way | {code})


def _from_parts(
    subject: Subject,
    derivation: Derivation,
    register: Register,
    observed: Observed,
    track_values: Mapping[str, Fraction],
    under_way: frozenset[str],
) -> Known | tuple[Missing, ...]:
    parts: list[Known] = []
    missing: dict[Missing, None] = {}
    for name in derivation.of:
        part = work_out(name, register, observed, track_values, under_way)
        if isinstance(part, Known):
            parts.append(part)
        else:
            missing.update(dict.fromkeys(part))
    if missing:
        return tuple(missing)
    kind = derived_kind(derivation, [part.kind for part in parts])
    if kind is None or kind is not subject.kind.quantity_kind:
        return (Missing(Lacking.RULE, subject.code),)
    return _combine(derivation.form, kind, parts) or (Missing(Lacking.FITTING, subject.code),)


def _of_the_track(derivation: Derivation, track_values: Mapping[str, Fraction]) -> Known | tuple[Missing, ...]:
    kind = TRACK_VALUES.get(derivation.track_value)
    value = track_values.get(derivation.track_value)
    if kind is None or value is None:
        return (Missing(Lacking.TRACK_VALUE, derivation.track_value),)
    return Known(kind, value, {})


def _combine(form: DerivationForm, kind: Kind, parts: list[Known]) -> Known | None:
    """The result, or None where it would divide by 0."""
    values = [part.value for part in parts]
    slopes: list[Fraction]
    match form:
        case DerivationForm.SUM:
            value, slopes = sum(values, Fraction(0)), [Fraction(1)] * len(parts)
        case DerivationForm.DIFFERENCE:
            value, slopes = values[0] - values[1], [Fraction(1), Fraction(-1)]
        case DerivationForm.PRODUCT:
            value = prod(values, start=Fraction(1))
            slopes = [prod(values[:i] + values[i + 1 :], start=Fraction(1)) for i in range(len(values))]
        case DerivationForm.RATIO:
            if not values[1]:
                return None
            value, slopes = values[0] / values[1], [1 / values[1], -values[0] / values[1] ** 2]
        case DerivationForm.SHARE:
            whole = values[0] + values[1]
            if not whole:
                return None
            value, slopes = values[0] / whole, [values[1] / whole**2, -values[0] / whole**2]
        case _:
            tire, pinion, driven = values
            if not driven:
                return None
            value = PI * tire * pinion / driven
            slopes = [PI * pinion / driven, PI * tire / driven, -value / driven]
    combined = Known(kind, value, {})
    for part, slope in zip(parts, slopes, strict=True):
        scaled = Known(kind, Fraction(0), part.times(slope).slopes)
        combined = combined.plus(scaled)
    return combined
