"""Run a heat: every command and every typed lap is one numbered event, checked by replaying the heat's clock."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.db import transaction

from inspection.clubs.services import write_log
from inspection.models import Club, Driver, Lane, User
from racedesk.clocks.selectors import heat_state, heats_under_way, now_ms
from racedesk.models import Entry, Event, Heat, HeatEvent, LaneAssignment, Race
from racedesk.racecontrol.errors import (
    AnotherHeatRuns,
    DrawSuperseded,
    LapsNeedConfirming,
    LapsNotUnderstood,
    NotADriverHere,
    NotAllowedNow,
    NotInHeat,
    ReasonMissing,
)
from racedesk.racecontrol.selectors import Understood, last_heats_of_seats, question_about, too_many, understand
from racedesk.timing.errors import ClockError, LapsError
from racedesk.timing.events import EventKind, data_of, event_of
from racedesk.timing.heat_clock import ClockState, Phase, apply, lanes_without_laps, next_at_ms
from racedesk.timing.plausible import Severity

# These put cars on the track: from then on it is written down who drives which car.
_LINE_UP_KINDS = (EventKind.START, EventKind.LAPS_ENTERED)
# What the director must be able to find again in the club's log; the rest stays with the heat.
_LOGGED = {
    EventKind.LAPS_CORRECTED: "corrected laps",
    EventKind.VOID: "voided a heat",
    EventKind.LANE_OUT: "took a lane out",
}


@transaction.atomic
def append_event(
    *,
    heat: Heat,
    kind: str,
    lane: Lane | None = None,
    detail: Mapping[str, Any] | None = None,
    reason: str = "",
    at_ms: int,
    client_key: str = "",
    by: User | None,
) -> HeatEvent:
    """Add the next event to a heat and give it its number, under the heat's lock.

    at_ms: when it happened by the server's clock; moved up to the event before it should the clock have been set
    back. client_key: one for each press of a key; the same sent twice is stored once and answered alike.
    Refused: with the heat clock's codes (not_allowed, reason_missing, lane_unknown ...), draw_superseded,
    another_heat_runs.
    """
    return _happen(heat, kind, lane=lane, detail=detail, reason=reason, at_ms=at_ms, client_key=client_key, by=by)


@transaction.atomic
def start_heat(*, heat: Heat, at_ms: int, client_key: str = "", by: User | None) -> HeatEvent:
    """Open the countdown; a heat still waiting is made ready first, so that starting is one press.

    Refused: as append_event.
    """
    return _happen(heat, EventKind.START, readies=True, at_ms=at_ms, client_key=client_key, by=by)


def _happen(
    heat: Heat,
    kind: str,
    *,
    readies: bool = False,
    lane: Lane | None = None,
    detail: Mapping[str, Any] | None = None,
    reason: str = "",
    at_ms: int,
    client_key: str,
    by: User | None,
) -> HeatEvent:
    """One event of a heat. readies: a heat still waiting is made ready before it."""
    race = _race_of(heat)
    if kind == EventKind.START:
        # Two heats of one night share the track: the night's lock comes first, always in this order.
        Event.objects.hold(race.event_id)
    locked = Heat.objects.hold(heat.pk, "draw")
    sent_before = _sent_before(locked, client_key)
    if sent_before:
        return sent_before
    if locked.draw.superseded_at is not None:
        raise DrawSuperseded
    state = heat_state(locked, race=race)
    if kind == EventKind.START:
        _refuse_second_heat(race, locked, at_ms=at_ms)
    steps = []
    if readies and state.phase is Phase.WAITING:
        steps.append(_step(locked, state, kind=EventKind.READY, at_ms=at_ms, by=by))
        state = steps[0].after
    said = {"lane": lane, "detail": detail, "reason": reason, "at_ms": at_ms, "key": client_key, "by": by}
    steps.append(_step(locked, state, kind=kind, **said))
    _save(race, locked, steps)
    return steps[-1].event


def _race_of(heat: Heat) -> Race:
    return Race.objects.select_related("event__club", "event__track_layout").get(stages__draws__heats=heat)


def _sent_before(heat: Heat, client_key: str) -> HeatEvent | None:
    return heat.events.filter(client_key=client_key).first() if client_key else None


@dataclass(frozen=True, slots=True)
class _Step:
    """An event that may happen, not saved yet, and the heat's clock before and after it."""

    event: HeatEvent
    before: ClockState
    after: ClockState


