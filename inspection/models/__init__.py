"""All models of the inspection side, one file an aggregate."""

from inspection.models.bench import BenchSheet, Chassis, JobLine, JobTicket, PrepTemplate, Run
from inspection.models.car import Build, Car, DeclaredValue
from inspection.models.choicelist import ChoiceEntry, ChoiceList, ChoiceListRevision
from inspection.models.club import AppendOnlyError, Club, Job, LogEntry, Membership, Role
from inspection.models.driver import Driver, DriverSpelling, name_key
from inspection.models.gauge import Characteristic, Gauge
from inspection.models.inspection import Finding, ImpoundTouch, Inspection, Photo, Reading, TechOccasion
from inspection.models.part import MotorTest, MotorUnit, Part, StockMove
from inspection.models.public import new_public_id
from inspection.models.racing_class import RacingClass
from inspection.models.rulesheet import Clause, ClauseRuling, RuleSheet, RuleSheetRevision
from inspection.models.study import GaugeCheck, GaugeStudy, StudyReading
from inspection.models.track import Lane, MarshalPost, Track, TrackLayout
from inspection.models.user import User

__all__ = [
    "AppendOnlyError",
    "BenchSheet",
    "Build",
    "Car",
    "Characteristic",
    "Chassis",
    "ChoiceEntry",
    "ChoiceList",
    "ChoiceListRevision",
    "Clause",
    "ClauseRuling",
    "Club",
    "DeclaredValue",
    "Driver",
    "DriverSpelling",
    "Finding",
    "Gauge",
    "GaugeCheck",
    "GaugeStudy",
    "ImpoundTouch",
    "Inspection",
    "Job",
    "JobLine",
    "JobTicket",
    "Lane",
    "LogEntry",
    "MarshalPost",
    "Membership",
    "MotorTest",
    "MotorUnit",
    "Part",
    "Photo",
    "PrepTemplate",
    "RacingClass",
    "Reading",
    "Role",
    "RuleSheet",
    "RuleSheetRevision",
    "Run",
    "StockMove",
    "StudyReading",
    "TechOccasion",
    "Track",
    "TrackLayout",
    "User",
    "name_key",
    "new_public_id",
]
