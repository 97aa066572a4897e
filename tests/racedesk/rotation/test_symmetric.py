import pytest
from hypothesis import given
from hypothesis import strategies as st

from racedesk.rotation.symmetric import is_symmetric_design, symmetric_design

# Parameters for which a symmetric design exists: projective planes, biplanes, Hadamard designs, and (25, 9, 3),
# (31, 10, 3). Handbook of Combinatorial Designs, 2nd ed. 2007, table II.1.
DESIGNS = [(7, 3, 3), (13, 4, 3), (21, 5, 5), (31, 6, 5), (11, 5, 5), (16, 6, 3), (16, 6, 5), (19, 9, 3), (25, 9, 3)]


@given(st.sampled_from(DESIGNS), st.integers(0, 1_000))
def test_what_is_found_is_a_symmetric_design_and_the_same_again(size, seed):
    points, block, order = size
    found = symmetric_design(points=points, block=block, order=order, seed=seed, tables=40)

    assert found is not None
    assert is_symmetric_design(found, points=points, block=block)
    assert all(heat == tuple(sorted(heat)) for heat in found)
    assert found == symmetric_design(points=points, block=block, order=order, seed=seed, tables=40)


def test_a_design_that_no_cyclic_rotation_has_is_found_at_once():
    found = symmetric_design(points=31, block=10, order=3, seed=2, tables=1)

    assert is_symmetric_design(found, points=31, block=10)


@pytest.mark.parametrize(("points", "block", "order"), [(7, 3, 5), (31, 9, 3), (13, 6, 3), (21, 5, 3)])
def test_what_cannot_be_by_its_numbers_is_refused(points, block, order):
    with pytest.raises(ValueError, match="no symmetric design"):
        symmetric_design(points=points, block=block, order=order, seed=1, tables=1)


@pytest.mark.parametrize(("points", "block", "order"), [(22, 7, 3), (13, 4, 2)])
def test_what_cannot_be_though_its_numbers_fit_is_not_found(points, block, order):
    # (22, 7, 2) is excluded by Bruck, Ryser and Chowla: 7 - 2 is no square.
    assert symmetric_design(points=points, block=block, order=order, seed=1, tables=20) is None


def test_no_beginning_finds_nothing():
    assert symmetric_design(points=7, block=3, order=3, seed=1, tables=0) is None


def test_a_heat_that_meets_another_once_too_often_is_told():
    found = symmetric_design(points=7, block=3, order=3, seed=1, tables=5)
    wrong = [*found[:-1], found[0]]

    assert not is_symmetric_design(wrong, points=7, block=3)
    assert not is_symmetric_design(found[:-1], points=7, block=3)
    assert not is_symmetric_design(found, points=8, block=3)
