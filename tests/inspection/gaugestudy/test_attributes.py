"""Agreement of go/no-go judgments against the manual's example (AIAG MSA 4th ed., Table III-C 3; read second-hand)."""

from fractions import Fraction

import pytest

from inspection.gaugestudy.attributes import kappa
from inspection.gaugestudy.errors import StudyCode, StudyError
from tests.inspection.gaugestudy import aiag


@pytest.mark.parametrize(
    ("pair", "printed", "recomputed"),
    [
        (("A", "B"), "0.86", 0.86294),
        (("A", "C"), "0.78", 0.77612),
        (("B", "C"), "0.79", 0.78801),
        (("A", "truth"), "0.88", 0.87879),
        (("B", "truth"), "0.92", 0.92298),
        (("C", "truth"), "0.77", 0.77396),
    ],
)
def test_agreement_is_that_of_the_manual(pair, printed, recomputed):
    answers = aiag.answers()
    found = kappa(answers[pair[0]], answers[pair[1]])
    assert f"{float(found):.2f}" == printed
    assert float(found) == pytest.approx(recomputed, abs=5e-6)


def test_full_agreement_is_1_and_that_of_chance_is_0():
    assert kappa("1100", "1100") == 1
    assert kappa("1100", "1010") == 0
    assert kappa("10", "01") == Fraction(-1)


def test_where_only_one_answer_is_given_nothing_can_be_said():
    assert kappa("111", "111") is None


@pytest.mark.parametrize(
    ("one", "other", "code"), [("", "", StudyCode.TOO_FEW_READINGS), ("1", "11", StudyCode.MISSING_READINGS)]
)
def test_nothing_to_compare_is_refused(one, other, code):
    with pytest.raises(StudyError) as refused:
        kappa(one, other)
    assert refused.value.code is code
