"""How long a night's verdicts take, as ratios against a floor in the same run, and whether they are exact.

Run by hand: python tests/benchmarks/verdicts.py [--cases 1000000] [--repeats 7]. No test reads a clock.

60 cars by 40 clauses, from stored text ("63.4 mm", limit "65.00 mm", variance "17/120000") to results with margins and
reasons. The floor is the least that could be called a decision: the number of each text as a fraction, compared with
limits that were read once. Each repeat has new readings, so that nothing is remembered from the one before.
"""

import argparse
import gc
import random
import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from time import process_time
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from inspection.conformity.assess import (
    BENEFIT_OF_DOUBT,
    CERTAIN_PASS,
    SIMPLE_ACCEPTANCE,
    Assessment,
    DecisionRule,
    Limits,
    Measurement,
    Reason,
    RuleStyle,
    Side,
    Zone,
    assess,
    make_limits,
)
from inspection.conformity.clauses import Clause, Comparator
from inspection.conformity.observations import Reading, measured
from inspection.conformity.sheet import Sheet, judge_sheet
from inspection.conformity.subjects import CharacteristicKind, Subject
from inspection.units import Kind, parse_quantity, read_exact, write_exact

CARS, CLAUSES = 60, 40
RULES = (SIMPLE_ACCEPTANCE, BENEFIT_OF_DOUBT, CERTAIN_PASS)
# Written apart from inspection/units.py: the base value of one of each unit.
FACTORS = {
    "mm": Fraction(1), "cm": Fraction(10), "in": Fraction("25.4"), "thou": Fraction("0.0254"),
    "g": Fraction(1), "oz": Fraction("28.349523125"), "lb": Fraction("453.59237"),
    "°": Fraction(1), "rpm": Fraction(1), "": Fraction(1),
}  # fmt: skip
UNITS_BY_KIND = {
    Kind.LENGTH: ("mm", "cm", "in", "thou"),
    Kind.MASS: ("g", "oz", "lb"),
    Kind.ANGLE: ("°",),
    Kind.ROTATION_SPEED: ("rpm",),
    Kind.COUNT: ("",),
}


@dataclass(frozen=True, slots=True)
class StoredClause:
    """A clause as it is stored: limits as written, or ""."""

    kind: Kind
    lower: str
    upper: str
    unit: str
    places: int
    rule: DecisionRule
    variance: str


def write_number(number: int, places: int, unit: str) -> str:
    digits = str(number).rjust(places + 1, "0")
    text = f"{digits[:-places]}.{digits[-places:]}" if places else digits
    return f"{text} {unit}".rstrip()


def a_sheet(chance: random.Random) -> list[StoredClause]:
    """40 clauses as clubs mix them: mostly lengths, some in inches; weights, counts, angles, rotation speed."""
    mixture = [
        *[(Kind.LENGTH, "mm", 2)] * 20, *[(Kind.LENGTH, "in", 3)] * 8, *[(Kind.MASS, "g", 1)] * 6,
        *[(Kind.COUNT, "", 0)] * 3, *[(Kind.ANGLE, "°", 1)] * 2, (Kind.ROTATION_SPEED, "rpm", 0),
    ]  # fmt: skip
    sheet = []
    for kind, unit, places in mixture:
        low = chance.randrange(100, 9000)
        ends = write_number(low, places, unit), write_number(low + chance.randrange(1, 200), places, unit)
        which = chance.randrange(3)
        variance = Fraction(0) if kind is Kind.COUNT else Fraction(chance.randrange(1, 99), chance.randrange(1, 10**6))
        sheet.append(
            StoredClause(
                kind=kind,
                lower="" if which == 0 else ends[0],
                upper="" if which == 1 else ends[1],
                unit=unit,
                places=places,
                rule=RULES[chance.randrange(3)],
                variance=write_exact(variance),
            )
        )
    return sheet


