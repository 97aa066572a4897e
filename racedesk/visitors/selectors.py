"""Read what visitors are shown. Only what is public: shown names, never real ones, contacts, payments or notes."""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.db.models import Prefetch
from django.utils import timezone
from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from inspection.models import Club, Inspection, Lane, RuleSheetRevision
from inspection.rulesheets.selectors import revisions_in_force
from inspection.techcards.selectors import CardClause, card
from racedesk.entries.selectors import EntryClearance, clearance_of, loaded, shown_name
from racedesk.events.selectors import (
    RaceStatus,
    events_of,
    race_status,
    races_of,
    tracks_with_a_layout,
    upcoming_events,
)
from racedesk.heats.selectors import HeatCard, LaneCard, PostCard, heat_cards
from racedesk.models import Entry, EntryCar, Event, Race, ResultRow, ResultSheet, Season
from racedesk.raceday.selectors import RaceSpan, spans_of
from racedesk.seasons.selectors import TableRow, leaders_of
from racedesk.timing.heat_clock import Phase, phase_at

# A night goes on past midnight; before this hour yesterday's is still "tonight".
NIGHT_ENDS_AT = dt.time(6, 0)
MOST_RESULTS = 4
OUT = (Entry.State.WITHDRAWN, Entry.State.NO_SHOW)


# ---- the club's front page ------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class OnTrack:
    """The race that is run now. lanes: each with its lane cards of the heat that is on and of the next, or None."""

    race: Race
    on: HeatCard | None
    next: HeatCard | None
    lanes: tuple[tuple[Lane, LaneCard | None, LaneCard | None], ...]


@dataclass(frozen=True, slots=True)
class Front:
    """The club's front page. event: tonight's, else the next. winners: of the latest results, the sheet beside."""

    event: Event | None
    is_tonight: bool
    races: tuple[tuple[Race, RaceStatus], ...]
    on_track: OnTrack | None
    results: tuple[tuple[ResultSheet, tuple[ResultRow, ...]], ...]
    leaders: tuple[tuple[Season, TableRow | None], ...]
    revisions: tuple[RuleSheetRevision, ...]
    has_track: bool


def front_of(club: Club, *, now: dt.datetime) -> Front:
    """What a visitor finds first. About 12 queries, 11 while a race is run, 5 for each running season."""
    event, is_tonight = _night_to_show(club, now)
    races = races_of(event) if event else []
    winners = Prefetch("rows", queryset=ResultRow.objects.filter(place=1), to_attr="winners")
    sheets = ResultSheet.objects.of(club).current().select_related("race__event").prefetch_related(winners)
    latest = sheets.order_by("-race__event__date", "-published_at")[:MOST_RESULTS]
    return Front(
        event=event,
        is_tonight=is_tonight,
        races=tuple((race, race_status(race, now=now)) for race in races),
        on_track=_on_track(races, now),
        results=tuple((sheet, tuple(sheet.winners)) for sheet in latest),
        leaders=tuple(leaders_of(club)),
        revisions=tuple(revisions_in_force(club, timezone.localdate(now))),
        has_track=tracks_with_a_layout(club).exists(),
    )


def _night_to_show(club: Club, now: dt.datetime) -> tuple[Event | None, bool]:
    local = timezone.localtime(now)
    today = local.date()
    if local.time() < NIGHT_ENDS_AT:
        late = events_of(club).filter(date=today - dt.timedelta(days=1), races__stages__isnull=False).first()
        if late is not None:
            return late, True
    event = upcoming_events(club, today=today).first()
    return event, event is not None and event.date == today


def _on_track(races: Sequence[Race], now: dt.datetime) -> OnTrack | None:
    race = next((race for race in races if race_status(race, now=now).code == "running"), None)
    if race is None:
        return None
    cards = heat_cards(race)
    on = next((each for each in cards if each.is_on), None)
    coming = next((each for each in cards if each.is_next), None)
    lanes = {lane.lane.number: lane.lane for each in (on, coming) if each for lane in each.lanes}
    rows = tuple((lanes[number], _on_lane(on, number), _on_lane(coming, number)) for number in sorted(lanes))
    return OnTrack(race, on, coming, rows)


def _on_lane(heat: HeatCard | None, number: int) -> LaneCard | None:
    return next((lane for lane in heat.lanes if lane.lane.number == number), None) if heat else None


# ---- a driver's own page --------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Turn:
    """A heat in which the driver has something to do: a lane to drive, or a post to stand at.

    about: when it began, or should begin as things go. until: heats still to be run before it.
    """

    race: Race
    heat: HeatCard
    about: dt.datetime | None
    until: int
    lane: LaneCard | None = None
    post: PostCard | None = None


@dataclass(frozen=True, slots=True)
class MyCar:
    """A car of the driver's, as tech sees it. kind: shape and color of word. clauses: of its card, if it has one."""

    race: Race
    car: EntryCar
    kind: str
    word: str | Promise
    clauses: tuple[CardClause, ...]


@dataclass(frozen=True, slots=True)
class MyNight:
    """A driver's page of the night: all his entries, or the team's one."""

    name: str
    entries: tuple[Entry, ...]
    turns: tuple[Turn, ...]
    next_drive: Turn | None
    next_duty: Turn | None
    cars: tuple[MyCar, ...]
    placings: tuple[ResultRow, ...]

    @property
    def has_several_races(self) -> bool:
        return len(self.entries) > 1

    @property
    def undrawn(self) -> list[Race]:
        """Races he is in whose heats are still to be drawn."""
        drawn = {turn.race.pk for turn in self.turns}
        gone = {*OUT, Entry.State.WAITING}
        return [entry.race for entry in self.entries if entry.race_id not in drawn and entry.state not in gone]

    @property
    def waiting(self) -> list[Race]:
        """Races that had no place free for him so far."""
        return [entry.race for entry in self.entries if entry.state == Entry.State.WAITING]

    @property
    def is_expected(self) -> bool:
        """Entered, and not checked in yet."""
        return any(entry.state == Entry.State.ENTERED for entry in self.entries)


