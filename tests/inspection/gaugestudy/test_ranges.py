"""The factors that turn a range into a standard deviation, against the printed ones."""

import pytest

from inspection.gaugestudy.ranges import (
    K1_PRINTED,
    K2_PRINTED,
    K3_PRINTED,
    d2_star,
    inspector_factor,
    part_factor,
    range_mean,
    range_square_mean,
    trial_factor,
)


def test_d2_of_two_has_a_closed_form():
    # the mean of |x - y| is 2 / sqrt(pi), the mean of its square 2
    assert range_mean(2) == pytest.approx(2 / 3.141592653589793**0.5, rel=1e-12)
    assert range_square_mean(2) == pytest.approx(2, rel=1e-10)


@pytest.mark.parametrize(("m", "printed"), [(2, "1.12838"), (3, "1.69257"), (4, "2.05875"), (5, "2.32593")])
def test_d2_is_that_of_duncans_table(m, printed):
    # Duncan, Quality Control and Industrial Statistics, Table D3; from memory
    assert f"{range_mean(m):.5f}" == printed


@pytest.mark.parametrize(("m", "g", "printed"), [(2, 5, "1.19105"), (5, 20, "2.33394")])
def test_d2_star_is_that_of_the_manual(m, g, printed):
    # AIAG MSA 4th ed., Appendix C, read second-hand in a public validation suite
    assert f"{d2_star(m, g):.5f}" == printed


def test_every_printed_factor_is_the_computed_one_to_its_four_decimals():
    assert {m: f"{1 / range_mean(m):.4f}" for m in K1_PRINTED} == {m: f"{float(k):.4f}" for m, k in K1_PRINTED.items()}
    for table in (K2_PRINTED, K3_PRINTED):
        assert {m: f"{1 / d2_star(m, 1):.4f}" for m in table} == {m: f"{float(k):.4f}" for m, k in table.items()}


def test_where_the_tables_end_the_factor_is_computed_and_goes_on_falling():
    assert float(part_factor(11)) == pytest.approx(1 / d2_star(11, 1), abs=1e-6)
    assert part_factor(12) < part_factor(11) < part_factor(10)
    assert inspector_factor(4) < inspector_factor(3)
    assert trial_factor(4, 30) < trial_factor(3, 30)


def test_few_ranges_use_d2_star_and_many_the_printed_factor():
    assert trial_factor(3, 16) == K1_PRINTED[3]
    assert float(trial_factor(3, 15)) == pytest.approx(1 / d2_star(3, 15), abs=1e-6)
    assert trial_factor(3, 15) < K1_PRINTED[3]


def test_a_single_inspector_has_no_spread_between_inspectors():
    assert inspector_factor(1) == 0