def some_readings(sheet: Sequence[StoredClause], chance: random.Random) -> list[list[str]]:
    """A reading a clause for each car, near its limit."""
    cars = []
    for _ in range(CARS):
        readings = []
        for clause in sheet:
            near = Fraction((clause.upper or clause.lower).partition(" ")[0])
            number = max(0, int(near * 10**clause.places) + chance.randrange(-150, 150))
            readings.append(write_number(number, clause.places, clause.unit))
        cars.append(readings)
    return cars


Result = tuple[Zone, bool, bool, Fraction, tuple[Reason, ...]]


def judge_by_engine(sheet: Sequence[StoredClause], cars: Sequence[Sequence[str]]) -> list[Result]:
    prepared = [(clause.kind, limits_of(clause), clause.rule, clause.variance) for clause in sheet]
    results = []
    for readings in cars:
        for (kind, limits, rule, variance), text in zip(prepared, readings, strict=True):
            reading = parse_quantity(text, kind, default_unit=None)
            found = assess(Measurement(kind=kind, value=reading.base, variance=read_exact(variance)), limits, rule)
            results.append((found.zone, found.clears, found.too_close, found.margin, found.reasons))
    return results


def sheet_of(stored: Sequence[StoredClause]) -> Sheet:
    """The same clauses as a whole sheet, from their text."""
    clauses = []
    for place, clause in enumerate(stored):
        limits = limits_of(clause)
        both = Comparator.BETWEEN if clause.lower and clause.upper else None
        clauses.append(
            Clause(
                number=str(place + 1),
                text="A limit.",
                characteristic=f"size {place}",
                code=f"size-{place}",
                kind=CharacteristicKind(clause.kind.value),
                measuring_point="There.",
                comparator=both or (Comparator.AT_LEAST if clause.lower else Comparator.AT_MOST),
                lower=limits.lower_written,
                upper=limits.upper_written,
                decision=clause.rule,
            )
        )
    register = {clause.code: Subject(code=clause.code, name=clause.code, kind=clause.kind) for clause in clauses}
    return Sheet(clauses=tuple(clauses), register=register)


def judge_by_sheet(stored: Sequence[StoredClause], cars: Sequence[Sequence[str]]) -> list[Result]:
    """As the pages do: the sheet with its clauses, then for each car what was found on it, and the whole sheet."""
    sheet = sheet_of(stored)
    asked = [(clause.code, plain.kind, plain.variance) for clause, plain in zip(sheet.clauses, stored, strict=True)]
    results = []
    for readings in cars:
        found = {}
        for (code, kind, variance), text in zip(asked, readings, strict=True):
            reading = parse_quantity(text, kind, default_unit=None)
            found[code] = measured(Reading(kind, reading.base, read_exact(variance)))
        for result in judge_sheet(sheet, found):
            why = result.assessment
            results.append((why.zone, result.clears, result.too_close, why.margin, why.reasons))
    return results


def limits_of(clause: StoredClause) -> Limits:
    lower, upper = (
        parse_quantity(text, clause.kind, default_unit=None) if text else None for text in (clause.lower, clause.upper)
    )
    return make_limits(lower=lower, upper=upper)


def compare_bare(sheet: Sequence[StoredClause], cars: Sequence[Sequence[str]]) -> list[bool]:
    """The floor: pass or not, in the unit that is printed, with nothing else known."""
    prepared = [
        tuple(Fraction(text.partition(" ")[0]) if text else None for text in (clause.lower, clause.upper))
        for clause in sheet
    ]
    results = []
    for readings in cars:
        for (lower, upper), text in zip(prepared, readings, strict=True):
            value = Fraction(text.partition(" ")[0])
            results.append((lower is None or value >= lower) and (upper is None or value <= upper))
    return results


def compare_quantities(
    make: Callable[[str], Any], sheet: Sequence[StoredClause], cars: Sequence[Sequence[str]]
) -> list[bool]:
    """A quantity object for the reading and one for each limit, a rule at a time."""
    spelled = {"°": "degree"}
    results = []
    for readings in cars:
        for clause, text in zip(sheet, readings, strict=True):
            unit = spelled.get(clause.unit, clause.unit)
            value = make(text.replace(clause.unit, unit) if clause.unit else text)
            lower, upper = (
                make(limit.replace(clause.unit, unit) if clause.unit else limit) if limit else None
                for limit in (clause.lower, clause.upper)
            )
            results.append((lower is None or value >= lower) and (upper is None or value <= upper))
    return results


