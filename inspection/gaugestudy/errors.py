"""What the study of a gauge refuses to calculate."""

from collections.abc import Mapping
from enum import StrEnum
from typing import Final


class StudyCode(StrEnum):
    """Stable codes of a refusal; the message of each is in `MESSAGES`."""

    TOO_FEW_PARTS = "too_few_parts"
    TOO_FEW_TRIALS = "too_few_trials"
    TOO_FEW_INSPECTORS = "too_few_inspectors"
    TOO_FEW_READINGS = "too_few_readings"
    MISSING_READINGS = "missing_readings"
    BAD_TOLERANCE = "bad_tolerance"
    BAD_SEED = "bad_seed"
    BAD_DEGREES = "bad_degrees"
    BAD_PROBABILITY = "bad_probability"
    SAME_REFERENCES = "same_references"


MESSAGES: Final[Mapping[StudyCode, str]] = {
    StudyCode.TOO_FEW_PARTS: "A crossed study needs 2 parts or more.",
    StudyCode.TOO_FEW_TRIALS: "A crossed study needs 2 trials or more.",
    StudyCode.TOO_FEW_INSPECTORS: "A study needs an inspector.",
    StudyCode.TOO_FEW_READINGS: "This needs %(least)s readings or more.",
    StudyCode.MISSING_READINGS: "%(missing)s of %(wanted)s readings are missing.",
    StudyCode.BAD_TOLERANCE: "The width of a tolerance is above 0.",
    StudyCode.BAD_SEED: "A seed is a whole number, 0 or more.",
    StudyCode.BAD_DEGREES: "Degrees of freedom are above 0.",
    StudyCode.BAD_PROBABILITY: "A probability lies between 0 and 1.",
    StudyCode.SAME_REFERENCES: "Linearity needs two sizes or more.",
}


class StudyError(ValueError):
    """A study that cannot be worked out. `str()` is English; `MESSAGES[error.code]` with `params` translates."""

    def __init__(self, code: StudyCode, **params: str) -> None:
        self.code: Final = code
        self.params: Final[Mapping[str, str]] = params
        super().__init__(MESSAGES[code] % params)
