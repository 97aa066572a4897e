"""Weight and ballast against the lever law."""

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inspection.fit.errors import FitError, FitErrorCode
from inspection.fit.sizes import Size
from inspection.fit.weight import (
    BALLAST_WORDS,
    BallastCode,
    Piece,
    WeightLimits,
    Zone,
    from_two_scales,
    least_ballast,
    plan_ballast,
    weigh,
)

LENGTH = Fraction(100)


def grams(value, within="0"):
    return Size(Fraction(value), Fraction(within))


def piece(name, mass, ahead, within="0"):
    return Piece(name=name, mass=grams(mass, within), ahead=grams(ahead))


# 40 g over the rear axle, 20 g half way, 10 g at the guide.
CAR = (piece("rear", 40, 0), piece("body", 20, 50), piece("guide", 10, 100))


def zone(begin, end, most=None, name="zone"):
    return Zone(name=name, begin=Fraction(begin), end=Fraction(end), most=None if most is None else Fraction(most))


def plan(*zones, total, share):
    return plan_ballast(CAR, guide_ahead=LENGTH, zones=zones, total=Fraction(total), guide_share=Fraction(share))


def test_the_lever_law():
    """Derived: 20 * 50 / 100 + 10 on the guide."""
    weight = weigh(CAR, guide_ahead=Size(LENGTH))
    assert weight.total.value == 70
    assert weight.on_guide.value == 20
    assert weight.on_rear.value == 50
    assert weight.guide_share.value == Fraction(2, 7)
    assert weight.rear_share == Fraction(5, 7)


def test_a_piece_behind_the_rear_axle_takes_weight_off_the_guide():
    """Derived: 10 g at 20 mm behind takes 2 g off."""
    weight = weigh((*CAR, piece("wing", 10, -20)), guide_ahead=Size(LENGTH))
    assert (weight.on_guide.value, weight.on_rear.value) == (18, 62)


def test_tolerances_of_pieces_go_into_total_and_share():
    weight = weigh((piece("a", 40, 0, "0.1"), piece("b", 20, 50, "0.2")), guide_ahead=Size(LENGTH))
    assert weight.total.worst == Fraction("0.3")
    assert weight.on_guide.worst == Fraction("0.1")
    # share 1/6: slopes (0 - 1/6) / 60 and (1/2 - 1/6) / 60
    assert weight.guide_share.worst == (Fraction(1, 6) * Fraction("0.1") + Fraction(1, 3) * Fraction("0.2")) / 60


def test_two_scales_say_the_same():
    weight = from_two_scales(rear=grams(50, "0.1"), guide=grams(20, "0.1"))
    assert weight.total.value == 70
    assert weight.guide_share.value == Fraction(2, 7)
    # (5/7 + 2/7) / 70 times 0.1
    assert weight.guide_share.worst == Fraction("0.1") / 70


def test_one_piece_of_ballast_where_the_lever_law_wants_it():
    """Derived: 80 g with 30 % on the guide: 24 = 20 + 10 x / 100, so x = 40."""
    found = plan(zone(20, 60), total=80, share="0.3")
    assert found.code is BallastCode.REACHED
    assert [(one.mass, one.ahead) for one in found.pieces] == [(10, 40)]
    assert found.guide_share == Fraction("0.3")


def test_two_zones_share_what_one_cannot_take():
    found = plan(zone(10, 20, 6, "rear"), zone(80, 90, 6, "front"), total=80, share="0.31")
    assert found.code is BallastCode.REACHED
    assert {one.zone for one in found.pieces} == {"rear", "front"}
    assert sum(one.mass for one in found.pieces) == 10


def test_a_share_out_of_reach_gives_the_nearest():
    """10 g at 20 mm at most: 22 of 80."""
    found = plan(zone(10, 20), total=80, share="0.5")
    assert found.code is BallastCode.SHARE_OUT_OF_REACH
    assert found.guide_share == Fraction(22, 80)
    assert [(one.mass, one.ahead) for one in found.pieces] == [(10, 20)]


def test_a_car_that_is_heavier_than_wanted_needs_no_ballast():
    found = plan(zone(0, 100), total=65, share="0.3")
    assert (found.code, found.short_by, found.pieces) == (BallastCode.TOO_HEAVY, 5, ())


def test_zones_that_are_too_small_say_by_how_much():
    found = plan(zone(0, 100, 6), total=80, share="0.3")
    assert (found.code, found.short_by) == (BallastCode.NO_ROOM, 4)
    assert plan(total=80, share="0.3").code is BallastCode.NO_ROOM


def test_a_car_of_the_right_weight_has_the_share_it_has():
    assert plan(total=70, share=Fraction(2, 7)).code is BallastCode.REACHED
    assert plan(zone(0, 100), total=70, share="0.5").code is BallastCode.SHARE_OUT_OF_REACH


