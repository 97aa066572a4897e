"""From laps to placings, every tie broken by a rule the race has stated, or shared.

The penalty ledger stays apart from the laps driven: a placing is by laps driven less penalties, and both are
shown. All comparisons are exact.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from itertools import groupby

from .errors import ScoringError
from .ties import Key, Level, SortKey, break_ties, key_order


class Status(StrEnum):
    """How an entry's race went."""

    FINISHED = "finished"
    RUNNING = "running"  # ranked as finished while the race is on
    WITHDRAWN = "withdrawn"  # keeps the laps made
    DID_NOT_START = "did_not_start"  # listed without a place
    EXCLUDED = "excluded"  # listed last, without a place


class WithdrawnRank(StrEnum):
    """Where an entry that withdrew is placed."""

    ON_LAPS = "on_laps"  # where its laps put it
    BELOW_FINISHERS = "below_finishers"  # by its laps, behind all who finished


class TieBreak(StrEnum):
    """A way to part entries with the same laps. A race states which, in order."""

    BEST_LANE = "best_lane"  # most laps on any one lane, then on the next best lane, and so on
    BEST_LAP = "best_lap"  # fastest single lap
    LAST_LANE = "last_lane"  # most laps on the lane driven last, then the one before, and so on
    EARLIER = "earlier"  # who reached the count first
    RUN_OFF = "run_off"  # the director's recorded run-off
    SHARED = "shared"  # stop here: the place is shared


@dataclass(frozen=True, slots=True)
class LaneScore:
    """What an entry made on one lane, in whole sections of the race's divisor."""

    lane: int
    sections: int


@dataclass(frozen=True, slots=True)
class PenaltyLine:
    """One line of the penalty ledger: sections taken off, above zero, and why."""

    sections: int
    reason: str


@dataclass(frozen=True, slots=True)
class Score:
    """What one entry brings to the classification.

    sections: driven in all, whole sections of divisor a lap. lanes: in the order driven. reached_order: 1 for
    who reached its count first. run_off: 1 for the winner of the run-off. None: not known.
    Raises ScoringError with code negative, bad_divisor or bad_penalty.
    """

    key: Key
    sections: int
    divisor: int
    best_lap_s: Decimal | None = None
    lanes: tuple[LaneScore, ...] = ()
    penalties: tuple[PenaltyLine, ...] = ()
    status: Status = Status.FINISHED
    reached_order: int | None = None
    run_off: int | None = None

    def __post_init__(self) -> None:
        if self.divisor < 1:
            raise ScoringError("bad_divisor", "A lap has at least one section.", key=self.key)
        if self.sections < 0 or any(lane.sections < 0 for lane in self.lanes):
            raise ScoringError("negative", "A lap count cannot be below zero.", key=self.key)
        if any(line.sections <= 0 for line in self.penalties):
            raise ScoringError("bad_penalty", "A penalty takes something off.", key=self.key)
        if self.best_lap_s is not None and not (self.best_lap_s.is_finite() and self.best_lap_s > 0):
            raise ScoringError("bad_lap_time", "A lap takes longer than nothing.", key=self.key)

    @property
    def penalty_sections(self) -> int:
        """All penalty lines together."""
        return sum(line.sections for line in self.penalties)

    @property
    def net_sections(self) -> int:
        """Driven less penalties: what places are given by. Below zero if the penalties are the greater."""
        return self.sections - self.penalty_sections

    @property
    def net_laps(self) -> Fraction:
        """net_sections in laps, exact."""
        return Fraction(self.net_sections, self.divisor)


@dataclass(frozen=True, slots=True)
class Placing:
    """One line of the classification, in the order of the list.

    place: None for an entry that did not start or is excluded. shared: others have the same place.
    tied_with: keys of all other entries with the same laps in the same standing. decided_by, explanation: the
    rule that parted it from them and the English words for it (None and "" where there was no tie).
    behind: laps behind the first, exact; None without a place. Below zero where the rule places an entry that
    withdrew behind finishers with fewer laps.
    """

    place: int | None
    shared: bool
    key: Key
    net_sections: int
    divisor: int
    penalty_sections: int
    status: Status
    behind: Fraction | None
    tied_with: tuple[Key, ...] = ()
    decided_by: TieBreak | None = None
    explanation: str = ""


