"""All models of the race side, one file an aggregate."""

from racedesk.models.draw import Draw, Seat, Stage
from racedesk.models.entry import Entry, EntryCar, EntryDriver, EntryImport, Payment
from racedesk.models.event import Event, Race
from racedesk.models.heat import Heat, HeatEvent, LaneAssignment, MarshalDuty, MarshalHelper
from racedesk.models.result import Penalty, ResultRow, ResultSheet
from racedesk.models.season import Round, Season
from racedesk.models.techcall import CalledEntry, DismissedFinding, TechCall

__all__ = [
    "CalledEntry",
    "DismissedFinding",
    "Draw",
    "Entry",
    "EntryCar",
    "EntryDriver",
    "EntryImport",
    "Event",
    "Heat",
    "HeatEvent",
    "LaneAssignment",
    "MarshalDuty",
    "MarshalHelper",
    "Payment",
    "Penalty",
    "Race",
    "ResultRow",
    "ResultSheet",
    "Round",
    "Season",
    "Seat",
    "Stage",
    "TechCall",
]
