"""The heat clock: a reducer. Replaying a heat's events gives the board after any crash.

    waiting -> ready -> countdown -> running -> ended -> closed
                            ^            |
                            |        track call   (power off, clock held; resume opens a countdown again)
                            +------------+

Time is an argument everywhere: nothing here reads a clock. The heat's time is what was run under green:
the countdown and the time a track call holds never count. `running` becomes `ended` by itself when the time is
up, whether or not anybody recorded it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum

from .errors import ClockError
from .events import Countdown, EventKind, HeatEvent, TrackCallFacts, TypedLaps, reason_of
from .laps import LapCount

__all__ = [
    "ClockSettings",
    "ClockState",
    "EventKind",
    "HeatEvent",
    "LaneLaps",
    "Phase",
    "TrackCall",
    "VoidedRun",
    "allowed",
    "apply",
    "elapsed_ms",
    "ends_at_ms",
    "held_ms",
    "is_power_off_warning",
    "lanes_without_laps",
    "left_ms",
    "new_state",
    "next_at_ms",
    "phase_at",
    "replay",
]


class Phase(StrEnum):
    """Where a heat stands."""

    WAITING = "waiting"
    READY = "ready"
    COUNTDOWN = "countdown"
    RUNNING = "running"
    TRACK_CALL = "track_call"
    ENDED = "ended"
    CLOSED = "closed"


@dataclass(frozen=True, slots=True)
class ClockSettings:
    """What the race fixes for the clock of one heat. All times in milliseconds.

    power_off_warning_ms: how long before the end the warning begins. lanes: numbers of the lanes that have a
    driver in this heat. divisor: sections a lap of the track.
    Raises ClockError with code bad_settings.
    """

    heat_length_ms: int
    lanes: frozenset[int]
    divisor: int
    countdown_ms: int = 3_000
    resume_countdown_ms: int = 3_000
    power_off_warning_ms: int = 10_000

    def __post_init__(self) -> None:
        if self.heat_length_ms <= 0:
            raise ClockError("bad_settings", "A heat lasts longer than nothing.", name="heat_length_ms")
        for name in ("countdown_ms", "resume_countdown_ms", "power_off_warning_ms"):
            if getattr(self, name) < 0:
                raise ClockError("bad_settings", f"{name} cannot be below zero.", name=name)
        if not self.lanes:
            raise ClockError("bad_settings", "A heat has at least one lane with a driver.", name="lanes")
        if self.divisor < 1:
            raise ClockError("bad_settings", "A lap has at least one section.", name="divisor")


@dataclass(frozen=True, slots=True)
class TrackCall:
    """A track call. heat_ms: what the heat's own clock had run when it was called.

    until_ms: when green came back (a moment ahead during the countdown), None while nobody has resumed.
    """

    at_ms: int
    heat_ms: int
    ground: str = ""
    called_by: str = ""
    until_ms: int | None = None

    def held_ms(self, now_ms: int) -> int:
        """How long this call has held the clock by now_ms."""
        until_ms = now_ms if self.until_ms is None else min(self.until_ms, now_ms)
        return max(0, until_ms - self.at_ms)


@dataclass(frozen=True, slots=True)
class LaneLaps:
    """A lane's total as last typed. corrections: how often it was put right."""

    lane: int
    laps: LapCount
    text: str = ""
    corrections: int = 0
    reason: str = ""


@dataclass(frozen=True, slots=True)
class VoidedRun:
    """A run of the heat that does not count."""

    run: int
    at_ms: int
    reason: str


@dataclass(frozen=True, slots=True)
class ClockState:
    """All that the events so far say.

    number, at_ms: of the last event (0 and 0 before the first). run: 1, one more for each voided run.
    phase: as of the last event; ask phase_at for now. run_ms: heat time run before the present green.
    green_at_ms: since when (or from when, in a countdown) the clock runs; None while it does not.
    """

    settings: ClockSettings
    number: int = 0
    at_ms: int = 0
    run: int = 1
    phase: Phase = Phase.WAITING
    run_ms: int = 0
    green_at_ms: int | None = None
    first_green_at_ms: int | None = None
    ended_at_ms: int | None = None
    is_end_recorded: bool = False
    is_ended_early: bool = False
    is_timed_elsewhere: bool = False
    end_reason: str = ""
    calls: tuple[TrackCall, ...] = ()
    laps: tuple[LaneLaps, ...] = ()
    lanes_out: frozenset[int] = frozenset()
    voided: tuple[VoidedRun, ...] = ()

    def laps_on(self, lane: int) -> LaneLaps | None:
        """What was typed for the lane, None if nothing yet."""
        return next((typed for typed in self.laps if typed.lane == lane), None)


