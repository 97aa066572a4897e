"""The order in which a study is measured."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspection.gaugestudy.errors import StudyCode, StudyError
from inspection.gaugestudy.order import Place, measuring_order

few = st.integers(1, 5)


@given(seed=st.integers(0, 2**70), parts=few, inspectors=few, trials=few)
def test_every_reading_comes_once_and_each_trial_after_the_one_before(seed, parts, inspectors, trials):
    order = measuring_order(seed=seed, parts=parts, inspectors=inspectors, trials=trials)
    assert sorted(order) == [Place(i, p, t) for i in range(inspectors) for p in range(parts) for t in range(trials)]
    assert [place.trial for place in order] == sorted(place.trial for place in order)


@given(seed=st.integers(0, 2**32), parts=st.integers(2, 5), inspectors=few, trials=few)
def test_nobody_measures_the_part_in_hand_again_at_once(seed, parts, inspectors, trials):
    order = measuring_order(seed=seed, parts=parts, inspectors=inspectors, trials=trials)
    assert not [(a, b) for a, b in pairwise(order) if (a.inspector, a.part) == (b.inspector, b.part)]


def test_a_seed_gives_the_same_order_for_ever():
    order = measuring_order(seed=7, parts=3, inspectors=2, trials=2)
    assert [(place.inspector, place.part) for place in order] == ORDER_OF_SEED_7
    assert measuring_order(seed=8, parts=3, inspectors=2, trials=2) != order


ORDER_OF_SEED_7 = [(0, 1), (0, 2), (0, 0), (1, 1), (1, 2), (1, 0), (0, 2), (0, 0), (0, 1), (1, 0), (1, 1), (1, 2)]


@pytest.mark.parametrize(
    ("wrong", "code"),
    [
        ({"seed": -1}, StudyCode.BAD_SEED),
        ({"parts": 0}, StudyCode.TOO_FEW_PARTS),
        ({"inspectors": 0}, StudyCode.TOO_FEW_INSPECTORS),
        ({"trials": 0}, StudyCode.TOO_FEW_TRIALS),
    ],
)
def test_an_order_of_nothing_is_refused(wrong, code):
    with pytest.raises(StudyError) as refused:
        measuring_order(**{"seed": 1, "parts": 2, "inspectors": 2, "trials": 2} | wrong)
    assert refused.value.code is code
