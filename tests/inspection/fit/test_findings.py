"""Verdicts by worst case and by root-sum-square, and the words for every code."""

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inspection.fit import meanings
from inspection.fit.check import check_fit
from inspection.fit.errors import FitError, FitErrorCode
from inspection.fit.findings import Caution, CureCode, CutCode, Finding, FitCode, FitVerdict, Note, Place
from inspection.fit.parts import Side, Targets
from inspection.fit.sizes import Size, one
from tests.inspection.fit.cars import car, mm, with_wheel


def gap(value, *, within="0", strict=False, least="0", most=None):
    stack = one("a", Size(Fraction(value), Fraction(within))) + one("b", Size(Fraction(0), Fraction(within)))
    return Finding(
        code=FitCode.TIRE_TO_SPUR,
        place=Place.REAR,
        stack=stack,
        least=Fraction(least),
        most=None if most is None else Fraction(most),
        is_strict=strict,
    )


@pytest.mark.parametrize(
    ("value", "verdict"),
    [
        # Two sizes within 0.1: 0.2 at the worst, 0.1414 by root-sum-square.
        ("0.2", FitVerdict.FITS),
        ("0.199", FitVerdict.LIKELY_FITS),
        ("0.1415", FitVerdict.LIKELY_FITS),
        ("0.1414", FitVerdict.MAY_NOT_FIT),
        ("0", FitVerdict.MAY_NOT_FIT),
        ("-0.001", FitVerdict.DOES_NOT_FIT),
    ],
)
def test_a_gap_is_judged_against_both_tolerances(value, verdict):
    assert gap(value, within="0.1").verdict is verdict


def test_more_than_nothing_is_asked_for_where_things_must_not_touch():
    assert gap("0").verdict is FitVerdict.FITS
    assert gap("0", strict=True).verdict is FitVerdict.DOES_NOT_FIT
    assert gap("0.2", within="0.1", strict=True).verdict is FitVerdict.LIKELY_FITS


def test_the_nearer_of_two_limits_counts():
    assert gap("0.7", most="1").margin == Fraction("0.3")
    assert gap("1.2", most="1").verdict is FitVerdict.DOES_NOT_FIT


@settings(max_examples=40)
@given(st.fractions(-1, 1), st.fractions(-1, 1), st.fractions(0, 1))
def test_more_room_is_never_a_worse_verdict(room, other, within):
    order = [FitVerdict.DOES_NOT_FIT, FitVerdict.MAY_NOT_FIT, FitVerdict.LIKELY_FITS, FitVerdict.FITS]
    low, high = sorted((room, other))
    less, more = gap(low, within=within), gap(high, within=within)
    assert order.index(less.verdict) <= order.index(more.verdict)


def test_every_code_has_its_words():
    for codes, words in (
        (FitVerdict, meanings.VERDICTS),
        (FitCode, meanings.FINDINGS),
        (Place, meanings.PLACES),
        (Note, meanings.NOTES),
        (CureCode, meanings.CURES),
        (Caution, meanings.CAUTIONS),
        (CutCode, meanings.CUTS),
    ):
        assert set(words) == set(codes)


@pytest.mark.parametrize("change", [{"tire_diameter": mm("0")}, {"tire_width": mm("-1")}])
def test_a_tire_of_no_size_is_refused(change):
    with pytest.raises(FitError) as refused:
        check_fit(with_wheel(car(), Side.LEFT, **change))
    assert refused.value.code is FitErrorCode.SIZE_NOT_POSITIVE


def test_targets_that_no_build_meets_are_refused():
    with pytest.raises(FitError) as refused:
        check_fit(car(), Targets(end_play_least=Fraction(1)))
    assert refused.value.code is FitErrorCode.LIMITS_CROSSED
