"""Legality at home: the build's own sizes judged by the rules of the class, as the tech desk will judge what it finds.

What is worked out from sizes is taken without doubt of a gauge; a clause that rests on something else is named as not
known before measuring. Two things are known from one side only: a car is at least as wide as its widest tires, and it
stands no higher over the track than its lowest known point. They can show that a clause fails, never that it passes.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Final

from inspection.conformity.assess import Reason
from inspection.conformity.clauses import Clause
from inspection.conformity.errors import RuleError
from inspection.conformity.facts import Facts
from inspection.conformity.inputs import inputs_of, with_parts
from inspection.conformity.observations import Observation, Reading, measured, named, said
from inspection.conformity.parse import parse_size
from inspection.conformity.results import ClauseResult
from inspection.conformity.sheet import Sheet, judge_one, judge_sheet
from inspection.conformity.subjects import CharacteristicKind, Register
from inspection.conformity.verdicts import Outcome
from inspection.fit.axle import lines_of
from inspection.fit.findings import FitCode, FitReport, Place
from inspection.fit.parts import Build, Targets
from inspection.fit.sizes import Stack
from inspection.planning.document import Bench
from inspection.units import Kind

# Clearances over the track: whether a gear counts is the clause's own word.
CLEARANCES: Final = ("ground-clearance", "rear-clearance")
_LOW: Final = (FitCode.UNDER_MOTOR, FitCode.UNDER_CHASSIS)
_YES: Final = frozenset({"yes", "true", "y"})
_NO: Final = frozenset({"no", "false", "n"})
# Sizes of parts that are a characteristic as they are: its code, the place, the size, its kind.
OF_PARTS: Final = (
    ("rear-tire-diameter", "rear_tires", "diameter", Kind.LENGTH),
    ("rear-tire-width", "rear_tires", "width", Kind.LENGTH),
    ("front-tire-diameter", "front_tires", "diameter", Kind.LENGTH),
    ("front-tire-width", "front_tires", "width", Kind.LENGTH),
    ("rear-rim-diameter", "rear_wheels", "rim_diameter", Kind.LENGTH),
    ("front-rim-diameter", "front_wheels", "rim_diameter", Kind.LENGTH),
    ("axle-diameter", "rear_axle", "diameter", Kind.LENGTH),
    ("pinion-teeth", "pinion", "teeth", Kind.COUNT),
    ("driven-gear-teeth", "driven_gear", "teeth", Kind.COUNT),
    ("pinion-outside-diameter", "pinion", "outside_diameter", Kind.LENGTH),
    ("driven-gear-outside-diameter", "driven_gear", "outside_diameter", Kind.LENGTH),
    ("guide-blade-length", "guide", "blade_length", Kind.LENGTH),
    ("guide-blade-depth", "guide", "blade_depth", Kind.LENGTH),
    ("guide-shaft-diameter", "guide", "shaft_diameter", Kind.LENGTH),
    ("body-weight", "body", "mass", Kind.MASS),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """What is known of a build by the codes of characteristics.

    worked_out: what follows from its sizes. least, most: known from one side, in the base unit. without_gears: the
    clearances of a clause that does not count gears.
    """

    observations: Mapping[str, Observation]
    worked_out: frozenset[str] = frozenset()
    least: Mapping[str, Fraction] = field(default_factory=dict)
    most: Mapping[str, Fraction] = field(default_factory=dict)
    without_gears: Mapping[str, Observation] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class ClauseAtHome:
    """One clause on the build. margin: what is left to the nearest limit, exact, in the base unit; None without.

    unknown: codes of what must be measured or declared first. counts_gears: of a clearance, by the clause's own word:
    True, False, or None where it does not say and the gear is counted to be safe. Not a clearance: None, too.
    """

    result: ClauseResult
    margin: Fraction | None
    unknown: tuple[str, ...]
    is_clearance: bool = False
    counts_gears: bool | None = None

    @property
    def clause(self) -> Clause:
        return self.result.clause

    @property
    def outcome(self) -> Outcome:
        return self.result.outcome

    @property
    def is_broken(self) -> bool:
        """Does the clause stand in the way of this build, whatever else is found?"""
        return self.outcome is Outcome.FAIL or (self.outcome is Outcome.TOO_CLOSE and not self.result.clears)


@dataclass(frozen=True, slots=True, kw_only=True)
class Legality:
    """All clauses that are checked, in the order of the sheet."""

    clauses: tuple[ClauseAtHome, ...]

    @property
    def broken(self) -> tuple[ClauseAtHome, ...]:
        return tuple(one for one in self.clauses if one.is_broken)

    @property
    def is_legal(self) -> bool:
        """Does no clause stand in its way, as far as is known? What is not known is in `unknown`."""
        return not self.broken

    @property
    def unknown(self) -> tuple[str, ...]:
        """Codes of what must be measured or declared, each once."""
        return tuple(dict.fromkeys(code for one in self.clauses for code in one.unknown))


def found_of(
    bench: Bench,
    register: Register,
    *,
    build: Build | None,
    report: FitReport | None,
    mass: Fraction | None = None,
    targets: Targets | None = None,
) -> Found:
    """What is known of a build. mass: of the whole car in g, where all of it is known.

    What is declared stands over what is worked out: somebody has measured it.
    """
    gear, rest = clearances(build, report)
    return gather(
        bench,
        register,
        widths={} if build is None else _widths(build, targets or bench.targets),
        gear_low=None if gear is None else gear.value,
        rest_low=tuple(stack.value for stack in rest),
        mass=mass,
    )


def gather(
    bench: Bench,
    register: Register,
    *,
    widths: Mapping[str, Fraction],
    gear_low: Fraction | None,
    rest_low: tuple[Fraction, ...],
    mass: Fraction | None,
) -> Found:
    """The same from what was worked out already: widths over tires by their code, heights over the track in mm."""
    known = _from_parts(bench)
    if mass is not None:
        known["weight-ready-to-race"] = _reading(Kind.MASS, mass)
    known |= {code: _reading(Kind.LENGTH, width) for code, width in widths.items()}
    least = {"overall-width": max(widths.values())} if widths else {}
    most, without = _clearances(bench, gear_low, rest_low, known)
    declared = declared_of(bench.declared, register)
    return Found(
        observations=known | declared,
        worked_out=frozenset(set(known) - set(declared)),
        least={code: value for code, value in least.items() if code not in declared},
        most={code: value for code, value in most.items() if code not in declared},
        without_gears={code: one for code, one in without.items() if code not in declared},
    )


def _from_parts(bench: Bench) -> dict[str, Observation]:
    known: dict[str, Observation] = {}
    for code, place, size, kind in OF_PARTS:
        part = bench.parts.get(place)
        value = None if part is None else part.sizes.base(size)
        if value is not None:
            known[code] = _reading(kind, value)
    for code, size in (("axle-diameter", "axle_diameter"), ("wheelbase", "wheelbase")):
        value = bench.chassis.base(size)
        if value is not None:
            known.setdefault(code, _reading(Kind.LENGTH, value))
    if "guide" in bench.parts:
        known["guides-count"] = _reading(Kind.COUNT, Fraction(1))
    if "rear_tires" in bench.parts and "front_tires" in bench.parts:
        known["wheels-count"] = _reading(Kind.COUNT, Fraction(4))
    motor = bench.parts.get("motor")
    if motor is not None and motor.sizes.word("motor_class"):
        known["motor-type"] = named(motor.sizes.word("motor_class"))
    play = bench.mounting.base("front_end_play")
    if play is not None:
        known["front-axle-side-play"] = _reading(Kind.LENGTH, play)
    return known


def _reading(kind: Kind, value: Fraction) -> Observation:
    return measured(Reading(kind, value))


def _widths(build: Build, targets: Targets) -> dict[str, Fraction]:
    """Over the tires, with the axle pushed to either side."""
    widths: dict[str, Fraction] = {}
    for name, axle in (("rear", build.rear), ("front", build.front)):
        if axle is not None:
            lines = lines_of(axle, name, targets)
            widths[f"width-over-{name}-tires"] = (lines.left.tire_out + lines.right.tire_out + lines.play).value
    return widths


def clearances(build: Build | None, report: FitReport | None) -> tuple[Stack | None, tuple[Stack, ...]]:
    """Heights over the track at the rear axle: of the gear, and of motor and chassis."""
    if build is None or report is None:
        return None, ()
    gear = report.find(FitCode.UNDER_SPUR, Place.CAR)
    rest = [found.stack for code in _LOW if (found := report.find(code, Place.CAR)) is not None]
    return (None if gear is None else gear.stack), tuple(rest)


def _clearances(
    bench: Bench, gear_low: Fraction | None, rest_low: tuple[Fraction, ...], known: dict[str, Observation]
) -> tuple[dict[str, Fraction], dict[str, Observation]]:
    """Clearances go into what is known where chassis, motor and, with a gear chosen, gear are; else they are known
    from one side. Returned are those, and what is found when gears do not count."""
    low = list(rest_low)
    is_complete = bool(low) and "chassis_below_axle" in bench.chassis and "motor_below_axle" in bench.chassis
    without = dict.fromkeys(CLEARANCES, _reading(Kind.LENGTH, min(low))) if is_complete else {}
    if gear_low is not None:
        low.append(gear_low)
    if not low:
        return {}, without
    if is_complete and (gear_low is not None or "driven_gear" not in bench.parts):
        known |= dict.fromkeys(CLEARANCES, _reading(Kind.LENGTH, min(low)))
        return {}, without
    return dict.fromkeys(CLEARANCES, min(low)), without


def declared_of(declared: Mapping[str, str], register: Register) -> dict[str, Observation]:
    """What is declared, as far as the register knows it and it can be read; the rest stays not known."""
    found: dict[str, Observation] = {}
    for code, text in declared.items():
        subject = register.get(code)
        if subject is None:
            continue
        kind = subject.kind.quantity_kind
        if kind is not None:
            try:
                found[code] = measured(Reading(kind, parse_size(text, kind, subject.unit).base))
            except RuleError:
                continue
        elif subject.kind is CharacteristicKind.YES_NO:
            if text.strip().casefold() in _YES | _NO:
                found[code] = said(text.strip().casefold() in _YES)
        else:
            found[code] = named(text)
    return found


def judge_at_home(
    sheet: Sheet, found: Found, facts: Facts | None = None, *, counts_with: Mapping[str, str] | None = None
) -> Legality:
    """Every clause on a build. counts_with: by code, what the register says of gears, where a clause says nothing."""
    known = facts or Facts()
    clauses = []
    for result in judge_sheet(sheet, found.observations, known):
        is_clearance = _speaks_of(result.clause, CLEARANCES)
        counts = _counts_gears(result.clause, counts_with or {}) if is_clearance else None
        judged = result
        if counts is False and found.without_gears:
            changed = {**found.observations, **found.without_gears}
            judged = judge_one(sheet, result.clause.number, changed, known) or result
        if judged.outcome is Outcome.NOT_CHECKED:
            judged = _by_one_side(sheet, judged, found, known)
        clauses.append(
            ClauseAtHome(
                result=judged,
                margin=None if judged.assessment is None else judged.assessment.margin,
                unknown=_unknown(judged, sheet.register),
                is_clearance=is_clearance,
                counts_gears=counts,
            )
        )
    return Legality(clauses=tuple(clauses))


def _by_one_side(sheet: Sheet, result: ClauseResult, found: Found, facts: Facts) -> ClauseResult:
    """Does the clause fail whatever the missing size is: above the upper limit, or below the lower, already?"""
    code = result.clause.code
    for bounds, reason in ((found.least, Reason.ABOVE_UPPER), (found.most, Reason.BELOW_LOWER)):
        if code not in bounds:
            continue
        guessed = {**found.observations, code: _reading(Kind.LENGTH, bounds[code])}
        judged = judge_one(sheet, result.clause.number, guessed, facts)
        if judged and judged.outcome is Outcome.FAIL and judged.assessment and reason in judged.assessment.reasons:
            return judged
    return result


def _speaks_of(clause: Clause, codes: Sequence[str]) -> bool:
    if not clause.parts:
        return clause.code in codes
    return any(one.code in codes for one in with_parts(clause))


def _counts_gears(clause: Clause, counts_with: Mapping[str, str]) -> bool | None:
    """By the clause's own word, else by the register's. None where neither says anything of gears."""
    words = " ".join(f"{one.measuring_point} {one.text}" for one in with_parts(clause))
    for text in (words, *(counts_with.get(one.code, "") for one in with_parts(clause))):
        said_of = text.casefold()
        if "gear" not in said_of and "spur" not in said_of:
            continue
        left_out = ("not count", "without", "except", "excluded", "excluding", "leaving out", "left out", "no gear")
        return not any(word in said_of for word in left_out)
    return None


def _unknown(result: ClauseResult, register: Register) -> tuple[str, ...]:
    """Codes, or words such as "track" and "date", of what must be found out first; by the judge, nothing is."""
    if result.outcome is not Outcome.NOT_CHECKED:
        return ()
    names = [miss.name or miss.lacking.value for miss in result.missing]
    if not names:
        names = list(inputs_of(result.clause, register).found)
    return tuple(dict.fromkeys(names))
