"""Runs against published statistics and against counting every arrangement."""

from fractions import Fraction
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inspection.dynamics.compare import Ranking
from inspection.dynamics.errors import DynamicsCode, DynamicsError
from inspection.dynamics.runs import (
    compare_runs,
    critical_count,
    laps_to_tell,
    least_laps,
    median,
    slow_laps,
    summarize,
)

MICHELSON = (
    "299.85 299.74 299.90 300.07 299.93 299.85 299.95 299.98 299.98 299.88 300.00 299.98 299.93 299.65 299.76 299.81 "
    "300.00 300.00 299.96 299.96 299.96 299.94 299.96 299.94 299.88 299.80 299.85 299.88 299.90 299.84 299.83 299.79 "
    "299.81 299.88 299.88 299.83 299.80 299.79 299.76 299.80 299.88 299.88 299.88 299.86 299.72 299.72 299.62 299.86 "
    "299.97 299.95 299.88 299.91 299.85 299.87 299.84 299.84 299.85 299.84 299.84 299.84 299.89 299.81 299.81 299.82 "
    "299.80 299.77 299.76 299.74 299.75 299.76 299.91 299.92 299.89 299.86 299.88 299.72 299.84 299.85 299.85 299.78 "
    "299.89 299.84 299.78 299.81 299.76 299.81 299.79 299.81 299.82 299.85 299.87 299.87 299.81 299.74 299.81 299.94 "
    "299.95 299.80 299.81 299.87"
)
MAVRO = (
    "2.00180 2.00170 2.00180 2.00190 2.00180 2.00170 2.00150 2.00140 2.00150 2.00150 2.00170 2.00180 2.00180 2.00190 "
    "2.00190 2.00210 2.00200 2.00160 2.00140 2.00130 2.00130 2.00150 2.00150 2.00160 2.00150 2.00140 2.00130 2.00140 "
    "2.00150 2.00140 2.00150 2.00160 2.00150 2.00160 2.00190 2.00200 2.00200 2.00210 2.00220 2.00230 2.00240 2.00250 "
    "2.00270 2.00260 2.00260 2.00260 2.00270 2.00260 2.00250 2.00240"
)


def seconds(text):
    return [Fraction(one) for one in text.split()]


@pytest.mark.parametrize(
    ("times", "mean", "deviation"),
    [
        # N01, N03, N05, N06: NIST StRD univariate sets, certified values (second-hand).
        (seconds("10000001 10000003 10000002"), "10000002", 1.0),
        (seconds("1000000.2" + " 1000000.1 1000000.3" * 500), "1000000.2", 0.1),
        (seconds(MICHELSON), "299.8524", 0.0790105478190518),
        (seconds(MAVRO), "2.001856", 0.000429123454003053),
    ],
    ids=["NumAcc1", "NumAcc3", "Michelson", "Mavro"],
)
def test_means_and_deviations_are_the_certified_ones(times, mean, deviation):
    summary = summarize(times)
    assert summary.mean == Fraction(mean)
    assert summary.deviation == pytest.approx(deviation, rel=1e-13)


@pytest.mark.parametrize(
    ("times", "middle", "mad"),
    [
        # N05 and N06: derived; N11: an encyclopedia's example (from memory); N11b: 2.9652 / 1.4826 (R's documentation).
        (seconds(MICHELSON), "299.85", "0.045"),
        (seconds(MAVRO), "2.0018", "0.0003"),
        (seconds("1 1 2 2 4 6 9"), "2", "1"),
        (seconds("1 2 3 4 5 6 7 8 9"), "5", "2"),
    ],
)
def test_medians_and_their_deviations(times, middle, mad):
    summary = summarize(times)
    assert (summary.median, summary.mad) == (Fraction(middle), Fraction(mad))


def test_mean_and_deviation_of_a_handbook_example():
    """N09: NIST/SEMATECH e-Handbook 7.2.2, particle counts (second-hand)."""
    summary = summarize(seconds("50 48 44 56 61 52 53 55 67 51"))
    assert summary.mean == Fraction("53.7")
    assert summary.deviation == pytest.approx(6.567, abs=5e-4)


def test_a_single_lap_has_no_spread():
    assert summarize([Fraction(5)]).deviation is None


def test_a_lap_with_an_off_stands_out():
    times = seconds("5.21 5.19 5.24 5.20 9.80 5.22 5.18")
    assert slow_laps(times) == (4,)
    assert slow_laps(seconds("5.2 5.2 5.2 5.3")) == ()


@pytest.mark.parametrize(
    ("first", "second", "critical"),
    # Tables of U for two-sided 5 %, as any textbook prints them (from memory; they recompute).
    [(3, 3, None), (4, 4, 0), (5, 5, 2), (6, 6, 5), (7, 7, 8), (8, 8, 13), (9, 9, 17), (10, 10, 23), (20, 20, 127)],
)
def test_critical_counts_are_those_of_the_tables(first, second, critical):
    assert critical_count(first, second) == critical


def test_a_published_example_of_two_small_samples():
    """R's documentation of its rank test, from Hollander and Wolfe 1973: W = 35, one-sided p 0.1272 (from memory)."""
    first = seconds("0.80 0.83 1.89 1.04 1.45 1.38 1.91 1.64 0.73 1.46")
    second = seconds("1.15 0.88 0.90 0.74 1.21")
    found = compare_runs(first, second)
    assert float(found.p) / 2 == pytest.approx(0.1272, abs=5e-5)
    assert found.ranking is Ranking.CANNOT_RANK


