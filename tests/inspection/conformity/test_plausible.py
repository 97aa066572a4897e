"""Did you mean ...? Slips of the unit and of the decimal mark are recognized; nothing is corrected silently."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspection.conformity.clauses import PlausibleBand
from inspection.conformity.errors import ConformityCode, ConformityError
from inspection.conformity.plausible import Slip, check_plausible
from inspection.units import Kind, Quantity, accepted_units, format_quantity, make_quantity, parse_quantity


def length(text: str, unit: str = "mm") -> Quantity:
    return parse_quantity(text, Kind.LENGTH, default_unit=unit)


def mass(text: str, unit: str = "g") -> Quantity:
    return parse_quantity(text, Kind.MASS, default_unit=unit)


WIDTH = PlausibleBand(lower=length("40 mm"), upper=length("90 mm"))
CLEARANCE = PlausibleBand(lower=length("0.3 mm"), upper=length("3 mm"))
WEIGHT = PlausibleBand(lower=mass("50 g"), upper=mass("250 g"))


def meant(reading: Quantity, band: PlausibleBand) -> list[tuple[str, Slip]]:
    found = check_plausible(reading, band)
    assert not found.is_plausible
    return [(format_quantity(suggestion.quantity), suggestion.slip) for suggestion in found.suggestions]


@pytest.mark.parametrize("text", ["40 mm", "63.4 mm", "2.5 in", "90 mm"])
def test_a_reading_in_its_band_raises_no_question(text):
    found = check_plausible(length(text), WIDTH)
    assert found.is_plausible
    assert found.suggestions == ()


@pytest.mark.parametrize(
    ("reading", "band", "first", "slip"),
    [
        (length("2.5"), WIDTH, "2.500 in", Slip.UNIT),
        (length("63.4", "in"), WIDTH, "63.40 mm", Slip.UNIT),
        (length("634"), WIDTH, "63.40 mm", Slip.DECIMAL),
        (length("6340"), WIDTH, "63.40 mm", Slip.DECIMAL),
        (length("6.34"), WIDTH, "63.40 mm", Slip.DECIMAL),
        (length("63400"), WIDTH, "63.40 mm", Slip.DECIMAL),
        (length("40"), CLEARANCE, "40 thou", Slip.UNIT),
        (length(".060"), CLEARANCE, "0.060 in", Slip.UNIT),
        (mass("3.5"), WEIGHT, "3.500 oz", Slip.UNIT),
        (mass("100", "oz"), WEIGHT, "100.0 g", Slip.UNIT),
        (mass("1000"), WEIGHT, "100.0 g", Slip.DECIMAL),
    ],
)
def test_a_slip_is_recognized(reading, band, first, slip):
    suggestions = meant(reading, band)
    assert (first, slip) in suggestions


def test_the_smallest_change_comes_first():
    assert meant(length(".060"), CLEARANCE) == [("0.60 mm", Slip.DECIMAL), ("0.060 in", Slip.UNIT)]
    assert meant(length("25"), PlausibleBand(lower=length("1 mm"), upper=length("10 mm"))) == [
        ("2.50 mm", Slip.DECIMAL)
    ]


def test_one_size_is_suggested_once():
    found = check_plausible(length("6.34"), WIDTH)
    sizes = [suggestion.quantity.base for suggestion in found.suggestions]
    assert len(sizes) == len(set(sizes)) == 1


def test_a_reading_that_no_slip_explains_is_still_questioned():
    assert meant(length("0"), WIDTH) == []
    assert meant(length("123456"), CLEARANCE) == []
    assert meant(length("2"), PlausibleBand(lower=length("13 mm"), upper=length("14 mm"))) == []


def test_a_band_of_another_kind_is_refused():
    with pytest.raises(ConformityError) as refused:
        check_plausible(length("1"), WEIGHT)
    assert refused.value.code is ConformityCode.WRONG_KIND


@given(
    st.fractions(min_value=-1000, max_value=100000),
    st.sampled_from(accepted_units(Kind.LENGTH)),
    st.fractions(min_value=0, max_value=500),
    st.fractions(min_value=0, max_value=500),
)
def test_suggestions_lie_in_the_band_nearest_first(magnitude, unit, low, width):
    millimeter = accepted_units(Kind.LENGTH)[0]
    band = PlausibleBand(lower=make_quantity(low, millimeter), upper=make_quantity(low + width, millimeter))
    reading = make_quantity(magnitude, unit)
    found = check_plausible(reading, band)
    assert found.is_plausible is (low <= reading.base <= low + width)
    sizes = [suggestion.quantity.base for suggestion in found.suggestions]
    assert all(low <= size <= low + width for size in sizes)
    if reading.base > 0 and all(size > 0 for size in sizes):
        changes = [max(size / reading.base, reading.base / size) for size in sizes]
        assert changes == sorted(changes)
