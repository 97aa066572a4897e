"""The same rollout on smaller tires: which gears bring it back. Exact."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from inspection.gearing.ratio import PI
from inspection.planning.document import BenchPart
from inspection.planning.errors import PlanningCode, PlanningError
from inspection.planning.gears import gear_told


@dataclass(frozen=True, slots=True, kw_only=True)
class Restored:
    """A pair of gears on the trued tires. off: rollout less the one that is wanted back, in mm."""

    pinion: BenchPart
    driven_gear: BenchPart
    ratio: Fraction
    rollout: Fraction
    off: Fraction


def ratio_after(ratio: Fraction, *, before: Fraction, after: Fraction) -> Fraction:
    """The ratio that gives the same rollout: it falls with the tire's diameter. Sizes in mm. Raises PlanningError."""
    if before <= 0 or after <= 0:
        raise PlanningError(PlanningCode.IMPOSSIBLE, path="diameter", why="A tire has a diameter above 0.")
    return ratio * after / before


def gears_that_restore(
    *,
    rollout: Fraction,
    diameter: Fraction,
    pinions: Sequence[BenchPart],
    driven_gears: Sequence[BenchPart],
) -> tuple[Restored, ...]:
    """All pairs by how near their rollout on tires of this diameter comes; of two alike the one with less ratio, then
    the order of the parts. Sizes in mm. Parts without a tooth count are left out. Raises PlanningError impossible.
    """
    if diameter <= 0:
        raise PlanningError(PlanningCode.IMPOSSIBLE, path="diameter", why="A tire has a diameter above 0.")
    pairs = []
    for pinion in pinions:
        for driven in driven_gears:
            one, other = (gear_told(part.sizes, "on_hand") for part in (pinion, driven))
            if one is None or other is None or min(one.teeth, other.teeth) < 1:
                continue
            ratio = Fraction(other.teeth, one.teeth)
            got = PI * diameter / ratio
            pairs.append(Restored(pinion=pinion, driven_gear=driven, ratio=ratio, rollout=got, off=got - rollout))
    return tuple(sorted(pairs, key=lambda pair: (abs(pair.off), pair.ratio)))
