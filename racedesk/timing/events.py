"""What can happen in a heat, as typed events, and how an event goes into a database row and back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from .errors import ClockError, LapsError
from .laps import LapCount


class EventKind(StrEnum):
    """Every kind of heat event. The value is what is stored."""

    READY = "ready"  # cars are on the line
    STAND_DOWN = "stand_down"  # they are not after all: back to waiting, nothing was run
    START = "start"  # opens the countdown; the clock runs from its end
    CALL_TRACK = "call_track"  # power off, clock held
    RESUME = "resume"  # opens the short countdown back to green
    END = "end"  # by time, or early by the director
    LANE_OUT = "lane_out"  # the car on that lane takes no further part in this heat
    LANE_BACK = "lane_back"  # it does after all
    LAPS_ENTERED = "laps_entered"  # a lane's total, typed for the first time
    LAPS_CORRECTED = "laps_corrected"  # a lane's total put right, with the reason
    CLOSE = "close"  # every lane is accounted for: the heat counts
    VOID = "void"  # what was run does not count, with the reason: the heat is run again


@dataclass(frozen=True, slots=True)
class Nothing:
    """The payload of a kind that says all by itself."""


@dataclass(frozen=True, slots=True)
class Countdown:
    """start, resume. countdown_ms: None for the race's setting."""

    countdown_ms: int | None = None


@dataclass(frozen=True, slots=True)
class TrackCallFacts:
    """call_track. ground: why; called_by: who asked for it (the log of trade practice). Both may be empty."""

    ground: str = ""
    called_by: str = ""


@dataclass(frozen=True, slots=True)
class Reason:
    """end (may be empty), lane_out, void (never empty)."""

    reason: str = ""


@dataclass(frozen=True, slots=True)
class TypedLaps:
    """laps_entered, laps_corrected. text: as it was typed. reason: never empty for a correction."""

    laps: LapCount
    text: str = ""
    reason: str = ""


Payload = Nothing | Countdown | TrackCallFacts | Reason | TypedLaps

PAYLOADS: Mapping[EventKind, type[Payload]] = {
    EventKind.READY: Nothing,
    EventKind.STAND_DOWN: Nothing,
    EventKind.START: Countdown,
    EventKind.CALL_TRACK: TrackCallFacts,
    EventKind.RESUME: Countdown,
    EventKind.END: Reason,
    EventKind.LANE_OUT: Reason,
    EventKind.LANE_BACK: Nothing,
    EventKind.LAPS_ENTERED: TypedLaps,
    EventKind.LAPS_CORRECTED: TypedLaps,
    EventKind.CLOSE: Nothing,
    EventKind.VOID: Reason,
}
_DEFAULTS: Mapping[EventKind, Payload] = {
    EventKind.START: Countdown(),
    EventKind.RESUME: Countdown(),
    EventKind.CALL_TRACK: TrackCallFacts(),
    EventKind.END: Reason(),
    EventKind.LANE_OUT: Reason(),
    EventKind.VOID: Reason(),
}
LANE_KINDS = frozenset({EventKind.LANE_OUT, EventKind.LANE_BACK, EventKind.LAPS_ENTERED, EventKind.LAPS_CORRECTED})
REASON_NEEDED = frozenset({EventKind.LANE_OUT, EventKind.LAPS_CORRECTED, EventKind.VOID})


