"""What a planner may choose from: parts on hand by place, sets of spacers that the stock allows, and what is wanted."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from fractions import Fraction
from itertools import combinations_with_replacement, product
from math import prod
from typing import Final

from inspection.planning.document import Bench, BenchPart, Spacer
from inspection.planning.errors import PlanningCode, PlanningError
from inspection.planning.register import PLACES, PartKind
from inspection.planning.told import Reader
from inspection.units import Kind

# The places that are searched, in the order in which ties are broken.
SEARCHED: Final = ("motor", "pinion", "driven_gear", "rear_tires", "rear_wheels", "guide")
REAR_SPACERS: Final = ("rear_left_inner", "rear_left_outer", "rear_right_inner", "rear_right_outer")
MOST_COMBINATIONS: Final = 2_000_000
BEST: Final = 50
NEAREST: Final = 10


class Sort(StrEnum):
    """What the best is."""

    ROLLOUT = "rollout"
    LAP_TIME = "lap_time"
    PRICE = "price"
    FEWEST_CHANGES = "fewest_changes"


SORTS: Final[Mapping[Sort, str]] = {
    Sort.ROLLOUT: "Nearest to the rollout wanted",
    Sort.LAP_TIME: "Quickest by prediction",
    Sort.PRICE: "Cheapest",
    Sort.FEWEST_CHANGES: "Fewest changes",
}


@dataclass(frozen=True, slots=True)
class Wish:
    """What is wanted. rollout: in mm, for that sort alone. lane: number of the lane to predict, None for the first.

    best: how many are wanted. nearest: how many of the nearest that fail are told.
    """

    sort: Sort = Sort.FEWEST_CHANGES
    rollout: Fraction | None = None
    lane: int | None = None
    best: int = BEST
    nearest: int = NEAREST

    def __post_init__(self) -> None:
        if self.sort is Sort.ROLLOUT and self.rollout is None:
            raise PlanningError(PlanningCode.NOTHING_WANTED, path="wanted.rollout")


def read_wish(bench: Bench) -> Wish:
    """The wish of a document: {"sort", "rollout", "lane", "best"}. A rollout alone is what is sorted by.

    Raises PlanningError.
    """
    reader = Reader()
    given = reader.object(bench.wanted, "wanted", ("sort", "rollout", "lane", "best"))
    rollout = reader.base(given.get("rollout"), "wanted.rollout", Kind.LENGTH)
    word = reader.text(given.get("sort"), "wanted.sort")
    if not word:
        word = Sort.FEWEST_CHANGES if rollout is None else Sort.ROLLOUT
    if word not in set(Sort):
        raise PlanningError(PlanningCode.NOT_ONE_OF, path="wanted.sort", known=", ".join(Sort))
    lane = reader.whole(given.get("lane"), "wanted.lane", 0) or None
    return Wish(Sort(word), rollout, lane, min(BEST, reader.whole(given.get("best"), "wanted.best", BEST)))


@dataclass(frozen=True, slots=True)
class SpacerSet:
    """Spacers of the rear axle, at every place of it."""

    spacers: Mapping[str, tuple[Spacer, ...]]

    @property
    def keys(self) -> dict[str, tuple[str, ...]]:
        """By place, what lies there."""
        return {place: tuple(_key(one) for one in self.spacers.get(place, ())) for place in REAR_SPACERS}


@dataclass(frozen=True, slots=True)
class Candidates:
    """By place the parts that may go there; no place has none but those that stay as they are. Sets of spacers."""

    parts: Mapping[str, tuple[BenchPart, ...]] = field(default_factory=dict)
    spacer_sets: tuple[SpacerSet, ...] = ()

    @property
    def places(self) -> tuple[str, ...]:
        return tuple(place for place in SEARCHED if self.parts.get(place))

    @property
    def combinations(self) -> int:
        return prod(len(self.parts[place]) for place in self.places) * max(1, len(self.spacer_sets))


def candidates_of(bench: Bench, *, most_spacers: int = 1) -> Candidates:
    """The parts on hand at the places where they go, what the bench has there first; parts out of stock are left out.

    most_spacers: pieces at one place of the axle. A part that stands there twice is taken once.
    """
    parts: dict[str, tuple[BenchPart, ...]] = {}
    for place in SEARCHED:
        now = bench.parts.get(place)
        found = {} if now is None else {now.key: now}
        for part in bench.on_hand:
            if part.kind in PLACES[place] and part.stock:
                found.setdefault(part.key, part)
        if found:
            parts[place] = tuple(found.values())
    return Candidates(parts, spacer_sets_of(bench, most_each=most_spacers))


def spacer_sets_of(bench: Bench, *, most_each: int) -> tuple[SpacerSet, ...]:
    """The spacers as they are, and every other way to lay those of the stock: two of a kind need a stock of two.

    Spacers outside of a wheel's gear do what those inside do where there is no gear, so only its side has them.
    """
    present = SpacerSet({place: bench.spacers.get(place, ()) for place in REAR_SPACERS})
    pool = {part.key: part for part in bench.on_hand if part.kind is PartKind.SPACER and part.stock}
    sizes = {key: part.sizes.size("thickness") for key, part in pool.items()}
    pieces = [
        Spacer(thickness=size, key=key, name=pool[key].name, price=pool[key].price)
        for key, size in sizes.items()
        if size is not None
    ]
    if not pieces:
        return (present,)
    ways = [way for count in range(most_each + 1) for way in combinations_with_replacement(pieces, count)]
    side = bench.chassis.word("gear_side") or "right"
    idle = "rear_left_outer" if side == "right" else "rear_right_outer"
    places = [place for place in REAR_SPACERS if place != idle]
    found = {tuple(sorted(present.keys.items())): present}
    for laid in product(ways, repeat=len(places)):
        counted = Counter(one.key for way in laid for one in way)
        if any(count > pool[key].stock for key, count in counted.items()):
            continue
        one_set = SpacerSet({idle: (), **dict(zip(places, laid, strict=True))})
        found.setdefault(tuple(sorted(one_set.keys.items())), one_set)
    return tuple(found.values())


def check_size(candidates: Candidates) -> None:
    """Raises PlanningError too_many."""
    if candidates.combinations > MOST_COMBINATIONS:
        raise PlanningError(PlanningCode.TOO_MANY, path="on_hand", most=f"{MOST_COMBINATIONS} combinations")


def changes_from(bench: Bench, place: str, part: BenchPart) -> int:
    """1 where another part stands there now."""
    now = bench.parts.get(place)
    return int(now is None or now.key != part.key)


def spacer_changes(bench: Bench, chosen: SpacerSet) -> int:
    """At how many places of the axle other spacers lie now."""
    now = SpacerSet({place: bench.spacers.get(place, ()) for place in REAR_SPACERS}).keys
    return sum(now[place] != keys for place, keys in chosen.keys.items())


def _key(spacer: Spacer) -> str:
    return spacer.key or str(spacer.thickness.value)