def classify(
    entries: Sequence[Score],
    *,
    tie_rule: Sequence[TieBreak],
    withdrawn: WithdrawnRank = WithdrawnRank.ON_LAPS,
) -> tuple[Placing, ...]:
    """Every entry once, placed first, then those that did not start, then the excluded.

    Most net laps first. A tied group goes through tie_rule in its order; a rule that cannot be applied to the
    whole group (somebody has no lap time, nobody ran the run-off) is passed over. Those still level share the
    place, and the next places are skipped. The result does not depend on the order of entries; entries that
    share a place or have none are listed by key. Raises ScoringError with code duplicate_key.
    """
    _refuse_duplicates(entries)
    placings: list[Placing] = []
    placed = [entry for entry in entries if _tier(entry, withdrawn) < _UNPLACED]
    groups = _tied_groups(placed, withdrawn)
    for tied in groups:
        leader = groups[0][0].net_laps
        placings += _place_group(tied, tie_rule, leader=leader, first_place=len(placings) + 1)
    unplaced = [entry for entry in entries if _tier(entry, withdrawn) >= _UNPLACED]
    unplaced.sort(key=lambda entry: (_tier(entry, withdrawn), key_order(entry.key)))
    placings += [_placing(entry, place=None, shared=False, behind=None) for entry in unplaced]
    return tuple(placings)


def find_run_offs(
    entries: Sequence[Score],
    *,
    tie_rule: Sequence[TieBreak],
    withdrawn: WithdrawnRank = WithdrawnRank.ON_LAPS,
) -> tuple[tuple[Key, ...], ...]:
    """Groups of keys that come to the run-off rule level and have no run-off recorded: each needs one."""
    if TieBreak.RUN_OFF not in tie_rule:
        return ()
    _refuse_duplicates(entries)
    before = tuple(tie_rule[: tie_rule.index(TieBreak.RUN_OFF)])
    if TieBreak.SHARED in before:
        return ()
    placed = [entry for entry in entries if _tier(entry, withdrawn) < _UNPLACED]
    return tuple(
        tuple(sorted((entry.key for entry in level.members), key=key_order))
        for tied in _tied_groups(placed, withdrawn)
        for level in break_ties(tied, [(rule, _KEYS[rule]) for rule in before])
        if len(level.members) > 1 and _run_off_keys(level.members) is None
    )


# --- placing ---------------------------------------------------------------------------------------------

_UNPLACED = 2


def _tier(entry: Score, withdrawn: WithdrawnRank) -> int:
    match entry.status:
        case Status.FINISHED | Status.RUNNING:
            return 0
        case Status.WITHDRAWN:
            return 1 if withdrawn is WithdrawnRank.BELOW_FINISHERS else 0
        case Status.DID_NOT_START:
            return _UNPLACED
        case Status.EXCLUDED:
            return _UNPLACED + 1


def _refuse_duplicates(entries: Sequence[Score]) -> None:
    seen: set[Key] = set()
    for entry in entries:
        if entry.key in seen:
            raise ScoringError("duplicate_key", f"{entry.key} is in the list twice.", key=entry.key)
        seen.add(entry.key)


def _tied_groups(placed: Sequence[Score], withdrawn: WithdrawnRank) -> list[list[Score]]:
    """Groups with the same standing and net laps, best first; inside a group by key."""

    def order(entry: Score) -> tuple[int, Fraction]:
        return _tier(entry, withdrawn), -entry.net_laps

    by_key = sorted(placed, key=lambda entry: key_order(entry.key))
    return [list(group) for _, group in groupby(sorted(by_key, key=order), key=order)]


def _place_group(
    tied: Sequence[Score], tie_rule: Sequence[TieBreak], *, leader: Fraction, first_place: int
) -> list[Placing]:
    rules = tuple(tie_rule)
    if TieBreak.SHARED in rules:
        rules = rules[: rules.index(TieBreak.SHARED)]
    placings: list[Placing] = []
    place = first_place
    for level in break_ties(tied, [(rule, _KEYS[rule]) for rule in rules]):
        decided_by = _deciding_rule(level, len(tied))
        for entry in sorted(level.members, key=lambda entry: key_order(entry.key)):
            others = tuple(other.key for other in tied if other.key != entry.key)
            placings.append(
                _placing(
                    entry,
                    place=place,
                    shared=len(level.members) > 1,
                    behind=leader - entry.net_laps,
                    tied_with=others,
                    decided_by=decided_by,
                )
            )
        place += len(level.members)
    return placings


