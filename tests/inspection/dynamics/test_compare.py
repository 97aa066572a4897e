"""How sure a lap is, against closed forms, and when two set-ups cannot be ranked."""

from math import hypot, pi

import pytest

from inspection.dynamics.compare import (
    RANKING_WORDS,
    Ranking,
    SetUp,
    compare,
    not_told_apart,
    predict,
)
from inspection.dynamics.errors import DynamicsCode, DynamicsError
from inspection.dynamics.track import Stretch, lane_of
from tests.inspection.dynamics.oval import OVAL, car, motor

LANE = lane_of(OVAL, offset_m=0)
CIRCLE = (Stretch(pi, 0.5),)
UNCERTAIN = {"grip": 0.05, "stall_torque_nm": 0.001, "no_load_rpm": 500.0, "mass_kg": 0.001, "braking_share": 0.05}


def set_up(ratio=3.0, **changes):
    return SetUp(car=car(**changes), ratio=ratio)


def test_round_a_circle_grip_counts_by_half():
    """Closed form: T = L / sqrt(mu g r), so dT = -T / (2 mu) dmu."""
    found = predict(set_up(), lane=CIRCLE, uncertain={"grip": 0.001, "mass_kg": 0.001})
    assert found.shares_s["grip"] == pytest.approx(-found.time_s / 2 * 0.001, rel=1e-4)
    assert found.shares_s["mass_kg"] == pytest.approx(0, abs=1e-9)
    assert found.uncertainty_s == pytest.approx(found.time_s / 2 * 0.001, rel=1e-4)


def test_flat_out_the_speed_of_the_motor_counts_in_full():
    """Closed form: T = L / v0, so dT = -T / n dn."""
    weak = set_up(motor=motor(no_load_rpm=4000.0))
    found = predict(weak, lane=LANE, uncertain={"no_load_rpm": 4.0})
    assert found.shares_s["no_load_rpm"] == pytest.approx(-found.time_s / 1000, rel=1e-4)


def test_shares_add_as_squares():
    found = predict(set_up(), lane=LANE, uncertain=UNCERTAIN)
    assert found.uncertainty_s == pytest.approx(hypot(*found.shares_s.values()))
    assert set(found.shares_s) == set(UNCERTAIN)


def test_two_ratios_of_one_car_share_its_grip():
    """Each lap is known to 0.08 s only, the difference between both far better."""
    found = compare(set_up(3.0), set_up(5.5), lane=LANE, uncertain=UNCERTAIN)
    assert found.difference_s > 0.1
    assert found.uncertainty_s < found.first.uncertainty_s / 2
    assert found.ranking is Ranking.FIRST
    assert compare(set_up(5.5), set_up(3.0), lane=LANE, uncertain=UNCERTAIN).ranking is Ranking.SECOND


def test_what_is_not_the_same_in_both_does_not_cancel():
    same = compare(set_up(), set_up(), lane=LANE, uncertain={"grip": 0.05})
    assert (same.difference_s, same.uncertainty_s, same.ranking) == (0, 0, Ranking.CANNOT_RANK)
    apart = compare(set_up(), set_up(), lane=LANE, uncertain={"grip": 0.05}, apart={"grip"})
    assert apart.uncertainty_s == pytest.approx(2**0.5 * apart.first.uncertainty_s)


def test_two_motors_that_differ_by_less_than_is_known_cannot_be_ranked():
    one = set_up(motor=motor(stall_torque_nm=0.005))
    other = set_up(motor=motor(stall_torque_nm=0.0051))
    known = {"stall_torque_nm": 0.0005}
    assert compare(one, other, lane=LANE, uncertain=known, apart=set(known)).ranking is Ranking.CANNOT_RANK
    sure = {"stall_torque_nm": 0.000001}
    assert compare(one, other, lane=LANE, uncertain=sure, apart=set(sure)).ranking is Ranking.SECOND


def test_a_difference_that_no_lap_counter_shows_ranks_nothing():
    found = compare(set_up(3.0), set_up(3.2), lane=LANE, uncertain={})
    assert 0 < found.difference_s < 0.001
    assert found.ranking is Ranking.CANNOT_RANK
    assert compare(set_up(3.0), set_up(3.2), lane=LANE, uncertain={}, least_s=0.0).ranking is Ranking.FIRST


def test_all_that_may_be_the_quickest_are_named():
    options = [set_up(6.0), set_up(3.2), set_up(3.0)]
    assert not_told_apart(options, lane=LANE, uncertain=UNCERTAIN) == (2, 1)
    assert not_told_apart([], lane=LANE, uncertain=UNCERTAIN) == ()


def test_an_input_at_the_end_of_its_range_is_moved_one_way_only():
    """A braking share of 1 cannot grow; moved down the lap is longer, so the share is below 0."""
    found = predict(set_up(braking_share=1.0), lane=LANE, uncertain={"braking_share": 0.1, "rolling": 0.0})
    assert found.shares_s["braking_share"] < 0
    assert found.shares_s["rolling"] == 0


@pytest.mark.parametrize(
    ("uncertain", "code"),
    [
        ({"luck": 0.1}, DynamicsCode.UNKNOWN_INPUT),
        ({"motor": 0.1}, DynamicsCode.UNKNOWN_INPUT),
        ({"grip": -0.1}, DynamicsCode.NOT_POSITIVE),
        ({"grip": float("nan")}, DynamicsCode.NOT_POSITIVE),
    ],
)
def test_what_is_no_uncertainty_is_refused(uncertain, code):
    with pytest.raises(DynamicsError) as refused:
        predict(set_up(), lane=LANE, uncertain=uncertain)
    assert refused.value.code is code


def test_every_ranking_has_its_words():
    assert set(RANKING_WORDS) == set(Ranking)
