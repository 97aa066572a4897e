"""Typed quantities are read exactly or refused, and written so that nobody is misled."""

import subprocess
import sys
from decimal import Decimal, localcontext
from fractions import Fraction

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspection.units import (
    MAX_TEXT,
    MESSAGES,
    UNITS,
    Kind,
    Quantity,
    UnitsCode,
    UnitsError,
    accepted_units,
    as_unit,
    base_unit,
    both_systems,
    format_decimal,
    format_quantity,
    from_base,
    make_quantity,
    parse_quantity,
    read_exact,
    round_half_even,
    round_half_up,
    unit_of,
    write_exact,
)

# An independent table of units; decimal, so that it is exact.
INDEPENDENT = pint.UnitRegistry(non_int_type=Decimal)
ALL_UNITS = [unit for units in UNITS.values() for unit in units]


def length(text: str, mark: str = ".", unit: str | None = "mm") -> Quantity:
    return parse_quantity(text, Kind.LENGTH, default_unit=unit, decimal_mark=mark)


def refusal(text: str, kind: Kind = Kind.LENGTH, mark: str = ".", unit: str | None = "", **options: bool) -> UnitsError:
    default = base_unit(kind) if unit == "" else unit
    with pytest.raises(UnitsError) as refused:
        parse_quantity(text, kind, default_unit=default, decimal_mark=mark, **options)
    return refused.value


def read_or_refusal(text: str, kind: Kind, **options) -> Quantity | UnitsError:
    try:
        return parse_quantity(text, kind, default_unit=base_unit(kind), **options)
    except UnitsError as refused:
        return refused