def timed(work: Callable[[], list[Any]]) -> tuple[float, list[Any]]:
    """Processor time, as timeit takes it: nothing is collected meanwhile."""
    gc.collect()
    gc.disable()
    started = process_time()
    result = work()
    took = process_time() - started
    gc.enable()
    return took, result


def print_ratios(repeats: int) -> None:
    import pint  # noqa: PLC0415 - a dev dependency that takes long to load, needed here only

    make = pint.UnitRegistry(non_int_type=Decimal).Quantity
    chance = random.Random(3)
    sheet = a_sheet(chance)
    few = 4  # cars for the quantity objects: they take a second a car
    whole, engine, bare, quantities = [], [], [], []
    for _ in range(repeats):
        cars = some_readings(sheet, chance)
        took, results = timed(lambda cars=cars: judge_by_engine(sheet, cars))
        engine.append(took)
        took, by_sheet = timed(lambda cars=cars: judge_by_sheet(sheet, cars))
        whole.append(took)
        took, passes = timed(lambda cars=cars: compare_bare(sheet, cars))
        bare.append(took)
        took, same = timed(lambda cars=cars: compare_quantities(make, sheet, cars[:few]))
        quantities.append(took * CARS / few)
        simple = [margin >= 0 for _, _, _, margin, _ in results]
        if simple != passes or simple[: len(same)] != same or results != by_sheet:
            raise SystemExit("The ways disagree.")
    one = 1e6 / (CARS * CLAUSES)
    say(f"{CARS} cars x {CLAUSES} clauses from stored text, the quickest of {repeats} runs, microseconds a clause:")
    say(f"  bare parse and compare, fractions             {min(bare) * one:8.2f}")
    say(f"  one reading at a time, margins and reasons    {min(engine) * one:8.2f}")
    say(f"  whole sheets, margins and reasons             {min(whole) * one:8.2f}")
    say(f"  a quantity object a value (pint)              {min(quantities) * one:8.2f}")
    say(f"one reading at a time / bare   {min(engine) / min(bare):6.2f}   (at most 3)")
    say(f"whole sheets / bare            {min(whole) / min(bare):6.2f}   (at most 3)")
    say(f"quantities / whole sheets      {min(quantities) / min(whole):6.1f}   (at least 30)")


# ---- exactness ------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Case:
    kind: Kind
    reading: str
    lower: str
    upper: str
    variance: Fraction
    rule: DecisionRule


def cases(count: int, seed: int) -> Iterator[Case]:
    """Random readings, and as many that lie on a limit, a last digit beside it, or on an edge of its guard band."""
    chance = random.Random(seed)
    kinds = tuple(UNITS_BY_KIND)
    for _ in range(count):
        kind = chance.choice(kinds)
        places = 0 if kind is Kind.COUNT else chance.randrange(5)
        unit = chance.choice(UNITS_BY_KIND[kind])
        limit_unit = chance.choice(UNITS_BY_KIND[kind])
        low = chance.randrange(0, 10**5)
        width = chance.choice((0, chance.randrange(0, 10**4)))
        rule = chance.choice(RULES)
        root = chance.randrange(0, 50)  # of the variance: whole steps, so that readings meet the edges exactly
        near = chance.randrange(6)
        if near < 3:
            number = chance.randrange(0, 10**5)
        elif near == 3:
            number = max(0, chance.choice((low, low + width)) + chance.randrange(-1, 2))
            unit = limit_unit
        else:
            factor = rule.coverage_factor if rule.style is RuleStyle.SIMPLE_ACCEPTANCE else rule.guard_factor
            root *= 20  # times 1.65 it is whole
            edge = int(factor * root) * chance.choice((-1, 1))
            number = max(0, chance.choice((low, low + width)) + edge + chance.randrange(-1, 2))
            unit = limit_unit
        which = chance.randrange(3)
        yield Case(
            kind=kind,
            reading=write_number(number, places, unit),
            lower="" if which == 0 else write_number(low, places, limit_unit),
            upper="" if which == 1 else write_number(low + width, places, limit_unit),
            variance=(Fraction(root, 10**places) * FACTORS[limit_unit]) ** 2,
            rule=rule,
        )


