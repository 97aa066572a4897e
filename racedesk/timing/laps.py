"""Laps and part laps: whole sections with the track's divisor, read from what people write.

A part lap is kept as two integers (sections, and how many sections the track divides a lap into), so that
9 of 20 sections is 9/20 for ever and never 0.45 rounded. The notations are common practice of the trade:
laps and hundredths (18.45), and laps and sections (18 + 9/20, 18 laps 9, 18/9).
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from itertools import pairwise

from .errors import LapsError

MOST_LAPS = 99_999  # longer than any lane of a 24 hour race; more is a slip of the fingers
MOST_SECTIONS = 1_000  # the finest division read by eye is 100 a lap; a light bar is no finer than 1,000
LONGEST_TEXT = 60


class LapMethod(StrEnum):
    """How a race counts the lap that was under way when the power went off."""

    CARRIED = "carried"  # the car is put down where it stopped; the section is read once, after its last lane
    LANE_BY_LANE = "lane_by_lane"  # every lane starts from the line; parts are read and added lane by lane
    WHOLE_LAPS = "whole_laps"  # the part is not counted
    COMPLETED = "completed"  # the lap under way is driven to its end and counts whole


@dataclass(frozen=True, slots=True, eq=False)
class LapCount:
    """laps whole laps and sections of divisor sections; compared by exact value, 1 + 5/10 equals 1 + 10/20.

    Raises LapsError for a negative count, a divisor outside 1..1000, sections not below the divisor or
    more laps than MOST_LAPS.
    """

    laps: int
    sections: int
    divisor: int

    def __post_init__(self) -> None:
        if not 1 <= self.divisor <= MOST_SECTIONS:
            raise LapsError(
                "bad_divisor",
                f"A lap is divided into 1 to {MOST_SECTIONS} sections, not {self.divisor}.",
                divisor=self.divisor,
            )
        if self.laps < 0 or self.sections < 0:
            raise LapsError("negative", "A lap count cannot be below zero.", laps=self.laps)
        if self.sections >= self.divisor:
            raise LapsError(
                "section_too_big",
                f"This track has {self.divisor} sections a lap, so a part lap is 0 to {self.divisor - 1} "
                f"sections, not {self.sections}.",
                sections=self.sections,
                divisor=self.divisor,
            )
        if self.laps > MOST_LAPS:
            raise LapsError("absurd", f"{self.laps} laps is more than any race has seen.", laps=self.laps)

    @classmethod
    def of_sections(cls, total_sections: int, divisor: int) -> LapCount:
        """The count of total_sections sections of divisor a lap. Raises LapsError as the class does."""
        if divisor < 1:
            raise LapsError("bad_divisor", "A lap has at least one section.", divisor=divisor)
        laps, sections = divmod(total_sections, divisor)
        return cls(laps, sections, divisor)

    @property
    def total_sections(self) -> int:
        """All of it in sections."""
        return self.laps * self.divisor + self.sections

    @property
    def as_fraction(self) -> Fraction:
        """Laps as an exact fraction."""
        return Fraction(self.total_sections, self.divisor)

    def __add__(self, other: LapCount) -> LapCount:
        self._refuse_other_divisor(other)
        return LapCount.of_sections(self.total_sections + other.total_sections, self.divisor)

    def __sub__(self, other: LapCount) -> LapCount:
        """How far ahead of other; raises LapsError "negative" when it is behind."""
        self._refuse_other_divisor(other)
        return LapCount.of_sections(self.total_sections - other.total_sections, self.divisor)

    def _refuse_other_divisor(self, other: LapCount) -> None:
        if self.divisor != other.divisor:
            raise LapsError(
                "divisors_differ",
                f"Sections of {self.divisor} and of {other.divisor} a lap do not add; use as_fraction.",
                divisors=(self.divisor, other.divisor),
            )

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, LapCount):
            return NotImplemented
        return self.as_fraction == other.as_fraction

    def __hash__(self) -> int:
        return hash(self.as_fraction)

    def __lt__(self, other: LapCount) -> bool:
        return self.as_fraction < other.as_fraction

    def __le__(self, other: LapCount) -> bool:
        return self.as_fraction <= other.as_fraction

    def __gt__(self, other: LapCount) -> bool:
        return self.as_fraction > other.as_fraction

    def __ge__(self, other: LapCount) -> bool:
        return self.as_fraction >= other.as_fraction

    def __str__(self) -> str:
        return format_laps(self)


# --- writing ---------------------------------------------------------------------------------------------


def format_laps(count: LapCount, *, decimal_mark: str = ".") -> str:
    """As a result sheet prints it: 18.45 where hundredths hold the track's sections exactly, else 18 + 1/3.

    A track that does not divide the lap (divisor 1) prints whole laps, 18.
    """
    if count.divisor == 1:
        return str(count.laps)
    if 100 % count.divisor == 0:
        return f"{count.laps}{decimal_mark}{count.sections * 100 // count.divisor:02d}"
    return f"{count.laps} + {count.sections}/{count.divisor}"


def echo(count: LapCount, *, decimal_mark: str = ".") -> str:
    """What was understood, in words, to be shown before it is saved (English).

    "18 laps and 9 of 20 sections (18.45)"; "18 laps" when there is no part.
    """
    words = f"{count.laps} lap" if count.laps == 1 else f"{count.laps} laps"
    if count.sections == 0:
        return words
    words += f" and {count.sections} of {count.divisor} sections"
    if 100 % count.divisor == 0:
        words += f" ({format_laps(count, decimal_mark=decimal_mark)})"
    return words


# --- reading ---------------------------------------------------------------------------------------------

# Only the ten ASCII digits: \d would take digits of other scripts, which nobody types by intent here.
_WHOLE = re.compile(r"([0-9]+)(?: ?laps?)?")
_DECIMAL = re.compile(r"([0-9]*)([.,])([0-9]+)(?: ?laps?)?")
_MIXED = re.compile(r"([0-9]+)(?: ?laps?)?(?: ?\+ ?| and | )([0-9]+) ?/ ?([0-9]+)(?: ?laps?)?")
_LAPS_AND_SECTIONS = re.compile(
    r"([0-9]+) ?laps?,?(?: and)? ?([0-9]+)(?: of ([0-9]+))?(?: ?sections?)?|([0-9]+) ?/ ?([0-9]+)"
)
_NEGATIVE = re.compile(r"[-\u2212\u2013] ?[0-9.,]")


def parse_laps(
    text: str,
    *,
    divisor: int,
    method: LapMethod,
    is_last_lane: bool,
    decimal_mark: str = ".",
) -> LapCount:
    """The lap count that text writes, on a track of divisor sections a lap.

    18 is whole laps; 18.45 or 18,45 is laps and hundredths, taken only where it is a whole number of this
    track's sections; 18 + 9/20 (whose denominator is the track's), 18 laps 9 and 18/9 are laps and sections.
    A part is refused where the race's method does not read one: under whole laps and completed laps always,
    under the carried method before the driver's last lane.

    Either mark is read as the decimal mark, save that three digits after the other one (1,250 under ".") may
    mean thousands and are refused. Raises LapsError with code empty, negative, not_a_number, not_understood,
    ambiguous_mark, absurd, other_division, section_too_big, part_not_counted, part_before_last_lane,
    part_not_on_track (params nearest: the LapCounts below and above) or bad_divisor.
    """
    LapCount(0, 0, divisor)  # a bad divisor is our caller's fault, not the text's
    words = " ".join(text.split()).lower()
    laps, part = _read(words, divisor=divisor, decimal_mark=decimal_mark)
    if laps > MOST_LAPS:
        raise LapsError("absurd", f"{laps} laps is more than any race has seen.", laps=laps)
    if part:
        _refuse_unread_part(method, is_last_lane=is_last_lane)
    sections = part * divisor
    if sections.denominator != 1:
        raise _not_on_track(words, laps, part, divisor, decimal_mark)
    return LapCount(laps, int(sections), divisor)


def _read(words: str, *, divisor: int, decimal_mark: str) -> tuple[int, Fraction]:
    """Whole laps and part lap as written. The part is below one lap."""
    if not words:
        raise LapsError("empty", "Type the laps, 0 if there were none.")
    if len(words) > LONGEST_TEXT:
        raise LapsError("absurd", "That is too long to be a lap count.", length=len(words))
    if found := _WHOLE.fullmatch(words):
        return int(found[1]), Fraction(0)
    if found := _DECIMAL.fullmatch(words):
        if found[2] != decimal_mark and len(found[3]) > 2:
            raise LapsError(
                "ambiguous_mark",
                f"{words} could be thousands or a part lap. Write a part lap with {decimal_mark!r}.",
                text=words,
            )
        return int(found[1] or "0"), Fraction(int(found[3]), 10 ** len(found[3]))
    if found := _MIXED.fullmatch(words):
        return int(found[1]), _part(int(found[2]), int(found[3]), divisor)
    if found := _LAPS_AND_SECTIONS.fullmatch(words):
        laps, sections = (found[1], found[2]) if found[1] is not None else (found[4], found[5])
        written = divisor if found[3] is None else int(found[3])
        return int(laps), _part(int(sections), written, divisor)
    raise _not_read(words)


def _part(sections: int, written_divisor: int, divisor: int) -> Fraction:
    if written_divisor != divisor:
        raise LapsError(
            "other_division",
            f"This track divides a lap into {divisor} sections, not {written_divisor}.",
            written=written_divisor,
            divisor=divisor,
        )
    return LapCount(0, sections, divisor).as_fraction


def _not_read(words: str) -> LapsError:
    if _NEGATIVE.match(words):
        return LapsError("negative", "A lap count cannot be below zero.", text=words)
    if re.fullmatch(r"[+-]?(nan|inf|infinity|[0-9.,]+e[+-]?[0-9]+)", words):
        return LapsError("not_a_number", f"{words} is not a lap count.", text=words)
    return LapsError(
        "not_understood",
        f"{words} is not a lap count. Write 18, 18.45, 18 + 9/20, 18 laps 9 or 18/9.",
        text=words,
    )


def _refuse_unread_part(method: LapMethod, *, is_last_lane: bool) -> None:
    if method in {LapMethod.WHOLE_LAPS, LapMethod.COMPLETED}:
        raise LapsError(
            "part_not_counted",
            "This race counts whole laps only: leave the part lap out.",
            method=str(method),
        )
    if method is LapMethod.CARRIED and not is_last_lane:
        raise LapsError(
            "part_before_last_lane",
            "In this race the part lap is carried to the next lane and read once, after the driver's last "
            "lane: leave it out here.",
            method=str(method),
        )


def _not_on_track(words: str, laps: int, part: Fraction, divisor: int, decimal_mark: str) -> LapsError:
    below = int(part * divisor)
    nearest = tuple(LapCount.of_sections(laps * divisor + below + more, divisor) for more in (0, 1))
    names = " or ".join(format_laps(count, decimal_mark=decimal_mark) for count in nearest)
    return LapsError(
        "part_not_on_track",
        f"{words} is not a whole number of this track's {divisor} sections a lap. The nearest are {names}.",
        text=words,
        divisor=divisor,
        nearest=nearest,
    )


# --- adding ----------------------------------------------------------------------------------------------


def add_lanes(counts: Sequence[LapCount], *, method: LapMethod, divisor: int) -> LapCount:
    """A driver's total over the lanes, counts in the order they were driven; no lanes give zero.

    carried: whole laps of each lane plus the one part, which only the last lane may have. lane_by_lane: laps
    and parts of every lane. whole_laps, completed: no lane may have a part.
    Raises LapsError with code divisors_differ, part_not_counted or part_before_last_lane.
    """
    total = LapCount(0, 0, divisor)
    for count, is_last_lane in _with_last_flag(counts):
        if count.sections:
            _refuse_unread_part(method, is_last_lane=is_last_lane)
        total += count
    return total


def _with_last_flag(counts: Sequence[LapCount]) -> Iterator[tuple[LapCount, bool]]:
    yield from ((count, False) for count, _ in pairwise(counts))
    if counts:
        yield counts[-1], True
