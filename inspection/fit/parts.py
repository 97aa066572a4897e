"""A build as its sizes: what a caliper can measure and nothing else. Lengths in mm, exact, with tolerances.

Along an axle sizes are told from the center line of the chassis outward, on both sides alike. Every optional size may
be missing; what depends on it is then named as not known.
"""

from dataclasses import dataclass, field
from enum import StrEnum
from fractions import Fraction

from inspection.fit.sizes import ZERO, Size


class Side(StrEnum):
    LEFT = "left"
    RIGHT = "right"


class Layout(StrEnum):
    """How the motor lies: along the car, across it, or at an angle to the axle."""

    INLINE = "inline"
    SIDEWINDER = "sidewinder"
    ANGLEWINDER = "anglewinder"


@dataclass(frozen=True, slots=True, kw_only=True)
class Wheel:
    """A wheel with its tire.

    inset: from the face of the hub that looks to the chassis out to the inner edge of the tire; below 0 the tire
    stands in over the hub. bore: length of the hub on the axle, from that same face. edge: radius to which the inner
    edge of the tire is rounded.
    """

    tire_diameter: Size
    tire_width: Size
    inset: Size = field(default_factory=lambda: Size(ZERO))
    rim_diameter: Size | None = None
    bore: Size | None = None
    edge: Fraction = ZERO


@dataclass(frozen=True, slots=True, kw_only=True)
class DrivenGear:
    """A spur or crown gear on the axle. hub_in: the hub looks to the middle of the car, the teeth to the wheel."""

    outside_diameter: Size
    face_width: Size
    hub_width: Size
    hub_in: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class AxleSide:
    """One side of an axle, from the center line outward: bushing, spacers, gear if any, spacers, wheel.

    reach: from the center line to the outer face of the bushing's flange. body: from the center line to the inside
    of the body.
    """

    reach: Size
    wheel: Wheel
    inner_spacers: tuple[Size, ...] = ()
    gear: DrivenGear | None = None
    outer_spacers: tuple[Size, ...] = ()
    body: Size | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Axle:
    """An axle with both sides.

    end_play: measured, or None. hub_to_hub: measured between the faces of both wheels that look at the chassis; it
    tells the end play when that was not measured. Without both the end play aimed at is assumed.
    """

    left: AxleSide
    right: AxleSide
    length: Size | None = None
    end_play: Size | None = None
    hub_to_hub: Size | None = None

    def side(self, side: Side) -> AxleSide:
        return self.left if side is Side.LEFT else self.right


@dataclass(frozen=True, slots=True, kw_only=True)
class Pinion:
    """A pinion on the motor shaft. gap: between the end bell and its near end."""

    outside_diameter: Size
    length: Size
    gap: Size


@dataclass(frozen=True, slots=True, kw_only=True)
class Drive:
    """The motor in the chassis.

    center_distance: motor shaft to axle. end_bell: from the center line to the face of the motor on the pinion's
    side. wall: from the center line to the chassis beside the gear. below_axle: from the center of the axle down to
    the lowest point of the motor.
    """

    layout: Layout
    side: Side
    pinion: Pinion | None = None
    center_distance: Size | None = None
    end_bell: Size | None = None
    wall: Size | None = None
    below_axle: Size | None = None
    inside_gear: DrivenGear | None = None  # a gear between the bushings, such as the crown of an inline car


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground:
    """How the chassis stands. Heights over its flat bottom; lengths ahead of the rear axle.

    chassis_below_axle: from the center of the rear axle down to the lowest point of the chassis there.
    guide_height: from the track up to the bottom of the chassis at the guide, when the guide rests on the track.
    """

    chassis_below_axle: Size | None = None
    rear_axle_over_bottom: Size | None = None
    front_axle_over_bottom: Size | None = None
    wheelbase: Size | None = None
    guide_ahead: Size | None = None
    guide_height: Size | None = None
    nose_ahead: Size | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Corner:
    """A corner of chassis or tire that the tail of the guide may meet: so far behind the post and to its side."""

    back: Fraction
    side: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class Leads:
    """A lead wire from motor to guide.

    routed: from the motor to where the wire leaves the chassis. exit_*, terminal_*: where it leaves and where it
    ends in the guide, behind the post and to the side. slack: left over at full steer. given: length of the wire.
    """

    routed: Fraction
    exit_back: Fraction
    exit_side: Fraction
    terminal_back: Fraction
    terminal_side: Fraction
    slack: Fraction = Fraction(3)
    given: Size | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Guide:
    """The guide. blade_depth: below the track when the guide rests on it. tail: from the post to its far end.

    holder: height of the post holder; spacers: washers on the shaft; clip: shaft that the clip or screw needs.
    swing_*: measured, in degrees. contact: length along which a braid lies; braid_end: what goes into the guide.
    """

    blade_depth: Size | None = None
    blade_thickness: Size | None = None
    shaft: Size | None = None
    holder: Size | None = None
    spacers: tuple[Size, ...] = ()
    clip: Size | None = None
    swing_left: Size | None = None
    swing_right: Size | None = None
    tail: Size | None = None
    tail_half_width: Fraction = ZERO
    corners: tuple[Corner, ...] = ()
    contact: Size | None = None
    braid_end: Size | None = None
    leads: Leads | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Slot:
    """The slot of the track where it is shallowest and narrowest."""

    depth: Size | None = None
    width: Size | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Build:
    """Everything that has to fit. wear: of the rear tires' diameter, from now until they are changed."""

    rear: Axle
    drive: Drive
    front: Axle | None = None
    ground: Ground = field(default_factory=Ground)
    guide: Guide = field(default_factory=Guide)
    slot: Slot = field(default_factory=Slot)
    wear: Fraction = ZERO


@dataclass(frozen=True, slots=True, kw_only=True)
class Targets:
    """What is wanted. Defaults are common practice, no source; legal limits are the class's own and None without one.

    *_least and *_most in mm, swing in degrees. end_play_aim: assumed where nothing was measured. pinion_gap: about a
    flat blade. clearance: wanted under spur, motor, chassis and nose. axle_out_most: beyond both hubs together.
    """

    end_play_least: Fraction = Fraction(2, 10)
    end_play_most: Fraction = Fraction(5, 10)
    end_play_aim: Fraction = Fraction(3, 10)
    body_float: Fraction = Fraction(5, 10)
    tire_to_pinion: Fraction = Fraction(2, 10)
    spur_to_chassis: Fraction = Fraction(2, 10)
    pinion_gap_least: Fraction = Fraction(5, 10)
    pinion_gap_most: Fraction = Fraction(1)
    guide_floor: Fraction = Fraction(5, 10)
    clearance: Fraction = ZERO
    swing: Fraction = Fraction(45)
    braid_extra: Fraction = Fraction(2)
    axle_out_most: Fraction | None = None
    rear_width_most: Fraction | None = None
    front_width_most: Fraction | None = None
    front_lift_least: Fraction | None = None
    front_lift_most: Fraction | None = None
