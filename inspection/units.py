"""Physical quantities as racers type them: a closed grammar in, exact fractions inside, plain text out.

A `Kind` is what is measured, a `Unit` one way to write it, a `Quantity` an exact number in the unit it was
typed in, with the text that was typed. Every factor below is exact by definition, so a change of unit never
changes a result. Nothing here uses a float, evaluates text, or guesses: what cannot be read for certain is
refused with a `UnitsError` that says what to type instead.

How marks are read. Numbers have no thousands separators. The club's own decimal mark is always a decimal
mark. The other mark is one too (`63,4 mm` under an English setting is 63.4 mm, never 634), unless the number
could as well be a group of thousands: one to three digits that do not begin with 0, the mark, exactly three
digits (`1,234` under an English setting, `1.234` under a decimal comma). That is refused.

How fractions are read. `9/16`, `2 1/16`, `2-1/16`, `2½`. A fraction above one (`21/16`) is refused, because
copying a printed `2 1/16` loses the space; a ratio may be written so (`34/12`).
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from functools import cache, lru_cache
from typing import Final, Literal

DecimalMark = Literal[".", ","]

MAX_TEXT: Final = 60
MAX_DIGITS: Final = 15


class Kind(StrEnum):
    """What a quantity measures. The base unit of each stands first in the table of units."""

    LENGTH = "length"
    MASS = "mass"
    ANGLE = "angle"
    ROTATION_SPEED = "rotation_speed"
    VOLTAGE = "voltage"
    CURRENT = "current"
    RESISTANCE = "resistance"
    FORCE = "force"
    TORQUE = "torque"
    MAGNETIC_PULL = "magnetic_pull"  # read on a scale, in grams
    TEMPERATURE = "temperature"
    TIME = "time"
    RATIO = "ratio"
    COUNT = "count"


class UnitsCode(StrEnum):
    """Stable codes of a refusal; the message of each is in `MESSAGES`."""

    EMPTY = "empty"
    TOO_LONG = "too_long"
    TOO_MANY_DIGITS = "too_many_digits"
    NOT_A_NUMBER = "not_a_number"
    UNFINISHED_NUMBER = "unfinished_number"
    EXPONENT = "exponent"
    SEVERAL_NUMBERS = "several_numbers"
    AMBIGUOUS_MARK = "ambiguous_mark"
    IMPROPER_FRACTION = "improper_fraction"
    ZERO_DENOMINATOR = "zero_denominator"
    NEGATIVE = "negative"
    NOT_WHOLE = "not_whole"
    UNIT_MISSING = "unit_missing"
    UNKNOWN_UNIT = "unknown_unit"
    WRONG_KIND = "wrong_kind"
    BAD_DECIMAL_MARK = "bad_decimal_mark"
    BAD_STEP = "bad_step"
    NOT_EXACT = "not_exact"


MESSAGES: Final[Mapping[UnitsCode, str]] = {
    UnitsCode.EMPTY: "Type a number.",
    UnitsCode.TOO_LONG: "Type one number and its unit, in at most %(limit)s characters.",
    UnitsCode.TOO_MANY_DIGITS: "A number may have at most %(limit)s digits.",
    UnitsCode.NOT_A_NUMBER: "“%(text)s” is not a number. Type a number such as %(example)s.",
    UnitsCode.UNFINISHED_NUMBER: "“%(text)s” ends in a decimal mark. Type the digits after it, or no mark.",
    UnitsCode.EXPONENT: "Type the number in full, without an exponent.",
    UnitsCode.SEVERAL_NUMBERS: "Type one number only, without spaces or marks between thousands.",
    UnitsCode.AMBIGUOUS_MARK: "“%(text)s” can be read in two ways. Type %(decimal)s or %(thousands)s.",
    UnitsCode.IMPROPER_FRACTION: (
        "“%(text)s” is not below one. Type a whole number, a space and a fraction, such as 2 1/16."
    ),
    UnitsCode.ZERO_DENOMINATOR: "The lower number of a fraction cannot be 0.",
    UnitsCode.NEGATIVE: "The number cannot be below 0.",
    UnitsCode.NOT_WHOLE: "Type a whole number.",
    UnitsCode.UNIT_MISSING: "Type the unit after the number: %(accepted)s.",
    UnitsCode.UNKNOWN_UNIT: "“%(unit)s” is not a unit known here. Type one of %(accepted)s.",
    UnitsCode.WRONG_KIND: ("“%(unit)s” is a unit of %(found)s, but %(wanted)s is asked for. Type one of %(accepted)s."),
    UnitsCode.BAD_DECIMAL_MARK: "The decimal mark is a point or a comma.",
    UnitsCode.BAD_STEP: "A rounding step must be above 0.",
    UnitsCode.NOT_EXACT: "“%(text)s” is not an exact number as stored.",
}


class UnitsError(ValueError):
    """Text or a unit that cannot be read for certain.

    `str()` is English; `MESSAGES[error.code]` with `error.params` is the same, ready to translate.
    """

    def __init__(self, code: UnitsCode, **params: str) -> None:
        self.code: Final = code
        self.params: Final[Mapping[str, str]] = params
        super().__init__(MESSAGES[code] % params)


@dataclass(frozen=True, slots=True)
class Unit:
    """One way to write a kind. base value = magnitude * factor + offset.

    spellings: what people may type besides the symbol. places: decimals shown at least.
    any_case: whether `MM` is `mm`; not so where a capital letter would be another SI prefix.
    counterpart: symbol of the unit that shows the same in the other system of measures, or "".
    is_base: the magnitude is the base value.
    """

    symbol: str
    kind: Kind
    factor: Fraction
    places: int
    spellings: tuple[str, ...] = ()
    any_case: bool = True
    counterpart: str = ""
    offset: Fraction = Fraction(0)
    is_base: bool = field(init=False, compare=False, repr=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "is_base", self.factor == 1 and not self.offset)

    def __str__(self) -> str:
        return self.symbol


# Exact by definition: inch 25.4 mm, pound 453.59237 g (international agreement of 1959), ounce = lb/16,
# grain = lb/7000, standard gravity 9.80665 m/s2 (CGPM 1901), 0 degC = 273.15 K, 1 F-degree = 5/9 K.
_INCH: Final = Fraction(254, 10)
_POUND: Final = Fraction(45359237, 100000)
_GRAM_FORCE: Final = Fraction(980665, 100000000)


def _units(kind: Kind, *rows: tuple[str, Fraction | int, int, str, str], any_case: bool = True) -> tuple[Unit, ...]:
    """Rows of (symbol, factor, places, spellings parted by blanks ('_' stands for one), counterpart)."""
    return tuple(
        Unit(
            symbol=symbol,
            kind=kind,
            factor=Fraction(factor),
            places=places,
            spellings=tuple(spelling.replace("_", " ") for spelling in spellings.split()),
            any_case=any_case,
            counterpart=counterpart,
        )
        for symbol, factor, places, spellings, counterpart in rows
    )


def _temperatures() -> tuple[Unit, ...]:
    kind = Kind.TEMPERATURE
    return (
        Unit("°C", kind, Fraction(1), 1, ("C", "degC", "deg C", "℃"), counterpart="°F"),
        Unit(
            "°F",
            kind,
            Fraction(5, 9),
            1,
            ("F", "degF", "deg F", "℉"),
            counterpart="°C",
            offset=Fraction(-160, 9),
        ),
        Unit("K", kind, Fraction(1), 1, ("kelvin",), any_case=False, offset=Fraction(-27315, 100)),
    )


_INCH_SPELLINGS: Final = "in. inch inches \" '' ″ ”"

UNITS: Final[Mapping[Kind, tuple[Unit, ...]]] = {
    Kind.LENGTH: _units(
        Kind.LENGTH,
        ("mm", 1, 2, "millimeter millimeters millimetre millimetres", "in"),
        ("cm", 10, 3, "centimeter centimeters centimetre centimetres", "in"),
        ("m", 1000, 4, "meter meters metre metres", "ft"),
        (
            "µm",
            Fraction(1, 1000),
            0,
            "um micron microns micrometer micrometers micrometre micrometres",
            "thou",
        ),
        ("in", _INCH, 3, _INCH_SPELLINGS, "mm"),
        ("thou", _INCH / 1000, 0, "mil mils", "mm"),
        ("ft", _INCH * 12, 3, "ft. foot feet ' \u2032 \u2019", "m"),
    ),
    Kind.MASS: _units(
        Kind.MASS,
        ("g", 1, 1, "gram grams gramme grammes", "oz"),
        ("mg", Fraction(1, 1000), 0, "milligram milligrams", "gr"),
        ("kg", 1000, 4, "kilogram kilograms kilo kilos", "lb"),
        ("oz", _POUND / 16, 3, "oz. ounce ounces", "g"),
        ("lb", _POUND, 4, "lb. lbs lbs. pound pounds", "g"),
        ("gr", _POUND / 7000, 1, "gr. grain grains", "g"),
    ),
    Kind.ANGLE: _units(Kind.ANGLE, ("°", 1, 1, "deg degree degrees º", "")),
    Kind.ROTATION_SPEED: _units(
        Kind.ROTATION_SPEED,
        ("rpm", 1, 0, "1/min /min r/min rev/min min-1 min^-1 min⁻¹ revs", ""),
        ("krpm", 1000, 3, "k k_rpm", ""),
    ),
    Kind.VOLTAGE: _units(
        Kind.VOLTAGE,
        ("V", 1, 2, "v volt volts Volt Volts", ""),
        ("mV", Fraction(1, 1000), 0, "", ""),
        any_case=False,
    ),
    Kind.CURRENT: _units(
        Kind.CURRENT,
        ("A", 1, 2, "a amp amps ampere amperes Amp Amps", ""),
        ("mA", Fraction(1, 1000), 0, "", ""),
        any_case=False,
    ),
    Kind.RESISTANCE: _units(
        Kind.RESISTANCE,
        ("Ω", 1, 2, "\u2126 ohm ohms Ohm Ohms", ""),
        ("mΩ", Fraction(1, 1000), 0, "m\u2126 mohm mohms", ""),
        ("kΩ", 1000, 4, "k\u2126 kohm kohms", ""),
        any_case=False,
    ),
    Kind.FORCE: _units(
        Kind.FORCE,
        ("N", 1, 3, "newton newtons", "ozf"),
        ("mN", Fraction(1, 1000), 0, "", "ozf"),
        ("gf", _GRAM_FORCE, 1, "", "ozf"),
        ("kgf", _GRAM_FORCE * 1000, 4, "", "lbf"),
        ("ozf", _GRAM_FORCE * _POUND / 16, 3, "", "N"),
        ("lbf", _GRAM_FORCE * _POUND, 4, "", "N"),
        any_case=False,
    ),
    # Motors are told in gram-force centimeters and ounce-force inches, written without the "force".
    Kind.TORQUE: _units(
        Kind.TORQUE,
        ("mN·m", 1, 2, "mNm mN*m mN_m", "oz·in"),
        ("N·m", 1000, 5, "Nm N*m N_m", "oz·in"),
        ("N·cm", 10, 3, "Ncm N*cm N_cm", "oz·in"),
        ("g·cm", _GRAM_FORCE * 10, 1, "gcm g*cm g_cm gf·cm gfcm gf*cm gf_cm", "oz·in"),
        ("oz·in", _GRAM_FORCE * _POUND / 16 * _INCH, 3, "ozin oz*in oz_in oz-in ozf·in ozf*in in·oz in*oz", "g·cm"),
        any_case=False,
    ),
    # The reading of a scale under the track: grams, whatever the scale calls them. A capital G is gauss.
    Kind.MAGNETIC_PULL: _units(
        Kind.MAGNETIC_PULL,
        ("g", 1, 1, "gf gram grams gramme grammes", "oz"),
        ("kg", 1000, 4, "kgf", "lb"),
        ("oz", _POUND / 16, 3, "oz. ozf ounce ounces", "g"),
        ("lb", _POUND, 4, "lb. lbs lbf pound pounds", "g"),
        ("N", 1 / _GRAM_FORCE, 3, "newton newtons", "oz"),
        ("mN", 1 / (_GRAM_FORCE * 1000), 0, "", "oz"),
        any_case=False,
    ),
    Kind.TEMPERATURE: _temperatures(),
    Kind.TIME: _units(
        Kind.TIME,
        ("s", 1, 3, "sec secs second seconds", ""),
        ("ms", Fraction(1, 1000), 0, "millisecond milliseconds", ""),
        ("min", 60, 2, "mins minute minutes", ""),
        ("h", 3600, 3, "hr hrs hour hours", ""),
    ),
    Kind.RATIO: _units(Kind.RATIO, ("", 1, 2, ":1 :_1 to_1", ""), ("%", Fraction(1, 100), 1, "percent", "")),
    Kind.COUNT: _units(Kind.COUNT, ("", 1, 0, "x \u00d7 pc pcs pieces teeth t", "")),
}


@dataclass(frozen=True, slots=True, init=False)
class Quantity:
    """An exact number in the unit it was written in.

    text: as typed, or "". number: the number as typed, with a decimal point and fractions as `2 1/16`; ""
    when the quantity was calculated. Two quantities are equal when magnitude and unit are equal; compare
    `base` for size.
    """

    magnitude: Fraction
    unit: Unit
    text: str = field(compare=False)
    number: str = field(compare=False)

    def __init__(self, magnitude: Fraction, unit: Unit, text: str = "", number: str = "") -> None:
        # Straight into the slots: half the time of what a frozen dataclass writes for itself, at every reading.
        _set_magnitude(self, magnitude)
        _set_unit(self, unit)
        _set_text(self, text)
        _set_number(self, number)

    @property
    def kind(self) -> Kind:
        return self.unit.kind

    @property
    def base(self) -> Fraction:
        """The exact value in the base unit: mm, g, degree, rpm, V, A, ohm, N, g (pull), degC, s, 1, 1."""
        unit = self.unit
        if unit.is_base:
            return self.magnitude
        number, divisor = self.magnitude.as_integer_ratio()
        factor, share = unit.factor.as_integer_ratio()
        size = Fraction(number * factor, divisor * share)
        return size + unit.offset if unit.offset else size

    @property
    def is_fraction(self) -> bool:
        """Was it typed as a fraction, such as 2 1/16?"""
        return "/" in self.number

    @property
    def places(self) -> int:
        """How many decimals were typed."""
        return len(self.number.partition(".")[2])

    @property
    def canonical(self) -> str:
        """Text to store: `parse_quantity` under a decimal point reads a typed quantity back unchanged."""
        number = self.number or _shortest(self.magnitude)
        return f"{number} {self.unit.symbol}".strip()

    def to(self, unit: "Unit | str") -> "Quantity":
        """The same size in another unit of the kind. Raises UnitsError unknown_unit or wrong_kind."""
        target = as_unit(unit, self.kind)
        if target == self.unit:
            return self
        return from_base(self.base, target)


_set_magnitude, _set_unit, _set_text, _set_number = (Quantity.__dict__[one.name].__set__ for one in fields(Quantity))


def make_quantity(magnitude: Fraction | Decimal | int, unit: Unit) -> Quantity:
    """A quantity that was calculated or stored, not typed. Floats are refused by their type."""
    if isinstance(magnitude, float):
        raise TypeError("a quantity is exact; a float is not")
    return Quantity(magnitude=Fraction(magnitude), unit=unit)


def from_base(base: Fraction, unit: Unit) -> Quantity:
    """The quantity whose value in the base unit of the kind is `base`, written in `unit`."""
    return Quantity(magnitude=(base - unit.offset) / unit.factor, unit=unit)


def accepted_units(kind: Kind) -> tuple[Unit, ...]:
    """The units of a kind, the base unit first."""
    return UNITS[kind]


def base_unit(kind: Kind) -> Unit:
    return UNITS[kind][0]


def unit_of(spelling: str, kind: Kind) -> Unit:
    """The unit of a kind by its symbol or another accepted spelling.

    Raises UnitsError wrong_kind (a unit of something else) or unknown_unit.
    """
    found = _find_unit(spelling, kind)
    if found is not None:
        return found
    accepted = _accepted_text(kind)
    for other in Kind:
        if other is not kind and spelling and _find_unit(spelling, other) is not None:
            raise UnitsError(
                UnitsCode.WRONG_KIND,
                unit=spelling,
                found=other.replace("_", " "),
                wanted=kind.replace("_", " "),
                accepted=accepted,
            )
    raise UnitsError(UnitsCode.UNKNOWN_UNIT, unit=spelling, accepted=accepted)


def as_unit(unit: Unit | str, kind: Kind) -> Unit:
    """A unit or its spelling as a unit of this kind. Raises UnitsError wrong_kind or unknown_unit."""
    if isinstance(unit, Unit) and unit.kind is kind:
        return unit
    return unit_of(str(unit), kind)


def _find_unit(spelling: str, kind: Kind) -> Unit | None:
    exact, folded = _spellings(kind)
    return exact.get(spelling) or folded.get(spelling.casefold())


@cache
def _spellings(kind: Kind) -> tuple[Mapping[str, Unit], Mapping[str, Unit]]:
    exact: dict[str, Unit] = {}
    folded: dict[str, Unit] = {}
    for unit in UNITS[kind]:
        for spelling in (unit.symbol, *unit.spellings):
            exact[spelling] = unit
            if unit.any_case:
                folded[spelling.casefold()] = unit
    return exact, folded


# Reading.

_VULGAR: Final[Mapping[str, tuple[int, int]]] = {
    "½": (1, 2), "⅓": (1, 3), "⅔": (2, 3), "¼": (1, 4), "¾": (3, 4), "⅕": (1, 5), "⅖": (2, 5), "⅗": (3, 5),
    "⅘": (4, 5), "⅙": (1, 6), "⅚": (5, 6), "⅐": (1, 7), "⅛": (1, 8), "⅜": (3, 8), "⅝": (5, 8), "⅞": (7, 8),
    "⅑": (1, 9), "⅒": (1, 10),
}  # fmt: skip

_GRAMMAR: Final = re.compile(
    r"""
    (?P<sign>[+\-\u2212]?)[ ]*
    (?:
        (?:(?P<whole>[0-9]+)(?:[ ]+|[ ]*[-\u2010\u2011\u2013][ ]*))?
        (?P<upper>[0-9]+)[ ]?[/\u2044\u2215][ ]?(?P<lower>[0-9]+)
      | (?P<before>[0-9]*)[ ]*(?P<vulgar>[½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅐⅛⅜⅝⅞⅑⅒])
      | (?P<integer>[0-9]*)(?P<mark>[.,])(?P<decimals>[0-9]+)
      | (?P<plain>[0-9]+)
    )
    [ ]*(?P<unit>.*)
    """,
    re.VERBOSE | re.DOTALL,
)
_SPACES: Final = str.maketrans(dict.fromkeys("\t\u00a0\u2007\u2009\u202f", " "))
_EXPONENT: Final = re.compile(r"[0-9.,] ?(?:[eE] ?[+\-\u2212]?[0-9]|[x\u00d7*] ?10 ?\^)")
_DIGIT: Final = re.compile(r"[0-9½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅐⅛⅜⅝⅞⅑⅒]")
# How nearly every reading and limit is stored: read by `_read_plain`, to what the whole grammar would make of it.
_PLAIN: Final = re.compile(r"((0|[1-9][0-9]{0,8})(?:\.([0-9]{1,6}))?)(?: ([^ 0-9.,/][^ 0-9]*))?")
_POWERS_OF_TEN: Final = tuple(10**places for places in range(7))


def parse_quantity(
    text: str,
    kind: Kind,
    *,
    default_unit: Unit | str | None,
    decimal_mark: DecimalMark = ".",
    allow_negative: bool = False,
) -> Quantity:
    """Read one number with an optional unit, exactly, or refuse it.

    text: as typed. kind: what is asked for. default_unit: the unit when none is typed (a unit of this kind or
    its symbol); None means that it must be typed, except for a ratio or a count. decimal_mark: the club's.
    Raises UnitsError with a code of `UnitsCode`; nothing is ever guessed.
    """
    plain = _read_plain(text, kind, default_unit) if decimal_mark == "." else None
    return plain or _read_any(text, kind, default_unit, decimal_mark, allow_negative=allow_negative)


def _read_any(
    text: str, kind: Kind, default_unit: Unit | str | None, decimal_mark: DecimalMark, *, allow_negative: bool
) -> Quantity:
    """By the whole grammar."""
    if decimal_mark not in {".", ","}:
        raise UnitsError(UnitsCode.BAD_DECIMAL_MARK)
    if len(text) > MAX_TEXT:
        raise UnitsError(UnitsCode.TOO_LONG, limit=str(MAX_TEXT))
    typed = text.translate(_SPACES).strip()
    if not typed:
        raise UnitsError(UnitsCode.EMPTY)
    match = _GRAMMAR.match(typed)
    if match is None:
        raise UnitsError(UnitsCode.NOT_A_NUMBER, text=typed, example=f"63{decimal_mark}4")
    unit = _read_unit(match["unit"], typed, kind, default_unit)
    if match.start("unit") > MAX_DIGITS and len(_DIGIT.findall(typed, 0, match.start("unit"))) > MAX_DIGITS:
        raise UnitsError(UnitsCode.TOO_MANY_DIGITS, limit=str(MAX_DIGITS))
    magnitude, number = _read_number(match, kind, decimal_mark)
    if match["sign"] in {"-", "\u2212"}:
        if magnitude and not allow_negative:
            raise UnitsError(UnitsCode.NEGATIVE)
        magnitude, number = -magnitude, f"-{number}"
    if kind is Kind.COUNT and magnitude.denominator != 1:
        raise UnitsError(UnitsCode.NOT_WHOLE)
    return Quantity(magnitude, unit, text, number)


def _read_plain(text: str, kind: Kind, default_unit: Unit | str | None) -> Quantity | None:
    """Digits, perhaps a point and more digits, perhaps one blank and a known unit; None for anything else.

    The same as the whole grammar gives, only sooner: a sheet of stored readings is judged again on every page.
    """
    match = _PLAIN.fullmatch(text)
    if match is None:
        return None
    number, whole, decimals, spelling = match.groups()
    if spelling is not None:
        unit = _spellings(kind)[0].get(spelling)
    else:
        unit = default_unit if isinstance(default_unit, Unit) and default_unit.kind is kind else None
    if unit is None:
        return None
    if decimals is None:
        return Quantity(Fraction(int(whole)), unit, text, number)
    magnitude = Fraction(int(whole + decimals), _POWERS_OF_TEN[len(decimals)])
    if kind is Kind.COUNT and magnitude.denominator != 1:
        return None
    return Quantity(magnitude, unit, text, number)


def _read_unit(spelling: str, typed: str, kind: Kind, default_unit: Unit | str | None) -> Unit:
    """The unit after the number, or the default; says so when what follows is more number, not a unit."""
    if not spelling:
        if default_unit is not None:
            return as_unit(default_unit, kind)
        if kind in {Kind.RATIO, Kind.COUNT}:
            return base_unit(kind)
        raise UnitsError(UnitsCode.UNIT_MISSING, accepted=_accepted_text(kind))
    found = _find_unit(spelling, kind)
    if found is not None:
        return found
    if _EXPONENT.search(typed):
        raise UnitsError(UnitsCode.EXPONENT)
    if _DIGIT.search(spelling):
        raise UnitsError(UnitsCode.SEVERAL_NUMBERS)
    if spelling[0] in ".,":
        raise UnitsError(UnitsCode.UNFINISHED_NUMBER, text=typed)
    return unit_of(spelling, kind)


def _read_number(match: re.Match[str], kind: Kind, decimal_mark: DecimalMark) -> tuple[Fraction, str]:
    """The number without its sign, exactly, and how it was written."""
    if match["plain"]:
        whole = int(match["plain"])
        return Fraction(whole), str(whole)
    return _read_decimal(match, decimal_mark) if match["decimals"] else _read_fraction(match, kind)


def _read_decimal(match: re.Match[str], decimal_mark: DecimalMark) -> tuple[Fraction, str]:
    whole, mark, decimals = match["integer"], match["mark"], match["decimals"]
    if mark != decimal_mark and len(decimals) == 3 and 1 <= len(whole) <= 3 and whole[0] != "0":
        raise UnitsError(
            UnitsCode.AMBIGUOUS_MARK,
            text=f"{whole}{mark}{decimals}",
            decimal=f"{whole}{decimal_mark}{decimals}",
            thousands=f"{whole}{decimals}",
        )
    number = f"{int(whole or '0')}.{decimals}"
    return Fraction(int(f"{whole}{decimals}"), 10 ** len(decimals)), number


def _read_fraction(match: re.Match[str], kind: Kind) -> tuple[Fraction, str]:
    if match["vulgar"]:
        whole = match["before"]
        upper, lower = _VULGAR[match["vulgar"]]
    else:
        whole = match["whole"]
        upper, lower = int(match["upper"]), int(match["lower"])
    if lower == 0:
        raise UnitsError(UnitsCode.ZERO_DENOMINATOR)
    if upper >= lower and (whole or kind is not Kind.RATIO):
        raise UnitsError(UnitsCode.IMPROPER_FRACTION, text=f"{whole} {upper}/{lower}" if whole else f"{upper}/{lower}")
    if whole:
        return int(whole) + Fraction(upper, lower), f"{int(whole)} {upper}/{lower}"
    return Fraction(upper, lower), f"{upper}/{lower}"


# Exact numbers as text, for storage.

_EXACT: Final = re.compile(r"-?[0-9]{1,99}(?:/[0-9]{1,99})?")


def write_exact(value: Fraction) -> str:
    """An exact number as `numerator/denominator` in lowest terms, or a whole number, for storage."""
    return str(value)


@lru_cache(maxsize=1024)  # one gauge's variance is read with every reading taken with it
def read_exact(text: str) -> Fraction:
    """The number that `write_exact` wrote. Raises UnitsError not_exact for any other text."""
    if _EXACT.fullmatch(text) is None or (text.rpartition("/")[2].strip("0") == "" and "/" in text):
        raise UnitsError(UnitsCode.NOT_EXACT, text=text[:MAX_TEXT])
    return Fraction(text)


# Rounding and writing.


def round_half_even(value: Fraction, step: Fraction) -> Fraction:
    """The multiple of step nearest to value, a tie to the even multiple (ISO 80000-1:2009, Annex B, rule A).

    Raises UnitsError bad_step unless step is above 0.
    """
    if step <= 0:
        raise UnitsError(UnitsCode.BAD_STEP)
    return round(value / step) * step


def round_half_up(value: Fraction, step: Fraction) -> Fraction:
    """The multiple of step nearest to value, a tie to the larger in size (ISO 80000-1:2009, Annex B, rule B).

    Raises UnitsError bad_step unless step is above 0.
    """
    if step <= 0:
        raise UnitsError(UnitsCode.BAD_STEP)
    steps = abs(value) / step + Fraction(1, 2)
    size = (steps.numerator // steps.denominator) * step
    return -size if value < 0 else size


def format_quantity(
    quantity: Quantity,
    *,
    unit: Unit | str | None = None,
    places: int | None = None,
    decimal_mark: DecimalMark = ".",
) -> str:
    """Number and unit for people, rounded half-even: `19.00 mm`, `2 1/16 in`, `85.0°`.

    unit: another unit of the kind, by default the one it was written in. places: decimals; by default those
    of the unit (mm 2, in 3, g 1), as many as were typed if more, and one more if that makes the number exact,
    so that 1.524 mm is not shown as 1.52. A fraction stays as written unless unit or places ask for decimals.
    Raises UnitsError for a unit of another kind.
    """
    shown = quantity if unit is None else quantity.to(unit)
    if places is None and shown.is_fraction:
        return _with_unit(shown.number, shown.unit)
    if places is None:
        places = max(shown.unit.places, shown.places)
        finer = shown.magnitude * 10 ** (places + 1)
        if finer.denominator == 1 and finer.numerator % 10:
            places += 1
    return _with_unit(format_decimal(shown.magnitude, places=places, decimal_mark=decimal_mark), shown.unit)


def both_systems(quantity: Quantity, *, decimal_mark: DecimalMark = ".") -> str:
    """As written, with the other system of measures beside it: `19.00 mm (0.748 in)`, `2 1/16 in (52.39 mm)`.

    Only the written form where a kind has one system (volts, rpm, counts).
    """
    written = format_quantity(quantity, decimal_mark=decimal_mark)
    counterpart = quantity.unit.counterpart
    if not counterpart:
        return written
    return f"{written} ({format_quantity(quantity, unit=counterpart, decimal_mark=decimal_mark)})"


def format_decimal(value: Fraction, *, places: int, decimal_mark: DecimalMark = ".") -> str:
    """A number with this many decimals (0 or more), rounded half-even, without thousands separators."""
    scaled = round(value * 10**places)
    digits = str(abs(scaled)).rjust(places + 1, "0")
    sign = "-" if scaled < 0 else ""
    if places <= 0:
        return sign + digits
    return f"{sign}{digits[:-places]}{decimal_mark}{digits[-places:]}"


def _with_unit(number: str, unit: Unit) -> str:
    return f"{number}°" if unit.symbol == "°" else f"{number} {unit.symbol}".rstrip()


def _accepted_text(kind: Kind) -> str:
    return ", ".join(unit.symbol for unit in UNITS[kind] if unit.symbol) or "a plain number"


def _shortest(value: Fraction) -> str:
    """A calculated number as an exact decimal if there is one, else as a fraction."""
    places = 0
    scaled = value
    while scaled.denominator != 1 and places < MAX_DIGITS:
        scaled *= 10
        places += 1
    if scaled.denominator == 1:
        return format_decimal(value, places=places)
    whole, rest = divmod(abs(value), 1)
    sign = "-" if value < 0 else ""
    return f"{sign}{whole} {rest}" if whole else f"{sign}{rest}"
