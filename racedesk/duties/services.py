"""Exempt from marshalling, name helpers, and take laps for missed duties; the roster to come is made anew at once."""

from django.db import transaction
from django.utils.translation import gettext as _

from inspection.clubs.services import write_log
from inspection.models import MarshalPost, User
from racedesk.clocks.selectors import FRESH_PHASES, heat_states, now_ms
from racedesk.duties import errors
from racedesk.entries.selectors import loaded
from racedesk.entries.services import hold_race
from racedesk.heats.selectors import current_draw, current_of, heats_of
from racedesk.models import Draw, Entry, EntryDriver, Heat, LaneAssignment, MarshalDuty, MarshalHelper, Penalty, Race
from racedesk.posts.selectors import Before, race_roster, standing_helpers
from racedesk.results.services import add_penalty
from racedesk.rotation.plan import Plan, Preset


@transaction.atomic
def exempt(*, entry: Entry, reason: str, by: User | None) -> None:
    """Nobody of this entry marshals in the heats to come. Refused: exemption_needs_reason."""
    race = hold_race(entry.race)
    if not reason.strip():
        raise errors.ExemptionNeedsReason(entry=entry)
    entry.no_duty_reason = reason.strip()[:300]
    entry.save(update_fields=["no_duty_reason"])
    write_log(club=race.event.club, action="exempted from marshalling", subject=entry, by=by, reason=reason)
    _make_anew(race)


@transaction.atomic
def end_exemption(*, entry: Entry, by: User | None) -> None:
    """This entry marshals again, in the heats to come."""
    race = hold_race(entry.race)
    entry.no_duty_reason = ""
    entry.save(update_fields=["no_duty_reason"])
    write_log(club=race.event.club, action="ended exemption from marshalling", subject=entry, by=by)
    _make_anew(race)


@transaction.atomic
def name_helper(*, race: Race, post: MarshalPost, name: str, by: User | None) -> MarshalHelper:
    """Somebody who does not race holds a post in the heats to come.

    Refused: helper_needs_name, helper_races, helper_stands_elsewhere, post_has_helper.
    """
    race = hold_race(race)
    name = " ".join(name.split())[:120]
    if not name:
        raise errors.HelperNeedsName
    if name.casefold() in _names_racing(race):
        raise errors.HelperRaces(name=name)
    standing = standing_helpers(race)
    if post.pk in standing:
        raise errors.PostHasHelper(name=standing[post.pk].name, post=post)
    for helper in standing.values():
        if helper.name.casefold() == name.casefold():
            raise errors.HelperStandsElsewhere(name=name, post=helper.post)
    helper = MarshalHelper.objects.create(race=race, post=post, name=name, first_heat=_first_to_come(race), named_by=by)
    write_log(club=race.event.club, action="named a helper", subject=race, by=by, helper=name, post=str(post))
    _make_anew(race)
    return helper


@transaction.atomic
def release_helper(*, helper: MarshalHelper, by: User | None) -> None:
    """The drivers take this post again in the heats to come. Refused: helper_gone."""
    race = hold_race(helper.race)
    helper = race.helpers.select_related("post").filter(pk=helper.pk, last_heat__isnull=True).first()
    if helper is None:
        raise errors.HelperGone
    last = _first_to_come(race) - 1
    if last < helper.first_heat:
        helper.delete()
    else:
        helper.last_heat = last
        helper.save(update_fields=["last_heat"])
    write_log(club=race.event.club, action="released a helper", subject=race, by=by, helper=helper.name)
    _make_anew(race)


@transaction.atomic
def make_roster_anew(*, race: Race, by: User | None) -> None:
    """Spread the posts to come over those who are still there; who has left stands nowhere any more."""
    race = hold_race(race)
    write_log(club=race.event.club, action="made the roster anew", subject=race, by=by)
    _make_anew(race)


def _names_racing(race: Race) -> set[str]:
    drivers = EntryDriver.objects.filter(race=race).exclude(entry__state=Entry.State.WITHDRAWN)
    pairs = drivers.values_list("driver__name", "driver__public_name")
    return {" ".join(name.split()).casefold() for pair in pairs for name in pair if name}


