"""The night as it stands, as the rotation engine takes it, and what the engine makes of the rest of it.

What was chosen stands in the page's address, so that going back undoes a choice.
"""

import datetime as dt
import hashlib
import re
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from itertools import combinations
from typing import Any
from urllib.parse import urlencode

from django.http import QueryDict
from django.utils import timezone

from inspection.models import Lane
from racedesk.clocks.selectors import FRESH_PHASES, heat_states, now_ms
from racedesk.entries.selectors import RACING, loaded, ready_entries
from racedesk.heats.errors import TooFewDrivers
from racedesk.heats.selectors import current_draw, first_begun_heat, heat_times, in_seat_order
from racedesk.models import Draw, Entry, Heat, LaneAssignment, MarshalDuty, Race
from racedesk.posts.selectors import Before, race_roster
from racedesk.restplans.errors import RedrawNotPossible
from racedesk.rotation.errors import RedrawError
from racedesk.rotation.marshals import Roster
from racedesk.rotation.plan import Plan, Preset
from racedesk.rotation.redraw import Redraw, Run, State, night_so_far, redraw
from racedesk.rotation.shorter import what_fits
from racedesk.timing.heat_clock import ClockState

# Steps of the search, from a plan that stands at once to one that takes some seconds.
BUDGETS = (0, 20_000, 100_000, 400_000)

Pair = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Choices:
    """What the director says about the rest of the night. Drivers by number in the draw, lanes and heats by theirs.

    out: who races no more. later, until: (driver, heat) from or up to which somebody can race.
    apart: pairs who cannot be in one heat. lanes_out: lanes that stay out. lanes_back: (lane, first heat on it).
    stay: who came late and is not let in. late_rest: late joiners drive as many lanes as the others have left, not
    all. rest: nobody drives in two heats on end. finish: the time of day by which the last heat is to be over, "22:30";
    then everybody drives as often as fits, all the same.
    """

    out: tuple[int, ...] = ()
    later: tuple[Pair, ...] = ()
    until: tuple[Pair, ...] = ()
    apart: tuple[Pair, ...] = ()
    lanes_out: tuple[int, ...] = ()
    lanes_back: tuple[Pair, ...] = ()
    stay: tuple[int, ...] = ()
    late_rest: bool = False
    rest: bool = False
    finish: str = ""


@dataclass(frozen=True, slots=True)
class Night:
    """A race that has begun. Lanes of `state` count by place among `lanes`; its heats count the frozen ones first.

    frozen: the heats that are run or have begun, which stay. planned: those that were to follow.
    entries: by number in the draw, of everybody who was drawn or joins. joined: who was not in the draw so far.
    gone: who is out already, at the desk. start: when the next heat should begin. heats_fit, runs_each: how many
    heats fit before the time that was asked for, and how often everybody has driven then. seen: changes
    whenever what a plan rests on does.
    """

    race: Race
    draw: Draw
    lanes: tuple[Lane, ...]
    frozen: tuple[Heat, ...]
    planned: tuple[Heat, ...]
    clocks: Mapping[int, ClockState]
    entries: Mapping[int, Entry]
    joined: tuple[int, ...]
    gone: tuple[int, ...]
    state: State
    seen: str
    start: dt.datetime | None = None
    heats_fit: int | None = None
    runs_each: int | None = None

    @property
    def last_number(self) -> int:
        """The number after which the heats to come are counted on."""
        return max((heat.number for heat in self.frozen), default=0)

    def number_of(self, heat: int) -> int:
        """The number of a heat to come from the engine's, which counts the frozen ones from 1."""
        return heat - len(self.frozen) + self.last_number

    def planned_number(self, heat: int) -> int:
        """The number that a heat so far planned has, from the engine's."""
        return self.planned[heat - len(self.frozen) - 1].number

    def lanes_left(self) -> Counter[int]:
        """How many lanes each who goes on has still to drive."""
        return Counter(driver for driver, _lane in self.state.missing())


