"""Read what was run: what typed laps mean, every entry's laps by lane, the board."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Max
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from inspection.models import Lane
from racedesk.clocks.selectors import heat_state, heat_states
from racedesk.entries.selectors import shown_name
from racedesk.heats.selectors import heats_of
from racedesk.models import Entry, Heat, LaneAssignment, Race
from racedesk.racecontrol.errors import LapsNotUnderstood, MoreLapsThanTime
from racedesk.timing.errors import LapsError
from racedesk.timing.heat_clock import ClockSettings, ClockState
from racedesk.timing.laps import LapCount, LapMethod, add_lanes, format_laps, parse_laps
from racedesk.timing.plausible import Problem, Severity, find_problem


@dataclass(frozen=True, slots=True)
class Understood:
    """What a typed lap count was taken to mean. echo: the same in words. problem: a doubt to be asked about."""

    lane: Lane
    text: str
    laps: LapCount
    echo: str
    problem: Problem | None = None


def understand(race: Race, lane: Lane, text: str, *, is_last_lane: bool, clock: ClockSettings) -> Understood:
    """Read typed laps by the race's part-lap method and the track's division, and look whether they can be true.

    The whole length of the heat is allowed for, even when it was ended early: a refusal must be certain.
    Raises timing.errors.LapsError. No query.
    """
    method = LapMethod(race.lap_method)
    mark = race.event.club.decimal_mark
    laps = parse_laps(text, divisor=clock.divisor, method=method, is_last_lane=is_last_lane, decimal_mark=mark)
    problem = find_problem(
        laps=laps,
        heat_length_s=Decimal(clock.heat_length_ms) / 1000,
        method=method,
        lane_length_m=lane.length_m,
    )
    return Understood(lane, text.strip(), laps, words_for(laps, decimal_mark=mark), problem)


def words_for(laps: LapCount, *, decimal_mark: str = ".") -> str:
    """A lap count in words, to be read back before it is saved: "18 laps and 9 of 20 sections (18.45)"."""
    whole = ngettext("{laps} lap", "{laps} laps", laps.laps).format(laps=laps.laps)
    if not laps.sections:
        return whole
    short = format_laps(laps, decimal_mark=decimal_mark)
    words = _("{whole} and {sections} of {divisor} sections").format(
        whole=whole, sections=laps.sections, divisor=laps.divisor
    )
    return f"{words} ({short})" if 100 % laps.divisor == 0 else words


def question_about(problem: Problem, understood: Understood) -> str:
    """What to ask the person who typed an unusual count."""
    if problem.code == "few_laps":
        return _("{laps} is few for this heat. Were laps lost?").format(laps=understood.echo)
    return _("{laps} would be faster than club cars go. Was a lap counted twice?").format(laps=understood.echo)


# --- scores ----------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class LaneScore:
    """What an entry did on one lane. laps: None while nothing was typed."""

    lane_number: int
    lane_name: str
    heat_number: int
    laps: LapCount | None
    is_out: bool = False
    corrections: int = 0
    reason: str = ""


@dataclass(frozen=True, slots=True)
class EntryScore:
    """An entry's laps, lane by lane in the order driven, and its total by the race's lap method."""

    entry: Entry
    seat_number: int
    name: str
    lanes: tuple[LaneScore, ...]
    total: LapCount
    divisor: int

    @property
    def lanes_drawn(self) -> int:
        return len(self.lanes)

    @property
    def lanes_driven(self) -> int:
        """Lanes whose laps are in."""
        return sum(1 for lane in self.lanes if lane.laps is not None)


def scores_of(race: Race) -> list[EntryScore]:
    """Every drawn entry's laps, in the order of the seats. Nine queries whatever the size of the race."""
    heats = heats_of(race)
    states = heat_states(heats, race=race)
    rows = (
        LaneAssignment.objects.filter(heat__in=heats, seat__entry__isnull=False)
        .select_related("lane", "heat", "seat__entry")
        .prefetch_related("seat__entry__drivers__driver", "seat__entry__cars__car")
        .order_by("seat__stage__position", "seat__number", "heat__draw__stage__position", "heat__number")
    )
    by_entry: dict[int, list[LaneAssignment]] = defaultdict(list)
    for row in rows:
        by_entry[row.seat.entry_id].append(row)
    return [_entry_score(race, group, states) for group in by_entry.values()]


