"""Read draws and heats: who drives where and when, who stands at which post, how far the night is."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, field

from django.db.models import Count, Prefetch, Q, prefetch_related_objects

from inspection.models import Lane, MarshalPost
from racedesk.clocks.selectors import DRIVEN_KINDS, FRESH_PHASES, OPEN_PHASES, end_ms, heat_states, moment_of, now_ms
from racedesk.entries.selectors import first_car, shown_name
from racedesk.forecast.timetable import count_segments, heat_starts
from racedesk.models import Draw, Entry, Heat, LaneAssignment, MarshalDuty, MarshalHelper, Race, Seat
from racedesk.posts.selectors import helpers_of, holds
from racedesk.timing.heat_clock import ClockState, LaneLaps, Phase, phase_at
from racedesk.turns.selectors import turn_times


@dataclass(frozen=True, slots=True)
class LaneCard:
    """A lane of a heat as pages show it. is_again: the same driver was in the heat before."""

    lane: Lane
    seat_number: int
    entry: Entry | None
    name: str
    car_number: int | None
    substitute: str = ""
    laps: LaneLaps | None = None
    is_out: bool = False
    is_again: bool = False
    assignment: LaneAssignment | None = None


@dataclass(frozen=True, slots=True)
class PostCard:
    """A marshal post of a heat and who stands there: a seat of the draw, or a helper, who has seat number 0."""

    post: MarshalPost
    name: str
    seat_number: int
    entry: Entry | None = None


@dataclass(frozen=True, slots=True)
class HeatCard:
    """A heat as pages show it. about: when it begins or began; None when nobody said when racing starts."""

    heat: Heat
    number: int
    public_id: str
    state: ClockState
    phase: Phase
    lanes: tuple[LaneCard, ...]
    marshals: tuple[PostCard, ...]
    about: dt.datetime | None = None
    is_next: bool = False
    is_on: bool = False
    of: int = field(default=0)

    @property
    def is_closed(self) -> bool:
        return self.phase is Phase.CLOSED

    @property
    def is_over(self) -> bool:
        return self.phase in {Phase.ENDED, Phase.CLOSED}

    @property
    def is_open(self) -> bool:
        """Can cars move, or will they when a track call is resumed?"""
        return self.phase in OPEN_PHASES


def car_number(entry: Entry) -> int | None:
    """The number of the entry's first car. No query when cars were fetched along."""
    first = first_car(entry)
    return first.car.number if first else None


def drivers_of(card: LaneCard) -> frozenset[int]:
    """Ids of the drivers of a lane's entry. No query on a heat card."""
    return frozenset(each.driver_id for each in card.entry.drivers.all()) if card.entry else frozenset()


def current_draw(race: Race) -> Draw | None:
    """The race's draw that is being raced: of its latest stage that has one. One query."""
    draws = Draw.objects.current().filter(stage__race=race).select_related("stage")
    return draws.order_by("-stage__position").first()


def heats_of(race: Race) -> list[Heat]:
    """The heats of the current draws of all stages, in running order. One query."""
    heats = Heat.objects.filter(draw__stage__race=race, draw__superseded_at__isnull=True)
    return list(heats.select_related("draw__stage").order_by("draw__stage__position", "number"))


def unrun_heats(race: Race) -> list[int]:
    """Numbers of the heats of the current draws that are not over with all laps in. At most four queries."""
    heats = heats_of(race)
    states = heat_states(heats, race=race)
    return [heat.number for heat in heats if states[heat.pk].phase is not Phase.CLOSED]


def next_heat(race: Race) -> Heat | None:
    """The heat that is on, or else the first that waits for its laps or its start. At most four queries."""
    heats = heats_of(race)
    states = heat_states(heats, race=race)
    return current_of(heats, states, now_ms())


def current_of(heats: list[Heat], states: dict[int, ClockState], at_ms: int) -> Heat | None:
    """The heat that runs, else the first in order that is not closed, else None."""
    running = (heat for heat in heats if phase_at(states[heat.pk], at_ms) in OPEN_PHASES)
    open_ones = (heat for heat in heats if states[heat.pk].phase is not Phase.CLOSED)
    return next(running, None) or next(open_ones, None)


def in_seat_order(race: Race, entries: Sequence[Entry]) -> list[tuple[int, Entry]]:
    """Number in the draw and entry, as a draw of these entries would take them. One query.

    An entry keeps the number it has had in an earlier draw; the others follow in their order.
    """
    seats = Seat.objects.filter(stage__race=race, stage__position=1, entry__isnull=False)
    numbers = dict(seats.values_list("entry_id", "number"))
    last = max(numbers.values(), default=0)
    kept = [(numbers[entry.pk], entry) for entry in entries if entry.pk in numbers]
    fresh = [entry for entry in entries if entry.pk not in numbers]
    return [*sorted(kept, key=lambda each: each[0]), *enumerate(fresh, start=last + 1)]


def first_begun_heat(draw: Draw) -> int | None:
    """The number of the first heat of this draw that has been driven, at least in part; None if none. One query."""
    begun = draw.heats.filter(events__kind__in=DRIVEN_KINDS).order_by("number")
    return begun.values_list("number", flat=True).first()