@dataclass(frozen=True, slots=True)
class HeatEvent:
    """One thing that happened in a heat.

    number: 1, 2, 3 ... without gaps in the heat. at_ms: epoch milliseconds by the server's clock. lane: the
    lane's number for the kinds of LANE_KINDS, None for all others.
    Raises ClockError with code payload_wrong, lane_missing, lane_not_expected or reason_missing.
    """

    number: int
    kind: EventKind
    at_ms: int
    lane: int | None = None
    payload: Payload = Nothing()

    def __post_init__(self) -> None:
        if self.payload == Nothing():
            # Leaving the payload out means its defaults, so that pressing a key needs no form.
            object.__setattr__(self, "payload", _DEFAULTS.get(self.kind, Nothing()))
        if type(self.payload) is not PAYLOADS[self.kind]:
            raise ClockError("payload_wrong", f"{self.kind} does not carry that.", kind=self.kind)
        if self.kind in LANE_KINDS and self.lane is None:
            raise ClockError("lane_missing", f"{self.kind} needs a lane.", kind=self.kind)
        if self.kind not in LANE_KINDS and self.lane is not None:
            raise ClockError("lane_not_expected", f"{self.kind} is not about one lane.", kind=self.kind)
        if self.kind in REASON_NEEDED and not reason_of(self.payload).strip():
            raise ClockError("reason_missing", "Say why: the reason is kept with it.", kind=self.kind)
        if isinstance(self.payload, Countdown) and (self.payload.countdown_ms or 0) < 0:
            raise ClockError("bad_countdown", "A countdown cannot be below zero.", kind=self.kind)


def reason_of(payload: Payload) -> str:
    """The reason a payload gives, empty where its kind has none."""
    return payload.reason if isinstance(payload, Reason | TypedLaps) else ""


# --- database rows ---------------------------------------------------------------------------------------


def data_of(payload: Payload) -> dict[str, str | int]:
    """The payload as plain JSON data: only what differs from the default. Read back by event_of."""
    match payload:
        case Countdown(countdown_ms):
            return {} if countdown_ms is None else {"countdown_ms": countdown_ms}
        case TrackCallFacts(ground, called_by):
            return _without_empty(ground=ground, called_by=called_by)
        case Reason(reason):
            return _without_empty(reason=reason)
        case TypedLaps(laps, text, reason):
            counts: dict[str, str | int] = {
                "laps": laps.laps,
                "sections": laps.sections,
                "divisor": laps.divisor,
            }
            return counts | _without_empty(text=text, reason=reason)
        case Nothing():
            return {}


def event_of(*, number: int, kind: str, at_ms: int, lane: int | None, data: Mapping[str, object]) -> HeatEvent:
    """The typed event of a row whose data came from data_of.

    Raises ClockError with code kind_unknown or payload_wrong, or those of HeatEvent.
    """
    try:
        known_kind = EventKind(kind)
    except ValueError:
        raise ClockError("kind_unknown", f"{kind} is no kind of heat event.", kind=kind) from None
    return HeatEvent(number, known_kind, at_ms, lane, _payload_of(known_kind, data))


def _payload_of(kind: EventKind, data: Mapping[str, object]) -> Payload:
    wanted = PAYLOADS[kind]
    if wanted is Countdown:
        return Countdown(_whole(kind, data, "countdown_ms") if "countdown_ms" in data else None)
    if wanted is TrackCallFacts:
        return TrackCallFacts(_text(kind, data, "ground"), _text(kind, data, "called_by"))
    if wanted is Reason:
        return Reason(_text(kind, data, "reason"))
    if wanted is TypedLaps:
        try:
            laps = LapCount(*(_whole(kind, data, name) for name in ("laps", "sections", "divisor")))
        except LapsError as error:
            raise ClockError("payload_wrong", error.explanation, kind=kind) from error
        return TypedLaps(laps, _text(kind, data, "text"), _text(kind, data, "reason"))
    return Nothing()


def _whole(kind: EventKind, data: Mapping[str, object], name: str) -> int:
    value = data.get(name)
    if isinstance(value, bool) or not isinstance(value, int):
        raise ClockError("payload_wrong", f"{kind}: {name} is not a whole number.", kind=kind, name=name)
    return value


def _text(kind: EventKind, data: Mapping[str, object], name: str) -> str:
    value = data.get(name, "")
    if not isinstance(value, str):
        raise ClockError("payload_wrong", f"{kind}: {name} is not text.", kind=kind, name=name)
    return value


def _without_empty(**texts: str) -> dict[str, str | int]:
    return {name: text for name, text in texts.items() if text}
