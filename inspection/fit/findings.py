"""What is found about a build: a number, its tolerance both ways, what is wanted, and how to get there."""

from dataclasses import dataclass, field
from enum import StrEnum
from fractions import Fraction

from inspection.fit.parts import Build
from inspection.fit.sizes import Stack, as_float_root


class FitCode(StrEnum):
    """What is looked at. In the order of the work at the bench."""

    END_PLAY = "end_play"
    AXLE_LENGTH = "axle_length"
    WIDTH = "width"
    BODY_FLOAT = "body_float"
    TIRE_TO_PINION = "tire_to_pinion"
    TIRE_EDGE = "tire_edge"
    TIRE_TO_SPUR = "tire_to_spur"
    SPUR_TO_CHASSIS = "spur_to_chassis"
    GEAR_ON_PINION = "gear_on_pinion"
    PINION_TO_END_BELL = "pinion_to_end_bell"
    PINION_LENGTH = "pinion_length"
    UNDER_SPUR = "under_spur"
    UNDER_MOTOR = "under_motor"
    UNDER_CHASSIS = "under_chassis"
    FRONT_LIFT = "front_lift"
    NOSE_HEIGHT = "nose_height"
    GUIDE_FLOOR = "guide_floor"
    GUIDE_SLOT = "guide_slot"
    GUIDE_SWING = "guide_swing"
    GUIDE_SHAFT = "guide_shaft"
    LEAD_LENGTH = "lead_length"


class Place(StrEnum):
    """Where on the car."""

    CAR = "car"
    REAR = "rear"
    FRONT = "front"
    REAR_LEFT = "rear_left"
    REAR_RIGHT = "rear_right"
    FRONT_LEFT = "front_left"
    FRONT_RIGHT = "front_right"
    GUIDE_LEFT = "guide_left"
    GUIDE_RIGHT = "guide_right"


class FitVerdict(StrEnum):
    """Whether it fits, given how far sizes may be off.

    fits: at the worst. likely_fits: by root-sum-square, not at the worst. may_not_fit: as measured, but the tolerance
    is larger than what is left. does_not_fit: as measured it does not.
    """

    FITS = "fits"
    LIKELY_FITS = "likely_fits"
    MAY_NOT_FIT = "may_not_fit"
    DOES_NOT_FIT = "does_not_fit"

    @property
    def is_met(self) -> bool:
        return self is not FitVerdict.DOES_NOT_FIT


class Note(StrEnum):
    """What else to know about a finding."""

    END_PLAY_ASSUMED = "end_play_assumed"
    SHAFTS_AT_ANGLE = "shafts_at_angle"
    PASSES_OVER = "passes_over"
    FRONT_TIRES_CARRY = "front_tires_carry"
    GUIDE_CARRIES = "guide_carries"
    TURNS_FREELY = "turns_freely"


class CureCode(StrEnum):
    """What can be done; each with an amount in mm."""

    MOVE_WHEEL_OUT = "move_wheel_out"
    MOVE_WHEEL_IN = "move_wheel_in"
    MOVE_GEAR_OUT = "move_gear_out"
    MOVE_GEAR_IN = "move_gear_in"
    PUSH_PINION_ON = "push_pinion_on"
    PULL_PINION_OFF = "pull_pinion_off"
    SHORTEN_PINION = "shorten_pinion"
    ROUND_TIRE_EDGE = "round_tire_edge"
    ADD_SPACER = "add_spacer"
    REMOVE_SPACER = "remove_spacer"
    NARROWER_TIRE = "narrower_tire"
    LONGER_AXLE = "longer_axle"
    SHORTER_AXLE = "shorter_axle"
    LARGER_TIRE = "larger_tire"
    SMALLER_GEAR = "smaller_gear"
    RAISE_GUIDE = "raise_guide"
    LOWER_GUIDE = "lower_guide"
    TRIM_BLADE = "trim_blade"
    THIN_BLADE = "thin_blade"
    LONGER_SHAFT = "longer_shaft"
    LONGER_LEAD = "longer_lead"


