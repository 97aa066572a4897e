"""Lanes against the geometry of arcs."""

from math import hypot, inf, pi, radians

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inspection.dynamics.errors import MESSAGES, DynamicsCode, DynamicsError
from inspection.dynamics.track import Curve, Straight, Turn, closing_of, lane_length, lane_of
from tests.inspection.dynamics.oval import OVAL

curves = st.builds(Curve, st.floats(0.3, 2), st.floats(5, 180), st.sampled_from(Turn))
tracks = st.lists(st.one_of(st.builds(Straight, st.floats(0.1, 5)), curves), min_size=1, max_size=12)


def test_an_oval_is_two_straights_and_a_circle():
    """Arc geometry, derived: 2 * 3 + 2 pi * 0.5."""
    assert lane_length(OVAL, offset_m=0) == pytest.approx(6 + pi)


@pytest.mark.parametrize("offset", [-0.15, -0.05, 0.05, 0.15])
def test_a_lane_further_in_is_shorter_by_a_turn_of_its_offset(offset):
    """Arc geometry, derived: 2 pi * offset once around, whatever the radii."""
    assert lane_length(OVAL, offset_m=0) - lane_length(OVAL, offset_m=offset) == pytest.approx(2 * pi * offset)


def test_a_quarter_of_a_circle_has_the_length_of_its_arc():
    """Derived: lanes 100 mm either side of a 90 degree right curve of 0.6 m radius."""
    right = (Curve(0.6, 90, Turn.RIGHT),)
    assert lane_of(right, offset_m=0.1)[0].radius_m == pytest.approx(0.7)
    assert lane_length(right, offset_m=0.1) == pytest.approx(0.7 * pi / 2)
    assert lane_length(right, offset_m=-0.1) == pytest.approx(0.5 * pi / 2)
    assert lane_of((Straight(2.0),), offset_m=0.1)[0].radius_m == inf


def test_a_figure_of_eight_makes_all_lanes_alike():
    eight = (Straight(2.0), Curve(0.5, 270, Turn.LEFT), Straight(2.0), Curve(0.5, 270, Turn.RIGHT))
    assert lane_length(eight, offset_m=0.1) == pytest.approx(lane_length(eight, offset_m=-0.1))


@settings(max_examples=40)
@given(tracks, st.floats(-0.2, 0.2))
def test_lanes_differ_by_the_heading_won_times_the_offset(track, offset):
    """Derived: the sum over curves of the signed angle."""
    won = sum(radians(one.angle_deg) * (1 if one.turn is Turn.LEFT else -1) for one in track if isinstance(one, Curve))
    assert lane_length(track, offset_m=0) - lane_length(track, offset_m=offset) == pytest.approx(offset * won, abs=1e-9)


def test_a_track_that_closes_comes_back_to_its_beginning():
    closed = closing_of(OVAL)
    assert closed.gap_m == pytest.approx(0, abs=1e-12)
    assert closed.turn_deg == pytest.approx(0, abs=1e-9)
    opened = closing_of((*OVAL[:2], Straight(2.5), Curve(0.5, 170, Turn.LEFT)))
    assert opened.turn_deg == pytest.approx(-10)
    assert opened.gap_m > 0.4
    # a quarter circle of 1 m ends 1 m on and 1 m to the side
    assert closing_of((Curve(1.0, 90, Turn.RIGHT),)).gap_m == pytest.approx(hypot(1, 1))


@pytest.mark.parametrize(
    ("make", "code"),
    [
        (lambda: Straight(0), DynamicsCode.NOT_POSITIVE),
        (lambda: Straight(float("nan")), DynamicsCode.NOT_POSITIVE),
        (lambda: Curve(1, 0, Turn.LEFT), DynamicsCode.NOT_POSITIVE),
        (lambda: Curve(inf, 90, Turn.LEFT), DynamicsCode.NOT_POSITIVE),
        (lambda: lane_of((), offset_m=0), DynamicsCode.NO_SECTIONS),
        (lambda: lane_of(OVAL, offset_m=0.5), DynamicsCode.LANE_INSIDE_CURVE),
    ],
)
def test_what_no_track_can_be_is_refused(make, code):
    with pytest.raises(DynamicsError) as refused:
        make()
    assert refused.value.code is code


def test_every_refusal_has_a_message():
    assert set(MESSAGES) == set(DynamicsCode)