@pytest.mark.parametrize(
    ("make", "code"),
    [
        (lambda: weigh((), guide_ahead=Size(LENGTH)), FitErrorCode.NO_PIECES),
        (lambda: weigh(CAR, guide_ahead=grams(0)), FitErrorCode.GUIDE_NOT_AHEAD),
        (lambda: weigh((piece("a", -1, 0),), guide_ahead=Size(LENGTH)), FitErrorCode.SIZE_NOT_POSITIVE),
        (lambda: from_two_scales(rear=grams(0), guide=grams(0)), FitErrorCode.NO_PIECES),
        (lambda: from_two_scales(rear=grams(-1), guide=grams(5)), FitErrorCode.SIZE_NOT_POSITIVE),
        (lambda: zone(20, 10), FitErrorCode.LIMITS_CROSSED),
        (lambda: zone(10, 20, -1), FitErrorCode.SIZE_NOT_POSITIVE),
    ],
)
def test_what_nothing_can_weigh_is_refused(make, code):
    with pytest.raises(FitError) as refused:
        make()
    assert refused.value.code is code


def test_every_outcome_has_its_words():
    assert set(BALLAST_WORDS) == set(BallastCode)


def test_the_lightest_ballast_inside_the_limits_of_a_class():
    """Derived: 20 + b * 0.9 = 0.3 (70 + b) at the front end of the zone, so b = 5/3."""
    limits = WeightLimits(guide_share_least=Fraction("0.3"))
    found = least_ballast(CAR, guide_ahead=LENGTH, zones=[zone(20, 90)], limits=limits)
    assert [(one.mass, one.ahead) for one in found.pieces] == [(Fraction(5, 3), 90)]
    heavy = WeightLimits(total_least=Fraction(75), guide_share_least=Fraction("0.3"))
    assert least_ballast(CAR, guide_ahead=LENGTH, zones=[zone(20, 90)], limits=heavy).total == 75
    full = WeightLimits(total_most=Fraction(71), guide_share_least=Fraction("0.3"))
    assert least_ballast(CAR, guide_ahead=LENGTH, zones=[zone(20, 90)], limits=full) is None
    none = least_ballast(CAR, guide_ahead=LENGTH, zones=[], limits=WeightLimits())
    assert (none.total, none.pieces) == (70, ())
    with pytest.raises(FitError):
        WeightLimits(total_least=Fraction(2), total_most=Fraction(1))


places = st.integers(-20, 120)
masses = st.integers(0, 30)


@settings(max_examples=60)
@given(
    st.lists(st.tuples(places, places, masses), min_size=1, max_size=4), masses, st.fractions(0, 1, max_denominator=50)
)
def test_a_plan_keeps_every_law_and_gives_what_it_says(spans, more, share):
    zones = [zone(*sorted((a, b)), most, str(number)) for number, (a, b, most) in enumerate(spans)]
    found = plan(*zones, total=70 + more, share=share)
    if found.code is BallastCode.NO_ROOM:
        assert sum(one.most for one in zones) < more
        return
    by_name = {one.name: one for one in zones}
    for one in found.pieces:
        assert by_name[one.zone].begin <= one.ahead <= by_name[one.zone].end
        assert 0 < one.mass <= by_name[one.zone].most
    laid = [piece(f"ballast {number}", one.mass, one.ahead) for number, one in enumerate(found.pieces)]
    weight = weigh((*CAR, *laid), guide_ahead=Size(LENGTH))
    assert weight.total.value == 70 + more
    assert weight.guide_share.value == found.guide_share
    assert (found.code is BallastCode.REACHED) == (found.guide_share == share)


@settings(max_examples=40)
@given(st.integers(0, 100), st.integers(0, 100), st.integers(1, 20), st.fractions(0, 1, max_denominator=40))
def test_no_place_in_a_zone_comes_nearer_than_the_plan(begin, end, more, share):
    """Brute force over every millimeter of one zone."""
    low, high = sorted((begin, end))
    found = plan(zone(low, high), total=70 + more, share=share)
    for place in range(low, high + 1):
        there = weigh((*CAR, piece("ballast", more, place)), guide_ahead=Size(LENGTH)).guide_share.value
        assert abs(there - share) >= abs(found.guide_share - share)


@settings(max_examples=40)
@given(
    st.lists(st.tuples(places, places, masses), max_size=3),
    st.integers(70, 90),
    st.integers(0, 20),
    st.integers(20, 40),
    st.integers(0, 10),
)
def test_no_lighter_ballast_is_inside_the_limits(spans, least, more, share, wider):
    """Brute force over every gram: nothing lighter holds, and where something holds a plan is found."""
    zones = [zone(*sorted((a, b)), most, str(number)) for number, (a, b, most) in enumerate(spans)]
    limits = WeightLimits(
        total_least=Fraction(least),
        total_most=Fraction(least + more),
        guide_share_least=Fraction(share, 100),
        guide_share_most=Fraction(share + wider, 100),
    )
    found = least_ballast(CAR, guide_ahead=LENGTH, zones=zones, limits=limits)
    if found is not None:
        assert limits.total_least <= found.total <= limits.total_most
        assert limits.guide_share_least <= found.guide_share <= limits.guide_share_most
        assert found.code is BallastCode.REACHED
    for total in range(least, least + more + 1):
        nearest = plan(*zones, total=total, share=limits.guide_share_least)
        holds = nearest.code in {BallastCode.REACHED, BallastCode.SHARE_OUT_OF_REACH}
        if holds and limits.guide_share_least <= nearest.guide_share <= limits.guide_share_most:
            assert found is not None
            assert found.total <= total
            break