class TestReading:
    @pytest.mark.parametrize(
        ("text", "millimeters"),
        [
            ("63.4", "63.4"),
            ("63.4 mm", "63.4"),
            ("63.4mm", "63.4"),
            ("  63.4\u00a0mm ", "63.4"),
            ("63.4 MM", "63.4"),
            ("63.4 Mm", "63.4"),
            ("+63.4", "63.4"),
            (".5", "0.5"),
            ("0", "0"),
            ("-0", "0"),
            ("007.5", "7.5"),
            ("6.34 cm", "63.4"),
            ("0.0634 m", "63.4"),
            ("60 µm", "0.06"),
            ("60 \u03bcm", "0.06"),
            ("60 um", "0.06"),
            (".060 in", "1.524"),
            ('.060"', "1.524"),
            (".060 ''", "1.524"),
            (".060 inches", "1.524"),
            (".060 In.", "1.524"),
            ("60 thou", "1.524"),
            ("60 mil", "1.524"),
            ("1 ft", "304.8"),
            ("9/16 in", "14.2875"),
            ("9 / 16 in", "14.2875"),
            ("9\u204416 in", "14.2875"),
            ("2 1/16 in", "52.3875"),
            ('2 1/16"', "52.3875"),
            ("2-1/16 in", "52.3875"),
            ("2 - 1/16in", "52.3875"),
            ("2\u20131/16 in", "52.3875"),
            ("½ in", "12.7"),
            ("2½ in", "63.5"),
            ("2 ½ in", "63.5"),
            ("1⅜ in", "34.925"),
        ],
    )
    def test_a_length_as_people_type_it_is_read_exactly(self, text, millimeters):
        assert length(text).base == Fraction(millimeters)

    def test_every_unicode_fraction_is_the_number_that_its_name_says(self):
        import unicodedata  # noqa: PLC0415 - the independent source of the values, used here only

        for sign in "½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅐⅛⅜⅝⅞⅑⅒":
            assert float(length(sign).base) == pytest.approx(unicodedata.numeric(sign))

    @pytest.mark.parametrize(
        ("text", "kind", "base"),
        [
            ("100 g", Kind.MASS, Fraction(100)),
            ("100 G", Kind.MASS, Fraction(100)),
            ("0.1 kg", Kind.MASS, Fraction(100)),
            ("1 oz", Kind.MASS, Fraction("28.349523125")),
            ("1 lb", Kind.MASS, Fraction("453.59237")),
            ("1 lbs.", Kind.MASS, Fraction("453.59237")),
            ("1 gr", Kind.MASS, Fraction("0.06479891")),
            ("85°", Kind.ANGLE, Fraction(85)),
            ("85 deg", Kind.ANGLE, Fraction(85)),
            ("26000 rpm", Kind.ROTATION_SPEED, Fraction(26000)),
            ("26000 1/min", Kind.ROTATION_SPEED, Fraction(26000)),
            ("26000 min⁻¹", Kind.ROTATION_SPEED, Fraction(26000)),
            ("26k", Kind.ROTATION_SPEED, Fraction(26000)),
            ("12 V", Kind.VOLTAGE, Fraction(12)),
            ("250 mV", Kind.VOLTAGE, Fraction(1, 4)),
            ("350 mA", Kind.CURRENT, Fraction("0.35")),
            ("3 amps", Kind.CURRENT, Fraction(3)),
            ("5.8 Ω", Kind.RESISTANCE, Fraction("5.8")),
            ("5.8 \u2126", Kind.RESISTANCE, Fraction("5.8")),
            ("5.8 ohm", Kind.RESISTANCE, Fraction("5.8")),
            ("100 gf", Kind.FORCE, Fraction("0.980665")),
            ("35 g", Kind.MAGNETIC_PULL, Fraction(35)),
            ("35 gf", Kind.MAGNETIC_PULL, Fraction(35)),
            ("20 °C", Kind.TEMPERATURE, Fraction(20)),
            ("68 °F", Kind.TEMPERATURE, Fraction(20)),
            ("293.15 K", Kind.TEMPERATURE, Fraction(20)),
            ("1.5 min", Kind.TIME, Fraction(90)),
            ("20 %", Kind.RATIO, Fraction(1, 5)),
            ("3.4:1", Kind.RATIO, Fraction("3.4")),
            ("34/12", Kind.RATIO, Fraction(34, 12)),
            ("4", Kind.COUNT, Fraction(4)),
            ("28 teeth", Kind.COUNT, Fraction(28)),
        ],
    )
    def test_each_kind_has_its_own_closed_list_of_units(self, text, kind, base):
        assert parse_quantity(text, kind, default_unit=None).base == base

    def test_the_unit_of_the_gauge_is_used_when_none_is_typed(self):
        assert length(".750", unit="in").base == Fraction("19.05")
        assert length("19.05 mm", unit="in").base == Fraction("19.05")

    def test_the_text_is_kept_as_it_was_typed(self):
        quantity = length(" 2-1/16 in")
        assert (quantity.text, quantity.number, quantity.canonical) == (" 2-1/16 in", "2 1/16", "2 1/16 in")
        assert quantity.is_fraction
        assert length(".060 in").canonical == "0.060 in"
        assert length(".060 in").places == 3

    def test_a_negative_number_is_read_where_it_is_allowed(self):
        for text in ("-5 °C", "\u22125 °C"):
            cold = parse_quantity(text, Kind.TEMPERATURE, default_unit=None, allow_negative=True)
            assert (cold.base, cold.canonical) == (-5, "-5 °C")
        mixed = parse_quantity("-2 1/2 mm", Kind.LENGTH, default_unit=None, allow_negative=True)
        assert mixed.base == Fraction(-5, 2)


