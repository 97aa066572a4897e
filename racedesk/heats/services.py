"""Draw heats: who drives which lane in which heat, and who marshals, as one numbered revision."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Protocol

from django.db import transaction
from django.utils import timezone

from inspection.clubs.services import write_log
from inspection.models import Lane, MarshalPost, TrackLayout, User
from racedesk.entries.selectors import ready_entries
from racedesk.entries.services import hold_race
from racedesk.heats.errors import (
    DrawChangedMeanwhile,
    DrawNotPossible,
    HeatHasBegun,
    RedrawNeedsReason,
    TooFewDrivers,
)
from racedesk.heats.selectors import first_begun_heat, in_seat_order
from racedesk.models import Draw, Entry, Heat, LaneAssignment, MarshalDuty, Race, Seat, Stage
from racedesk.posts.selectors import race_roster
from racedesk.rotation.balance import Balance, balance
from racedesk.rotation.draw import draw
from racedesk.rotation.errors import DrawError
from racedesk.rotation.marshals import Roster
from racedesk.rotation.plan import Plan, Preset


@dataclass(frozen=True, slots=True)
class Planned:
    """A draw worked out but not saved: driver 1 of the plan is the first of `entries`, and so on.

    notes: what else is kept in its report, or stands there in place of what was counted: plain JSON values.
    """

    plan: Plan
    balance: Balance
    roster: Roster
    entries: tuple[Entry, ...]
    notes: Mapping[str, Any] = field(default_factory=dict)


class Planner(Protocol):
    """How a draw is worked out: as `plan_heats`, which changes nothing."""

    def __call__(
        self, *, race: Race, entries: Sequence[Entry], preset: str, seed: int, steps: int | None = None
    ) -> Planned: ...


@transaction.atomic
def rotation_stage(*, race: Race) -> Stage:
    """The race's rotation stage, made when it has none yet."""
    stage, _ = Stage.objects.get_or_create(race=race, position=1, defaults={"kind": Stage.Kind.ROTATION})
    return stage


def plan_heats(
    *,
    race: Race,
    entries: Sequence[Entry],
    preset: str,
    seed: int,
    steps: int | None = None,
    rounds: int = 1,
    lanes_each: int | None = None,
    empty: Sequence[int] = (),
) -> Planned:
    """Work out a draw of these entries on the track of the night. Changes nothing.

    preset: a value of Draw.Preset. seed: 0 to 2**63 - 1. rounds, lanes_each, empty: as rotation.draw.draw, lanes by
    the track's own numbers. The same arguments give the same draw on any machine.
    Refused: too_few_drivers, too_many_drivers, too_few_lanes, too_many_lanes, bad_seed, bad_rounds, bad_lanes_each,
    bad_empty.
    """
    if len(entries) < 2:
        raise TooFewDrivers(drivers=len(entries))
    layout = race.event.track_layout
    lanes = list(layout.lanes.all())
    try:
        plan = draw(
            drivers=len(entries),
            lanes=len(lanes),
            preset=Preset(preset),
            seed=seed,
            lane_order=lane_order_of(layout, lanes),
            steps=steps,
            rounds=rounds,
            lanes_each=lanes_each,
            # A number that no lane has stays one that no lane has, so that the engine refuses it.
            empty=[{lane.number: place for place, lane in enumerate(lanes, start=1)}.get(each, 0) for each in empty],
        )
    except DrawError as error:
        raise DrawNotPossible(error) from error
    notes = {} if plan.is_whole else {"way": _way_of(plan, lanes)}
    return Planned(plan, balance(plan), race_roster(race, plan, entries), tuple(entries), notes)


def _way_of(plan: Plan, lanes: Sequence[Lane]) -> dict[str, Any]:
    """What makes a plan other than one rotation on every lane, as it is kept with the draw."""
    empty = [lanes[place - 1].number for place in plan.empty]
    return {"rounds": plan.rounds, "lanes_each": plan.lanes_each, "empty": empty}


def lane_order_of(layout: TrackLayout, lanes: Sequence[Lane]) -> list[int] | None:
    """The track's usual lane order by place among its lanes; None where it names other lanes than there are."""
    places = {lane.number: place for place, lane in enumerate(lanes, start=1)}
    if sorted(layout.lane_order) != sorted(places):
        return None
    return [places[number] for number in layout.lane_order]