def exact(text: str) -> Fraction:
    number, _, unit = text.partition(" ")
    return Fraction(number) * FACTORS[unit]


def plain_result(case: Case) -> Result:
    """The definitions with plain fractions, each limit by itself; written apart from the engine.

    A maximum T: conforming y <= T - w, nonconforming y > T + w, else indeterminate; a minimum mirrored.
    """
    value = exact(case.reading)
    inside = []
    if case.lower:
        inside.append((value - exact(case.lower), Reason.BELOW_LOWER))
    if case.upper:
        inside.append((exact(case.upper) - value, Reason.ABOVE_UPPER))
    margin, beyond = min(inside, key=lambda pair: pair[0])
    simple = case.rule.style is RuleStyle.SIMPLE_ACCEPTANCE
    guard_squared = Fraction(0) if simple else case.rule.guard_factor**2 * case.variance
    zones = []
    for distance, _ in inside:
        if distance >= 0 and distance**2 >= guard_squared:
            zones.append(Zone.CONFORMING)
        elif distance < 0 and distance**2 > guard_squared:
            zones.append(Zone.NONCONFORMING)
        else:
            zones.append(Zone.INDETERMINATE)
    zone = Zone.CONFORMING
    for worse in (Zone.INDETERMINATE, Zone.NONCONFORMING):
        zone = worse if worse in zones else zone
    doubtful = zone is Zone.INDETERMINATE
    clears = zone is Zone.CONFORMING or (doubtful and case.rule.style is RuleStyle.BENEFIT_OF_DOUBT)
    within = simple and case.variance > 0 and margin**2 <= case.rule.coverage_factor**2 * case.variance
    reasons = [Reason.WITHIN_LIMITS if margin > 0 else Reason.ON_THE_LIMIT if margin == 0 else beyond]
    if doubtful:
        reasons += [Reason.WITHIN_GUARD_BAND, Reason.DOUBT_CLEARS if clears else Reason.DOUBT_DOES_NOT_CLEAR]
    elif within:
        reasons.append(Reason.WITHIN_DOUBT)
    elif case.variance == 0 and case.kind is not Kind.COUNT:
        reasons.append(Reason.DOUBT_UNKNOWN)
    return zone, clears, doubtful or within, margin, tuple(reasons)


def engine_result(case: Case) -> Assessment:
    lower, upper = (
        parse_quantity(text, case.kind, default_unit=None) if text else None for text in (case.lower, case.upper)
    )
    reading = parse_quantity(case.reading, case.kind, default_unit=None)
    variance = read_exact(write_exact(case.variance))
    measurement = Measurement(kind=case.kind, value=reading.base, variance=variance)
    return assess(measurement, make_limits(lower=lower, upper=upper), case.rule)


def disagreements(count: int, seed: int) -> Iterator[Case]:
    """The cases in which the engine and plain fractions differ in anything."""
    for case in cases(count, seed):
        found = engine_result(case)
        side = Side.LOWER if found.nearest is Side.LOWER else Side.UPPER
        result = (found.zone, found.clears, found.too_close, found.margin, found.reasons)
        if result != plain_result(case) or not (case.lower if side is Side.LOWER else case.upper):
            yield case


def print_agreement(count: int) -> None:
    differing = list(disagreements(count, seed=1))
    say(f"{count} random and at-the-limit readings against plain fractions: {len(differing)} differ")
    if differing:
        raise SystemExit(f"The first: {differing[0]}")


def say(line: str) -> None:
    sys.stdout.write(f"{line}\n")


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cases", type=int, default=1_000_000)
    parser.add_argument("--repeats", type=int, default=7)
    chosen = parser.parse_args()
    print_ratios(chosen.repeats)
    print_agreement(chosen.cases)