def new_state(settings: ClockSettings) -> ClockState:
    """A heat in which nothing has happened."""
    return ClockState(settings)


# --- reading the clock -----------------------------------------------------------------------------------


def elapsed_ms(state: ClockState, now_ms: int) -> int:
    """Heat time run under green by now_ms: 0 to the heat's length."""
    if state.green_at_ms is None:
        return state.run_ms
    return min(state.settings.heat_length_ms, state.run_ms + max(0, now_ms - state.green_at_ms))


def left_ms(state: ClockState, now_ms: int) -> int:
    """What the heat's clock shows: never negative, never more than the heat's length.

    A heat ended early keeps what was left; one timed elsewhere has nothing left.
    """
    if state.is_timed_elsewhere:
        return 0
    return state.settings.heat_length_ms - elapsed_ms(state, now_ms)


def phase_at(state: ClockState, now_ms: int) -> Phase:
    """The phase at now_ms: green comes and time runs out without an event."""
    if state.green_at_ms is None:
        return state.phase
    if now_ms < state.green_at_ms:
        return Phase.COUNTDOWN
    return Phase.RUNNING if left_ms(state, now_ms) > 0 else Phase.ENDED


def ends_at_ms(state: ClockState) -> int | None:
    """When the power goes off if nothing else happens (server's clock); None while the clock is held."""
    if state.green_at_ms is None:
        return None
    return state.green_at_ms + state.settings.heat_length_ms - state.run_ms


def held_ms(state: ClockState, now_ms: int) -> int:
    """How long all track calls of this run together have held the clock by now_ms."""
    return sum(call.held_ms(now_ms) for call in state.calls)


def is_power_off_warning(state: ClockState, now_ms: int) -> bool:
    """Is the heat running with no more than the warning time left?"""
    return phase_at(state, now_ms) is Phase.RUNNING and left_ms(state, now_ms) <= state.settings.power_off_warning_ms


def lanes_without_laps(state: ClockState) -> tuple[int, ...]:
    """Lanes whose laps must still be typed before the heat can close; a lane that is out need have none."""
    have = {typed.lane for typed in state.laps} | state.lanes_out
    return tuple(sorted(state.settings.lanes - have))


def next_at_ms(state: ClockState, now_ms: int) -> int:
    """The time to give the next event: now, or the last event's time if the server's clock was set back."""
    return max(now_ms, state.at_ms)


def allowed(state: ClockState, now_ms: int) -> frozenset[EventKind]:
    """The kinds of event that can happen now. For a kind about a lane: on at least one lane."""
    settled = _settle(state, next_at_ms(state, now_ms))
    phase = phase_at(settled, next_at_ms(state, now_ms))
    kinds = set(_BY_PHASE[phase])
    if phase is Phase.ENDED and not (settled.is_end_recorded or settled.is_timed_elsewhere):
        kinds.add(EventKind.END)
    if not any(settled.laps_on(lane) is None for lane in settled.settings.lanes):
        kinds.discard(EventKind.LAPS_ENTERED)
    if not settled.laps:
        kinds.discard(EventKind.LAPS_CORRECTED)
    if not settled.settings.lanes - settled.lanes_out:
        kinds.discard(EventKind.LANE_OUT)
    if not settled.lanes_out:
        kinds.discard(EventKind.LANE_BACK)
    if lanes_without_laps(settled):
        kinds.discard(EventKind.CLOSE)
    return frozenset(kinds)


_LANE_OUT_OR_BACK = frozenset({EventKind.LANE_OUT, EventKind.LANE_BACK})
_BY_PHASE = {
    # A club that times its heats with another clock types the laps of a waiting heat.
    Phase.WAITING: _LANE_OUT_OR_BACK | {EventKind.READY, EventKind.LAPS_ENTERED},
    Phase.READY: _LANE_OUT_OR_BACK | {EventKind.START, EventKind.STAND_DOWN},
    # A call stops a countdown too: the same key must do the same thing whenever cars may move.
    Phase.COUNTDOWN: _LANE_OUT_OR_BACK | {EventKind.CALL_TRACK, EventKind.END},
    # A heat is voided only once the power is off: first call the track, or end it.
    Phase.RUNNING: _LANE_OUT_OR_BACK | {EventKind.CALL_TRACK, EventKind.END},
    Phase.TRACK_CALL: _LANE_OUT_OR_BACK | {EventKind.RESUME, EventKind.END, EventKind.VOID},
    Phase.ENDED: _LANE_OUT_OR_BACK
    | {EventKind.LAPS_ENTERED, EventKind.LAPS_CORRECTED, EventKind.CLOSE, EventKind.VOID},
    # Laps are typed after closing only for a lane that was out and had none.
    Phase.CLOSED: frozenset({EventKind.LAPS_ENTERED, EventKind.LAPS_CORRECTED, EventKind.VOID}),
}


