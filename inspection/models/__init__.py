"""All models of the inspection side, one file an aggregate."""

from inspection.models.car import Build, Car, DeclaredValue
from inspection.models.club import AppendOnlyError, Club, Job, LogEntry, Membership, Role
from inspection.models.driver import Driver, DriverSpelling, name_key
from inspection.models.gauge import Characteristic, Gauge
from inspection.models.inspection import Finding, Inspection, TechOccasion
from inspection.models.public import new_public_id
from inspection.models.racing_class import RacingClass
from inspection.models.rulesheet import Clause, ClauseRuling, RuleSheet, RuleSheetRevision
from inspection.models.track import Lane, MarshalPost, Track, TrackLayout
from inspection.models.user import User

__all__ = [
    "AppendOnlyError",
    "Build",
    "Car",
    "Characteristic",
    "Clause",
    "ClauseRuling",
    "Club",
    "DeclaredValue",
    "Driver",
    "DriverSpelling",
    "Finding",
    "Gauge",
    "Inspection",
    "Job",
    "Lane",
    "LogEntry",
    "MarshalPost",
    "Membership",
    "RacingClass",
    "Role",
    "RuleSheet",
    "RuleSheetRevision",
    "TechOccasion",
    "Track",
    "TrackLayout",
    "User",
    "name_key",
    "new_public_id",
]
