"""Which sizes a chassis, a part and its mounting are told by: what a caliper, a scale or a packet tells.

One register for forms, files and the engine, so that a size has one name everywhere. Labels and help are English, ready
for gettext. Nothing here is required but what `required` says: what depends on a missing size is named as not known.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from inspection.units import Kind


class PartKind(StrEnum):
    MOTOR = "motor"
    PINION = "pinion"
    SPUR_GEAR = "spur_gear"
    CROWN_GEAR = "crown_gear"
    TIRE = "tire"
    WHEEL = "wheel"
    AXLE = "axle"
    BUSHING = "bushing"
    SPACER = "spacer"
    GUIDE = "guide"
    BRAID = "braid"
    LEAD_WIRE = "lead_wire"
    BALLAST = "ballast"
    BODY = "body"
    CHASSIS = "chassis"
    OTHER = "other"


PART_KINDS: Mapping[PartKind, str] = {
    PartKind.MOTOR: "Motor",
    PartKind.PINION: "Pinion",
    PartKind.SPUR_GEAR: "Spur gear",
    PartKind.CROWN_GEAR: "Crown gear",
    PartKind.TIRE: "Tire",
    PartKind.WHEEL: "Wheel",
    PartKind.AXLE: "Axle",
    PartKind.BUSHING: "Bushing",
    PartKind.SPACER: "Spacer",
    PartKind.GUIDE: "Guide",
    PartKind.BRAID: "Braid",
    PartKind.LEAD_WIRE: "Lead wire",
    PartKind.BALLAST: "Ballast",
    PartKind.BODY: "Body",
    PartKind.CHASSIS: "Chassis",
    PartKind.OTHER: "Other",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeSpec:
    """One size. kind: None for plain words. may_be_negative: a size told from a face, which may lie on either side.

    choices: the only words it may be, in English; empty for free words or a quantity.
    """

    code: str
    label: str
    kind: Kind | None = Kind.LENGTH
    help: str = ""
    required: bool = False
    may_be_negative: bool = False
    choices: tuple[str, ...] = ()


def _length(code: str, label: str, help: str = "", *, required: bool = False, below_zero: bool = False) -> SizeSpec:  # noqa: A002  a page's own word
    return SizeSpec(code=code, label=label, help=help, required=required, may_be_negative=below_zero)


def _of(kind: Kind | None, code: str, label: str, help: str = "", *, required: bool = False) -> SizeSpec:  # noqa: A002  a page's own word
    return SizeSpec(code=code, label=label, kind=kind, help=help, required=required)


_TEETH = _of(Kind.COUNT, "teeth", "Teeth", required=True)
_OUTSIDE = _length("outside_diameter", "Outside diameter", "Over the tips of the teeth.")
# A gear has a module or a diametral pitch; without both it is worked out from teeth and diameter, as an assumption.
_MODULE = _length("module", "Module", "Millimeters for each tooth, such as 0.5.")
_PITCH = _of(Kind.COUNT, "diametral_pitch", "Diametral pitch", "Teeth to the inch, such as 48 or 64.")
_BORE = _length("bore", "Bore", "The hole, for shaft or axle.")
_MASS = _of(Kind.MASS, "mass", "Mass")

PART_SIZES: Mapping[PartKind, tuple[SizeSpec, ...]] = {
    PartKind.MOTOR: (
        _of(None, "motor_class", "Motor class", "As the rule sheet names it."),
        _length("shaft_diameter", "Shaft diameter"),
        _of(Kind.ROTATION_SPEED, "no_load_speed", "Speed without load", "As told for the voltage below."),
        _of(Kind.CURRENT, "no_load_current", "Current without load"),
        _of(Kind.VOLTAGE, "at_voltage", "Told for"),
        _of(Kind.TORQUE, "stall_torque", "Stall torque"),
        _of(Kind.CURRENT, "stall_current", "Stall current"),
        _of(Kind.RESISTANCE, "resistance", "Winding resistance", "Cold, through the brushes."),
        _length("can_length", "Length of the can"),
        _length("can_diameter", "Height of the can", "The smaller way across."),
        _MASS,
    ),
    PartKind.PINION: (_TEETH, _OUTSIDE, _MODULE, _PITCH, _length("length", "Length"), _BORE, _MASS),
    PartKind.SPUR_GEAR: (
        _TEETH,
        _OUTSIDE,
        _MODULE,
        _PITCH,
        _length("face_width", "Width of the teeth"),
        _length("hub_width", "Width of the hub", "Beside the teeth, without them."),
        _BORE,
        _MASS,
    ),
    PartKind.CROWN_GEAR: (
        _TEETH,
        _OUTSIDE,
        _length("inner_diameter", "Inner diameter of the teeth"),
        _MODULE,
        _PITCH,
        _length("face_width", "Height over the teeth", "From the back of the gear to the tips."),
        _length("hub_width", "Width of the hub"),
        _BORE,
        _MASS,
    ),
    PartKind.TIRE: (
        _length("diameter", "Diameter, mounted"),
        _length("width", "Width"),
        _of(None, "size_code", "Size code", "Such as 200 for 20.0 mm mounted."),
        _length("rim_diameter", "For a rim of"),
        _of(None, "compound", "Compound"),
        _MASS,
    ),
    PartKind.WHEEL: (
        _length("rim_diameter", "Rim diameter"),
        _length("width", "Rim width"),
        _length(
            "inset",
            "Hub to tire",
            "From the face of the hub that looks to the chassis out to the inner edge of the tire; below 0 where the "
            "tire stands in over the hub.",
            below_zero=True,
        ),
        _length("hub_length", "Length of the hub on the axle"),
        _BORE,
        _MASS,
    ),
    PartKind.AXLE: (_length("length", "Length"), _length("diameter", "Diameter"), _MASS),
    PartKind.BUSHING: (
        _length("flange", "Thickness of the flange"),
        _length("outside_diameter", "Outside diameter"),
        _BORE,
        _MASS,
    ),
    PartKind.SPACER: (_length("thickness", "Thickness", required=True), _BORE, _MASS),
    PartKind.GUIDE: (
        _length("blade_depth", "Depth of the blade", "Below the plate that lies on the track."),
        _length("blade_thickness", "Thickness of the blade"),
        _length("blade_length", "Length of the blade"),
        _length("shaft_length", "Length of the shaft"),
        _length("shaft_diameter", "Diameter of the shaft"),
        _length("tail", "Post to far end"),
        _length("clip", "Shaft that clip or screw needs"),
        _MASS,
    ),
    PartKind.BRAID: (_length("length", "Length"), _length("width", "Width"), _length("thickness", "Thickness")),
    PartKind.LEAD_WIRE: (_length("length", "Length"), _length("diameter", "Diameter over the cover"), _MASS),
    PartKind.BALLAST: (
        _of(Kind.MASS, "mass", "Mass", required=True),
        _length("length", "Length"),
        _length("thickness", "Thickness"),
    ),
    PartKind.BODY: (_MASS, _length("width", "Width inside, at the rear axle")),
    PartKind.CHASSIS: (_MASS,),
    PartKind.OTHER: (_MASS,),
}

LAYOUTS = ("inline", "sidewinder", "anglewinder")
SIDES = ("left", "right")

CHASSIS_SIZES: tuple[SizeSpec, ...] = (
    SizeSpec(code="layout", label="Drive layout", kind=None, required=True, choices=LAYOUTS),
    _of(Kind.ANGLE, "shaft_angle", "Angle of the motor", "Of an anglewinder, between motor shaft and axle."),
    SizeSpec(
        code="gear_side", label="Side of the gears", kind=None, choices=SIDES, help="Looking forward from the driver."
    ),
    # The center distance: typed, or across both shafts, or from a pair that is known to run free.
    _length("center_distance", "Motor shaft to axle", "Center to center. Leave it empty if you measured across both."),
    _length("across_shafts", "Across motor shaft and axle", "With the caliper over both, at the outside."),
    _length("motor_shaft", "Diameter of the motor shaft"),
    _length("axle_diameter", "Diameter of the rear axle"),
    _length("rear_bushing_span", "Across the rear bushings", "Outside to outside, over the flanges."),
    _length("front_bushing_span", "Across the front bushings", "Outside to outside, over the flanges."),
    _length("rear_body_width", "Inside the body, at the rear axle", "From one side of the body to the other."),
    _length("front_body_width", "Inside the body, at the front axle"),
    _length(
        "end_bell",
        "Middle of the chassis to the motor's end",
        "At the end with the pinion. Of an inline car, from the center of the rear axle.",
    ),
    _length("wall", "Middle of the chassis to the wall beside the gear"),
    _length("motor_below_axle", "Axle down to the lowest point of the motor", "From the center of the rear axle."),
    _length("chassis_below_axle", "Axle down to the lowest point of the chassis", "From the center of the rear axle."),
    _length("rear_axle_height", "Rear axle over the flat bottom", "To the center of the axle."),
    _length("front_axle_height", "Front axle over the flat bottom", "To the center of the axle."),
    _length("wheelbase", "Wheelbase"),
    _length("guide_ahead", "Rear axle to guide post"),
    _length("nose_ahead", "Rear axle to the nose"),
    _length("guide_holder", "Height of the guide holder", "The tube that the shaft goes through."),
    _length("lead_exit_back", "Guide post back to where the wires leave"),
    _length("lead_exit_side", "Middle of the chassis out to where they leave"),
    _length("lead_routed", "From the motor to where the wires leave"),
    _of(Kind.MASS, "mass", "Mass of the chassis"),
    _length("mass_ahead", "Rear axle to where it balances"),
)

# How the chosen parts are mounted. Spacers stand in lists of their own, and so do pieces of ballast.
MOUNTING_SIZES: tuple[SizeSpec, ...] = (
    _length("pinion_gap", "Pinion to the motor's end", "About a flat blade."),
    SizeSpec(code="hub_side", label="Hub of the gear", kind=None, choices=("in", "out"), help="To the middle, or out."),
    _length("rear_end_play", "End play of the rear axle", "Measured; else what is aimed at is taken."),
    _length("front_end_play", "End play of the front axle"),
    _length("rear_hub_to_hub", "Between the rear wheels", "Between the faces of the hubs that look at the chassis."),
    _length("front_hub_to_hub", "Between the front wheels"),
    _length("guide_height", "Track up to the chassis at the guide", "When the guide rests on the track."),
    _length("shaft_cut", "Guide shaft cut to"),
    _length("braid_cut", "Braid cut to"),
    _length("edge", "Inner edge of the rear tires rounded to", "Radius; 0 when it is square."),
    _length("wear", "Wear of the rear tires to allow for", "Of the diameter, until they are changed."),
)

# Places of a build that take a part, with the kinds that fit there.
PLACES: Mapping[str, tuple[PartKind, ...]] = {
    "motor": (PartKind.MOTOR,),
    "pinion": (PartKind.PINION,),
    "driven_gear": (PartKind.SPUR_GEAR, PartKind.CROWN_GEAR),
    "rear_tires": (PartKind.TIRE,),
    "rear_wheels": (PartKind.WHEEL,),
    "rear_axle": (PartKind.AXLE,),
    "front_tires": (PartKind.TIRE,),
    "front_wheels": (PartKind.WHEEL,),
    "front_axle": (PartKind.AXLE,),
    "guide": (PartKind.GUIDE,),
    "braid": (PartKind.BRAID,),
    "lead_wire": (PartKind.LEAD_WIRE,),
    "body": (PartKind.BODY,),
}
PLACE_LABELS: Mapping[str, str] = {
    "motor": "Motor",
    "pinion": "Pinion",
    "driven_gear": "Spur or crown gear",
    "rear_tires": "Rear tires",
    "rear_wheels": "Rear wheels",
    "rear_axle": "Rear axle",
    "front_tires": "Front tires",
    "front_wheels": "Front wheels",
    "front_axle": "Front axle",
    "guide": "Guide",
    "braid": "Braid",
    "lead_wire": "Lead wire",
    "body": "Body",
}
SPACER_PLACES: Mapping[str, str] = {
    "rear_left_inner": "Rear left, beside the bushing",
    "rear_left_outer": "Rear left, beside the wheel",
    "rear_right_inner": "Rear right, beside the bushing",
    "rear_right_outer": "Rear right, beside the wheel",
    "front_left_inner": "Front left",
    "front_right_inner": "Front right",
    "guide": "On the guide shaft",
}