class TestDecimalMarks:
    """A missed decimal comma makes 63,4 mm into 634 mm: the mark is read for certain or the number is refused."""

    @pytest.mark.parametrize(
        ("text", "mark", "millimeters"),
        [
            ("63,4 mm", ".", "63.4"),
            ("63,42", ".", "63.42"),
            ("0,750 in", ".", "19.05"),
            (",750 in", ".", "19.05"),
            ("1,2345", ".", "1.2345"),
            ("1234,567", ".", "1234.567"),
            ("1.234", ".", "1.234"),
            ("63,4 mm", ",", "63.4"),
            ("1,234", ",", "1.234"),
            ("63.4 mm", ",", "63.4"),
            ("0.750 in", ",", "19.05"),
            (".750 in", ",", "19.05"),
        ],
    )
    def test_either_mark_is_a_decimal_mark_when_it_can_be_nothing_else(self, text, mark, millimeters):
        assert length(text, mark).base == Fraction(millimeters)

    @pytest.mark.parametrize(("text", "mark"), [("1,234", "."), ("63,400 mm", "."), ("1.234", ","), ("999.000", ",")])
    def test_a_number_that_could_be_a_thousand_is_refused_with_what_to_type(self, text, mark):
        refused = refusal(text, mark=mark)
        assert refused.code is UnitsCode.AMBIGUOUS_MARK
        for advice in (refused.params["decimal"], refused.params["thousands"]):
            assert advice in str(refused)
            length(advice, mark)

    @pytest.mark.parametrize("text", ["1,234.5", "1.234,5", "1,234,567", "1.2.3", "1 234 mm", "1'234", "1_000"])
    @pytest.mark.parametrize("mark", [".", ","])
    def test_thousands_separators_are_refused(self, text, mark):
        assert refusal(text, mark=mark).code is UnitsCode.SEVERAL_NUMBERS

    def test_no_other_decimal_mark_is_known(self):
        assert refusal("1", mark=";").code is UnitsCode.BAD_DECIMAL_MARK

    @given(st.integers(0, 10**6), st.integers(1, 6), st.sampled_from(".,"), st.sampled_from(".,"))
    def test_a_mark_never_changes_the_size_of_a_number(self, digits, places, typed_mark, club_mark):
        text = format_decimal(Fraction(digits, 10**places), places=places, decimal_mark=typed_mark)
        read = read_or_refusal(text, Kind.LENGTH, decimal_mark=club_mark)
        if isinstance(read, UnitsError):
            assert (read.code, typed_mark != club_mark, places) == (UnitsCode.AMBIGUOUS_MARK, True, 3)
        else:
            assert read.base == Fraction(digits, 10**places)


