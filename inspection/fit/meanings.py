"""What the codes of the fit engine mean, in English, ready to translate at the edge."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from inspection.fit.findings import Caution, CureCode, CutCode, FitCode, FitVerdict, Note, Place

VERDICTS: Final[Mapping[FitVerdict, str]] = MappingProxyType(
    {
        FitVerdict.FITS: "Fits, even with every size at its worst.",
        FitVerdict.LIKELY_FITS: "Fits in all likelihood; not with every size at its worst.",
        FitVerdict.MAY_NOT_FIT: "Fits as measured, but less is left than the sizes may be off.",
        FitVerdict.DOES_NOT_FIT: "Does not fit.",
    }
)

FINDINGS: Final[Mapping[FitCode, str]] = MappingProxyType(
    {
        FitCode.END_PLAY: "End play of the axle",
        FitCode.AXLE_LENGTH: "Axle beyond both hubs",
        FitCode.WIDTH: "Width over the tires",
        FitCode.BODY_FLOAT: "Body float with the axle pushed to that side",
        FitCode.TIRE_TO_PINION: "Tire to pinion",
        FitCode.TIRE_EDGE: "Tire left behind its rounded edge",
        FitCode.TIRE_TO_SPUR: "Tire to spur gear",
        FitCode.SPUR_TO_CHASSIS: "Spur gear to chassis",
        FitCode.GEAR_ON_PINION: "Teeth of the gear within the pinion",
        FitCode.PINION_TO_END_BELL: "Pinion to end bell",
        FitCode.PINION_LENGTH: "Length of the pinion",
        FitCode.UNDER_SPUR: "Clearance under the gear",
        FitCode.UNDER_MOTOR: "Clearance under the motor",
        FitCode.UNDER_CHASSIS: "Clearance under the chassis",
        FitCode.FRONT_LIFT: "Front tires over the track",
        FitCode.NOSE_HEIGHT: "Height of the nose",
        FitCode.GUIDE_FLOOR: "Guide blade over the floor of the slot",
        FitCode.GUIDE_SLOT: "Play of the guide blade in the slot",
        FitCode.GUIDE_SWING: "Swing of the guide",
        FitCode.GUIDE_SHAFT: "Guide shaft beyond what is needed",
        FitCode.LEAD_LENGTH: "Lead wire beyond what is needed at full steer",
    }
)

PLACES: Final[Mapping[Place, str]] = MappingProxyType(
    {
        Place.CAR: "Car",
        Place.REAR: "Rear axle",
        Place.FRONT: "Front axle",
        Place.REAR_LEFT: "Rear left",
        Place.REAR_RIGHT: "Rear right",
        Place.FRONT_LEFT: "Front left",
        Place.FRONT_RIGHT: "Front right",
        Place.GUIDE_LEFT: "Guide to the left",
        Place.GUIDE_RIGHT: "Guide to the right",
    }
)

NOTES: Final[Mapping[Note, str]] = MappingProxyType(
    {
        Note.END_PLAY_ASSUMED: "The end play is not measured; the one aimed at is assumed.",
        Note.SHAFTS_AT_ANGLE: "The motor lies at an angle; the gap is worked out as if it did not.",
        Note.PASSES_OVER: "The tire passes over the pinion.",
        Note.FRONT_TIRES_CARRY: "The front tires carry the nose; the guide is lifted.",
        Note.GUIDE_CARRIES: "The guide carries the nose.",
        Note.TURNS_FREELY: "The guide meets nothing.",
    }
)

CURES: Final[Mapping[CureCode, str]] = MappingProxyType(
    {
        CureCode.MOVE_WHEEL_OUT: "Move the wheel out by",
        CureCode.MOVE_WHEEL_IN: "Move the wheel in by",
        CureCode.MOVE_GEAR_OUT: "Move the gear out by",
        CureCode.MOVE_GEAR_IN: "Move the gear in by",
        CureCode.PUSH_PINION_ON: "Push the pinion further on by",
        CureCode.PULL_PINION_OFF: "Pull the pinion off by",
        CureCode.SHORTEN_PINION: "Shorten the pinion by",
        CureCode.ROUND_TIRE_EDGE: "Round the inner edge of the tire to a radius of",
        CureCode.ADD_SPACER: "Add a spacer of",
        CureCode.REMOVE_SPACER: "Take out spacers of",
        CureCode.NARROWER_TIRE: "Make the tire narrower by",
        CureCode.LONGER_AXLE: "Fit an axle that is longer by",
        CureCode.SHORTER_AXLE: "Shorten the axle by",
        CureCode.LARGER_TIRE: "Fit tires that are larger in diameter by",
        CureCode.SMALLER_GEAR: "Fit a gear that is smaller in diameter by",
        CureCode.RAISE_GUIDE: "Add washers at the guide of",
        CureCode.LOWER_GUIDE: "Take out washers at the guide of",
        CureCode.TRIM_BLADE: "Trim the depth of the blade by",
        CureCode.THIN_BLADE: "Make the blade thinner by",
        CureCode.LONGER_SHAFT: "Use a guide whose shaft is longer by",
        CureCode.LONGER_LEAD: "Use a lead wire that is longer by",
    }
)

CAUTIONS: Final[Mapping[Caution, str]] = MappingProxyType(
    {
        Caution.CUTTING_DISC: (
            "Cutting discs shatter and throw sparks: wear eye protection, clamp the part, and follow the maker's"
            " instructions."
        ),
        Caution.TRUING_DUST: "Dust of rubber and plastic is bad to breathe: wear a mask and clear it away.",
        Caution.SHARP_BLADE: "Cut away from fingers.",
        Caution.GEAR_PRESS: "A press slips: keep fingers clear and support the shaft, not the end bell.",
        Caution.SOLDERING: "Hot iron and fumes: air the room, wear eye protection, wash hands after leaded solder.",
    }
)

CUTS: Final[Mapping[CutCode, str]] = MappingProxyType(
    {
        CutCode.GUIDE_SHAFT: "Guide shaft",
        CutCode.BRAID: "Each braid, then trimmed",
        CutCode.LEAD: "Each lead wire",
    }
)