def _step(
    heat: Heat,
    state: ClockState,
    *,
    kind: str,
    lane: Lane | None = None,
    detail: Mapping[str, Any] | None = None,
    reason: str = "",
    at_ms: int,
    key: str = "",
    by: User | None,
) -> _Step:
    """The next event of a heat, checked against its clock. The heat must be locked."""
    reason = reason.strip()[:300]
    data = dict(detail or {}) | ({"reason": reason} if reason else {})
    at_ms = next_at_ms(state, at_ms)
    number = state.number + 1
    try:
        event = event_of(number=number, kind=kind, at_ms=at_ms, lane=lane.number if lane else None, data=data)
        after = apply(state, event)
    except ClockError as error:
        raise NotAllowedNow(error) from error
    kept = {name: value for name, value in data_of(event.payload).items() if name != "reason"}
    if number == 1:
        kept["clock"] = _kept_settings(state)
    row = HeatEvent(
        heat=heat, number=number, kind=str(event.kind), at_ms=at_ms, lane=lane, detail=kept, reason=reason, by=by,
        client_key=key,
    )  # fmt: skip
    return _Step(row, state, after)


def _save(race: Race, heat: Heat, steps: Sequence[_Step]) -> None:
    """Save what happened in a heat that is locked, and what follows from it."""
    HeatEvent.objects.bulk_create(step.event for step in steps)
    if any(step.event.kind in _LINE_UP_KINDS for step in steps):
        _write_line_up(heat)
    for step in steps:
        event, lane = step.event, step.event.lane
        if event.kind not in _LOGGED:
            continue
        facts = {"lane": str(lane)} if lane else {}
        if "laps" in event.detail and lane is not None:
            before = step.before.laps_on(lane.number)
            facts |= {"before": str(before.laps) if before else "", "after": str(step.after.laps_on(lane.number).laps)}
        write_log(
            club=race.event.club,
            action=_LOGGED[EventKind(event.kind)],
            subject=heat,
            by=event.by,
            reason=event.reason,
            race=str(race),
            **facts,
        )


def _kept_settings(state: ClockState) -> dict[str, int]:
    settings = state.settings
    names = ("heat_length_ms", "countdown_ms", "resume_countdown_ms", "power_off_warning_ms", "divisor")
    return {name: getattr(settings, name) for name in names}


def _refuse_second_heat(race: Race, heat: Heat, *, at_ms: int) -> None:
    for other, _state in heats_under_way(race.event, at_ms=at_ms):
        if other.pk != heat.pk:
            raise AnotherHeatRuns(number=other.number, race=other.draw.stage.race.name)


def _write_line_up(heat: Heat) -> None:
    """Who drives which car and build, where nobody has said otherwise: the entry's first of each."""
    open_ones = list(
        heat.lanes.filter(drove__isnull=True, seat__entry__isnull=False).prefetch_related(
            "seat__entry__drivers", "seat__entry__cars"
        )
    )
    for each in open_ones:
        entry: Entry = each.seat.entry
        driver = next(iter(entry.drivers.all()), None)
        car = next((car for car in entry.cars.all() if not car.is_spare), None)
        each.drove_id = driver.driver_id if driver else None
        if car:
            each.car_id, each.build_id = car.car_id, car.build_id
    LaneAssignment.objects.bulk_update(open_ones, ["drove", "car", "build"])


# --- laps ------------------------------------------------------------------------------------------------


@transaction.atomic
def enter_laps(
    *,
    heat: Heat,
    lane: Lane,
    text: str,
    confirmed: bool = False,
    reason: str = "",
    at_ms: int | None = None,
    by: User | None,
) -> Understood:
    """Type a lane's laps for the first time, or put them right with a reason, as people write them.

    Typing again what stands already changes nothing. confirmed: unusual but possible counts were asked about.
    Gives what was understood. Once every lane is accounted for the heat closes.
    Refused: with the codes of timing.laps (negative, not_understood, part_not_on_track ...), more_laps_than_time,
    laps_need_confirming, reason_missing, not_in_heat, and as append_event.
    """
    found = enter_heat_laps(
        heat=heat, typed={lane.number: text}, confirmed=confirmed, reason=reason, at_ms=at_ms, by=by
    )
    return found[0]