class TestRefusals:
    @pytest.mark.parametrize(
        ("text", "code"),
        [
            ("", UnitsCode.EMPTY),
            ("   \t\u00a0", UnitsCode.EMPTY),
            ("NaN", UnitsCode.NOT_A_NUMBER),
            ("NaN mm", UnitsCode.NOT_A_NUMBER),
            ("inf", UnitsCode.NOT_A_NUMBER),
            ("-Infinity mm", UnitsCode.NOT_A_NUMBER),
            ("mm", UnitsCode.NOT_A_NUMBER),
            ("wide", UnitsCode.NOT_A_NUMBER),
            ("\u0661\u0662", UnitsCode.NOT_A_NUMBER),
            ("<script>alert(1)</script>", UnitsCode.NOT_A_NUMBER),
            ("=1+1", UnitsCode.NOT_A_NUMBER),
            ("--5", UnitsCode.NOT_A_NUMBER),
            ("__import__('os')", UnitsCode.NOT_A_NUMBER),
            ("1e999", UnitsCode.EXPONENT),
            ("1E5 mm", UnitsCode.EXPONENT),
            ("1.5e-3 mm", UnitsCode.EXPONENT),
            ("2x10^9", UnitsCode.EXPONENT),
            ("12 13", UnitsCode.SEVERAL_NUMBERS),
            ("12 x 13 mm", UnitsCode.SEVERAL_NUMBERS),
            ("12-13 mm", UnitsCode.SEVERAL_NUMBERS),
            ("12 mm 13 mm", UnitsCode.SEVERAL_NUMBERS),
            ("12\n13", UnitsCode.SEVERAL_NUMBERS),
            ("5' 3\"", UnitsCode.SEVERAL_NUMBERS),
            ("1.5/2 in", UnitsCode.SEVERAL_NUMBERS),
            ("1/2 1/4 in", UnitsCode.SEVERAL_NUMBERS),
            ("63.", UnitsCode.UNFINISHED_NUMBER),
            ("63, mm", UnitsCode.UNFINISHED_NUMBER),
            ("1/0 in", UnitsCode.ZERO_DENOMINATOR),
            ("2 1/0 in", UnitsCode.ZERO_DENOMINATOR),
            ("21/16 in", UnitsCode.IMPROPER_FRACTION),
            ("21\u20442 in", UnitsCode.IMPROPER_FRACTION),
            ("2 17/16 in", UnitsCode.IMPROPER_FRACTION),
            ("-3 mm", UnitsCode.NEGATIVE),
            ("-1/16 in", UnitsCode.NEGATIVE),
            ("5 furlong", UnitsCode.UNKNOWN_UNIT),
            ("5 mm/s", UnitsCode.UNKNOWN_UNIT),
            ("5 mm; drop table", UnitsCode.UNKNOWN_UNIT),
            ("12 g", UnitsCode.WRONG_KIND),
            ("12 V", UnitsCode.WRONG_KIND),
            ("1234567890123456", UnitsCode.TOO_MANY_DIGITS),
            ("0." + "1" * 15, UnitsCode.TOO_MANY_DIGITS),
            ("1/" + "9" * 20, UnitsCode.TOO_MANY_DIGITS),
            ("1" * (MAX_TEXT + 1), UnitsCode.TOO_LONG),
        ],
    )
    def test_what_is_not_one_exact_length_is_refused(self, text, code):
        assert refusal(text).code is code

    def test_a_unit_of_the_wrong_kind_names_both_kinds(self):
        refused = refusal("12 g")
        assert (refused.params["found"], refused.params["wanted"]) == ("mass", "length")
        assert "“g” is a unit of mass, but length is asked for" in str(refused)

    def test_a_count_is_whole(self):
        assert refusal("3.5", Kind.COUNT).code is UnitsCode.NOT_WHOLE
        assert refusal("½", Kind.COUNT).code is UnitsCode.NOT_WHOLE
        assert parse_quantity("4.0", Kind.COUNT, default_unit=None).base == 4

    def test_a_unit_must_be_typed_when_none_is_implied(self):
        refused = refusal("63.4", unit=None)
        assert refused.code is UnitsCode.UNIT_MISSING
        assert "mm" in str(refused)

    def test_a_default_unit_of_another_kind_is_refused(self):
        assert refusal("63.4", unit="g").code is UnitsCode.WRONG_KIND
        assert refusal("63.4", unit=base_unit(Kind.MASS)).code is UnitsCode.WRONG_KIND
        with pytest.raises(UnitsError):
            as_unit(base_unit(Kind.MASS), Kind.LENGTH)

    @pytest.mark.parametrize(
        ("text", "kind"), [("5 MV", Kind.VOLTAGE), ("5 MA", Kind.CURRENT), ("35 G", Kind.MAGNETIC_PULL)]
    )
    def test_a_capital_that_would_be_another_unit_is_not_forgiven(self, text, kind):
        assert refusal(text, kind).code in {UnitsCode.UNKNOWN_UNIT, UnitsCode.WRONG_KIND}

    @given(st.text(max_size=80), st.sampled_from(Kind), st.sampled_from(".,"), st.booleans())
    def test_any_text_gives_a_quantity_or_a_refusal(self, text, kind, mark, allow_negative):
        read = read_or_refusal(text, kind, decimal_mark=mark, allow_negative=allow_negative)
        if isinstance(read, UnitsError):
            assert str(read) == MESSAGES[read.code] % read.params
        else:
            assert read.kind is kind
            assert allow_negative or read.magnitude >= 0

    @given(st.from_regex(r"[0-9.,/ ½-]{1,14} ?(mm|in|\"|g|e9)?", fullmatch=True), st.sampled_from(".,"))
    def test_text_near_a_number_is_never_read_as_more_than_was_typed(self, text, mark):
        read = read_or_refusal(text, Kind.LENGTH, decimal_mark=mark)
        if isinstance(read, UnitsError):
            return
        again = parse_quantity(read.canonical, Kind.LENGTH, default_unit=None)
        assert again == read
        whole = "".join(character for character in text.split("/")[0] if character.isdigit())
        assert read.magnitude <= int(whole or 0) + 1

    @given(
        st.from_regex(r"[0-9]{1,10}(\.[0-9]{1,7})?( ?(mm|in|\"|g|V|v|x|½|%|°C|rpm|MM|thou)?)?", fullmatch=True),
        st.sampled_from(Kind),
        st.booleans(),
    )
    def test_the_short_way_reads_plain_text_as_the_whole_grammar_does(self, text, kind, has_default):
        """A leading blank sends the same text through the whole grammar."""
        unit = base_unit(kind) if has_default else None
        read = []
        for typed in (text, f" {text}"):
            try:
                quantity = parse_quantity(typed, kind, default_unit=unit)
                read.append((quantity, quantity.number, quantity.base, quantity.canonical))
            except UnitsError as refused:
                read.append((refused.code, str(refused)))
        assert read[0] == read[1]

    def test_every_code_has_a_message(self):
        assert set(MESSAGES) == set(UnitsCode)


