"""The planner: of all combinations of parts on hand the best that fit, mesh and are legal.

Every combination is put in order first, by whole numbers that are cheap to make; then, from the best on, each is looked
at until enough are found. What is looked at is asked of the engines once for each set of parts that it depends on: the
mesh for each pinion and gear, the clearance for each gear and tire, the axle for each wheel, tire, spacers and widths
of a gear, and a clause for each set of values that it reads. What is left at the top is evaluated in full before it is
proposed, so that nothing is proposed that `evaluate` would not call good.

Order: what is wanted first (of combinations for which it cannot be told, last), then fewer changes from the bench as it
is, then the lower price (a part without a price counts as dearer than all that have one), then the order of candidates.
A lap is predicted with the weight of the bench as it is, so that only motor, gears and tires tell combinations apart.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import product
from math import lcm

from inspection.conformity.facts import Facts
from inspection.conformity.sheet import Sheet
from inspection.fit.findings import Finding, FitVerdict
from inspection.gearing.ratio import PI
from inspection.planning.candidates import (
    Candidates,
    Sort,
    SpacerSet,
    Wish,
    changes_from,
    check_size,
    spacer_changes,
)
from inspection.planning.checks import Checks
from inspection.planning.document import Bench, BenchPart
from inspection.planning.driving import USUAL, car_of, driving_of, lap_on, motor_of
from inspection.planning.errors import PlanningError
from inspection.planning.evaluation import Evaluation, evaluate
from inspection.planning.gears import gear_told
from inspection.planning.legality import ClauseAtHome
from inspection.planning.weighing import weigh_bench

Combination = tuple[int, ...]  # the number of the candidate at each place searched, and of the set of spacers


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """A combination that fits, meshes and is not illegal. price: of all that is chosen, None where some has none.

    lap_time_s: with the weight of the bench as it is, None where it cannot be predicted or is not what is wanted.
    """

    parts: Mapping[str, BenchPart]
    spacers: SpacerSet | None
    bench: Bench
    evaluation: Evaluation
    changes: int
    price: Fraction | None
    lap_time_s: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Failing:
    """One of the nearest that fail, with all that stands in its way.

    evaluation: None where no build can have these sizes; refusal then says why. broken: findings that are not met.
    """

    parts: Mapping[str, BenchPart]
    spacers: SpacerSet | None
    bench: Bench
    evaluation: Evaluation | None
    changes: int
    refusal: PlanningError | None = None

    @property
    def unfit(self) -> tuple[Finding, ...]:
        """Findings that are not met."""
        report = None if self.evaluation is None else self.evaluation.report
        found = () if report is None else report.findings
        return tuple(one for one in found if one.verdict is FitVerdict.DOES_NOT_FIT)

    @property
    def broken(self) -> tuple[ClauseAtHome, ...]:
        """Clauses that stand in its way."""
        legality = None if self.evaluation is None else self.evaluation.legality
        return () if legality is None else legality.broken


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """What comes of a search. looked_at: how many combinations were, before enough were found."""

    proposals: tuple[Proposal, ...]
    nearest_failing: tuple[Failing, ...]
    combinations: int
    looked_at: int


def plan(
    bench: Bench,
    candidates: Candidates,
    wish: Wish,
    *,
    sheet: Sheet | None = None,
    facts: Facts | None = None,
    counts_with: dict[str, str] | None = None,
) -> Plan:
    """The best combinations, and the nearest that fail.

    Raises PlanningError too_many, and impossible where the bench itself is.
    """
    check_size(candidates)
    order = Order(bench, candidates, wish)
    checks = Checks(bench, candidates, sheet=sheet, facts=facts, counts_with=counts_with)
    proposals: list[Proposal] = []
    failing: list[Failing] = []
    told: set[Combination] = set()  # parts that are told as failing, with whichever spacers come first
    looked_at = 0
    for combination in order:
        if len(proposals) >= wish.best:
            break
        looked_at += 1
        passes = checks.pass_all(combination)
        is_told = len(failing) >= wish.nearest or combination[:-1] in told
        if not passes and is_told:
            continue
        made = order.bench_of(combination)
        try:
            done = evaluate(made, sheet=sheet, facts=facts, counts_with=counts_with, cures=False)
        except PlanningError as refused:
            told.add(combination[:-1])
            failing.append(order.failing(combination, made, None, refused))
            continue
        if passes and done.is_good:
            proposals.append(order.proposal(combination, made, done))
        elif not is_told:
            told.add(combination[:-1])
            failing.append(order.failing(combination, made, done, None))
    return Plan(
        proposals=tuple(proposals),
        nearest_failing=tuple(failing),
        combinations=candidates.combinations,
        looked_at=looked_at,
    )


class Order:
    """All combinations from the best on, as whole numbers in one: rank, changes, price, place among the candidates."""

    def __init__(self, bench: Bench, candidates: Candidates, wish: Wish) -> None:
        self.bench, self.wish = bench, wish
        self.places = candidates.places
        self.parts = [candidates.parts[place] for place in self.places]
        self.sets = candidates.spacer_sets
        self.counts = [len(parts) for parts in self.parts] + [max(1, len(self.sets))]
        self.changes = [
            [changes_from(bench, place, part) for part in parts]
            for place, parts in zip(self.places, self.parts, strict=True)
        ]
        self.changes.append([spacer_changes(bench, one) for one in self.sets] or [0])
        self.prices = [[part.price for part in parts] for parts in self.parts]
        self.prices.append([_price_of(one) for one in self.sets] or [Fraction(0)])
        self.laps: dict[Combination, float | None] = {}

    def __iter__(self) -> Iterator[Combination]:
        total = 1
        for count in self.counts:
            total *= count
        for key in sorted(self._keys(total)):
            left, combination = key % total, []
            for count in reversed(self.counts):
                left, number = divmod(left, count)
                combination.append(number)
            yield tuple(reversed(combination))

    def bench_of(self, combination: Combination) -> Bench:
        """The bench with the parts of a combination."""
        chosen = self.chosen(combination)
        one_set = self.spacers(combination)
        return self.bench.with_parts(chosen, None if one_set is None else one_set.spacers)

    def chosen(self, combination: Combination) -> dict[str, BenchPart]:
        numbers = zip(self.places, self.parts, combination, strict=False)
        return {place: parts[number] for place, parts, number in numbers}

    def spacers(self, combination: Combination) -> SpacerSet | None:
        return self.sets[combination[-1]] if self.sets else None

    def proposal(self, combination: Combination, made: Bench, done: Evaluation) -> Proposal:
        prices = [one[number] for one, number in zip(self.prices, combination, strict=True)]
        known = [price for price in prices if price is not None]
        return Proposal(
            parts=self.chosen(combination),
            spacers=self.spacers(combination),
            bench=made,
            evaluation=done,
            changes=self.changes_of(combination),
            price=sum(known, Fraction(0)) if len(known) == len(prices) else None,
            lap_time_s=self.laps.get(self._that_count(combination)),
        )

    def failing(
        self, combination: Combination, made: Bench, done: Evaluation | None, refused: PlanningError | None
    ) -> Failing:
        return Failing(
            parts=self.chosen(combination),
            spacers=self.spacers(combination),
            bench=made,
            evaluation=done,
            changes=self.changes_of(combination),
            refusal=refused,
        )

    def changes_of(self, combination: Combination) -> int:
        return sum(one[number] for one, number in zip(self.changes, combination, strict=True))

    # ---- keys ----------------------------------------------------------------------------------------------------

    def _keys(self, total: int) -> list[int]:
        """One whole number for each combination; the smaller the better."""
        prices = self._price_numbers()
        price_span = sum(max(one) for one in prices) + 1
        change_span = sum(max(one) for one in self.changes) + 1
        rank = self._ranks()
        changes_first = self.wish.sort is not Sort.PRICE
        # What does not depend on more than one place is added up on the way; a rank is looked up.
        keys = [0]
        for number, count in enumerate(self.counts):
            worth = [
                self._worth(self.changes[number][one], prices[number][one], change_span, price_span, changes_first)
                for one in range(count)
            ]
            step = [one * total for one in worth]
            keys = [key + more for key in keys for more in step]
        span = change_span * price_span * total
        if rank is not None:
            keys = [key + place * span for key, place in zip(keys, rank, strict=True)]
        return [key + number for number, key in enumerate(keys)]

    @staticmethod
    def _worth(changes: int, price: int, change_span: int, price_span: int, changes_first: bool) -> int:
        return changes * price_span + price if changes_first else price * change_span + changes

    def _price_numbers(self) -> list[list[int]]:
        """Prices in one smallest share of money; what has none is dearer than all that has one together."""
        known = [price for one in self.prices for price in one if price is not None]
        unit = lcm(*(price.denominator for price in known)) if known else 1
        dearest = sum(max((price or Fraction(0) for price in one), default=Fraction(0)) for one in self.prices)
        without = int(dearest * unit) + 1
        return [[without if price is None else int(price * unit) for price in one] for one in self.prices]

    def _ranks(self) -> list[int] | None:
        """The place of each combination by what is wanted, in the order of the product; None where nothing more is."""
        if self.wish.sort not in {Sort.ROLLOUT, Sort.LAP_TIME}:
            return None
        counting = [place in self._counting for place in self.places] + [False]
        ranges = [range(count) if counts else (0,) for count, counts in zip(self.counts, counting, strict=True)]
        value = self._off_rollout if self.wish.sort is Sort.ROLLOUT else self._lap
        self._prepare_laps()
        values = {combination: value(combination) for combination in product(*ranges)}
        known = sorted({one for one in values.values() if one is not None})
        rank = {one: number for number, one in enumerate(known)}
        ranks = {combination: len(known) if one is None else rank[one] for combination, one in values.items()}
        return _spread(ranks, self.counts, counting)

    @property
    def _counting(self) -> Sequence[str]:
        """The places whose parts decide about what is wanted."""
        if self.wish.sort is Sort.ROLLOUT:
            return ("pinion", "driven_gear", "rear_tires")
        return ("motor", "pinion", "driven_gear", "rear_tires") if self.wish.sort is Sort.LAP_TIME else ()

    def _that_count(self, combination: Combination) -> Combination:
        kept = [
            number if place in self._counting else 0 for place, number in zip(self.places, combination, strict=False)
        ]
        return (*kept, 0)

    def _part(self, place: str, combination: Combination) -> BenchPart | None:
        if place in self.places:
            number = self.places.index(place)
            return self.parts[number][combination[number]]
        return self.bench.parts.get(place)

    def _ratio(self, combination: Combination) -> Fraction | None:
        pinion, driven = (self._part(place, combination) for place in ("pinion", "driven_gear"))
        one, other = (None if part is None else gear_told(part.sizes, "on_hand") for part in (pinion, driven))
        return Fraction(other.teeth, one.teeth) if one and other and one.teeth and other.teeth else None

    def _off_rollout(self, combination: Combination) -> Fraction | None:
        """How far the rollout is from the one wanted, exact."""
        ratio, tire = self._ratio(combination), self._part("rear_tires", combination)
        diameter = None if tire is None else tire.sizes.base("diameter")
        if ratio is None or diameter is None or self.wish.rollout is None:
            return None
        return abs(PI * diameter / ratio - self.wish.rollout)

    def _prepare_laps(self) -> None:
        self.lane = None
        if self.wish.sort is not Sort.LAP_TIME:
            return
        mass = weigh_bench(self.bench, None).mass
        driving = driving_of(self.bench, mass)
        lanes = [lane for told, lane in driving.lanes if self.wish.lane in {None, told.number}]
        self.lane, self.mass = (lanes[0] if lanes else None), mass
        self.voltage = self.bench.track.values.get("voltage_v")
        self.values = {name: self.bench.driving.get(name, usual) for name, usual in USUAL.items()}

    def _lap(self, combination: Combination) -> float | None:
        """Seconds of the predicted lap."""
        ratio, tire = self._ratio(combination), self._part("rear_tires", combination)
        diameter = None if tire is None else tire.sizes.base("diameter")
        lap = None
        if self.lane and self.mass is not None and self.voltage is not None and diameter and ratio is not None:
            motor = motor_of(self._part("motor", combination))
            if motor is not None:
                car = car_of(motor, tire=diameter, voltage=self.voltage, mass=self.mass, values=self.values)
                lap = lap_on(car, ratio, self.lane)
        time = None if lap is None else lap.time_s
        self.laps[combination] = time
        return time


def _spread(ranks: Mapping[Combination, int], counts: Sequence[int], counting: Sequence[bool]) -> list[int]:
    """Ranks of the places that count, for every combination of all places, in the order of the product."""
    found = list(ranks.values())  # in the order of the product of what counts
    for number in reversed(range(len(counts))):
        if counting[number] or counts[number] == 1:
            continue
        # a place that does not count repeats whatever follows it
        after = 1
        for later in range(number + 1, len(counts)):
            after *= counts[later]
        found = [
            rank
            for begin in range(0, len(found), after)
            for _ in range(counts[number])
            for rank in found[begin : begin + after]
        ]
    return found


def _price_of(spacers: SpacerSet) -> Fraction | None:
    """Of all spacers; those of no part cost nothing."""
    prices = [one.price if one.key else Fraction(0) for way in spacers.spacers.values() for one in way]
    known = [price for price in prices if price is not None]
    return sum(known, Fraction(0)) if len(known) == len(prices) else None
