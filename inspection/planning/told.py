"""What somebody tells the bench, as text: sizes with their units and how far they may be off."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any, Final

from inspection.fit.sizes import Size
from inspection.planning.errors import PlanningCode, PlanningError
from inspection.planning.register import SizeSpec
from inspection.units import Kind, Quantity, UnitsError, base_unit, parse_quantity

# A plain caliper: 0.03 mm either way; a pocket scale: 0.1 g. Common practice, no source; a document may say another.
LENGTH_WITHIN: Final = Fraction(3, 100)
MASS_WITHIN: Final = Fraction(1, 10)
_NONE: Final = Fraction(0)


@dataclass(frozen=True, slots=True)
class Precision:
    """How far what was measured may be off either way, where nothing else is said. In mm and g."""

    length: Fraction = LENGTH_WITHIN
    mass: Fraction = MASS_WITHIN

    def of(self, kind: Kind) -> Fraction:
        return self.length if kind is Kind.LENGTH else self.mass if kind is Kind.MASS else _NONE


@dataclass(frozen=True, slots=True)
class Told:
    """Sizes by their codes. within: how far each may be off, in the base unit of its kind. words: what has no unit."""

    quantities: Mapping[str, Quantity] = field(default_factory=dict)
    within: Mapping[str, Fraction] = field(default_factory=dict)
    words: Mapping[str, str] = field(default_factory=dict)

    def __contains__(self, code: object) -> bool:
        return code in self.quantities or code in self.words

    def base(self, code: str) -> Fraction | None:
        """In the base unit of its kind, exact; None when it is not told."""
        found = self.quantities.get(code)
        return None if found is None else found.base

    def size(self, code: str) -> Size | None:
        found = self.quantities.get(code)
        return None if found is None else Size(found.base, self.within.get(code, _NONE))

    def half(self, code: str) -> Size | None:
        """Half of it: of a width that lies evenly on both sides."""
        found = self.size(code)
        return None if found is None else Size(found.value / 2, found.within / 2)

    def word(self, code: str) -> str:
        return self.words.get(code, "")


class Reader:
    """Reads the values of a JSON document strictly. Raises PlanningError with the path of what is wrong."""

    def __init__(self, precision: Precision | None = None) -> None:
        self.precision = precision or Precision()

    def object(self, plain: Any, path: str, known: Iterable[str] | None = None) -> Mapping[str, Any]:
        """An object, what is null left out; with names among those known, when they are told."""
        if plain is None:
            return {}
        if not isinstance(plain, Mapping) or not all(isinstance(key, str) for key in plain):
            raise PlanningError(PlanningCode.NOT_AN_OBJECT, path=path or "document")
        if known is not None:
            names = tuple(known)
            for key in plain:
                if key not in names:
                    raise PlanningError(
                        PlanningCode.UNKNOWN_KEY, path=under(path, key[:40]), known=", ".join(sorted(names))
                    )
        return {key: value for key, value in plain.items() if value is not None}

    def items(self, plain: Any, path: str, most: int) -> Sequence[Any]:
        if plain is None:
            return ()
        if not isinstance(plain, list | tuple):
            raise PlanningError(PlanningCode.NOT_A_LIST, path=path)
        if len(plain) > most:
            raise PlanningError(PlanningCode.TOO_MANY, path=path, most=str(most))
        return plain

    def text(self, plain: Any, path: str) -> str:
        if plain is None:
            return ""
        if not isinstance(plain, str):
            raise PlanningError(PlanningCode.NOT_TEXT, path=path)
        return plain.strip()

    def whole(self, plain: Any, path: str, default: int) -> int:
        if plain is None:
            return default
        if isinstance(plain, bool) or not isinstance(plain, int) or plain < 0:
            raise PlanningError(PlanningCode.NOT_A_NUMBER, path=path)
        return plain

    def quantity(self, plain: Any, path: str, kind: Kind, *, below_zero: bool = False) -> Quantity | None:
        """A quantity without a tolerance, in the base unit where none is written; None for an empty text."""
        text = self.text(plain, path)
        if not text:
            return None
        try:
            return parse_quantity(text, kind, default_unit=base_unit(kind), allow_negative=below_zero)
        except UnitsError as error:
            raise PlanningError(PlanningCode.UNREADABLE, path=path, why=str(error)) from error

    def base(self, plain: Any, path: str, kind: Kind, *, below_zero: bool = False) -> Fraction | None:
        found = self.quantity(plain, path, kind, below_zero=below_zero)
        return None if found is None else found.base

    def needed(
        self, given: Mapping[str, Any], name: str, path: str, kind: Kind, *, below_zero: bool = False
    ) -> Fraction:
        found = self.base(given.get(name), under(path, name), kind, below_zero=below_zero)
        if found is None:
            raise PlanningError(PlanningCode.LACKS, path=path, name=name)
        return found

    def toleranced(
        self, plain: Any, path: str, kind: Kind, *, below_zero: bool = False
    ) -> tuple[Quantity, Fraction] | None:
        """A quantity and how far it may be off: as written after ±, else the document's precision."""
        text, mark, spread = self.text(plain, path).partition("±")
        found = self.quantity(text, path, kind, below_zero=below_zero)
        if found is None:
            return None
        off = self.quantity(spread, path, kind) if mark else None
        if off is None:
            return found, self.precision.of(kind)
        return found, off.magnitude * off.unit.factor

    def sizes(self, plain: Any, path: str, specs: Iterable[SizeSpec]) -> Told:
        """Sizes by the codes of the register."""
        by_code = {spec.code: spec for spec in specs}
        quantities: dict[str, Quantity] = {}
        within: dict[str, Fraction] = {}
        words: dict[str, str] = {}
        for code, value in self.object(plain, path, by_code).items():
            spec, where = by_code[code], under(path, code)
            if spec.kind is None:
                word = self.text(value, where)
                if word and spec.choices and word not in spec.choices:
                    raise PlanningError(PlanningCode.NOT_ONE_OF, path=where, known=", ".join(spec.choices))
                if word:
                    words[code] = word
                continue
            found = self.toleranced(value, where, spec.kind, below_zero=spec.may_be_negative)
            if found is not None:
                quantities[code], within[code] = found
        return Told(quantities, within, words)


def under(path: str, name: str | int) -> str:
    """The path of a value below another: "parts.pinion", "ballast[2]"."""
    if isinstance(name, int):
        return f"{path}[{name}]"
    return f"{path}.{name}" if path else name