def my_night(entry: Entry, *, now: dt.datetime) -> MyNight:
    """Everything about one driver's night. Queries grow with the races and the driver's cars, not with the entries.

    entry: with race__event__track_layout and drivers loaded.
    """
    event = entry.race.event
    entries = _entries_of_the_same(entry)
    turns = _turns(event, entries, now)
    todo = [turn for turn in turns if not turn.heat.is_over]
    sheets = ResultSheet.objects.current().filter(race__in=[each.race_id for each in entries])
    placings = ResultRow.objects.filter(sheet__in=sheets, entry__in=entries).select_related("sheet__race")
    return MyNight(
        name=shown_name(entry),
        entries=tuple(entries),
        turns=tuple(turns),
        next_drive=next((turn for turn in todo if turn.lane and not turn.lane.is_out), None),
        next_duty=next((turn for turn in todo if turn.post), None),
        cars=tuple(_cars(entries)),
        placings=tuple(placings.order_by("sheet__race__position")),
    )


def _entries_of_the_same(entry: Entry) -> list[Entry]:
    """The driver's entries of the night in the order of the races; a team's own alone. 4 queries."""
    drivers = [row.driver_id for row in entry.drivers.all()]
    if entry.team_name or len(drivers) != 1:
        entries = Entry.objects.filter(pk=entry.pk)
    else:
        entries = Entry.objects.filter(race__event_id=entry.race.event_id, drivers__driver=drivers[0], team_name="")
    return list(loaded(entries.select_related("race__tech_occasion")).order_by("race__position", "pk"))


def _turns(event: Event, entries: Sequence[Entry], now: dt.datetime) -> list[Turn]:
    mine = {entry.race_id: entry for entry in entries}
    turns: list[Turn] = []
    before = 0
    for span in spans_of(event, now=now):
        if span.race.pk in mine and span.running:
            turns += _turns_of(span, mine[span.race.pk], before)
        before += _left(span, now)
    return turns


def _left(span: RaceSpan, now: dt.datetime) -> int:
    """Heats of the race that are not over."""
    if span.is_over or span.running is None:
        return 0 if span.is_over else span.heats
    at_ms = int(now.timestamp() * 1000)
    states = span.running.states.values()
    return sum(phase_at(state, at_ms) not in {Phase.ENDED, Phase.CLOSED} for state in states)


def _turns_of(span: RaceSpan, entry: Entry, before: int) -> Iterable[Turn]:
    cards = heat_cards(span.race)
    seats = {
        (each.heat.draw.stage_id, lane.seat_number)
        for each in cards
        for lane in each.lanes
        if lane.entry and lane.entry.pk == entry.pk
    }
    # Heats are timed from the plan until the race begins; as things go, it may begin later than planned.
    first = next((each.about for each in cards if each.about), None)
    late = span.start - first if first and span.start and not span.race.has_begun else dt.timedelta(0)
    for each in cards:
        about = each.about + late if each.about else None
        stage = each.heat.draw.stage_id
        lane = next((lane for lane in each.lanes if (stage, lane.seat_number) in seats), None)
        post = next((post for post in each.marshals if (stage, post.seat_number) in seats), None)
        if lane or post:
            yield Turn(span.race, each, about, 0 if each.is_over else before, lane, post)
        before += not each.is_over


_CAR_STATES = {
    "clear": ("ok", _("Clear to race")),
    "overridden": ("judge", _("Races by the director's decision")),
    "failed": ("bad", _("Fail")),
    "not_clear": ("judge", _("Signed as not clear")),
    "build_changed": ("judge", _("Changed since it was inspected")),
    "touched": ("judge", _("Touched in impound")),
    "open": ("unchecked", _("Not checked to the end")),
    "not_checked": ("unchecked", _("Not checked")),
}


def _cars(entries: Sequence[Entry]) -> Iterable[MyCar]:
    """1 query, 5 for each tech occasion, and 6 for each card."""
    taking_part = [entry for entry in entries if entry.state not in OUT and entry.race.needs_tech]
    clearances = clearance_of(taking_part)
    for entry in taking_part:
        for row in entry.cars.all():
            clearance = clearances[entry.pk] if not row.is_spare else EntryClearance("not_checked")
            found = Inspection.objects.filter(
                occasion=entry.race.tech_occasion_id, car=row.car_id, phase=Inspection.Phase.BEFORE
            ).first()
            shown = card(found) if found else None
            if row.is_spare and shown:
                clearance = EntryClearance("clear" if shown.is_clear else "failed" if shown.failed else "open")
            kind, word = _CAR_STATES[clearance.state]
            yield MyCar(entry.race, row, kind, word, shown.clauses if shown else ())


@dataclass(frozen=True, slots=True)
class Found:
    """A name on the list from which drivers find their page."""

    name: str
    entry: Entry


def names_of(event: Event) -> list[Found]:
    """Everybody who takes part or waits, each once, by shown name. 4 queries."""
    entries = loaded(Entry.objects.filter(race__event=event).exclude(state__in=OUT)).order_by("race__position", "pk")
    found: dict[tuple, Found] = {}
    for entry in entries:
        who = (entry.team_name, tuple(row.driver_id for row in entry.drivers.all()))
        found.setdefault(who, Found(shown_name(entry), entry))
    return sorted(found.values(), key=lambda each: each.name.casefold())
