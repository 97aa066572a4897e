"""A season: rounds, drops, and ties by countback, or by the low-point system of sailing."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from itertools import groupby, pairwise

from .errors import ScoringError, refuse_no_number
from .ties import Key, Level, SortKey, break_ties, key_order


class PointsMode(StrEnum):
    """Which total wins."""

    HIGH = "high"
    LOW = "low"


class SeasonTieBreak(StrEnum):
    """A way to part drivers on the same counted points."""

    COUNTBACK = "countback"  # most firsts, then most seconds ... to the stated depth
    GROSS = "gross"  # more points with the dropped rounds in
    LAST_ROUND = "last_round"  # better in the last round, then in the one before
    COUNTED_SCORES = "counted_scores"  # counted scores from best to worst, the first difference
    DIRECTOR = "director"  # the director's stated order
    SHARED = "shared"  # no rule left: the place is shared
    OPEN = "open"  # no rule left and places may not be shared: the director must decide


# Racing Rules of Sailing, Appendix A: A8.1 counted scores in order, A8.2 the last race, next to last ..., the
# excluded scores used there.
SAILING_TIES = (SeasonTieBreak.COUNTED_SCORES, SeasonTieBreak.LAST_ROUND)


@dataclass(frozen=True, slots=True)
class RoundResult:
    """One driver in one round. place: as finished, for the countback; None without one.

    can_drop: False for a round result that always counts (an exclusion, a final that may not be dropped).
    Raises ScoringError with code bad_points or bad_place.
    """

    key: Key
    points: Decimal
    place: int | None = None
    can_drop: bool = True

    def __post_init__(self) -> None:
        refuse_no_number([self.points])
        if self.place is not None and self.place < 1:
            raise ScoringError("bad_place", f"There is no place {self.place}.", place=self.place)


@dataclass(frozen=True, slots=True)
class Round:
    """A round that has been run. Rounds are given in the order run; number is for people."""

    number: int
    results: tuple[RoundResult, ...]


@dataclass(frozen=True, slots=True)
class Block:
    """Rounds first..last of the season, counted from 1 in calendar order; last None for "to the end".

    best: so many of them count. drop: so many of those run are dropped, though one always counts. Exactly one
    of the two is given. Raises ScoringError with code bad_block.
    """

    first: int = 1
    last: int | None = None
    best: int | None = None
    drop: int | None = None

    def __post_init__(self) -> None:
        is_range = self.first >= 1 and (self.last is None or self.last >= self.first)
        given = [count for count in (self.best, self.drop) if count is not None]
        if not is_range or len(given) != 1 or given[0] < 0:
            raise ScoringError(
                "bad_block", "A block of rounds has a first, a last, and either best or drop.", block=self
            )

    def drops_of(self, rounds_run: int) -> int:
        """How many of so many rounds run in this block are dropped."""
        if self.best is not None:
            return max(0, rounds_run - self.best)
        return max(0, min(self.drop or 0, rounds_run - 1))


@dataclass(frozen=True, slots=True)
class SeasonRules:
    """How a season counts.

    blocks: drops; a round in no block always counts; blocks may not overlap. tie_breaks: in order.
    countback_depth: last place counted back to, None for all. countback_dropped: over dropped rounds too.
    may_share: False to leave a tie that no rule parts open for the director. director_order: keys, best first.
    absent: points of a driver for a round without a result; None for 0, or under LOW for one more than the
    drivers of the season (RRS A5, from memory).
    Raises ScoringError with code bad_block, bad_depth or bad_points.
    """

    mode: PointsMode = PointsMode.HIGH
    blocks: tuple[Block, ...] = ()
    tie_breaks: tuple[SeasonTieBreak, ...] = (SeasonTieBreak.COUNTBACK,)
    countback_depth: int | None = None
    countback_dropped: bool = True
    may_share: bool = True
    director_order: tuple[Key, ...] = ()
    absent: Decimal | None = None

    def __post_init__(self) -> None:
        refuse_no_number([] if self.absent is None else [self.absent])
        if self.countback_depth is not None and self.countback_depth < 1:
            raise ScoringError("bad_depth", "A countback goes to first place at least.")
        in_order = sorted(self.blocks, key=lambda block: block.first)
        for block, following in pairwise(in_order):
            if block.last is None or block.last >= following.first:
                raise ScoringError("bad_block", "A round can be in one block only.", block=following)


@dataclass(frozen=True, slots=True)
class RoundScore:
    """A driver's line for one round in the table. is_absent: no result in that round."""

    round_number: int
    points: Decimal
    place: int | None
    is_dropped: bool
    is_absent: bool


@dataclass(frozen=True, slots=True)
class Standing:
    """One row of the table. gross: all rounds; counted: without the dropped ones.

    tied_with: keys of all others on the same counted points. decided_by: the rule that parted it from them.
    """

    place: int
    shared: bool
    key: Key
    gross: Decimal
    counted: Decimal
    rounds: tuple[RoundScore, ...]
    tied_with: tuple[Key, ...] = ()
    decided_by: SeasonTieBreak | None = None


def rank_season(rounds: Sequence[Round], *, rules: SeasonRules) -> tuple[Standing, ...]:
    """The table, best first, over the rounds run so far; drivers who share a place are listed by key.

    In each block the worst scores are dropped, of equal ones the earliest (RRS A2.1). A result that may not be
    dropped is passed over. Everybody with a result in any round is in the table.
    Raises ScoringError with code duplicate_key (a driver twice in a round) or duplicate_round.
    """
    _refuse_duplicates(rounds)
    keys = sorted({result.key for each in rounds for result in each.results}, key=key_order)
    rows = [_row(key, rounds, rules, len(keys)) for key in keys]
    sign = -1 if rules.mode is PointsMode.HIGH else 1
    rows.sort(key=lambda row: sign * row.counted)
    table: list[Standing] = []
    for _, group in groupby(rows, key=lambda row: row.counted):
        table += _rank_tied(list(group), rules, first_place=len(table) + 1)
    return tuple(table)