@transaction.atomic
def enter_heat_laps(
    *,
    heat: Heat,
    typed: Mapping[int, str],
    confirmed: bool = False,
    reason: str = "",
    at_ms: int | None = None,
    by: User | None,
) -> list[Understood]:
    """Type the laps of several lanes, by lane number: all of them are saved, or none. As enter_laps."""
    at_ms = now_ms() if at_ms is None else at_ms
    race = _race_of(heat)
    locked = Heat.objects.hold(heat.pk, "draw")
    if locked.draw.superseded_at is not None:
        raise DrawSuperseded
    rows = {each.lane.number: each for each in locked.lanes.select_related("lane")}
    last = last_heats_of_seats(locked)
    state = heat_state(locked, race=race)
    found: list[Understood] = []
    steps: list[_Step] = []
    for number, text in sorted(typed.items()):
        if number not in rows:
            raise NotInHeat(lane=number)
        is_last_lane = locked.number >= last[rows[number].seat_id]
        lane = rows[number].lane
        understood = _understood_or_refused(race, lane, state, text, is_last_lane=is_last_lane, confirmed=confirmed)
        found.append(understood)
        step = _lap_step(locked, lane, state, understood, reason=reason, at_ms=at_ms, by=by)
        if step is not None:
            steps.append(step)
            state = step.after
    if state.phase is not Phase.CLOSED and not lanes_without_laps(state):
        steps.append(_step(locked, state, kind=EventKind.CLOSE, at_ms=at_ms, by=by))
    _save(race, locked, steps)
    return found


def _understood_or_refused(
    race: Race, lane: Lane, state: ClockState, text: str, *, is_last_lane: bool, confirmed: bool
) -> Understood:
    try:
        understood = understand(race, lane, text, is_last_lane=is_last_lane, clock=state.settings)
    except LapsError as error:
        raise LapsNotUnderstood(error, lane=lane.number) from error
    problem = understood.problem
    if problem and problem.severity is Severity.REFUSE:
        raise too_many(understood, state.settings)
    if problem and not confirmed:
        raise LapsNeedConfirming(lane=lane.number, question=question_about(problem, understood))
    return understood


def _lap_step(
    heat: Heat, lane: Lane, state: ClockState, understood: Understood, *, reason: str, at_ms: int, by: User | None
) -> _Step | None:
    """The event that writes these laps down or puts them right; None where they stand already."""
    before = state.laps_on(lane.number)
    if before and before.laps == understood.laps:
        return None
    if before and not reason.strip():
        raise ReasonMissing
    laps = understood.laps
    detail = {
        "laps": laps.laps,
        "sections": laps.sections,
        "divisor": laps.divisor,
        "text": understood.text,
    }
    kind = EventKind.LAPS_CORRECTED if before else EventKind.LAPS_ENTERED
    why = reason if before else ""
    return _step(heat, state, kind=kind, lane=lane, detail=detail, reason=why, at_ms=at_ms, by=by)


# --- who drove -------------------------------------------------------------------------------------------


@transaction.atomic
def record_who_drove(*, heat: Heat, lane: Lane, driver: Driver, reason: str, by: User | None) -> LaneAssignment:
    """Write down that somebody else drives, or drove, a lane of this heat. The laps stay the entry's.

    Refused: not_in_heat, not_a_driver_here, reason_missing.
    """
    club: Club = _race_of(heat).event.club
    if not reason.strip():
        raise ReasonMissing
    locked = Heat.objects.hold(heat.pk)
    assignments = list(locked.lanes.select_related("lane", "seat").prefetch_related("seat__entry__drivers"))
    mine = next((each for each in assignments if each.lane_id == lane.pk), None)
    if mine is None:
        raise NotInHeat(lane=lane.number)
    busy = {
        each.drove_id or next((d.driver_id for d in each.seat.entry.drivers.all()), None)
        for each in assignments
        if each.pk != mine.pk and each.seat.entry_id
    }
    if driver.club_id != club.pk or driver.pk in busy:
        raise NotADriverHere
    mine.drove = driver
    mine.save(update_fields=["drove"])
    write_log(
        club=club, action="recorded who drove", subject=heat, by=by, reason=reason, lane=str(lane), driver=driver.name
    )
    return mine
