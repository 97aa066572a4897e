"""What the codes of the gearing engine mean, in English, ready to translate at the edge."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from inspection.gearing.crown import CrownFinding, CrownLimit
from inspection.gearing.mesh import Basis, MeshNote, MeshVerdict
from inspection.gearing.spur import Assumption

VERDICTS: Final[Mapping[MeshVerdict, str]] = MappingProxyType(
    {
        MeshVerdict.BOTTOMS: "Bottoms: the tips of one gear meet the roots of the other.",
        MeshVerdict.TIGHT: "Tight: no backlash is left between the teeth.",
        MeshVerdict.RUNS: "Runs.",
        MeshVerdict.LOOSE: "Loose: it drives, with more backlash than is good for the teeth.",
        MeshVerdict.DRIVE_INTERRUPTED: "Drive interrupted: one pair of teeth lets go before the next takes hold.",
        MeshVerdict.DOES_NOT_REACH: "Does not reach: the teeth do not touch.",
        MeshVerdict.WRONG_PITCH: "Wrong pitch: the teeth of these gears are of two sizes.",
    }
)

NOTES: Final[Mapping[MeshNote, str]] = MappingProxyType(
    {
        MeshNote.UNDERCUT_PINION: "By theory the teeth of the pinion are undercut, which shortens the contact.",
        MeshNote.UNDERCUT_DRIVEN: "By theory the teeth of the driven gear are undercut, which shortens the contact.",
        MeshNote.POINTED_PINION: "Teeth of this size would end in a point; check module and diameter of the pinion.",
        MeshNote.POINTED_DRIVEN: "Teeth of this size would end in a point; check module and diameter of the gear.",
        MeshNote.CONTACT_LOW: "Little more than one pair of teeth drives at a time.",
        MeshNote.CONTACT_SHORT: "So few teeth give less than one pair in contact by theory.",
        MeshNote.SHAFTS_AT_ANGLE: "The shafts are not parallel; backlash and contact hold for parallel ones.",
        MeshNote.THEORY_DIFFERS: "This pair has been seen running free; theory says otherwise, and the car is right.",
    }
)

BASES: Final[Mapping[Basis, str]] = MappingProxyType(
    {Basis.THEORY: "Calculated.", Basis.RECORD: "Recorded: somebody has seen this pair run."}
)

ASSUMPTIONS: Final[Mapping[Assumption, str]] = MappingProxyType(
    {
        Assumption.MODULE_FROM_DIAMETER: "The module is worked out from teeth and outside diameter.",
        Assumption.MODULE_FROM_MATE: "The module is taken to be that of the other gear.",
        Assumption.MODULE_AMBIGUOUS: "More than one standard module or pitch would fit this diameter.",
        Assumption.SHIFT_FROM_DIAMETER: "The profile shift is worked out from the outside diameter.",
        Assumption.SHIFT_LARGE: "That is more than one module of shift: the gear may be of another pitch.",
        Assumption.STANDARD_DIAMETER: "The outside diameter is taken to be the standard one.",
        Assumption.PRESSURE_ANGLE: "The pressure angle is taken to be 20 degrees.",
        Assumption.FULL_DEPTH: "The teeth are taken to be of full depth.",
    }
)

CROWN_FINDINGS: Final[Mapping[CrownFinding, str]] = MappingProxyType(
    {
        CrownFinding.ROLLS_OUTSIDE_TEETH: "The circle that rolls without sliding lies outside the crown's teeth.",
        CrownFinding.PINION_MISSES_ROLLING: "The pinion stands on the teeth, but not where both roll without sliding.",
        CrownFinding.PINION_MISSES_TEETH: "The pinion does not stand on the crown's teeth.",
        CrownFinding.PINION_MEETS_AXLE: "The end of the pinion meets the axle.",
    }
)

CROWN_LIMITS: Final[Mapping[CrownLimit, str]] = MappingProxyType(
    {
        CrownLimit.LIKE_A_RACK: "The crown is treated as a rack; that holds near the circle that rolls.",
        CrownLimit.NO_CONTACT_RATIO: "No contact ratio is given for a crown gear.",
        CrownLimit.SHAFTS_CROSS_SQUARE: "Shafts are taken to cross at a right angle in one plane.",
    }
)
