"""What the bench takes for granted, each told with the place it stands for, and what it would have to be told."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from inspection.gearing.meanings import ASSUMPTIONS
from inspection.gearing.spur import Assumption


class AssumedCode(StrEnum):
    """What was not told but taken for granted."""

    MEASURED_WITHIN = "measured_within"
    LAYOUT = "layout"
    GEAR_SIDE = "gear_side"
    HALF_OF_SPAN = "half_of_span"
    HALF_OF_BODY = "half_of_body"
    TIRE_AT_HUB = "tire_at_hub"
    HUB_IN = "hub_in"
    DISTANCE_FROM_PAIR = "distance_from_pair"
    BRAID_ALONG_BLADE = "braid_along_blade"
    WIRES_END_AT_POST = "wires_end_at_post"
    MOTOR_OVER_SHAFT = "motor_over_shaft"
    GRIP = "grip"
    EFFICIENCY = "efficiency"
    BRAKING_SHARE = "braking_share"
    REAR_SHARE = "rear_share"
    ROLLING = "rolling"
    DOWNFORCE = "downforce"
    SUPPLY_RESISTANCE = "supply_resistance"


ASSUMED: Final[Mapping[AssumedCode, str]] = {
    AssumedCode.MEASURED_WITHIN: "Lengths are taken to be right to %(value)s mm either way, as by a plain caliper.",
    AssumedCode.LAYOUT: "The motor is taken to lie across the car.",
    AssumedCode.GEAR_SIDE: "The gears are taken to be on the right.",
    AssumedCode.HALF_OF_SPAN: "The bushings are taken to stand evenly on both sides of the middle.",
    AssumedCode.HALF_OF_BODY: "The body is taken to stand evenly on both sides of the middle.",
    AssumedCode.TIRE_AT_HUB: "The tire is taken to begin where the hub does.",
    AssumedCode.HUB_IN: "The hub of the gear is taken to look to the middle.",
    AssumedCode.DISTANCE_FROM_PAIR: "The center distance is taken to be where the pair that runs free runs best.",
    AssumedCode.BRAID_ALONG_BLADE: "A braid is taken to lie along the whole blade.",
    AssumedCode.WIRES_END_AT_POST: "The wires are taken to end at the post of the guide.",
    AssumedCode.MOTOR_OVER_SHAFT: "The weight of the motor is taken to lie at its shaft.",
    AssumedCode.GRIP: "The grip is taken to be %(value)s times the load.",
    AssumedCode.EFFICIENCY: "The drive is taken to pass on %(value)s of the motor's power.",
    AssumedCode.BRAKING_SHARE: "Braking is taken to use %(value)s of the grip.",
    AssumedCode.REAR_SHARE: "%(value)s of the load is taken to rest on the driven axle.",
    AssumedCode.ROLLING: "Rolling is taken to hold the car back by %(value)s of its load.",
    AssumedCode.DOWNFORCE: "No magnet is taken to pull the car down.",
    AssumedCode.SUPPLY_RESISTANCE: "Supply, track and wires are taken to have no resistance.",
}


@dataclass(frozen=True, slots=True)
class Assumed:
    """One thing taken for granted. path: where in the document it would be told. value: what was taken."""

    code: AssumedCode | Assumption
    path: str
    value: str = ""

    @property
    def message(self) -> str:
        """English, ready for gettext, with %(value)s."""
        return ASSUMPTIONS[self.code] if isinstance(self.code, Assumption) else ASSUMED[self.code]

    def __str__(self) -> str:
        return self.message % {"value": self.value}


class NeedCode(StrEnum):
    """What cannot be worked out."""

    REAR_AXLE = "rear_axle"
    FRONT_AXLE = "front_axle"
    PINION_IN_PLACE = "pinion_in_place"
    MESH = "mesh"
    RATIO = "ratio"
    ROLLOUT = "rollout"
    WEIGHT = "weight"
    BALANCE = "balance"
    LAP = "lap"


NEEDS: Final[Mapping[NeedCode, str]] = {
    NeedCode.REAR_AXLE: "What fits along the rear axle is not known",
    NeedCode.FRONT_AXLE: "What fits along the front axle is not known",
    NeedCode.PINION_IN_PLACE: "What the pinion meets is not known",
    NeedCode.MESH: "How the gears mesh is not known",
    NeedCode.RATIO: "The ratio is not known",
    NeedCode.ROLLOUT: "The rollout is not known",
    NeedCode.WEIGHT: "The weight is not known in full",
    NeedCode.BALANCE: "How the weight is shared is not known",
    NeedCode.LAP: "A lap cannot be predicted",
}


@dataclass(frozen=True, slots=True)
class Need:
    """What would have to be told: paths in the document, such as "parts.rear_tires.sizes.width"."""

    code: NeedCode
    paths: tuple[str, ...]