@transaction.atomic
def draw_heats(
    *,
    stage: Stage,
    preset: str,
    seed: int,
    reason: str = "",
    replaces: int | None = None,
    steps: int | None = None,
    plan: Planner = plan_heats,
    by: User | None,
) -> Draw:
    """Draw the heats of a stage from the entries that are ready, as its next revision.

    Where a draw stands already it is superseded, with a reason, as long as none of its heats has begun.
    replaces: number of the draw that the person saw standing (0 for none), so that two people do not draw over
    each other; None asks nothing.
    Refused: too_few_drivers, heat_has_begun, redraw_needs_reason, draw_changed_meanwhile, and as plan_heats.
    """
    # The entry desk takes the same lock: nobody is let in or out between reading the entries and keeping the draw.
    race = hold_race(stage.race)
    stage = Stage.objects.get(pk=stage.pk)
    stage.race = race
    before = stage.draws.current().first()
    if before:
        # A heat that starts while we look takes the same locks, and then finds its draw superseded.
        # By their own key: the usual order would join, and so lock, the race and the night as well.
        list(before.heats.order_by("pk").select_for_update(no_key=True).values_list("pk"))
    _refuse_redraw(before, replaces=replaces, reason=reason)
    seats = _take_seats(stage, list(ready_entries(race)))
    planned = plan(race=race, entries=[s.entry for s in seats], preset=preset, seed=seed, steps=steps)
    if before:
        before.superseded_at = timezone.now()
        before.save(update_fields=["superseded_at"])
    made = Draw.objects.create(
        stage=stage,
        number=(before.number if before else stage.draws.count()) + 1,
        preset=preset,
        seed=seed,
        steps=planned.plan.steps,
        report=report_of(planned, seats=[seat.number for seat in seats]),
        reason=reason.strip()[:300],
        drawn_by=by,
    )
    _save_heats(made, planned, seats)
    action = "drew heats again" if before else "drew heats"
    write_log(
        club=race.event.club,
        action=action,
        subject=made,
        by=by,
        reason=reason,
        race=str(race),
        preset=str(preset),
        seed=seed,
        drivers=len(seats),
    )
    return made


def _refuse_redraw(before: Draw | None, *, replaces: int | None, reason: str) -> None:
    if replaces is not None and replaces != (before.number if before else 0):
        raise DrawChangedMeanwhile(number=before.number if before else 0)
    if before is None:
        return
    begun = first_begun_heat(before)
    if begun is not None:
        raise HeatHasBegun(number=begun)
    if not reason.strip():
        raise RedrawNeedsReason


def _take_seats(stage: Stage, entries: Sequence[Entry]) -> list[Seat]:
    """A seat for each entry, in the order of their numbers."""
    kept = {seat.entry_id: seat for seat in stage.seats.all()}
    seats = []
    for number, entry in in_seat_order(stage.race, entries):
        seat = kept.get(entry.pk) or Seat(stage=stage, number=number)
        seat.entry = entry  # with the drivers that were fetched along
        seats.append(seat)
    Seat.objects.bulk_create([seat for seat in seats if seat.pk is None])
    return seats


def _save_heats(made: Draw, planned: Planned, seats: Sequence[Seat]) -> None:
    layout = made.stage.race.event.track_layout
    lanes: list[Lane] = list(layout.lanes.all())
    posts: list[MarshalPost] = list(layout.posts.all())
    heats = Heat.objects.bulk_create(
        [Heat(draw=made, number=number) for number in range(1, len(planned.plan.heats) + 1)]
    )
    LaneAssignment.objects.bulk_create(
        LaneAssignment(heat=heat, lane=lane, seat=seats[driver - 1])
        for heat, row in zip(heats, planned.plan.heats, strict=True)
        for lane, driver in zip(lanes, row, strict=True)
        if driver is not None
    )
    MarshalDuty.objects.bulk_create(
        MarshalDuty(heat=heat, post=post, seat=seats[driver - 1])
        for heat, row in zip(heats, planned.roster, strict=True)
        for post, driver in zip(posts, row, strict=True)
        if driver is not None
    )


def report_of(planned: Planned, *, seats: Sequence[int]) -> dict[str, Any]:
    """The balance of a draw as it is kept with it: plain JSON values.

    seats: seat numbers in the plan's order, by which all lists by driver go.
    """
    found = planned.balance
    duties = [0] * found.drivers
    for row in planned.roster:
        for driver in row:
            if driver is not None:
                duties[driver - 1] += 1
    return {
        "drivers": found.drivers,
        "lanes": found.lanes,
        "heats": found.heats,
        "seats": list(seats),
        "meetings": [list(row) for row in found.meetings],
        "meetings_min": found.meetings_min,
        "meetings_max": found.meetings_max,
        "pairs": found.pairs,
        "pairs_by_meetings": [list(pair) for pair in found.pairs_by_meetings],
        "sum_of_squares": found.sum_of_squares,
        "bound": found.bound,
        "never_meet": found.never_meet,
        "neighbors_min": found.neighbors_min,
        "neighbors_max": found.neighbors_max,
        "longest_wait": found.longest_wait,
        "shortest_wait": min((wait for own in found.waits for wait in own), default=0),
        "back_to_back": found.back_to_back,
        "back_to_back_each": list(found.back_to_back_each),
        "runs_on_end": list(found.runs_on_end),
        "waits": [list(own) for own in found.waits],
        "sit_outs": list(found.sit_outs),
        "duties": duties,
        "posts": len(planned.roster[0]) if planned.roster else 0,
        **planned.notes,
    }