def heat_cards(race: Race, *, with_times: bool = True, at_ms: int | None = None) -> list[HeatCard]:
    """Every heat of the race with lanes, names, marshals and times. At most twelve queries, however many heats."""
    at_ms = now_ms() if at_ms is None else at_ms
    heats = _with_people(heats_of(race))
    states = heat_states(heats, race=race)
    current = current_of(heats, states, at_ms)
    times = heat_times(race, heats, states, at_ms) if with_times else {}
    cards: list[HeatCard] = []
    before: set[int] = set()
    next_pk = _next_pk(heats, states, current, at_ms)
    helpers = helpers_of(race)
    for heat in heats:
        state = states[heat.pk]
        lanes = tuple(_lane_card(each, state, before) for each in heat.lanes.all())
        before = {card.seat_number for card in lanes}
        cards.append(
            HeatCard(
                heat=heat,
                number=heat.number,
                public_id=heat.public_id,
                state=state,
                phase=phase_at(state, at_ms),
                lanes=lanes,
                marshals=_posts_of(heat, helpers),
                about=times.get(heat.pk),
                is_next=heat.pk == next_pk,
                is_on=current is not None and heat.pk == current.pk and heat.pk != next_pk,
                of=len(heats),
            )
        )
    return cards


def _next_pk(heats: list[Heat], states: dict[int, ClockState], current: Heat | None, at_ms: int) -> int | None:
    """The heat to be driven next: the first that has not begun and is not the one that runs."""
    waiting = [heat for heat in heats if phase_at(states[heat.pk], at_ms) in FRESH_PHASES]
    if current is not None and current in waiting:
        return current.pk
    return waiting[0].pk if waiting else None


def _with_people(heats: list[Heat]) -> list[Heat]:
    people = ("seat__entry__drivers__driver", "seat__entry__cars__car")

    prefetch_related_objects(
        heats,
        Prefetch(
            "lanes",
            LaneAssignment.objects.select_related("lane", "seat__entry", "drove")
            .order_by("lane__number")
            .prefetch_related(*people),
        ),
        Prefetch(
            "marshals",
            MarshalDuty.objects.select_related("post", "seat__entry")
            .order_by("post__number")
            .prefetch_related("seat__entry__drivers__driver"),
        ),
    )
    return heats


def _lane_card(each: LaneAssignment, state: ClockState, before: set[int]) -> LaneCard:
    entry = each.seat.entry
    own = {driver.driver_id for driver in entry.drivers.all()} if entry else set()
    substitute = each.drove.shown_name if each.drove and each.drove_id not in own else ""
    return LaneCard(
        lane=each.lane,
        seat_number=each.seat.number,
        entry=entry,
        name=shown_name(entry) if entry else "",
        car_number=car_number(entry) if entry else None,
        substitute=substitute,
        laps=state.laps_on(each.lane.number),
        is_out=each.lane.number in state.lanes_out,
        is_again=each.seat.number in before,
        assignment=each,
    )


def _post_card(each: MarshalDuty) -> PostCard:
    entry = each.seat.entry
    return PostCard(each.post, shown_name(entry) if entry else "", each.seat.number, entry)


def _posts_of(heat: Heat, helpers: Sequence[MarshalHelper]) -> tuple[PostCard, ...]:
    """Who stands at the posts of a heat. What the roster says goes before a helper."""
    cards = [_post_card(each) for each in heat.marshals.all()]
    taken = {card.post.pk for card in cards}
    cards += [
        PostCard(helper.post, helper.name, 0)
        for helper in helpers
        if holds(helper, heat.number) and helper.post_id not in taken
    ]
    return tuple(sorted(cards, key=lambda card: card.post.number))


# --- when ------------------------------------------------------------------------------------------------


def race_start(race: Race) -> dt.datetime | None:
    """When this race should begin: racing time, after the heats of the races before it.

    A race that is not drawn yet will have as many heats as a rotation of those entered now. Two queries at most.
    """
    start = race.event.racing_at
    if start is None or race.position <= 1:
        return start
    drawn = Q(stages__draws__superseded_at__isnull=True)
    racing = Q(entries__state__in=[Entry.State.ENTERED, Entry.State.CHECKED_IN])
    earlier = race.event.races.filter(position__lt=race.position).annotate(
        heats=Count("stages__draws__heats", filter=drawn, distinct=True),
        racing=Count("entries", filter=racing, distinct=True),
    )
    lanes = race.event.track_layout.lanes.count()
    seconds = sum(
        (each.heats or count_segments(drivers=each.racing, lanes=max(1, lanes)))
        * (each.heat_length_s + each.changeover_s)
        for each in earlier
        if each.heats or each.racing
    )
    return start + dt.timedelta(seconds=seconds)


def heat_times(
    race: Race, heats: list[Heat], states: dict[int, ClockState], at_ms: int
) -> dict[int, dt.datetime | None]:
    """When each heat began, or should begin: from the plan until one was driven, then from what was driven.

    Track calls to come are not foreseen. Two queries at most; on a night whose races take turns as turns_of.
    """
    times: dict[int, dt.datetime | None] = {}
    waiting = []
    latest_end_ms = None
    for heat in heats:
        state = states[heat.pk]
        if state.first_green_at_ms is None and not state.laps:
            waiting.append(heat)
            continue
        times[heat.pk] = moment_of(state.first_green_at_ms) if state.first_green_at_ms is not None else None
        latest_end_ms = max(latest_end_ms or 0, end_ms(state, at_ms))
    if race.event.takes_turns:
        in_turn = turn_times(race.event, at_ms=at_ms)
        return times | {heat.pk: in_turn.get(heat.pk) for heat in waiting}
    start = race_start(race)
    if latest_end_ms is not None:
        start = moment_of(latest_end_ms + race.changeover_s * 1000)
    if start is None:
        return times | dict.fromkeys((heat.pk for heat in waiting), None)
    # What should have begun already begins now at the earliest.
    starts = heat_starts(
        start=max(start, moment_of(at_ms)),
        heats=len(waiting),
        heat_length_s=race.heat_length_s,
        changeover_s=race.changeover_s,
    )
    return times | dict(zip((heat.pk for heat in waiting), starts, strict=True))
