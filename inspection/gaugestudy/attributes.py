"""Go or no-go: how well inspectors agree with each other and with the truth, by Cohen's kappa.

J. Cohen, "A coefficient of agreement for nominal scales", 1960; used so by AIAG Measurement Systems Analysis, 4th ed.
2010, chapter III section C (the worked figures read second-hand; they are the tests). The manual calls above 0.75 good
agreement and below 0.40 poor.
"""

from collections.abc import Hashable, Sequence
from fractions import Fraction

from inspection.gaugestudy.errors import StudyCode, StudyError


def kappa(one: Sequence[Hashable], other: Sequence[Hashable]) -> Fraction | None:
    """Agreement beyond chance of two judgments of the same things, at most 1, exactly.

    one, other: the answers in the same order. None when both gave one and the same answer throughout: chance alone
    would agree as well. Raises StudyError too_few_readings or missing_readings.
    """
    n = len(one)
    if len(other) != n:
        raise StudyError(StudyCode.MISSING_READINGS, missing=str(abs(n - len(other))), wanted=str(max(n, len(other))))
    if not n:
        raise StudyError(StudyCode.TOO_FEW_READINGS, least="1")
    agreed = Fraction(sum(a == b for a, b in zip(one, other, strict=True)), n)
    by_chance = sum(
        (Fraction(list(one).count(answer) * list(other).count(answer), n * n) for answer in set(one) | set(other)),
        Fraction(0),
    )
    return None if by_chance == 1 else (agreed - by_chance) / (1 - by_chance)