class TestUnits:
    """The factors against pint's Decimal registry, an independent table, and against the published values."""

    @pytest.mark.parametrize(
        ("unit", "pint_name"),
        [
            ("mm", "millimeter"), ("cm", "centimeter"), ("m", "meter"), ("µm", "micrometer"), ("in", "inch"),
            ("thou", "thou"), ("ft", "foot"), ("g", "gram"), ("mg", "milligram"), ("kg", "kilogram"),
            ("oz", "ounce"), ("lb", "pound"), ("gr", "grain"), ("rpm", "rpm"), ("V", "volt"), ("mV", "millivolt"),
            ("A", "ampere"), ("mA", "milliampere"), ("Ω", "ohm"), ("mΩ", "milliohm"), ("kΩ", "kiloohm"),
            ("N", "newton"), ("mN", "millinewton"), ("gf", "gram_force"), ("kgf", "kilogram_force"),
            ("ozf", "ounce_force"), ("lbf", "pound_force"), ("s", "second"), ("ms", "millisecond"),
            ("min", "minute"), ("h", "hour"), ("%", "percent"),
        ],
    )  # fmt: skip
    def test_a_factor_agrees_with_an_independent_table(self, unit, pint_name):
        own = next(candidate for candidate in ALL_UNITS if candidate.symbol == unit)
        base = {"%": "dimensionless"}.get(unit, PINT_BASES.get(own.kind))
        with localcontext(prec=50):
            theirs = INDEPENDENT.Quantity(Decimal(1), pint_name).to(base).magnitude
            assert Decimal(own.factor.numerator) / own.factor.denominator == pytest.approx(theirs, rel=Decimal("1e-27"))

    @pytest.mark.parametrize(
        ("one", "kind", "unit", "value"),
        [
            # U01, U02, U04: exact by definition; the sources agree to every digit.
            ("1 in", Kind.LENGTH, "mm", "25.4"),
            ("1 ft", Kind.LENGTH, "m", "0.3048"),
            ("1 mil", Kind.LENGTH, "mm", "0.0254"),
            ("1 oz", Kind.MASS, "g", "28.349523125"),
            ("1 lb", Kind.MASS, "g", "453.59237"),
            ("1 gr", Kind.MASS, "mg", "64.79891"),
            ("1 ozf", Kind.FORCE, "N", "0.27801385095378125"),
            ("1 lbf", Kind.FORCE, "N", "4.4482216152605"),
        ],
    )
    def test_published_exact_values_hold(self, one, kind, unit, value):
        assert parse_quantity(one, kind, default_unit=None).to(unit).magnitude == Fraction(value)

    def test_torque_and_speed_factors_follow_from_the_same_units(self):
        """U05 (NIST SP 811 B.8: 7.061 552 E-03), U06, U07 of the published values."""
        ozf = unit_of("ozf", Kind.FORCE).factor
        inch = unit_of("in", Kind.LENGTH).factor / 1000
        gf_cm = unit_of("gf", Kind.FORCE).factor * Fraction(1, 100)
        assert ozf * inch == Fraction("0.00706155181422604375")
        assert round_half_even(ozf * inch, Fraction(1, 10**9)) == Fraction("0.007061552")
        assert gf_cm == Fraction("9.80665e-5")
        assert ozf * inch / gf_cm == Fraction("72.0077887375")
        mile = unit_of("ft", Kind.LENGTH).factor / 1000 * 5280
        assert mile / unit_of("h", Kind.TIME).factor == Fraction("0.44704")

    def test_temperatures_meet_at_their_fixed_points(self):
        for text, celsius in [("32 °F", 0), ("212 °F", 100), ("273.15 K", 0), ("0 K", Fraction(-27315, 100))]:
            assert parse_quantity(text, Kind.TEMPERATURE, default_unit=None).base == celsius
        assert make_quantity(-40, unit_of("°C", Kind.TEMPERATURE)).to("°F").magnitude == -40

    def test_a_scale_reads_a_newton_of_pull_as_its_grams(self):
        assert parse_quantity("0.980665 N", Kind.MAGNETIC_PULL, default_unit=None).base == 100

    def test_every_symbol_and_spelling_names_one_unit_of_its_kind(self):
        for kind in Kind:
            spellings = [spelling for unit in accepted_units(kind) for spelling in (unit.symbol, *unit.spellings)]
            assert len(spellings) == len(set(spellings))
            for unit in accepted_units(kind):
                assert unit.kind is kind
                assert all(unit_of(spelling, kind) is unit for spelling in (unit.symbol, *unit.spellings))
            assert (base_unit(kind).factor, base_unit(kind).offset) == (1, 0)

    @given(st.fractions(), st.sampled_from(ALL_UNITS), st.data())
    def test_a_change_of_unit_and_back_changes_nothing(self, magnitude, unit, data):
        other = data.draw(st.sampled_from(accepted_units(unit.kind)))
        quantity = make_quantity(magnitude, unit)
        assert quantity.to(other).base == quantity.base
        assert quantity.to(other).to(unit) == quantity

    def test_a_float_is_not_a_quantity(self):
        with pytest.raises(TypeError):
            make_quantity(0.1, base_unit(Kind.LENGTH))

    def test_decimals_are_exact(self):
        assert make_quantity(Decimal("0.1"), base_unit(Kind.LENGTH)).base == Fraction(1, 10)


