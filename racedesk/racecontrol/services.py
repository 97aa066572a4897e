"""Run a heat: every command and every typed lap is one numbered event, checked by replaying the heat's clock."""

from collections.abc import Mapping
from typing import Any

from django.db import transaction

from inspection.clubs.services import write_log
from inspection.models import Club, Driver, Lane, User
from racedesk.clocks.selectors import heat_state, heats_under_way, now_ms
from racedesk.heats.selectors import last_lane_of
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
from racedesk.racecontrol.selectors import Understood, question_about, too_many, understand
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
    race = _race_of(heat)
    if kind == EventKind.START:
        # Two heats of one night share the track: the night's lock comes first, always in this order.
        Event.objects.hold(race.event_id)
    locked = Heat.objects.hold(heat.pk)
    sent_before = _sent_before(locked, client_key)
    if sent_before:
        return sent_before
    if locked.draw.superseded_at is not None:
        raise DrawSuperseded
    state = heat_state(locked)
    if kind == EventKind.START:
        _refuse_second_heat(race, locked, at_ms=at_ms)
    return _append(
        race, locked, state, kind=kind, lane=lane, detail=detail, reason=reason, at_ms=at_ms, key=client_key, by=by
    )[0]


def _race_of(heat: Heat) -> Race:
    return Race.objects.select_related("event__club", "event__track_layout").get(stages__draws__heats=heat)


def _sent_before(heat: Heat, client_key: str) -> HeatEvent | None:
    return heat.events.filter(client_key=client_key).first() if client_key else None


def _append(
    race: Race,
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
) -> tuple[HeatEvent, ClockState]:
    """Check the event against the state and save it. The heat must be locked."""
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
    saved = HeatEvent.objects.create(
        heat=heat, number=number, kind=str(event.kind), at_ms=at_ms, lane=lane, detail=kept, reason=reason, by=by,
        client_key=key,
    )  # fmt: skip
    if event.kind in _LINE_UP_KINDS:
        _write_line_up(heat)
    if event.kind in _LOGGED:
        facts = {"lane": str(lane)} if lane else {}
        if "laps" in kept and lane is not None:
            before = state.laps_on(lane.number)
            facts |= {"before": str(before.laps) if before else "", "after": str(after.laps_on(lane.number).laps)}
        write_log(
            club=race.event.club,
            action=_LOGGED[event.kind],
            subject=heat,
            by=by,
            reason=reason,
            race=str(race),
            **facts,
        )
    return saved, after


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


@transaction.atomic
def start_heat(*, heat: Heat, at_ms: int, client_key: str = "", by: User | None) -> HeatEvent:
    """Open the countdown; a heat still waiting is made ready first, so that starting is one press.

    Refused: as append_event.
    """
    Event.objects.hold(_race_of(heat).event_id)
    locked = Heat.objects.hold(heat.pk)
    sent_before = _sent_before(locked, client_key)
    if sent_before:
        return sent_before
    if heat_state(locked).phase is Phase.WAITING:
        append_event(heat=locked, kind=EventKind.READY, at_ms=at_ms, by=by)
    return append_event(heat=locked, kind=EventKind.START, at_ms=at_ms, client_key=client_key, by=by)


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
    locked = Heat.objects.hold(heat.pk)
    if locked.draw.superseded_at is not None:
        raise DrawSuperseded
    lanes = {each.lane.number: each for each in locked.lanes.select_related("lane", "heat")}
    state = heat_state(locked)
    found = []
    for number, text in sorted(typed.items()):
        if number not in lanes:
            raise NotInHeat(lane=number)
        understood = _understood_or_refused(race, lanes[number], state, text, confirmed=confirmed)
        found.append(understood)
        state = _save_laps(race, locked, lanes[number].lane, state, understood, reason=reason, at_ms=at_ms, by=by)
    if state.phase is not Phase.CLOSED and not lanes_without_laps(state):
        _append(race, locked, state, kind=EventKind.CLOSE, at_ms=at_ms, by=by)
    return found


def _understood_or_refused(
    race: Race, assignment: LaneAssignment, state: ClockState, text: str, *, confirmed: bool
) -> Understood:
    lane = assignment.lane
    try:
        understood = understand(race, lane, text, is_last_lane=last_lane_of(assignment), clock=state.settings)
    except LapsError as error:
        raise LapsNotUnderstood(error, lane=lane.number) from error
    problem = understood.problem
    if problem and problem.severity is Severity.REFUSE:
        raise too_many(understood, state.settings)
    if problem and not confirmed:
        raise LapsNeedConfirming(lane=lane.number, question=question_about(problem, understood))
    return understood


def _save_laps(
    race: Race,
    heat: Heat,
    lane: Lane,
    state: ClockState,
    understood: Understood,
    *,
    reason: str,
    at_ms: int,
    by: User | None,
) -> ClockState:
    before = state.laps_on(lane.number)
    if before and before.laps == understood.laps:
        return state
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
    return _append(
        race, heat, state, kind=kind, lane=lane, detail=detail, reason=why, at_ms=at_ms, by=by
    )[1]  # fmt: skip


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
