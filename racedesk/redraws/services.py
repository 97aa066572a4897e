"""Put a plan of the heats left in place of those that were to follow."""

from django.db import transaction
from django.utils import timezone

from inspection.clubs.services import write_log
from inspection.models import MarshalPost, User
from racedesk.checkin.services import withdraw
from racedesk.entries.selectors import RACING
from racedesk.entries.services import hold_race
from racedesk.heats.errors import RedrawNeedsReason
from racedesk.heats.services import Planned, report_of
from racedesk.models import Draw, Heat, LaneAssignment, MarshalDuty, Race, Seat
from racedesk.redraws.errors import NightWentOn, NothingToRedraw
from racedesk.restplans.selectors import Choices, Night, Rest, groups_in, kept_of, night_of, plan_rest
from racedesk.rotation.balance import balance
from racedesk.rotation.statefile import document_of


def accept_rest(*, race: Race, choices: Choices, steps: int, seen: str, reason: str, by: User) -> Draw:
    """Put the plan that was shown in place of the heats that were to follow, as the race's next draw.

    Heats that have begun move to the new draw as they are, and those to come are numbered on from the last of
    them. Who races no more is withdrawn with the same reason. seen: `Night.seen` of the plan that was shown.
    Refused: nothing_to_redraw, night_went_on, redraw_needs_reason, and as plan_rest.
    """
    # Planned before anything is locked, as it may take seconds; what it rests on is looked at again under the lock.
    rest = plan_rest(_night_seen(race, choices, seen), steps=steps)
    if not reason.strip():
        raise RedrawNeedsReason
    with transaction.atomic():
        # The entry desk and the draw take the same lock.
        race = hold_race(race)
        before = rest.night.draw
        # A heat that starts while we look waits for this, and then finds its draw superseded; see draw_heats.
        list(before.heats.order_by("pk").select_for_update(no_key=True).values_list("pk"))
        _night_seen(race, choices, seen)
        for number in rest.night.state.withdrawn:
            entry = rest.night.entries[number]
            if entry.state in RACING:
                withdraw(entry=entry, reason=reason, by=by)
        made = _new_draw(rest, choices=choices, reason=reason, by=by)
        _save_rest(made, rest)
        write_log(
            club=race.event.club,
            action="drew the rest of the heats again",
            subject=made,
            by=by,
            reason=reason,
            race=str(race),
            heats_run=len(rest.night.frozen),
            heats_to_come=len(rest.plan.heats),
            drivers=len(rest.going_on),
            seed=rest.plan.seed,
            steps=rest.plan.steps,
        )
    return made


def _night_seen(race: Race, choices: Choices, seen: str) -> Night:
    """The night with these choices, if it is still as somebody saw it."""
    night = night_of(race, choices)
    if night is None:
        raise NothingToRedraw
    if night.seen != seen:
        raise NightWentOn
    return night


def _new_draw(rest: Rest, *, choices: Choices, reason: str, by: User) -> Draw:
    night = rest.night
    before = night.draw
    before.superseded_at = timezone.now()
    before.save(update_fields=["superseded_at"])
    planned = Planned(
        rest.whole, balance(rest.whole), rest.roster, tuple(night.entries[number] for number in rest.going_on)
    )
    report = report_of(planned, seats=rest.going_on)
    report["duties"] = [
        turns + rest.served.get(number, 0) for number, turns in zip(rest.going_on, report["duties"], strict=True)
    ]
    numbers = {place: lane.number for place, lane in enumerate(night.lanes, start=1)}
    report["redraw"] = document_of(night.state) | {
        "fewest": rest.plan.fewest,
        "owed": [{"driver": driver, "lane": numbers[lane]} for driver, lane in rest.plan.owed],
        "deviation": rest.plan.deviation,
    }
    if "way" in before.report:
        report["way"] = before.report["way"]
    if groups := groups_in(before):
        report["group_seats"] = groups
    report["redraw_choices"] = kept_of(choices)
    return Draw.objects.create(
        stage=before.stage,
        number=before.number + 1,
        preset=before.preset,
        seed=rest.plan.seed,
        steps=rest.plan.steps,
        report=report,
        reason=reason.strip()[:300],
        drawn_by=by,
    )


def _save_rest(made: Draw, rest: Rest) -> None:
    night = rest.night
    Heat.objects.filter(pk__in=[heat.pk for heat in night.frozen]).update(draw=made)
    seats = _seats(made, night, rest)
    posts: list[MarshalPost] = list(night.race.event.track_layout.posts.all())
    heats = Heat.objects.bulk_create(
        Heat(draw=made, number=number) for number, _row in enumerate(rest.plan.heats, start=night.last_number + 1)
    )
    LaneAssignment.objects.bulk_create(
        LaneAssignment(heat=heat, lane=lane, seat=seats[driver])
        for heat, row in zip(heats, rest.plan.heats, strict=True)
        for lane, driver in zip(night.lanes, row, strict=True)
        if driver is not None
    )
    MarshalDuty.objects.bulk_create(
        MarshalDuty(heat=heat, post=post, seat=seats[rest.going_on[place - 1]])
        for heat, row in zip(heats, rest.roster, strict=True)
        for post, place in zip(posts, row, strict=True)
        if place is not None
    )


def _seats(made: Draw, night: Night, rest: Rest) -> dict[int, Seat]:
    """The seats of those who go on, by number; made for those who had none."""
    kept = {seat.number: seat for seat in made.stage.seats.filter(number__in=rest.going_on)}
    fresh = [
        Seat(stage=made.stage, number=number, entry=night.entries[number])
        for number in rest.going_on
        if number not in kept
    ]
    Seat.objects.bulk_create(fresh)
    return kept | {seat.number: seat for seat in fresh}