PINT_BASES = {
    Kind.LENGTH: "millimeter",
    Kind.MASS: "gram",
    Kind.ROTATION_SPEED: "rpm",
    Kind.VOLTAGE: "volt",
    Kind.CURRENT: "ampere",
    Kind.RESISTANCE: "ohm",
    Kind.FORCE: "newton",
    Kind.TIME: "second",
}


class TestUnitTraps:
    """E5: printed sizes whose usual metric rounding is another size (common practice of the trade, no source)."""

    @pytest.mark.parametrize(
        ("printed", "exact", "shown"),
        [
            ("3.25 in", "82.55", "82.55 mm"),
            (".060 in", "1.524", "1.524 mm"),
            (".025 in", ".635", "0.635 mm"),
            (".050 in", "1.27", "1.27 mm"),
            (".055 in", "1.397", "1.397 mm"),
            (".040 in", "1.016", "1.016 mm"),
            (".015 in", ".381", "0.381 mm"),
            ("1/16 in", "1.5875", "1.59 mm"),
            ("9/16 in", "14.2875", "14.29 mm"),
            ("3.125 in", "79.375", "79.375 mm"),
            (".8125 in", "20.6375", "20.64 mm"),
            ("13/16 in", "20.6375", "20.64 mm"),
            (".750 in", "19.05", "19.05 mm"),
            ("1.3125 in", "33.3375", "33.34 mm"),
            ("1 5/16 in", "33.3375", "33.34 mm"),
            ("1 3/8 in", "34.925", "34.925 mm"),
            ("2.5 in", "63.5", "63.50 mm"),
            ("4.5 in", "114.3", "114.30 mm"),
            ("5 in", "127", "127.00 mm"),
            ("9/32 in", "7.14375", "7.14 mm"),
            ("5/16 in", "7.9375", "7.94 mm"),
            ("12.7 cm", "127", "127.00 mm"),
        ],
    )
    def test_an_inch_size_is_exact_and_is_never_shown_as_a_rounder_one(self, printed, exact, shown):
        quantity = length(printed)
        assert quantity.base == Fraction(exact)
        assert format_quantity(quantity, unit="mm") == shown

    def test_three_and_a_quarter_inches_is_not_82_5_mm(self):
        assert length("3.25 in").base != length("82.5 mm").base
        assert length("82.53 mm").base < length("3.25 in").base


