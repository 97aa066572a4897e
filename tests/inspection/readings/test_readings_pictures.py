"""The picture of a reading against its limits: to scale, never shrunken, and in words as well."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspection.conformity.assess import SIMPLE_ACCEPTANCE, Measurement, make_limits
from inspection.conformity.uncertainty import GaugeSpec
from inspection.readings.pictures import LEAST_BAND, WIDTH, limit_picture
from inspection.units import Kind, make_quantity, parse_quantity, unit_of

MM = unit_of("mm", Kind.LENGTH)
SPEC = GaugeSpec(kind=Kind.LENGTH, resolution=Fraction(1, 100), max_permissible_error=Fraction(3, 100))


def mm(text):
    return parse_quantity(text, Kind.LENGTH, default_unit="mm")


def picture(*, lower=None, upper=None, reading=None, spec=SPEC, unit=MM):
    limits = make_limits(lower=mm(lower) if lower else None, upper=mm(upper) if upper else None)
    quantity = mm(reading) if reading else None
    measurement = (
        Measurement(kind=Kind.LENGTH, value=quantity.base, variance=spec.variance if spec else Fraction(0))
        if quantity
        else None
    )
    return limit_picture(
        limits, unit=unit, rule=SIMPLE_ACCEPTANCE, spec=spec, reading=quantity, measurement=measurement
    )


def kinds(drawn):
    return [zone.kind for zone in drawn.zones]


def test_a_minimum_has_fail_below_and_pass_above():
    assert kinds(picture(lower="19.00")) == ["fail", "near", "pass"]


def test_a_maximum_has_pass_below_and_fail_above():
    assert kinds(picture(upper="64.00")) == ["pass", "near", "fail"]


def test_two_limits_fail_on_either_side():
    assert kinds(picture(lower="9.0", upper="9.5")) == ["fail", "near", "pass", "near", "fail"]


def test_without_a_known_doubt_nothing_is_too_close():
    assert kinds(picture(lower="19.00", spec=None)) == ["fail", "pass"]


def test_a_tolerance_narrower_than_the_doubt_leaves_nothing_that_surely_passes():
    assert kinds(picture(lower="9.00", upper="9.02")) == ["fail", "near", "fail"]


def test_the_too_close_zone_is_as_wide_as_the_doubt_to_both_sides():
    drawn = picture(lower="19.00", reading="19.10")
    near = next(zone for zone in drawn.zones if zone.kind == "near")
    mark = drawn.reading
    assert near.width == pytest.approx(mark.x1 - mark.x0, abs=0.1)
    assert near.x + near.width / 2 == pytest.approx(drawn.limits[0], abs=0.1)


def test_reading_and_limit_stand_to_scale():
    drawn = picture(lower="19.00", reading="19.38")
    tick = next(figure for figure in drawn.figures if figure.text == "19.20")
    per_mm = (tick.x - drawn.limits[0]) / 0.2
    assert drawn.reading.x - drawn.limits[0] == pytest.approx(0.38 * per_mm, abs=0.2)


def test_a_reading_too_far_away_breaks_the_axis_rather_than_shrink_the_band():
    drawn = picture(lower="19.00", reading="30.00")
    assert drawn.breaks
    assert next(zone for zone in drawn.zones if zone.kind == "near").width >= LEAST_BAND
    assert drawn.reading.x > drawn.breaks[0] > drawn.limits[0]


def test_limits_far_apart_are_both_drawn_at_one_scale_with_a_break_between():
    drawn = picture(lower="9.00", upper="60.00", reading="30")
    assert drawn.limits[0] < drawn.breaks[0] < drawn.limits[1]
    assert drawn.limits[0] < drawn.reading.x < drawn.limits[1]
    widths = [zone.width for zone in drawn.zones if zone.kind == "near"]
    assert widths[0] == pytest.approx(widths[1], abs=0.1)


def test_the_figures_say_limit_and_reading_with_its_doubt():
    drawn = picture(lower="19.00", reading="19.38")
    assert [figure.text for figure in drawn.figures if figure.kind == "limit"] == ["19.00"]
    assert drawn.reading.text == "19.38 ± 0.036"


def test_a_reading_in_inches_is_drawn_in_inches():
    limits = make_limits(upper=mm("64.00"))
    inches = parse_quantity("2.51", Kind.LENGTH, default_unit="in")
    drawn = limit_picture(
        limits,
        unit=unit_of("in", Kind.LENGTH),
        rule=SIMPLE_ACCEPTANCE,
        reading=inches,
        measurement=Measurement(kind=Kind.LENGTH, value=inches.base, variance=SPEC.variance),
    )
    assert [figure.text for figure in drawn.figures if figure.kind == "limit"] == ["2.520"]


def test_who_does_not_see_the_picture_reads_it():
    assert picture(lower="19.00", reading="19.38").words == ("lower limit 19.00, reading 19.38, sure to 0.036, in mm")


sizes = st.integers(1, 200_000)


@given(limit=sizes, reading=sizes, is_lower=st.booleans(), has_doubt=st.booleans())
def test_everything_lies_within_the_picture_in_order(limit, reading, is_lower, has_doubt):
    text = f"{limit / 1000:.3f}"
    ends = {"lower": text} if is_lower else {"upper": text}
    drawn = picture(**ends, reading=f"{reading / 1000:.3f}", spec=SPEC if has_doubt else None)
    right = 0.0
    for zone in drawn.zones:
        assert zone.x == pytest.approx(right, abs=0.02)
        right = zone.x + zone.width
    assert right == pytest.approx(WIDTH, abs=0.05)
    assert 0 <= drawn.reading.x0 <= drawn.reading.x <= drawn.reading.x1 <= WIDTH
    assert all(0 <= figure.x <= WIDTH for figure in drawn.figures)
    # A reading on the side that fails is never drawn on the side that passes.
    if reading != limit:
        is_above = reading > limit
        assert (drawn.reading.x > drawn.limits[0]) == is_above or drawn.reading.x == pytest.approx(
            drawn.limits[0], abs=0.01
        )


def test_a_calculated_quantity_is_drawn_like_a_typed_one():
    limits = make_limits(lower=make_quantity(19, MM))
    assert limit_picture(limits, unit=MM, rule=SIMPLE_ACCEPTANCE, spec=SPEC).words.startswith("lower limit 19.00")
