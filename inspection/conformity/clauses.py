"""A clause of a rule sheet as the engine sees it. What keeps a sheet from being published is in `lint`.

A clause names a characteristic (a thing that can be measured, counted, chosen or answered), says where it is
measured and how it compares. What a clause cannot decide by itself, a judge decides, and the sheet says so.
"""

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from fractions import Fraction
from typing import Final

from inspection.conformity.assess import DecisionRule, Limits
from inspection.conformity.conditions import Condition, normalize_choice
from inspection.conformity.errors import RuleError
from inspection.conformity.subjects import CharacteristicKind, PlausibleBand
from inspection.conformity.uncertainty import GaugeSpec
from inspection.units import Quantity, Unit, from_base

BEFORE: Final = "before"  # a clause that names no phase is checked before the race


class Comparator(StrEnum):
    AT_LEAST = "at_least"
    AT_MOST = "at_most"
    BETWEEN = "between"
    EQUAL_WITHIN = "equal_within"  # a value and a tolerance to either side; a count may leave the tolerance out
    ONE_OF = "one_of"
    YES_NO = "yes_no"
    ALL_OF = "all_of"
    ANY_OF = "any_of"
    AS_SUPPLIED = "as_supplied"  # the changes found are among those permitted
    JUDGE_DECIDES = "judge_decides"

    @property
    def is_numeric(self) -> bool:
        return self in USES

    @property
    def is_group(self) -> bool:
        return self in {Comparator.ALL_OF, Comparator.ANY_OF}

    @property
    def takes_a_list(self) -> bool:
        return self in {Comparator.ONE_OF, Comparator.AS_SUPPLIED}


# Which of the quantities of a clause each comparator reads; the others must stay empty.
USES: Final[Mapping[Comparator, tuple[str, ...]]] = {
    Comparator.AT_LEAST: ("lower",),
    Comparator.AT_MOST: ("upper",),
    Comparator.BETWEEN: ("lower", "upper"),
    Comparator.EQUAL_WITHIN: ("nominal", "tolerance"),
}
# The limit that a comparison with another characteristic, or a keyed list of sizes, stands for.
STANDS_FOR: Final[Mapping[Comparator, str]] = {
    Comparator.AT_LEAST: "lower",
    Comparator.AT_MOST: "upper",
    Comparator.EQUAL_WITHIN: "nominal",
}
LIMIT_NAMES: Final = ("lower", "upper", "nominal", "tolerance")


class Counts(StrEnum):
    """What counts of several readings."""

    EACH = "each"  # every one must comply; the worst is shown
    MEAN = "mean"


class ToleranceStyle(StrEnum):
    NONE = "none"
    WHOLE_SHEET = "whole_sheet"
    IN_RULE = "in_rule"


@dataclass(frozen=True, slots=True, kw_only=True)
class Reference:
    """Another characteristic that the subject is compared with: factor * other + offset."""

    code: str
    factor: Fraction = Fraction(1)
    offset: Quantity | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Allowance:
    """A tolerance printed in a clause: a share of the limit (1/10 for "10 %"), or a quantity. One of the two."""

    share: Fraction | None = None
    quantity: Quantity | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ListEntry:
    """One thing on a list. key: the value of the list's key for which it holds; dates: both ends included."""

    value: str
    key: str = ""
    allowed_from: dt.date | None = None
    allowed_until: dt.date | None = None
    note: str = ""

    @property
    def is_dated(self) -> bool:
        return self.allowed_from is not None or self.allowed_until is not None

    def is_for(self, key: str) -> bool:
        """Does it hold where the list's key has this value? One without key always does."""
        return not self.key.strip() or normalize_choice(self.key) == normalize_choice(key)

    def names(self, text: str) -> bool:
        """Is it what is named? An empty entry names nothing."""
        return bool(text.strip()) and normalize_choice(self.value) == normalize_choice(text)

    def is_allowed_on(self, date: dt.date) -> bool:
        return (self.allowed_from or date) <= date <= (self.allowed_until or date)


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitRow:
    """Limits or choices that hold under a condition. What a row leaves out is the clause's own."""

    when: Condition
    lower: Quantity | None = None
    upper: Quantity | None = None
    nominal: Quantity | None = None
    tolerance: Quantity | None = None
    choices: tuple[str, ...] | None = None

    @property
    def written_limits(self) -> dict[str, Quantity]:
        return _written(self)