def _refuse_duplicates(rounds: Sequence[Round]) -> None:
    numbers = [each.number for each in rounds]
    for number in numbers:
        if numbers.count(number) > 1:
            raise ScoringError("duplicate_round", f"Round {number} is there twice.", number=number)
    for each in rounds:
        keys: set[Key] = set()
        for result in each.results:
            if result.key in keys:
                raise ScoringError("duplicate_key", f"{result.key} is in round {each.number} twice.", key=result.key)
            keys.add(result.key)


# --- one driver ------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Row:
    key: Key
    rounds: tuple[RoundScore, ...]
    gross: Decimal
    counted: Decimal


def _row(key: Key, rounds: Sequence[Round], rules: SeasonRules, drivers: int) -> _Row:
    absent_points = rules.absent
    if absent_points is None:
        absent_points = Decimal(drivers + 1 if rules.mode is PointsMode.LOW else 0)
    found = [next((each for each in one.results if each.key == key), None) for one in rounds]
    results = [each or RoundResult(key, absent_points) for each in found]
    dropped = _dropped(results, rules)
    scores = tuple(
        RoundScore(one.number, result.points, result.place, index in dropped, found[index] is None)
        for index, (one, result) in enumerate(zip(rounds, results, strict=True))
    )
    counted = [score.points for score in scores if not score.is_dropped]
    return _Row(key, scores, sum((score.points for score in scores), Decimal(0)), sum(counted, Decimal(0)))


def _dropped(results: Sequence[RoundResult], rules: SeasonRules) -> frozenset[int]:
    """Indexes of the dropped results."""
    worst_first = 1 if rules.mode is PointsMode.HIGH else -1
    dropped: set[int] = set()
    for block in rules.blocks:
        last = len(results) if block.last is None else min(block.last, len(results))
        run = range(block.first - 1, last)
        candidates = sorted(
            (index for index in run if results[index].can_drop),
            key=lambda index: (worst_first * results[index].points, index),
        )
        dropped.update(candidates[: block.drops_of(len(run))])
    return frozenset(dropped)


# --- ties ------------------------------------------------------------------------------------------------


def _rank_tied(tied: Sequence[_Row], rules: SeasonRules, *, first_place: int) -> list[Standing]:
    stated = rules.tie_breaks
    for stop in (SeasonTieBreak.SHARED, SeasonTieBreak.OPEN):
        if stop in stated:
            stated = stated[: stated.index(stop)]
    standings: list[Standing] = []
    place = first_place
    for level in break_ties(tied, [(rule, _keys_by(rule, rules)) for rule in stated]):
        decided_by = _deciding_rule(level, len(tied), rules)
        standings.extend(
            Standing(
                place=place,
                shared=len(level.members) > 1,
                key=row.key,
                gross=row.gross,
                counted=row.counted,
                rounds=row.rounds,
                tied_with=tuple(other.key for other in tied if other.key != row.key),
                decided_by=decided_by,
            )
            for row in sorted(level.members, key=lambda row: key_order(row.key))
        )
        place += len(level.members)
    return standings


def _deciding_rule(level: Level[_Row, SeasonTieBreak], group_size: int, rules: SeasonRules) -> SeasonTieBreak | None:
    if group_size == 1:
        return None
    if len(level.members) == 1:
        return level.decided_by
    return SeasonTieBreak.SHARED if rules.may_share else SeasonTieBreak.OPEN


def _keys_by(rule: SeasonTieBreak, rules: SeasonRules) -> Callable[[Sequence[_Row]], Sequence[SortKey] | None]:
    better_first = -1 if rules.mode is PointsMode.HIGH else 1

    def countback(tied: Sequence[_Row]) -> Sequence[SortKey]:
        places = [
            [
                score.place
                for score in row.rounds
                if score.place is not None and (rules.countback_dropped or not score.is_dropped)
            ]
            for row in tied
        ]
        depth = rules.countback_depth or max((place for each in places for place in each), default=0)
        return [tuple(Fraction(-each.count(place)) for place in range(1, depth + 1)) for each in places]

    def gross(tied: Sequence[_Row]) -> Sequence[SortKey]:
        return [(better_first * Fraction(row.gross),) for row in tied]

    def last_round(tied: Sequence[_Row]) -> Sequence[SortKey]:
        return [tuple(better_first * Fraction(score.points) for score in reversed(row.rounds)) for row in tied]

    def counted_scores(tied: Sequence[_Row]) -> Sequence[SortKey] | None:
        keys = [
            tuple(sorted(better_first * Fraction(score.points) for score in row.rounds if not score.is_dropped))
            for row in tied
        ]
        return keys if len({len(key) for key in keys}) == 1 else None

    def director(tied: Sequence[_Row]) -> Sequence[SortKey] | None:
        order = rules.director_order
        if any(row.key not in order for row in tied):
            return None
        return [(Fraction(order.index(row.key)),) for row in tied]

    return {
        SeasonTieBreak.COUNTBACK: countback,
        SeasonTieBreak.GROSS: gross,
        SeasonTieBreak.LAST_ROUND: last_round,
        SeasonTieBreak.COUNTED_SCORES: counted_scores,
        SeasonTieBreak.DIRECTOR: director,
    }[rule]