def _deciding_rule(level: Level[Score, TieBreak], group_size: int) -> TieBreak | None:
    if group_size == 1:
        return None
    return TieBreak.SHARED if len(level.members) > 1 else level.decided_by


def _placing(
    entry: Score,
    *,
    place: int | None,
    shared: bool,
    behind: Fraction | None,
    tied_with: tuple[Key, ...] = (),
    decided_by: TieBreak | None = None,
) -> Placing:
    return Placing(
        place=place,
        shared=shared,
        key=entry.key,
        net_sections=entry.net_sections,
        divisor=entry.divisor,
        penalty_sections=entry.penalty_sections,
        status=entry.status,
        behind=behind,
        tied_with=tied_with,
        decided_by=decided_by,
        explanation="" if decided_by is None else _explain(entry, decided_by),
    )


_WORDS = {
    TieBreak.BEST_LANE: "more laps on the best lane goes first, then on the next best",
    TieBreak.BEST_LAP: "the faster best lap goes first",
    TieBreak.LAST_LANE: "more laps on the lane driven last goes first, then on the one before",
    TieBreak.EARLIER: "who reached it earlier goes first",
    TieBreak.RUN_OFF: "the run-off decided",
    TieBreak.SHARED: "the place is shared",
}


def _explain(entry: Score, decided_by: TieBreak) -> str:
    return f"tied on {_laps_text(entry)}: {_WORDS[decided_by]}"


def _laps_text(entry: Score) -> str:
    sign = "-" if entry.net_sections < 0 else ""
    laps, sections = divmod(abs(entry.net_sections), entry.divisor)
    if entry.divisor == 1:
        return f"{sign}{laps}"
    if 100 % entry.divisor == 0:
        return f"{sign}{laps}.{sections * 100 // entry.divisor:02d}"
    return f"{sign}{laps} + {sections}/{entry.divisor}"


# --- the rules, each as a key: smaller is better, None where it cannot be applied -------------------------


def _best_lane_keys(tied: Sequence[Score]) -> list[SortKey] | None:
    if not _have_like_lanes(tied):
        return None
    return [tuple(sorted(-lane for lane in _lane_laps(entry))) for entry in tied]


def _last_lane_keys(tied: Sequence[Score]) -> list[SortKey] | None:
    if not _have_like_lanes(tied):
        return None
    return [tuple(-lane for lane in reversed(_lane_laps(entry))) for entry in tied]


def _have_like_lanes(tied: Sequence[Score]) -> bool:
    """Did all drive the same number of lanes, so that lane by lane can be compared?"""
    return len({len(entry.lanes) for entry in tied}) == 1


def _lane_laps(entry: Score) -> list[Fraction]:
    return [Fraction(lane.sections, entry.divisor) for lane in entry.lanes]


def _best_lap_keys(tied: Sequence[Score]) -> list[SortKey] | None:
    times = [entry.best_lap_s for entry in tied if entry.best_lap_s is not None]
    return [(Fraction(time),) for time in times] if len(times) == len(tied) else None


def _earlier_keys(tied: Sequence[Score]) -> list[SortKey] | None:
    orders = [entry.reached_order for entry in tied if entry.reached_order is not None]
    return [(Fraction(order),) for order in orders] if len(orders) == len(tied) else None


def _run_off_keys(tied: Sequence[Score]) -> list[SortKey] | None:
    orders = [entry.run_off for entry in tied if entry.run_off is not None]
    return [(Fraction(order),) for order in orders] if len(orders) == len(tied) else None


_KEYS = {
    TieBreak.BEST_LANE: _best_lane_keys,
    TieBreak.BEST_LAP: _best_lap_keys,
    TieBreak.LAST_LANE: _last_lane_keys,
    TieBreak.EARLIER: _earlier_keys,
    TieBreak.RUN_OFF: _run_off_keys,
}