# --- applying events -------------------------------------------------------------------------------------


def replay(events: Iterable[HeatEvent], settings: ClockSettings) -> ClockState:
    """The state after all events, in their order. Raises ClockError as apply does."""
    state = new_state(settings)
    for event in events:
        state = apply(state, event)
    return state


def apply(state: ClockState, event: HeatEvent) -> ClockState:
    """The state after the event; the given state is left as it is.

    Raises ClockError with code number_gap, time_goes_back, not_allowed (params kind, phase), lane_unknown,
    lane_already_out, lane_not_out, laps_already_entered, no_laps_to_correct, divisor_mismatch or
    lanes_without_laps (params lanes).
    """
    _refuse_out_of_order(state, event)
    settled = _settle(state, event.at_ms)
    if event.kind is EventKind.CLOSE and (missing := lanes_without_laps(settled)):
        lanes = ", ".join(str(lane) for lane in missing)
        raise ClockError("lanes_without_laps", f"No laps typed yet for lane {lanes}.", lanes=missing)
    _refuse_lane_mismatch(settled, event)
    if event.kind not in allowed(settled, event.at_ms):
        phase = phase_at(settled, event.at_ms)
        raise ClockError(
            "not_allowed",
            f"{event.kind} cannot happen while the heat is {phase}.",
            kind=event.kind,
            phase=phase,
        )
    return replace(_STEPS[event.kind](settled, event), number=event.number, at_ms=event.at_ms)


def _refuse_out_of_order(state: ClockState, event: HeatEvent) -> None:
    if event.number != state.number + 1:
        raise ClockError(
            "number_gap",
            f"The next event of this heat is number {state.number + 1}, not {event.number}.",
            expected=state.number + 1,
            number=event.number,
        )
    if event.at_ms < state.at_ms:
        raise ClockError(
            "time_goes_back",
            "The event is earlier than the one before it.",
            at_ms=event.at_ms,
            after_ms=state.at_ms,
        )


def _refuse_lane_mismatch(state: ClockState, event: HeatEvent) -> None:
    if event.lane is None:
        return
    if event.lane not in state.settings.lanes:
        raise ClockError("lane_unknown", f"Nobody is on lane {event.lane} in this heat.", lane=event.lane)
    typed = state.laps_on(event.lane)
    refusal = {
        EventKind.LANE_OUT: ("lane_already_out", event.lane in state.lanes_out, "is out already"),
        EventKind.LANE_BACK: ("lane_not_out", event.lane not in state.lanes_out, "is not out"),
        EventKind.LAPS_ENTERED: ("laps_already_entered", typed is not None, "has its laps: correct them"),
        EventKind.LAPS_CORRECTED: ("no_laps_to_correct", typed is None, "has no laps to correct yet"),
    }
    code, is_refused, words = refusal[event.kind]
    if is_refused:
        raise ClockError(code, f"Lane {event.lane} {words}.", lane=event.lane)
    if isinstance(event.payload, TypedLaps) and event.payload.laps.divisor != state.settings.divisor:
        raise ClockError(
            "divisor_mismatch",
            f"This track divides a lap into {state.settings.divisor} sections, not {event.payload.laps.divisor}.",
            divisor=state.settings.divisor,
        )


def _settle(state: ClockState, at_ms: int) -> ClockState:
    """The state in which a time that has run out is written down."""
    if phase_at(state, at_ms) is not Phase.ENDED or state.phase is Phase.ENDED:
        return state
    return replace(
        state,
        phase=Phase.ENDED,
        run_ms=state.settings.heat_length_ms,
        green_at_ms=None,
        ended_at_ms=ends_at_ms(state),
    )


# Each step takes a state in which its event is known to be allowed.


def _ready(state: ClockState, event: HeatEvent) -> ClockState:
    phase = Phase.READY if event.kind is EventKind.READY else Phase.WAITING
    return replace(state, phase=phase)