def _entry_score(race: Race, group: Sequence[LaneAssignment], states: dict[int, ClockState]) -> EntryScore:
    lanes = []
    for each in group:
        state = states[each.heat_id]
        typed = state.laps_on(each.lane.number)
        lanes.append(
            LaneScore(
                lane_number=each.lane.number,
                lane_name=each.lane.name,
                heat_number=each.heat.number,
                laps=typed.laps if typed else None,
                is_out=each.lane.number in state.lanes_out,
                corrections=typed.corrections if typed else 0,
                reason=typed.reason if typed else "",
            )
        )
    divisor = states[group[0].heat_id].settings.divisor
    total = add_lanes(
        [lane.laps for lane in lanes if lane.laps is not None], method=LapMethod(race.lap_method), divisor=divisor
    )
    entry = group[0].seat.entry
    return EntryScore(entry, group[0].seat.number, shown_name(entry), tuple(lanes), total, divisor)


# --- reading back before saving --------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Reading:
    """A typed lap count read back. error: why it cannot be; question: what to ask; before: what stands now."""

    lane: Lane
    name: str
    text: str
    echo: str = ""
    error: str = ""
    question: str = ""
    before: str = ""
    is_change: bool = True


def read_back(heat: Heat, typed: Mapping[int, str]) -> list[Reading]:
    """What these texts, by lane number, would be taken to mean in this heat. Saves nothing. Eight queries."""
    race = Race.objects.select_related("event__club", "event__track_layout").get(stages__draws__heats=heat)
    state = heat_state(heat, race=race)
    rows = heat.lanes.select_related("lane", "seat__entry").prefetch_related("seat__entry__drivers__driver")
    last = last_heats_of_seats(heat)
    return [
        _reading(race, state, row, typed[row.lane.number], is_last_lane=heat.number >= last.get(row.seat_id, 0))
        for row in rows.order_by("lane__number")
        if row.lane.number in typed
    ]


def last_heats_of_seats(heat: Heat) -> dict[int, int]:
    """The number of the last heat that each seat drives in this heat's draw. One query."""
    rows = (
        LaneAssignment.objects.filter(heat__draw_id=heat.draw_id).values("seat_id").annotate(last=Max("heat__number"))
    )
    return {row["seat_id"]: row["last"] for row in rows}


def _reading(race: Race, state: ClockState, row: LaneAssignment, text: str, *, is_last_lane: bool) -> Reading:
    before = state.laps_on(row.lane.number)
    name = shown_name(row.seat.entry) if row.seat.entry else ""
    was = words_for(before.laps, decimal_mark=race.event.club.decimal_mark) if before else ""
    try:
        found = understand(race, row.lane, text, is_last_lane=is_last_lane, clock=state.settings)
    except LapsError as error:
        why = str(LapsNotUnderstood(error, lane=row.lane.number))
        return Reading(row.lane, name, text, error=why, before=was)
    problem = found.problem
    if problem and problem.severity is Severity.REFUSE:
        return Reading(row.lane, name, text, error=str(too_many(found, state.settings)), before=was)
    question = question_about(problem, found) if problem else ""
    is_change = before is None or before.laps != found.laps
    return Reading(row.lane, name, text, found.echo, question=question, before=was, is_change=is_change)


def too_many(found: Understood, clock: ClockSettings) -> MoreLapsThanTime:
    """The refusal of a count that no car could have driven in the heat's time."""
    seconds = clock.heat_length_ms // 1000
    time = f"{seconds // 60}:{seconds % 60:02d}"
    return MoreLapsThanTime(laps=found.laps, time=time, lane=found.lane.number)
