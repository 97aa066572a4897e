"""Measured laps of two set-ups: is one quicker, or can the laps not tell? Exact, in seconds.

By ranks (F. Wilcoxon 1945, H. B. Mann and D. R. Whitney 1947), since laps are few and a slow one says nothing of the
set-up: what counts is how often a lap of one is quicker than a lap of the other. The distribution is counted out in
full, ties included, so it holds for the smallest samples. The difference is the median of all pairs (J. L. Hodges and
E. L. Lehmann 1963) with the interval that belongs to the same test.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate
from math import ceil, comb, sqrt
from typing import Final

from inspection.dynamics.compare import Ranking
from inspection.dynamics.errors import DynamicsCode, DynamicsError

CONFIDENCE: Final = Fraction(95, 100)
# B. Iglewicz and D. C. Hoaglin 1993: a modified z-score, 0.6745 (x - median) / MAD, above 3.5 stands out.
_SCORE: Final = Fraction(6745, 10000)
_STANDS_OUT: Final = Fraction(35, 10)
_NORMAL: Final = (Fraction(1959964, 10**6) + Fraction(841621, 10**6)) ** 2  # z(0.975) and z(0.8)


@dataclass(frozen=True, slots=True, kw_only=True)
class RunSummary:
    """Laps of one run. mad: median distance from the median. variance: n - 1 below, None for a single lap."""

    laps: int
    best: Fraction
    mean: Fraction
    median: Fraction
    mad: Fraction
    variance: Fraction | None

    @property
    def deviation(self) -> float | None:
        """Standard deviation in s; for showing."""
        return None if self.variance is None else sqrt(self.variance)


@dataclass(frozen=True, slots=True, kw_only=True)
class RunComparison:
    """Two runs. difference: second less first, in s, the median of all pairs; low, high: its interval, None when the
    laps are too few for one. p: how likely laps as far apart are by chance, exactly; least_p: the least that so many
    laps could give. ranking: cannot_rank unless p is at most what the confidence leaves.
    """

    difference: Fraction
    low: Fraction | None
    high: Fraction | None
    p: Fraction
    least_p: Fraction
    ranking: Ranking
    is_enough: bool


def summarize(times: Sequence[Fraction]) -> RunSummary:
    """Best, mean, median and spread of laps in s. Raises DynamicsError no_laps."""
    _check(times)
    count = len(times)
    mean, middle = sum(times, Fraction(0)) / count, median(times)
    squares = sum(((time - mean) ** 2 for time in times), Fraction(0))
    return RunSummary(
        laps=count,
        best=min(times),
        mean=mean,
        median=middle,
        mad=median([abs(time - middle) for time in times]),
        variance=squares / (count - 1) if count > 1 else None,
    )


def median(values: Sequence[Fraction]) -> Fraction:
    """The middle value, or the mean of both. Raises DynamicsError no_laps."""
    _check(values)
    ordered, half = sorted(values), len(values) // 2
    return ordered[half] if len(ordered) % 2 else (ordered[half - 1] + ordered[half]) / 2


def slow_laps(times: Sequence[Fraction]) -> tuple[int, ...]:
    """Numbers (from 0) of the laps that stand out as slow, such as one with an off: told, never dropped.

    Raises DynamicsError no_laps.
    """
    summary = summarize(times)
    limit = summary.mad * _STANDS_OUT / _SCORE
    return tuple(number for number, time in enumerate(times) if limit and time - summary.median > limit)


def compare_runs(
    first: Sequence[Fraction], second: Sequence[Fraction], *, confidence: Fraction = CONFIDENCE
) -> RunComparison:
    """Which of two set-ups was quicker, by laps in s.

    Raises DynamicsError no_laps, or not_a_share for a confidence that is not between 0 and 1.
    """
    _check(first)
    _check(second)
    if not 0 < confidence < 1:
        raise DynamicsError(DynamicsCode.NOT_A_SHARE, name="confidence")
    pairs = sorted(late - early for late in second for early in first)
    ranks = _double_ranks([*first, *second])
    p = _two_sided(ranks, len(first))
    least_p = min(Fraction(1), Fraction(2, comb(len(ranks), len(first))))
    at = critical_count(len(first), len(second), confidence=confidence)
    is_told = p <= 1 - confidence
    difference = median(pairs)
    # Laps of one all quicker but for ties in the middle may leave a median of 0: then the ranks say which way.
    way = difference or Fraction(sum(ranks[len(first) :]) * len(first) - sum(ranks[: len(first)]) * len(second))
    ranking = Ranking.CANNOT_RANK
    if is_told and way:
        ranking = Ranking.FIRST if way > 0 else Ranking.SECOND
    return RunComparison(
        difference=difference,
        low=None if at is None else pairs[at],
        high=None if at is None else pairs[len(pairs) - 1 - at],
        p=p,
        least_p=least_p,
        ranking=ranking,
        is_enough=least_p <= 1 - confidence,
    )


def critical_count(first: int, second: int, *, confidence: Fraction = CONFIDENCE) -> int | None:
    """The greatest count of pairs the other way round that still tells two runs apart, as tables of U print it.

    first, second: laps of each, without ties. None when so few laps can tell nothing.
    Raises DynamicsError no_laps.
    """
    if min(first, second) < 1:
        raise DynamicsError(DynamicsCode.NO_LAPS)
    ways = _ways_by_sum(list(range(1, first + second + 1)), first)
    limit = (1 - confidence) / 2 * comb(first + second, first)
    least = first * (first + 1) // 2
    at = -1
    for total in accumulate(ways[least:]):
        if total > limit:
            break
        at += 1
    return at if at >= 0 else None


def least_laps(*, confidence: Fraction = CONFIDENCE) -> int:
    """The fewest laps of each of two runs that can tell anything. Raises DynamicsError not_a_share."""
    if not 0 < confidence < 1:
        raise DynamicsError(DynamicsCode.NOT_A_SHARE, name="confidence")
    laps = 1
    while Fraction(2, comb(2 * laps, laps)) > 1 - confidence:
        laps += 1
    return laps


def laps_to_tell(first: Sequence[Fraction], second: Sequence[Fraction]) -> int | None:
    """About how many laps of each would tell two such set-ups apart four times out of five, at 95 %.

    G. E. Noether 1987, "Sample Size Determination for Some Common Nonparametric Tests", for two samples alike in size:
    laps in all = (z(0.975) + z(0.8))**2 / (3 (p - 1/2)**2), where p is how often a lap of one is quicker than a lap of
    the other, ties counting half. None when they are quicker equally often. Raises DynamicsError no_laps.
    """
    _check(first)
    _check(second)
    twice = sum((late > early) * 2 + (late == early) for late in second for early in first)
    apart = Fraction(twice, 2 * len(first) * len(second)) - Fraction(1, 2)
    if not apart:
        return None
    return max(least_laps(), ceil(_NORMAL / (6 * apart * apart)))


def _check(times: Sequence[Fraction]) -> None:
    if not times:
        raise DynamicsError(DynamicsCode.NO_LAPS)


def _double_ranks(values: Sequence[Fraction]) -> list[int]:
    """Twice the rank of each value; equal values share the mean of their ranks, which is why it is doubled."""
    ordered = sorted(values)
    first = {value: place for place, value in reversed(list(enumerate(ordered, start=1)))}
    last = {value: place for place, value in enumerate(ordered, start=1)}
    return [first[value] + last[value] for value in values]


def _two_sided(ranks: Sequence[int], count: int) -> Fraction:
    """Twice the smaller tail of the sum of the first `count` ranks, among all choices of so many; 1 at most."""
    ways, total = _ways_by_sum(ranks, count), sum(ranks[:count])
    below, above = sum(ways[: total + 1]), sum(ways[total:])
    return min(Fraction(1), Fraction(2 * min(below, above), comb(len(ranks), count)))


def _ways_by_sum(ranks: Sequence[int], count: int) -> list[int]:
    """In how many ways `count` of the ranks give each sum, from 0 up.

    Polynomials packed into one whole number each, a coefficient to so many bits: adding a rank is one shift.
    """
    bits = comb(len(ranks), count).bit_length() + 1
    packed = [1] + [0] * count
    for rank in ranks:
        for taken in range(count, 0, -1):
            packed[taken] += packed[taken - 1] << (bits * rank)
    mask, value = (1 << bits) - 1, packed[count]
    return [(value >> (bits * place)) & mask for place in range(sum(ranks) + 1)]