class TestRounding:
    @pytest.mark.parametrize(
        ("value", "step", "even", "up"),
        [
            # R01, R02: ISO 80000-1:2009, Annex B (numbers from memory).
            ("12.223", "0.1", "12.2", "12.2"),
            ("12.251", "0.1", "12.3", "12.3"),
            ("12.275", "0.1", "12.3", "12.3"),
            ("1222.3", "10", "1220", "1220"),
            ("1225.1", "10", "1230", "1230"),
            ("1227.5", "10", "1230", "1230"),
            ("12.25", "0.1", "12.2", "12.3"),
            ("12.35", "0.1", "12.4", "12.4"),
            ("1225.0", "10", "1220", "1230"),
            ("1235.0", "10", "1240", "1240"),
            # R03: CICC data book 2.05, "Number Rounding".
            ("123.55", "0.1", "123.6", "123.6"),
            ("123.454", "0.01", "123.45", "123.45"),
            ("123.455", "0.01", "123.46", "123.46"),
            ("123.4", "1", "123", "123"),
            ("123.5", "1", "124", "124"),
            ("-12.25", "0.1", "-12.2", "-12.3"),
        ],
    )
    def test_both_published_rules_of_rounding_hold(self, value, step, even, up):
        assert round_half_even(Fraction(value), Fraction(step)) == Fraction(even)
        assert round_half_up(Fraction(value), Fraction(step)) == Fraction(up)

    @pytest.mark.parametrize("rounding", [round_half_even, round_half_up])
    @pytest.mark.parametrize("step", [Fraction(0), Fraction(-1)])
    def test_a_step_must_be_above_zero(self, rounding, step):
        with pytest.raises(UnitsError) as refused:
            rounding(Fraction(1), step)
        assert refused.value.code is UnitsCode.BAD_STEP

    @given(st.fractions(), st.fractions(min_value=Fraction(1, 1000), max_value=1000))
    def test_rounding_moves_by_half_a_step_at_most(self, value, step):
        for rounding in (round_half_even, round_half_up):
            rounded = rounding(value, step)
            assert (rounded / step).denominator == 1
            assert abs(rounded - value) <= step / 2

    @given(st.decimals(allow_nan=False, allow_infinity=False, min_value=-(10**9), max_value=10**9, places=6))
    def test_written_decimals_agree_with_the_decimal_module(self, value):
        with localcontext(prec=40):
            assert Fraction(format_decimal(Fraction(value), places=2)) == Fraction(value.quantize(Decimal("0.01")))


