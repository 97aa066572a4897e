"""Too close to call: which gauge, or how many readings, would settle it."""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from inspection.conformity.assess import Assessment, DecisionRule
from inspection.conformity.uncertainty import GaugeSpec

MOST_READINGS: Final = 10


@dataclass(frozen=True, slots=True)
class Remedy:
    """The mean of so many readings with a gauge would settle it, if it came out where this reading did."""

    gauge: str
    readings: int


def readings_that_settle(
    margin: Fraction, rule: DecisionRule, gauge: GaugeSpec, *, most: int = MOST_READINGS
) -> int | None:
    """How many readings at least settle a value so far from its limit; None when `most` do not.

    margin: distance to the limit in the base unit, to either side. Settled is what lies farther from the limit than
    the doubt of the mean, which the rule multiplies by its factor. A gauge of unknown doubt settles nothing, and
    on the limit nothing does.
    """
    if not gauge.variance or not margin:
        return None
    wanted = margin**2  # above doubt_squared * variance of the mean
    factor = rule.doubt_squared
    repeated = factor * gauge.repeatability**2
    spare = wanted - factor * gauge.variance + repeated  # above repeated / n
    if spare <= 0:
        return None
    needed = int(repeated / spare) + 1
    return needed if needed <= most else None


def what_would_settle(
    assessment: Assessment, gauges: Mapping[str, GaugeSpec], *, most: int = MOST_READINGS
) -> tuple[Remedy, ...]:
    """The gauges of the reading's kind that would settle it, the fewest readings first; () when none would, and
    then a judge rules. gauges: by name, the one that was used among them or not."""
    remedies = []
    for name, gauge in gauges.items():
        if gauge.kind is not assessment.limits.kind:
            continue
        readings = readings_that_settle(assessment.margin, assessment.rule, gauge, most=most)
        if readings is not None:
            remedies.append(Remedy(name, readings))
    return tuple(sorted(remedies, key=lambda remedy: remedy.readings))