class Caution(StrEnum):
    """Where the work can hurt; shown beside the cure. Makers' instructions and local rules come first."""

    CUTTING_DISC = "cutting_disc"
    TRUING_DUST = "truing_dust"
    SHARP_BLADE = "sharp_blade"
    GEAR_PRESS = "gear_press"
    SOLDERING = "soldering"


@dataclass(frozen=True, slots=True, kw_only=True)
class Blocker:
    """What would not fit after a cure, and by how much it falls short."""

    code: FitCode
    place: Place
    short_by: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class Cure:
    """One thing to do. amount: at least so many mm, with sizes as measured; sure: with tolerances at their worst.

    works: the finding is then met and nothing else stops fitting; else blockers say what. build: after the cure.
    """

    code: CureCode
    amount: Fraction
    sure: Fraction
    works: bool
    blockers: tuple[Blocker, ...]
    cautions: tuple[Caution, ...]
    build: Build


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One thing looked at. stack: the number and its tolerances, in mm (degrees for guide_swing).

    least, most: wanted, None where nothing is. is_strict: equal to the limit is not enough. worn: with the tires worn.
    cures: in order of ease, only where as measured it does not fit or the tolerance is larger than what is left.
    value: the number. margin: what is left to the nearer limit, below 0 when it does not fit, None without a limit.
    """

    code: FitCode
    place: Place
    stack: Stack
    least: Fraction | None = None
    most: Fraction | None = None
    is_strict: bool = False
    worn: bool = False
    notes: tuple[Note, ...] = ()
    cures: tuple[Cure, ...] = ()
    value: Fraction = field(init=False)
    margin: Fraction | None = field(init=False)

    def __post_init__(self) -> None:
        value = self.stack.value
        sides = [value - self.least] if self.least is not None else []
        if self.most is not None:
            sides.append(self.most - value)
        object.__setattr__(self, "value", value)
        object.__setattr__(self, "margin", min(sides, default=None))

    @property
    def worst(self) -> Fraction:
        """Tolerance either way, everything off at once."""
        return self.stack.worst

    @property
    def likely(self) -> float:
        """Tolerance either way by root-sum-square; for showing, decisions are made by squares."""
        return as_float_root(self.stack.squared)

    @property
    def is_met(self) -> bool:
        """Does it fit with sizes as measured?"""
        # The sign of a fraction is its numerator's.
        above = 1 if self.margin is None else self.margin.numerator
        return above > 0 or (above == 0 and not self.is_strict)

    @property
    def verdict(self) -> FitVerdict:
        margin = self.margin
        if not self.is_met:
            return FitVerdict.DOES_NOT_FIT
        if margin is None or self._holds(margin, self.worst):
            return FitVerdict.FITS
        squared = self.stack.squared
        likely = margin * margin > squared or (margin * margin == squared and not self.is_strict)
        return FitVerdict.LIKELY_FITS if likely else FitVerdict.MAY_NOT_FIT

    def _holds(self, margin: Fraction, off: Fraction) -> bool:
        return margin > off or (margin == off and not self.is_strict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Missing:
    """Something that cannot be said, and the sizes that would tell."""

    code: FitCode
    place: Place
    sizes: tuple[str, ...]


class CutCode(StrEnum):
    """What is cut to length."""

    GUIDE_SHAFT = "guide_shaft"
    BRAID = "braid"
    LEAD = "lead"


@dataclass(frozen=True, slots=True, kw_only=True)
class Cut:
    """A length in mm to cut to. off: how much comes off the part in hand, None when its length is not known."""

    code: CutCode
    length: Fraction
    off: Fraction | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FitReport:
    """Everything about a build, in the order of the work."""

    findings: tuple[Finding, ...]
    missing: tuple[Missing, ...]
    cuts: tuple[Cut, ...]

    @property
    def fits(self) -> bool:
        """Does everything that is known fit, with sizes as measured?"""
        return all(finding.is_met for finding in self.findings)

    def find(self, code: FitCode, place: Place | None = None, *, worn: bool = False) -> Finding | None:
        """One finding; without a place the one that has least left."""
        found = [
            finding
            for finding in self.findings
            if finding.code is code and finding.worn == worn and place in {None, finding.place}
        ]
        return min(
            found, key=lambda finding: finding.margin if finding.margin is not None else finding.value, default=None
        )
