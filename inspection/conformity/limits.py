"""Limits as they hold here and now: by comparison, from a list of sizes, widened by a printed tolerance."""

from collections.abc import Mapping
from fractions import Fraction
from functools import lru_cache

from inspection.conformity.assess import Limits
from inspection.conformity.clauses import STANDS_FOR, Allowance, Clause, Reference, make_written_limits, size_of
from inspection.conformity.derive import Known
from inspection.units import Kind, Quantity, UnitsError, base_unit, from_base, parse_quantity


def widen(limits: Limits, below: Fraction, above: Fraction) -> Limits:
    """Limits moved outward, the lower by one width and the upper by another, each 0 or more."""
    lower, upper = limits.lower, limits.upper
    unit = (limits.lower_written or limits.upper_written or from_base(Fraction(0), base_unit(limits.kind))).unit
    lower = None if lower is None else lower - below
    upper = None if upper is None else upper + above
    return Limits(
        kind=limits.kind,
        lower=lower,
        upper=upper,
        lower_written=None if lower is None else from_base(lower, unit),
        upper_written=None if upper is None else from_base(upper, unit),
    )


@lru_cache(maxsize=1024)
def _read_size(text: str, kind: Kind, unit: str) -> Quantity | None:
    try:
        return parse_quantity(text, kind, default_unit=unit, allow_negative=True)
    except UnitsError:
        return None


def read_size(text: str, clause: Clause) -> Quantity | None:
    """An entry of a list of sizes as a quantity of the clause's kind, or None."""
    kind = clause.kind.quantity_kind if clause.kind else None
    if kind is None:
        return None
    unit = clause.unit if clause.unit and clause.unit.kind is kind else base_unit(kind)
    return _read_size(text, kind, unit.symbol)


def widths_of(allowance: Allowance, limits: Limits) -> tuple[Fraction, Fraction]:
    if allowance.quantity is not None and allowance.quantity.kind is limits.kind:
        width = max(size_of(allowance.quantity), Fraction(0))
        return width, width
    share = max(allowance.share or Fraction(0), Fraction(0))
    return abs(limits.lower or Fraction(0)) * share, abs(limits.upper or Fraction(0)) * share


def shifted(other: Known, reference: Reference) -> Known:
    moved = other.times(reference.factor)
    offset = size_of(reference.offset) if reference.offset is not None else Fraction(0)
    return Known(moved.kind, moved.value + offset, moved.slopes)


def limits_by(clause: Clause, quantities: Mapping[str, Quantity], other: Known) -> Limits | None:
    """The limits that a comparison gives: the value of the other stands for the missing limit."""
    name = STANDS_FOR.get(clause.comparator) if clause.comparator else None
    kind = clause.kind.quantity_kind if clause.kind else None
    if name is None or kind is None or other.kind is not kind:
        return None
    unit = clause.unit if clause.unit and clause.unit.kind is kind else base_unit(kind)
    return make_written_limits(clause, dict(quantities) | {name: from_base(other.value, unit)})