def night_of(race: Race, choices: Choices) -> Night | None:
    """The race as it stands with these choices; None where no draw stands or no heat of it has ever begun.

    Choices about drivers, lanes and heats that there are not are passed over. Constant queries.
    """
    draw = current_draw(race)
    if draw is None:
        return None
    heats = list(draw.heats.order_by("number"))
    clocks = heat_states(heats, race=race)
    frozen = tuple(heat for heat in heats if clocks[heat.pk].phase not in FRESH_PHASES)
    if not frozen and first_begun_heat(draw) is None:
        return None
    planned = tuple(heat for heat in heats if clocks[heat.pk].phase in FRESH_PHASES)
    lanes = tuple(race.event.track_layout.lanes.all())
    rows, seats = _rows(heats, lanes)
    drawn = _drawn_entries(draw, seats)
    fresh = [entry for entry in ready_entries(race) if entry.pk not in {each.pk for each in drawn.values()}]
    come = dict(in_seat_order(race, fresh))
    joined = tuple(sorted(set(come) - set(choices.stay)))
    entries = drawn | come
    gone = tuple(sorted(number for number, entry in drawn.items() if entry.state not in RACING))
    drivers = tuple(sorted({*drawn, *joined}))
    state = State(
        lanes=len(lanes),
        drivers=drivers,
        run=tuple(rows[heat.pk] for heat in frozen),
        planned=tuple(rows[heat.pk] for heat in planned),
        withdrawn=tuple(sorted({*gone, *(number for number in choices.out if number in drivers)})),
        rounds=_way_of(draw)[0],
    )
    night = Night(
        race=race,
        draw=draw,
        lanes=lanes,
        frozen=frozen,
        planned=planned,
        clocks=clocks,
        entries=entries,
        joined=joined,
        gone=gone,
        state=state,
        seen=_seen(draw, frozen, clocks, drawn, gone, come),
    )
    night = replace(night, state=_with_wishes(night, choices), start=_next_start(night))
    return _ended_by(night, choices.finish) if choices.finish else night


def _next_start(night: Night) -> dt.datetime | None:
    """When the first heat to come should begin: as the first that was planned would, or else now."""
    if not night.planned:
        return timezone.localtime()
    heats = [*night.frozen, *night.planned]
    return heat_times(night.race, heats, dict(night.clocks), now_ms()).get(night.planned[0].pk)