@dataclass(frozen=True, slots=True, kw_only=True)
class Clause:
    """One clause. Any part may be missing: `lint.find_problems` says what a published clause needs.

    number: as printed, such as "4.2"; a part of a group has its clause's and its own, "4.2/1". characteristic: its
    name, for people; code: what it goes by in the register. lower, upper: limits as written. nominal, tolerance:
    of `equal_within`. reference: instead of the limit. choices, entries: of a list; list_key: the code of the
    characteristic that picks the entries. expected_answer: of `yes_no`. rows: the first whose condition holds gives
    the limits. judge: who decides; judge_reason: why a clause with a limit is left to a judge. decision: None for the
    sheet's. unit: the unit a reading is typed in when none is given. gauge: the one named, for the linter.
    faults: what of it could not be read.
    """

    number: str
    text: str
    characteristic: str = ""
    code: str = ""
    kind: CharacteristicKind | None = None
    measuring_point: str = ""
    comparator: Comparator | None = None
    lower: Quantity | None = None
    upper: Quantity | None = None
    nominal: Quantity | None = None
    tolerance: Quantity | None = None
    reference: Reference | None = None
    tolerance_style: ToleranceStyle | None = None
    allowance: Allowance | None = None
    choices: tuple[str, ...] = ()
    entries: tuple[ListEntry, ...] = ()
    list_key: str = ""
    expected_answer: bool | None = None
    parts: tuple["Clause", ...] = ()
    rows: tuple[LimitRow, ...] = ()
    applies_when: Condition | None = None
    unless: Condition | None = None
    counts: Counts = Counts.EACH
    readings_wanted: int = 1
    judge: str = ""
    judge_reason: str = ""
    decision: DecisionRule | None = None
    phases: tuple[str, ...] = ()
    unit: Unit | None = None
    plausible: PlausibleBand | None = None
    gauge: GaugeSpec | None = None
    is_struck: bool = False
    faults: tuple[RuleError, ...] = field(default=(), compare=False)
    # Worked out once a clause, not once a car.
    _limits: tuple[Limits | None] | None = field(default=None, init=False, compare=False, repr=False)
    _written_limits: Mapping[str, Quantity] | None = field(default=None, init=False, compare=False, repr=False)
    _allowed: tuple[ListEntry, ...] | None = field(default=None, init=False, compare=False, repr=False)

    @property
    def written_limits(self) -> Mapping[str, Quantity]:
        """The quantities that are filled in, by the name of their field."""
        if self._written_limits is None:
            object.__setattr__(self, "_written_limits", _written(self))
        return self._written_limits or {}

    @property
    def is_checked(self) -> bool:
        """Is there anything to find out? A clause without comparator only informs, a struck one does not hold."""
        return self.comparator is not None and not self.is_struck

    def is_checked_at(self, phase: str) -> bool:
        """Is it looked at in a phase? One that names no phase, before the race."""
        return self.is_checked and phase in (self.phases or (BEFORE,))

    @property
    def allowed(self) -> tuple[ListEntry, ...]:
        """Everything on its list: what is written in the clause, and the entries of a shared list."""
        if self._allowed is None:
            written = (ListEntry(value=choice) for choice in self.choices)
            object.__setattr__(self, "_allowed", (*written, *self.entries))
        return self._allowed or ()

    @property
    def limits(self) -> Limits | None:
        """Exact limits as written in the clause, or None when it has none that can be compared with a reading.

        A clause without problems and with a numeric comparator always has limits, unless they come from elsewhere
        (`reference`, `rows`, a keyed list).
        """
        if self._limits is None:
            object.__setattr__(self, "_limits", (make_written_limits(self, self.written_limits),))
        return self._limits[0] if self._limits else None


def _written(row: Clause | LimitRow) -> dict[str, Quantity]:
    named = ((name, getattr(row, name)) for name in LIMIT_NAMES)
    return {name: quantity for name, quantity in named if quantity is not None}


def make_written_limits(clause: Clause, quantities: Mapping[str, Quantity]) -> Limits | None:
    """Exact limits by the clause's comparator from quantities by their names, or None if they do not make any."""
    kind = clause.kind.quantity_kind if clause.kind else None
    needed = USES.get(clause.comparator, ()) if clause.comparator else ()
    if not needed or any(name not in quantities for name in required(clause)):
        return None
    if any(quantity.kind is not kind for quantity in quantities.values()):
        return None
    if clause.comparator is Comparator.EQUAL_WITHIN:
        return _limits_within(quantities["nominal"], quantities.get("tolerance"))
    lower, upper = (quantities.get(name) if name in needed else None for name in ("lower", "upper"))
    if lower is not None and upper is not None and lower.base > upper.base:
        return None
    return Limits(
        kind=(lower or upper or quantities[needed[0]]).kind,
        lower=None if lower is None else lower.base,
        upper=None if upper is None else upper.base,
        lower_written=lower,
        upper_written=upper,
    )


def _limits_within(nominal: Quantity, tolerance: Quantity | None) -> Limits | None:
    width = Fraction(0) if tolerance is None else size_of(tolerance)
    if width < 0:
        return None
    lower, upper = nominal.base - width, nominal.base + width
    return Limits(
        kind=nominal.kind,
        lower=lower,
        upper=upper,
        lower_written=from_base(lower, nominal.unit),
        upper_written=from_base(upper, nominal.unit),
    )


def size_of(difference: Quantity) -> Fraction:
    """A tolerance or an offset in the base unit: a difference, so the zero of a temperature scale does not count."""
    return difference.magnitude * difference.unit.factor


def required(clause: Clause) -> tuple[str, ...]:
    """The quantities that the comparator cannot do without."""
    if clause.comparator is Comparator.EQUAL_WITHIN and clause.kind is CharacteristicKind.COUNT:
        return ("nominal",)
    return USES.get(clause.comparator, ()) if clause.comparator else ()