@pytest.mark.parametrize(("laps", "p"), [(2, Fraction(1, 3)), (3, Fraction(1, 10)), (4, Fraction(1, 35))])
def test_laps_that_do_not_mix_are_as_unlikely_as_one_order_in_all(laps, p):
    """Derived: 2 of the orders of two runs."""
    quick = [Fraction(5) + Fraction(number, 100) for number in range(laps)]
    slow = [time + 1 for time in quick]
    found = compare_runs(quick, slow)
    assert found.p == found.least_p == p
    assert found.difference == 1
    assert found.is_enough is (laps == 4)
    assert found.ranking is (Ranking.FIRST if laps == 4 else Ranking.CANNOT_RANK)
    assert (found.low is None) is (laps < 4)


def test_the_quicker_run_is_named_with_how_much_quicker():
    first = seconds("5.41 5.38 5.44 5.40 5.39 5.42 5.45 5.37")
    second = seconds("5.31 5.29 5.35 5.30 5.33 5.28 5.34 5.36")
    found = compare_runs(first, second)
    assert found.ranking is Ranking.SECOND
    assert found.low <= found.difference <= found.high < 0
    assert found.difference == Fraction("-0.09")


def test_one_slow_lap_does_not_decide():
    first = seconds("5.20 5.21 5.22 5.23 5.24 5.25")
    off = [*first[:5], Fraction(12)]
    assert compare_runs(first, off).ranking is Ranking.CANNOT_RANK


@pytest.mark.parametrize(
    ("make", "code"),
    [
        (lambda: summarize([]), DynamicsCode.NO_LAPS),
        (lambda: median([]), DynamicsCode.NO_LAPS),
        (lambda: compare_runs([], [Fraction(1)]), DynamicsCode.NO_LAPS),
        (lambda: compare_runs([Fraction(1)], []), DynamicsCode.NO_LAPS),
        (lambda: critical_count(0, 3), DynamicsCode.NO_LAPS),
        (lambda: compare_runs([Fraction(1)], [Fraction(1)], confidence=Fraction(1)), DynamicsCode.NOT_A_SHARE),
    ],
)
def test_no_laps_compare_to_nothing(make, code):
    with pytest.raises(DynamicsError) as refused:
        make()
    assert refused.value.code is code


laps = st.lists(st.integers(500, 508).map(lambda hundredths: Fraction(hundredths, 100)), min_size=1, max_size=6)


@settings(max_examples=40)
@given(laps, laps)
def test_the_probability_is_that_of_counting_every_arrangement(first, second):
    """Brute force, with ties: the count of pairs won, ties half, over every choice of laps."""
    both = [*first, *second]

    def won(chosen):
        rest = [both[number] for number in range(len(both)) if number not in chosen]
        return sum(
            (Fraction(1) if both[one] > other else Fraction(both[one] == other, 2)) for one in chosen for other in rest
        )

    here = won(range(len(first)))
    counts = [won(chosen) for chosen in combinations(range(len(both)), len(first))]
    tail = min(sum(count <= here for count in counts), sum(count >= here for count in counts))
    assert compare_runs(first, second).p == min(Fraction(1), Fraction(2 * tail, len(counts)))


@settings(max_examples=40)
@given(laps, laps, st.fractions(-1, 1, max_denominator=100))
def test_two_runs_the_other_way_round_say_the_same(first, second, shift):
    forth, back = compare_runs(first, second), compare_runs(second, first)
    assert forth.p == back.p
    assert forth.difference == -back.difference
    assert (forth.low, forth.high) == (
        None if back.high is None else -back.high,
        None if back.low is None else -back.low,
    )
    opposite = {Ranking.FIRST: Ranking.SECOND, Ranking.SECOND: Ranking.FIRST}
    assert opposite.get(forth.ranking, forth.ranking) is back.ranking
    moved = compare_runs(first, [time + shift for time in second])
    assert moved.difference == forth.difference + shift


def test_four_laps_of_each_are_the_least_that_tell_at_95_percent():
    # 2 of the 70 ways to deal eight laps lie as far apart as can be: 2.9 %; of the 20 ways to deal six, 10 %.
    assert least_laps() == 4
    assert least_laps(confidence=Fraction(99, 100)) == 5
    assert least_laps(confidence=Fraction(90, 100)) == 3


def test_laps_wanted_follow_noethers_formula():
    # p = 17/25: (1.959964 + 0.841621)**2 / (6 * 0.18**2) = 40.4 of each
    first = [Fraction(lap, 100) for lap in (610, 620, 615, 630, 612)]
    second = [Fraction(lap, 100) for lap in (614, 625, 618, 616, 633)]

    assert laps_to_tell(first, second) == laps_to_tell(second, first) == 41


def test_set_ups_that_never_meet_are_told_apart_by_the_least_laps_there_are():
    first, second = [Fraction(6)] * 3, [Fraction(7)] * 3

    assert laps_to_tell(first, second) == max(least_laps(), 6)


def test_no_number_of_laps_tells_apart_what_is_alike():
    laps = [Fraction(lap, 100) for lap in (610, 620, 615)]

    assert laps_to_tell(laps, laps) is None
    with pytest.raises(DynamicsError) as refused:
        laps_to_tell(laps, [])
    assert refused.value.code is DynamicsCode.NO_LAPS