def _ended_by(night: Night, finish: str) -> Night:
    """The night with so many runs left out that it is over by then; as it is where nobody said when racing starts."""
    if night.start is None:
        return night
    race = night.race
    ends = night.start.replace(hour=int(finish[:2]), minute=int(finish[3:]), second=0, microsecond=0)
    if ends < night.start:
        ends += dt.timedelta(days=1)
    room = (ends - night.start).total_seconds() - race.heat_length_s
    heats = 0 if room < 0 else int(room // (race.heat_length_s + race.changeover_s)) + 1
    fits = what_fits(night.state, heats=heats)
    state = replace(night.state, excused=(*night.state.excused, *fits.left_out))
    return replace(night, state=state, heats_fit=heats, runs_each=fits.runs_each)


def _rows(heats: Iterable[Heat], lanes: Sequence[Lane]) -> tuple[dict[int, tuple[int | None, ...]], set[int]]:
    """Each heat's drivers by place of the lane, and everybody's number. One query."""
    places = {lane.pk: place for place, lane in enumerate(lanes)}
    rows: dict[int, list[int | None]] = {heat.pk: [None] * len(lanes) for heat in heats}
    found = LaneAssignment.objects.filter(heat__in=rows).values_list("heat_id", "lane_id", "seat__number")
    numbers = set()
    for heat, lane, number in found:
        rows[heat][places[lane]] = number
        numbers.add(number)
    return {heat: tuple(row) for heat, row in rows.items()}, numbers


def _drawn_entries(draw: Draw, seats: set[int]) -> dict[int, Entry]:
    numbers = {*seats, *draw.report.get("seats", [])}
    by_entry = dict(draw.stage.seats.filter(number__in=numbers, entry__isnull=False).values_list("entry_id", "number"))
    return {by_entry[entry.pk]: entry for entry in loaded(Entry.objects.filter(pk__in=by_entry))}


def _seen(
    draw: Draw,
    frozen: Sequence[Heat],
    clocks: Mapping[int, ClockState],
    drawn: Mapping[int, Entry],
    gone: Sequence[int],
    come: Mapping[int, Entry],
) -> str:
    """Short, and another one whenever a heat has begun or was voided, or somebody came or left."""
    facts = (
        draw.pk,
        [(heat.pk, clocks[heat.pk].run) for heat in frozen],
        sorted(drawn),
        gone,
        sorted((number, entry.pk) for number, entry in come.items()),
    )
    return hashlib.sha256(repr(facts).encode()).hexdigest()[:16]


def _with_wishes(night: Night, choices: Choices) -> State:
    """The state with the wishes, turned into the engine's numbers."""
    state = night.state
    drivers = set(state.drivers)
    place = {lane.number: place for place, lane in enumerate(night.lanes, start=1)}
    back = len(night.frozen) - night.last_number
    lanes_out = tuple(sorted(place[number] for number in choices.lanes_out if number in place))
    state = replace(
        state,
        lanes_out=lanes_out,
        lanes_back=tuple(
            (place[lane], max(1, heat + back))
            for lane, heat in choices.lanes_back
            if lane in place and place[lane] not in lanes_out
        ),
        not_before=tuple((driver, max(1, heat + back)) for driver, heat in choices.later if driver in drivers),
        not_after=tuple((driver, max(1, heat + back)) for driver, heat in choices.until if driver in drivers),
        apart=(
            *(pair for pair in choices.apart if drivers.issuperset(pair) and pair[0] != pair[1]),
            *_of_other_groups(night.draw, drivers),
        ),
        rest=choices.rest,
        excused=_let_off(night),
    )
    return replace(state, excused=(*state.excused, *_late(night, state))) if choices.late_rest else state


def _of_other_groups(draw: Draw, drivers: set[int]) -> list[Pair]:
    """Where a race is driven in groups nobody meets somebody of another group; who came late is of none."""
    groups = [drivers.intersection(seats) for seats in groups_in(draw)]
    pairs = combinations(groups, 2)
    return [(one, other) for here, there in pairs for one in sorted(here) for other in sorted(there)]


def groups_in(draw: Draw) -> list[list[int]]:
    """The groups of a draw, or of the one that it was drawn again from, by number in the draw."""
    return [each["seats"] for each in draw.report.get("groups", [])] or draw.report.get("group_seats", [])


def _way_of(draw: Draw) -> tuple[int, int | None, tuple[int, ...]]:
    """How many rounds, how many lanes each in one (None for all), and the numbers of lanes left empty by choice."""
    way = draw.report.get("way", {})
    return way.get("rounds", 1), way.get("lanes_each"), tuple(way.get("empty", ()))


def _let_off(night: Night) -> tuple[Run, ...]:
    """Runs that are not to be made up: by an earlier re-draw, or because the night was never drawn so far.

    Where fewer lanes each were drawn, or lanes left empty, what was drawn is what is to be driven, and what an earlier
    re-draw left owed; who came late drives as many, on the lanes that most others have behind them.
    """
    rounds, each, empty = _way_of(night.draw)
    if each is None and not empty:
        return _excused_before(night)
    state = night.state
    place = {lane.number: number for number, lane in enumerate(night.lanes, start=1)}
    wanted = state.driven()
    wanted.update((who, lane) for heat in state.planned for lane, who in enumerate(heat, start=1) if who is not None)
    owed = night.draw.report.get("redraw", {}).get("owed", ())
    wanted.update((one["driver"], place[one["lane"]]) for one in owed if one["lane"] in place)
    waiting = Counter(lane for heat in state.planned for lane, who in enumerate(heat, start=1) if who is not None)
    used = [lane for number, lane in place.items() if number not in empty]
    open_to_late = sorted(used, key=lambda lane: (waiting[lane], lane))[: len(used) if each is None else each]
    for number in night.joined:
        wanted.update({(number, lane): rounds for lane in open_to_late})
    every = Counter({(driver, lane): rounds for driver in state.drivers for lane in place.values()})
    return tuple(sorted((every - wanted).elements()))


def _excused_before(night: Night) -> tuple[Run, ...]:
    """What an earlier re-draw let somebody off stays so."""
    kept = night.draw.report.get("redraw", {}).get("excused", [])
    drivers = set(night.state.drivers)
    return tuple((each["driver"], each["lane"]) for each in kept if each["driver"] in drivers)


def _late(night: Night, state: State) -> list[Run]:
    """Late joiners are let off as many lanes as those who were there have driven, the fullest ones first."""
    late = [driver for driver in night.joined if driver not in state.withdrawn]
    others = set(state.going_on()) - set(night.joined)
    done = Counter(driver for heat in state.run for driver in heat if driver in others)
    driven = min((done[driver] for driver in others), default=0)
    waiting = Counter(lane for driver, lane in state.missing() if driver in others)
    order = sorted(range(1, state.lanes + 1), key=lambda lane: (-waiting[lane], lane))
    open_lanes = [lane for lane in order if lane not in state.lanes_out]
    # Lanes that are out are not driven anyway; at least one lane is left.
    off = [*(lane for lane in order if lane in state.lanes_out), *open_lanes][: min(driven, state.lanes - 1)]
    return [(driver, lane) for driver in late for lane in sorted(off)]


# Wishes of an earlier re-draw that hold on; who left and who came is known by then.
_STANDING_PAIRS = ("later", "until", "apart", "lanes_back")
# What the draw calls the same wishes.
_DRAWN_AS = {"not_before": "later", "not_after": "until", "apart": "apart"}


def _wished_at(draw: Draw) -> dict[str, Any]:
    """The wishes of a first draw that had to be met and were, as choices; they count by place in the report."""
    seats = draw.report.get("seats", [])
    found: dict[str, Any] = {}
    for each in draw.report.get("wishes", []):
        name = _DRAWN_AS.get(each["kind"])
        if name is not None and each["hard"] and not each["missed"]:
            value = seats[each["value"] - 1] if name == "apart" else each["value"]
            found.setdefault(name, []).append((seats[each["driver"] - 1], value))
    return found


def choices_before(draw: Draw | None) -> Choices:
    """What an earlier re-draw of this race was told and still holds, to begin from."""
    kept: dict[str, Any] = {} if draw is None else draw.report.get("redraw_choices") or _wished_at(draw)
    return Choices(
        **{name: tuple((one, other) for one, other in kept.get(name, ())) for name in _STANDING_PAIRS},
        lanes_out=tuple(kept.get("lanes_out", ())),
        rest=bool(kept.get("rest")),
    )


# ---- the plan -------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Rest:
    """A plan of the heats to come, not saved.

    whole: the night for those who go on, whose driver 1 is the first of `going_on`, heats run first. roster: who
    marshals in each heat to come, by the same numbers. served: how many duties each has had in the heats that stay, by
    number in the draw.
    """

    night: Night
    plan: Redraw
    whole: Plan
    roster: Roster
    served: dict[int, int]
    going_on: tuple[int, ...]


def plan_rest(night: Night, *, steps: int) -> Rest:
    """Plan the heats to come. Changes nothing. The same night, choices and steps give the same plan anywhere.

    steps: the budget of the search, 0 for the first legal plan. Two queries.
    Refused: too_few_drivers, and with the codes of the rotation engine (bad_pair, run_twice ...).
    """
    try:
        plan = redraw(night.state, seed=night.draw.seed, steps=steps)
    except RedrawError as error:
        raise RedrawNotPossible(error) from error
    whole = night_so_far(night.state, plan)
    if whole is None:
        raise TooFewDrivers(drivers=len(night.state.going_on()))
    turns = _served(night)
    return Rest(night, plan, whole, _roster(night, plan, whole, turns), turns, night.state.going_on())


def _roster(night: Night, plan: Redraw, whole: Plan, turns: dict[int, int]) -> Roster:
    going_on = night.state.going_on()
    place = {driver: number for number, driver in enumerate(going_on, start=1)}
    to_come = Plan(
        drivers=whole.drivers,
        lanes=whole.lanes,
        preset=Preset(night.draw.preset),
        seed=plan.seed,
        steps=plan.steps,
        lane_order=whole.lane_order,
        by_lot=False,
        heats=whole.heats[len(night.frozen) :],
    )
    last = [driver for driver in (night.state.run[-1] if night.state.run else ()) if driver in place]
    before = Before(
        just_driven=tuple(place[driver] for driver in last if driver is not None),
        served=tuple((place[number], turns[number]) for number in turns if number in place),
    )
    return race_roster(night.race, to_come, [night.entries[number] for number in going_on], before)


def _served(night: Night) -> dict[int, int]:
    """How many duties each has had in the heats that stay, by number in the draw. One query."""
    return dict(Counter(MarshalDuty.objects.filter(heat__in=night.frozen).values_list("seat__number", flat=True)))


# ---- choices in an address ------------------------------------------------------------------------------------------


def _numbers(query: QueryDict, name: str) -> tuple[int, ...]:
    found = [int(text) for text in query.getlist(name) if re.fullmatch(r"\d{1,5}", text, re.ASCII)]
    return tuple(dict.fromkeys(found))


def _pairs(query: QueryDict, name: str) -> tuple[Pair, ...]:
    found = [text.split(".") for text in query.getlist(name) if re.fullmatch(r"\d{1,5}\.\d{1,5}", text, re.ASCII)]
    return tuple(dict.fromkeys((int(one), int(other)) for one, other in found))


_READ: dict[str, Callable[[QueryDict, str], tuple]] = {
    "out": _numbers,
    "later": _pairs,
    "until": _pairs,
    "apart": _pairs,
    "lanes_out": _numbers,
    "lanes_back": _pairs,
    "stay": _numbers,
}


def choices_in(query: QueryDict) -> Choices:
    """The choices that an address names; what it does not name well is passed over."""
    lists = {name: read(query, name) for name, read in _READ.items()}
    finish = query.get("finish", "")
    return Choices(
        **lists,
        late_rest=query.get("late") == "rest",
        rest=query.get("rest") == "on",
        finish=finish if re.fullmatch(r"([01]\d|2[0-3]):[0-5]\d", finish, re.ASCII) else "",
    )


def pairs_of(choices: Choices) -> list[tuple[str, str]]:
    """The choices as names and values of an address."""
    # Never empty, so that an address where all was taken back is told from one where nothing was chosen yet.
    pairs = [("chosen", "here")]
    pairs += [
        (name, str(value) if isinstance(value, int) else f"{value[0]}.{value[1]}")
        for name in _READ
        for value in getattr(choices, name)
    ]
    pairs += [("late", "rest")] if choices.late_rest else []
    pairs += [("rest", "on")] if choices.rest else []
    pairs += [("finish", choices.finish)] if choices.finish else []
    return pairs


def address_of(choices: Choices) -> str:
    """The choices as they stand in an address, behind its question mark."""
    return urlencode(pairs_of(choices))


def with_more(choices: Choices, name: str, value: int | Pair) -> Choices:
    """The choices and this one."""
    return replace(choices, **{name: (*getattr(choices, name), value)})


def without(choices: Choices, name: str, value: int | Pair) -> Choices:
    """The choices but this one."""
    return replace(choices, **{name: tuple(each for each in getattr(choices, name) if each != value)})


def kept_of(choices: Choices) -> dict[str, object]:
    """The choices as plain values, to be kept with the draw."""
    plain = {each.name: getattr(choices, each.name) for each in fields(choices)}
    return {name: value for name, value in plain.items() if value}