def _go_green(state: ClockState, event: HeatEvent) -> ClockState:
    asked_ms = event.payload.countdown_ms if isinstance(event.payload, Countdown) else None
    usual_ms = state.settings.countdown_ms if event.kind is EventKind.START else state.settings.resume_countdown_ms
    green_at_ms = event.at_ms + (usual_ms if asked_ms is None else asked_ms)
    return replace(
        state,
        phase=Phase.COUNTDOWN,
        green_at_ms=green_at_ms,
        first_green_at_ms=green_at_ms if state.run_ms == 0 else state.first_green_at_ms,
        calls=_held_until(state.calls, green_at_ms),
    )


def _call_track(state: ClockState, event: HeatEvent) -> ClockState:
    facts = event.payload if isinstance(event.payload, TrackCallFacts) else TrackCallFacts()
    run_ms = elapsed_ms(state, event.at_ms)
    call = TrackCall(event.at_ms, run_ms, facts.ground, facts.called_by)
    return replace(
        state,
        phase=Phase.TRACK_CALL,
        run_ms=run_ms,
        green_at_ms=None,
        # A call in the countdown after a call begins where that one stops: no moment is held twice.
        calls=(*_held_until(state.calls, event.at_ms), call),
    )


def _end(state: ClockState, event: HeatEvent) -> ClockState:
    is_over = state.phase is Phase.ENDED
    return replace(
        state,
        phase=Phase.ENDED,
        run_ms=elapsed_ms(state, event.at_ms),
        green_at_ms=None,
        ended_at_ms=state.ended_at_ms if is_over else event.at_ms,
        is_end_recorded=True,
        is_ended_early=not is_over,
        end_reason=reason_of(event.payload),
        calls=_held_until(state.calls, event.at_ms),
    )


def _held_until(calls: tuple[TrackCall, ...], at_ms: int) -> tuple[TrackCall, ...]:
    """The calls, the last of them holding no longer than to at_ms."""
    if not calls:
        return calls
    last = calls[-1]
    until_ms = at_ms if last.until_ms is None else min(last.until_ms, at_ms)
    return (*calls[:-1], replace(last, until_ms=until_ms))


def _move_lane(state: ClockState, event: HeatEvent) -> ClockState:
    return replace(state, lanes_out=state.lanes_out ^ {_lane_of(event)})


def _type_laps(state: ClockState, event: HeatEvent) -> ClockState:
    lane = _lane_of(event)
    if not isinstance(event.payload, TypedLaps):
        raise ClockError("payload_wrong", f"{event.kind} does not carry that.", kind=event.kind)
    before = state.laps_on(lane)
    typed = LaneLaps(
        lane,
        event.payload.laps,
        event.payload.text,
        corrections=0 if before is None else before.corrections + 1,
        reason=event.payload.reason,
    )
    others = (laps for laps in state.laps if laps.lane != lane)
    laps = tuple(sorted((*others, typed), key=lambda each: each.lane))
    if state.phase is Phase.WAITING:
        return replace(state, laps=laps, phase=Phase.ENDED, is_timed_elsewhere=True, ended_at_ms=event.at_ms)
    return replace(state, laps=laps)


def _lane_of(event: HeatEvent) -> int:
    if event.lane is None:
        raise ClockError("lane_missing", f"{event.kind} needs a lane.", kind=event.kind)
    return event.lane


def _close(state: ClockState, _event: HeatEvent) -> ClockState:
    return replace(state, phase=Phase.CLOSED)


def _void(state: ClockState, event: HeatEvent) -> ClockState:
    voided = VoidedRun(state.run, event.at_ms, reason_of(event.payload))
    return replace(new_state(state.settings), run=state.run + 1, voided=(*state.voided, voided))


_STEPS: Mapping[EventKind, Callable[[ClockState, HeatEvent], ClockState]] = {
    EventKind.READY: _ready,
    EventKind.STAND_DOWN: _ready,
    EventKind.START: _go_green,
    EventKind.CALL_TRACK: _call_track,
    EventKind.RESUME: _go_green,
    EventKind.END: _end,
    EventKind.LANE_OUT: _move_lane,
    EventKind.LANE_BACK: _move_lane,
    EventKind.LAPS_ENTERED: _type_laps,
    EventKind.LAPS_CORRECTED: _type_laps,
    EventKind.CLOSE: _close,
    EventKind.VOID: _void,
}