class TestWriting:
    @pytest.mark.parametrize(
        ("text", "shown"),
        [
            ("19 mm", "19.00 mm (0.748 in)"),
            ("19.125 mm", "19.125 mm (0.753 in)"),
            ("2 1/16 in", "2 1/16 in (52.39 mm)"),
            ("½ in", "1/2 in (12.70 mm)"),
            ("3.25 in", "3.250 in (82.55 mm)"),
            ("60 thou", "60 thou (1.524 mm)"),
            ("5 cm", "5.000 cm (1.969 in)"),
        ],
    )
    def test_a_length_shows_both_systems_as_written_first(self, text, shown):
        assert both_systems(length(text)) == shown

    @pytest.mark.parametrize(
        ("text", "kind", "shown"),
        [
            ("100", Kind.MASS, "100.0 g (3.527 oz)"),
            ("1 oz", Kind.MASS, "1.000 oz (28.3 g)"),
            ("35", Kind.MAGNETIC_PULL, "35.0 g (1.235 oz)"),
            ("20 °C", Kind.TEMPERATURE, "20.0 °C (68.0 °F)"),
            ("85", Kind.ANGLE, "85.0°"),
            ("26000", Kind.ROTATION_SPEED, "26000 rpm"),
            ("13.2", Kind.VOLTAGE, "13.20 V"),
            ("5.8", Kind.RESISTANCE, "5.80 Ω"),
            ("34/12", Kind.RATIO, "34/12"),
            ("3.4", Kind.RATIO, "3.40"),
            ("20 %", Kind.RATIO, "20.0 %"),
            ("4", Kind.COUNT, "4"),
        ],
    )
    def test_each_kind_is_written_in_its_own_way(self, text, kind, shown):
        assert both_systems(parse_quantity(text, kind, default_unit=base_unit(kind))) == shown

    def test_a_decimal_comma_is_written_where_the_club_uses_one(self):
        assert both_systems(length("19,05 mm", ","), decimal_mark=",") == "19,05 mm (0,750 in)"

    def test_places_may_be_given(self):
        assert format_quantity(length("2 1/16 in"), places=2) == "2.06 in"
        assert format_quantity(length("12.5"), places=0) == "12 mm"

    def test_a_small_negative_is_not_written_as_minus_zero(self):
        assert format_decimal(Fraction(-1, 1000), places=2) == "0.00"
        assert format_decimal(Fraction(-15, 10), places=1) == "-1.5"

    @given(st.integers(0, 10**8), st.integers(0, 5), st.sampled_from(".,"), st.sampled_from(ALL_UNITS))
    def test_what_is_written_is_read_back_as_the_same(self, digits, places, mark, unit):
        number = format_decimal(Fraction(digits, 10**places), places=0 if unit.kind is Kind.COUNT else places)
        quantity = parse_quantity(f"{number} {unit.symbol}", unit.kind, default_unit=unit)
        written = format_quantity(quantity, decimal_mark=mark)
        assert parse_quantity(written, unit.kind, default_unit=None, decimal_mark=mark) == quantity
        assert parse_quantity(quantity.canonical, unit.kind, default_unit=None) == quantity

    @given(st.integers(0, 99), st.integers(0, 63), st.sampled_from([2, 3, 4, 8, 16, 32, 64]), st.sampled_from(" -"))
    def test_fractions_are_read_back_as_written(self, whole, upper, lower, join):
        upper %= lower
        quantity = length(f"{whole}{join}{upper}/{lower} in")
        assert quantity.magnitude == whole + Fraction(upper, lower)
        assert length(format_quantity(quantity)) == quantity

    def test_a_calculated_quantity_has_a_canonical_text(self):
        inch = unit_of("in", Kind.LENGTH)
        assert make_quantity(Fraction(1, 8), inch).canonical == "0.125 in"
        assert make_quantity(Fraction(4, 3), inch).canonical == "1 1/3 in"
        assert make_quantity(Fraction(-1, 3), inch).canonical == "-1/3 in"
        assert from_base(Fraction(127, 5), inch) == make_quantity(1, inch)


class TestStorage:
    @given(st.fractions())
    def test_an_exact_number_is_stored_as_text_and_read_back(self, value):
        assert read_exact(write_exact(value)) == value

    @pytest.mark.parametrize(
        "text", ["", "1e999", "1/0", "1/00", "0/0", "1.5", " 1", "1/-2", "nan", "9" * 100, "1_000", "\uff11"]
    )
    def test_any_other_text_is_refused(self, text):
        with pytest.raises(UnitsError) as refused:
            read_exact(text)
        assert refused.value.code is UnitsCode.NOT_EXACT


def test_reading_and_writing_load_neither_pint_nor_django():
    script = (
        "import sys\n"
        "from inspection.units import Kind, both_systems, parse_quantity\n"
        "import inspection.conformity.verdicts, inspection.conformity.plausible, inspection.gearing.ratio\n"
        "import inspection.conformity.probability\n"
        "both_systems(parse_quantity('2 1/16 in', Kind.LENGTH, default_unit='mm'))\n"
        "print(sorted({'pint', 'django'} & set(sys.modules)))\n"
    )
    ran = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert ran.stdout.strip() == "[]"