def miss_duty(*, heat: Heat, seat_number: int, by: User | None) -> Penalty:
    """Take the race's tariff of laps from who should have marshalled in a heat and did not.

    Taken back as any other penalty. Refused: no_tariff, no_such_duty, missed_already, nobody_missed_yet.
    """
    with transaction.atomic():
        race = hold_race(heat.draw.stage.race)
        if race.missed_duty_laps < 1:
            raise errors.NoTariff
        duties = MarshalDuty.objects.filter(heat=heat, heat__draw__superseded_at__isnull=True, seat__number=seat_number)
        duty = duties.select_related("seat__entry", "post", "heat").first()
        if duty is None or duty.seat.entry is None:
            raise errors.NoSuchDuty
        heats = heats_of(race)
        states = heat_states(heats, race=race)
        current = current_of(heats, states, now_ms())
        if states[heat.pk].phase in FRESH_PHASES and (current is None or current.pk != heat.pk):
            raise errors.NobodyMissedYet(number=heat.number)
        entry = duty.seat.entry
        if race.penalties.filter(entry=entry, missed_heat=heat, withdrawn_at__isnull=True).exists():
            raise errors.MissedAlready(entry=entry)
        return add_penalty(
            race=race,
            entry=entry,
            kind=Penalty.Kind.LAPS,
            laps=race.missed_duty_laps,
            reason=_("missed marshal duty, heat {heat}, post {post}").format(heat=heat.number, post=duty.post),
            missed_heat=heat,
            by=by,
        )


# ---- the roster to come ---------------------------------------------------------------------------------------------


def _first_to_come(race: Race) -> int:
    """The number of the first heat whose marshals can still be changed: after the last that has begun."""
    heats = heats_of(race)
    states = heat_states(heats, race=race)
    return max((heat.number for heat in heats if states[heat.pk].phase not in FRESH_PHASES), default=0) + 1


def _make_anew(race: Race) -> None:
    """Make the roster of the heats that follow the last that has begun; what was before stays as it is."""
    draw = current_draw(race)
    if draw is None:
        return
    # A heat that starts while we look waits for this, as it does for a draw.
    list(draw.heats.order_by("pk").select_for_update(no_key=True).values_list("pk"))
    first = _first_to_come(race)
    heats = [heat for heat in heats_of(race) if heat.draw_id == draw.pk]
    to_come = [heat for heat in heats if heat.number >= first]
    seats = {each.number: each for each in draw.stage.seats.filter(assignments__heat__draw=draw).distinct()}
    numbers = sorted(number for number, seat in seats.items() if seat.entry_id)
    entries = {entry.pk: entry for entry in loaded(Entry.objects.filter(seats__in=seats.values()))}
    place = {number: index for index, number in enumerate(numbers, start=1)}
    rows = _rows(race, heats, place)
    before = _before(heats, rows, first, place)
    plan = Plan(
        drivers=len(numbers),
        lanes=race.event.track_layout.lanes.count(),
        preset=Preset(draw.preset),
        seed=draw.seed,
        steps=draw.steps,
        lane_order=(),
        by_lot=False,
        heats=tuple(rows[heat.pk] for heat in to_come),
    )
    made = race_roster(race, plan, [entries[seats[number].entry_id] for number in numbers], before)
    MarshalDuty.objects.filter(heat__in=to_come).delete()
    posts = list(race.event.track_layout.posts.all())
    MarshalDuty.objects.bulk_create(
        MarshalDuty(heat=heat, post=post, seat=seats[numbers[driver - 1]])
        for heat, row in zip(to_come, made, strict=True)
        for post, driver in zip(posts, row, strict=True)
        if driver is not None
    )
    _count_in_report(draw)


def _rows(race: Race, heats: list[Heat], place: dict[int, int]) -> dict[int, tuple[int | None, ...]]:
    """By heat, who drives on each lane of the track, by place among those who drive."""
    lanes = list(race.event.track_layout.lanes.values_list("pk", flat=True))
    driving: dict[int, dict[int, int | None]] = {heat.pk: {} for heat in heats}
    drawn = LaneAssignment.objects.filter(heat__in=heats).values_list("heat_id", "lane_id", "seat__number")
    for heat_id, lane_id, number in drawn:
        driving[heat_id][lane_id] = place.get(number)
    return {heat_id: tuple(own.get(lane) for lane in lanes) for heat_id, own in driving.items()}


def _before(heats: list[Heat], rows: dict[int, tuple[int | None, ...]], first: int, place: dict[int, int]) -> Before:
    begun = [heat for heat in heats if heat.number < first]
    served = dict.fromkeys(place.values(), 0)
    for number in MarshalDuty.objects.filter(heat__in=begun).values_list("seat__number", flat=True):
        if number in place:
            served[place[number]] += 1
    last = rows[begun[-1].pk] if begun else ()
    return Before(tuple(driver for driver in last if driver is not None), tuple(served.items()))


def _count_in_report(draw: Draw) -> None:
    """The balance report of the draw counts duties by its seats; the rest of it does not change."""
    turns: dict[int, int] = {}
    for number in MarshalDuty.objects.filter(heat__draw=draw).values_list("seat__number", flat=True):
        turns[number] = turns.get(number, 0) + 1
    draw.report["duties"] = [turns.get(number, 0) for number in draw.report["seats"]]
    draw.save(update_fields=["report"])
