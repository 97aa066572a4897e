"""Read the night as a whole: where it stands, what comes next, when it ends, what needs somebody."""

import datetime as dt
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from django.utils import timezone
from django.utils.formats import date_format
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from inspection.clauses.selectors import checked_clauses
from inspection.models import Finding, Inspection, TechOccasion
from inspection.templatetags.kit import STATES
from inspection.wording.selectors import limit_words_short
from racedesk.clocks.selectors import OPEN_PHASES, heat_states, moment_of
from racedesk.entries.selectors import EntryClearance, clearance_of, first_car, loaded
from racedesk.events.selectors import RaceStatus, race_status, races_of
from racedesk.forecast.errors import ForecastError
from racedesk.forecast.outlook import Left, Outlook, look_out
from racedesk.forecast.timetable import count_segments, finish
from racedesk.heats.selectors import current_of, heats_of
from racedesk.models import Entry, Event, Heat, Race, Seat
from racedesk.paces.selectors import Known, known_of
from racedesk.takings.selectors import account_of
from racedesk.timing.heat_clock import ClockState, Phase, ends_at_ms, left_ms, phase_at
from racedesk.turns.selectors import starts_of, turns_of

RACING = frozenset({Entry.State.ENTERED, Entry.State.CHECKED_IN})
# How long before closing the desk and the draw become urgent.
DRAW_BEFORE = dt.timedelta(minutes=15)
CALL_BEFORE = dt.timedelta(minutes=30)
MOST_NAMES = 6


@dataclass(frozen=True, slots=True)
class Act:
    """One thing to do: a word, and the page where it is done. permission: who may."""

    label: str | Promise
    url_name: str
    public_id: str
    permission: str


@dataclass(frozen=True, slots=True)
class Attention:
    """Something that needs a person. kind: the shape and color, as the kit's partial takes them."""

    kind: str
    word: str | Promise
    who: str
    detail: str
    act: Act


@dataclass(frozen=True, slots=True)
class Headline:
    """Where the night stands, in a few words; and its next act, None when nothing is left to do."""

    title: str
    subtitle: str
    act: Act | None


@dataclass(frozen=True, slots=True)
class Running:
    """The heats of a race and what their events say. current: the heat that is on or comes next.

    turn: how many heats of the night come before that one, where the races take turns.
    """

    heats: list[Heat]
    states: dict[int, ClockState]
    current: Heat | None
    turn: int = 0

    def phase(self, at_ms: int) -> Phase | None:
        """Of the current heat."""
        return phase_at(self.states[self.current.pk], at_ms) if self.current else None


@dataclass(frozen=True, slots=True)
class RaceSpan:
    """A race on the night's clock. heats: drawn, or as many as its entries will need.

    planned_*: from the time that racing was announced for, at the planned pace; None when no time was. start, end:
    as driven, and from now on at the planned pace.
    """

    race: Race
    status: RaceStatus
    heats: int
    planned_start: dt.datetime | None
    planned_end: dt.datetime | None
    start: dt.datetime | None
    end: dt.datetime | None
    running: Running | None = None

    @property
    def is_over(self) -> bool:
        return self.status.code in {"run", "published"}


@dataclass(frozen=True, slots=True)
class Line:
    """A line of the timetable."""

    planned: dt.datetime | None
    forecast: dt.datetime | None
    what: str
    stands: str
    is_past: bool = False
    is_now: bool = False


@dataclass(frozen=True, slots=True)
class Night:
    """All that the page of the day shows. finish: None when nothing says when racing begins, or nothing is raced.

    outlook: the forecast; None where nothing is left, or where there is nothing to forecast from and finish is a plan.
    """

    event: Event
    now: dt.datetime
    spans: tuple[RaceSpan, ...]
    headline: Headline
    attention: tuple[Attention, ...]
    lines: tuple[Line, ...]
    finish: dt.datetime | None
    is_finished: bool
    finish_note: str
    outlook: Outlook | None = None


@dataclass(frozen=True, slots=True)
class Desk:
    """The entries of the night and how each stands at tech. occasions: by id."""

    entries: list[Entry]
    clearances: dict[int, EntryClearance]
    occasions: dict[int, TechOccasion]

    def of(self, race: Race) -> list[Entry]:
        """Those who race, as things stand."""
        return [entry for entry in self.entries if entry.race_id == race.pk and entry.state in RACING]

    def ready(self, race: Race) -> list[Entry]:
        """Those a draw takes now."""
        return [
            entry
            for entry in self.of(race)
            if entry.state == Entry.State.CHECKED_IN and self.clearances[entry.pk].may_race
        ]


def night_of(event: Event, *, now: dt.datetime) -> Night:
    """The day's page. About 14 queries, 6 for each rule sheet in use and 4 for each drawn race; however many entries.

    event: with track_layout loaded.
    """
    spans = spans_of(event, now=now)
    desk = _desk_of(event)
    ends = [span.end for span in spans if span.end is not None]
    end = max(ends) if spans and len(ends) == len(spans) else None
    rest = rest_of(event, spans, now=now) if end else None
    outlook = None
    if end and rest and not rest.known.is_plan:
        outlook = look_out(rest.known.pace, now=rest.start, left=rest.left)
        spans = _stretched(spans, rest.start, planned=end, likely=outlook.likely)
        end = outlook.likely
    is_finished = bool(spans) and all(span.is_over for span in spans)
    headline = _headline(event, spans, desk, now)
    return Night(
        event=event,
        now=now,
        spans=spans,
        headline=headline,
        attention=tuple(_attention(event, spans, desk, headline, now)),
        lines=tuple(_lines(event, spans, desk, end, now)),
        finish=end,
        is_finished=is_finished,
        finish_note=_finish_note(event, end),
        outlook=outlook,
    )


def _stretched(
    spans: Sequence[RaceSpan], start: dt.datetime, *, planned: dt.datetime, likely: dt.datetime
) -> tuple[RaceSpan, ...]:
    """What is still to come at the club's pace instead of the planned one: the last race ends when the night will."""
    stretch = (likely - start) / (planned - start) if planned > start else 1

    def moved(moment: dt.datetime | None) -> dt.datetime | None:
        return start + (moment - start) * stretch if moment and moment > start else moment

    return tuple(replace(span, start=moved(span.start), end=moved(span.end)) for span in spans)


@dataclass(frozen=True, slots=True)
class RestOfNight:
    """What a forecast of the night starts from: when, what is left, and what is known of the club's pace.

    coming: races that have not begun, each with its heats; they are in `left` too.
    """

    start: dt.datetime
    left: Left
    known: Known
    coming: tuple[RaceSpan, ...]

    def without(self, span: RaceSpan) -> Left:
        """What is left beside one of the races that have not begun."""
        others = [each for each in self.coming if each is not span]
        then = tuple((each.heats, each.race.heat_length_s) for each in others)
        return replace(self.left, then=(*self.left.then[: len(self.left.then) - len(self.coming)], *then))


def rest_of(event: Event, spans: Sequence[RaceSpan], *, now: dt.datetime) -> RestOfNight | None:
    """What is left of the night; None when nothing is, or nobody can know when it begins. Queries as known_of."""
    open_spans = [span for span in spans if not span.is_over and span.heats]
    if not open_spans or any(span.start is None for span in open_spans):
        return None
    at_ms = _ms(now)
    driven = [(span.race.pk, state) for span in spans if span.running for state in span.running.states.values()]
    begun = [state for _race, state in driven if state.first_green_at_ms is not None or state.laps]
    running_s = sum(left_ms(state, at_ms) // 1000 for state in begun if phase_at(state, at_ms) in OPEN_PHASES)
    under_way = [span for span in open_spans if span.running and span.race.has_begun]
    coming = [span for span in open_spans if span not in under_way]
    then = [(_waiting(span), span.race.heat_length_s) for span in under_way]
    then += [(span.heats, span.race.heat_length_s) for span in coming]
    if not running_s and not sum(heats for heats, _length in then):
        return None
    ended = max((_end_ms(state, at_ms) for state in begun), default=at_ms)
    left = Left(
        heats=0,
        heat_length_s=1,
        running_s=running_s,
        begun=bool(begun),
        changeover_spent_s=0 if running_s else max(at_ms - ended, 0) // 1000,
        then=tuple(then),
    )
    start = now if begun or event.racing_at is None else max(event.racing_at, now)
    try:
        known = known_of(event, open_spans[0].race, driven, at_ms=at_ms)
    except ForecastError:  # heats of a whole day: the engine knows no such nights
        return None
    return RestOfNight(timezone.localtime(start), left, known, tuple(coming))


def _waiting(span: RaceSpan) -> int:
    """Heats of a race under way that nobody has driven in."""
    states = span.running.states.values() if span.running else ()
    return sum(state.first_green_at_ms is None and not state.laps for state in states)


def _desk_of(event: Event) -> Desk:
    entries = list(loaded(Entry.objects.filter(race__event=event).select_related("race")).order_by("entered_at", "id"))
    racing = [entry for entry in entries if entry.state in RACING]
    occasions = TechOccasion.objects.filter(races__event=event).select_related("revision").distinct()
    return Desk(entries, clearance_of(racing), {each.pk: each for each in occasions})


# ---- the night's clock ----------------------------------------------------------------------------------------------


def spans_of(event: Event, *, now: dt.datetime) -> tuple[RaceSpan, ...]:
    """The races of the night on its clock, in order. 2 queries, and 4 for each drawn race; where they take turns
    those of turns_of more."""
    lanes = event.track_layout.lanes.count()
    spans: list[RaceSpan] = []
    planned = event.racing_at
    free_from = max(event.racing_at, now) if event.racing_at else now
    if event.racing_at is None and event.date != timezone.localdate(now):
        free_from = None
    if event.date < timezone.localdate(now) - dt.timedelta(days=1):
        free_from = None  # long past: what was not raced will not be forecast
    for race in races_of(event):
        status = race_status(race, now=now)
        heats = race.heats_drawn or count_segments(drivers=race.entries_racing, lanes=max(1, lanes))
        planned_end = _after(planned, heats, race)
        running = _running(race, now) if race.has_draw else None
        start, end = _driven(running, race, now) if running else (None, None)
        if start is None:
            start, end = free_from, _after(free_from, heats, race)
        spans.append(RaceSpan(race, status, heats, planned, planned_end, start, end, running))
        changeover = dt.timedelta(seconds=race.changeover_s)
        planned = planned_end + changeover if planned_end else None
        free_from = max(end + changeover, now) if free_from and end else free_from
    return _in_turn(event, spans, now) if event.takes_turns else tuple(spans)


def _in_turn(event: Event, spans: Sequence[RaceSpan], now: dt.datetime) -> tuple[RaceSpan, ...]:
    """The same where heats of the races are run in turn: each drawn race lasts from its first turn to its last."""
    turns = turns_of(event, at_ms=_ms(now))
    coming = turns.times(event.racing_at, _ms(now))
    planned = starts_of(turns.whole, event.racing_at) if event.racing_at else {}
    places = {heat.pk: place for place, heat in enumerate(turns.coming, start=1)}
    found = []
    for span in spans:
        if span.running is None:
            found.append(span)
            continue
        length = dt.timedelta(seconds=span.race.heat_length_s)
        own = [coming[heat.pk] for heat in span.running.heats if heat.pk in coming]
        plan = [planned[heat.pk] for heat in span.running.heats if heat.pk in planned]
        current = span.running.current
        found.append(
            replace(
                span,
                planned_start=min(plan, default=None),
                planned_end=max(plan) + length if plan else None,
                start=span.start if span.race.has_begun else min(own, default=span.start),
                end=max(own) + length if own else span.end,
                running=replace(span.running, turn=places.get(current.pk, 0) if current else 0),
            )
        )
    return tuple(found)


def _after(start: dt.datetime | None, heats: int, race: Race) -> dt.datetime | None:
    if start is None:
        return None
    return finish(start=start, heats=heats, heat_length_s=race.heat_length_s, changeover_s=race.changeover_s)


def _running(race: Race, now: dt.datetime) -> Running:
    heats = heats_of(race)
    states = heat_states(heats, race=race)
    return Running(heats, states, current_of(heats, states, _ms(now)))


def _driven(running: Running, race: Race, now: dt.datetime) -> tuple[dt.datetime | None, dt.datetime | None]:
    """When the race began, and when it ended or will; None and None before its first heat."""
    begun = [state for state in running.states.values() if state.first_green_at_ms is not None or state.laps]
    if not begun:
        return None, None
    start = min(state.at_ms if state.first_green_at_ms is None else state.first_green_at_ms for state in begun)
    end = moment_of(max(_end_ms(state, _ms(now)) for state in begun))
    waiting = len(running.heats) - len(begun)
    if waiting:
        end = _after(max(end + dt.timedelta(seconds=race.changeover_s), now), waiting, race)
    return moment_of(start), end


def _end_ms(state: ClockState, at_ms: int) -> int:
    if state.ended_at_ms is not None:
        return state.ended_at_ms
    if state.green_at_ms is not None:
        return ends_at_ms(state) or state.at_ms
    return at_ms + left_ms(state, at_ms) if state.phase in OPEN_PHASES else state.at_ms


def _ms(moment: dt.datetime) -> int:
    return int(moment.timestamp() * 1000)


def minutes_words(span: dt.timedelta) -> str:
    """A length of time as people say it, in whole minutes up: "7 minutes", "2 h 15 min"."""
    minutes = -(-int(span.total_seconds()) // 60)
    if minutes < 90:
        return ngettext("{n} minute", "{n} minutes", minutes).format(n=minutes)
    return _("{hours} h {minutes} min").format(hours=minutes // 60, minutes=minutes % 60)


def _clock(moment: dt.datetime) -> str:
    return date_format(timezone.localtime(moment), "H:i")


def _finish_note(event: Event, end: dt.datetime | None) -> str:
    closes = event.hall_closes_at
    if closes is None:
        return ""
    if end is not None and end > closes:
        late = minutes_words(end - closes)
        return _("{late} after the hall closes at {time}").format(late=late, time=_clock(closes))
    return _("hall closes {time}").format(time=_clock(closes))


# ---- the headline and the next act ----------------------------------------------------------------------------------


def _headline(event: Event, spans: Sequence[RaceSpan], desk: Desk, now: dt.datetime) -> Headline:
    if not spans:
        act = Act(_("Add a race"), "race-create", event.public_id, "club.plan_events")
        return Headline(_("No race yet"), _("Add a race: its class, its fee and how long its heats are."), act)
    on = [span for span in spans if span.running and span.running.phase(_ms(now)) in OPEN_PHASES]
    begun = [span for span in spans if span.status.code == "running"]
    todo = [span for span in spans if span.status.code != "published"]
    if not todo:
        return Headline(_("All results are published"), _("Nothing is left to do tonight."), None)
    in_turn = [span for span in todo if event.takes_turns and span.running and not span.is_over]
    in_turn.sort(key=lambda span: span.running.turn if span.running else 0)
    span = (on or in_turn or begun or todo)[0]
    if span.status.code == "run":
        act = Act(_("Publish the result"), "result-preview", span.race.public_id, "club.publish_results")
        words = ngettext("{race}: its heat is run.", "{race}: all {n} heats are run.", span.heats)
        return Headline(_("Results are not published"), words.format(race=span.race.name, n=span.heats), act)
    if span.running and span.running.current:
        return _heat_headline(span, span.running, now)
    return _waiting_headline(event, span.race, desk, now)


def _heat_headline(span: RaceSpan, running: Running, now: dt.datetime) -> Headline:
    """While heats are run: which one, and what to do with it."""
    heat = running.current
    phase = running.phase(_ms(now))
    place = {"n": heat.number, "of": len(running.heats)}
    run = Act(_("Run heat {n}").format(n=heat.number), "heat-run", heat.public_id, "club.run_heats")
    go = Act(_("Go to heat {n}").format(n=heat.number), "heat-run", heat.public_id, "club.run_heats")
    name = span.race.name
    match phase:
        case Phase.COUNTDOWN | Phase.RUNNING:
            return Headline(_("Heat {n} of {of} runs").format(**place), name, go)
        case Phase.TRACK_CALL:
            return Headline(_("Track call in heat {n} of {of}").format(**place), name, go)
        case Phase.ENDED:
            enter = Act(_("Enter laps"), "heat-laps", heat.public_id, "club.run_heats")
            return Headline(_("Heat {n} of {of} is over, laps are missing").format(**place), name, enter)
    if span.status.code == "drawn" and span.start and span.start > now:
        away = minutes_words(span.start - now)
        name = _("{race}, about {time}, in {away}").format(race=name, time=_clock(span.start), away=away)
    return Headline(_("Heat {n} of {of} is next").format(**place), name, run)


def _closings(event: Event, race: Race) -> list[tuple[dt.datetime, str]]:
    found = [(event.tech_closes_at, _("Tech closes in {away}"))] if race.needs_tech else []
    found.append((race.entries_close_at, _("Entries close in {away}")))
    return sorted(((moment, words) for moment, words in found if moment is not None), key=lambda pair: pair[0])


def _waiting_headline(event: Event, race: Race, desk: Desk, now: dt.datetime) -> Headline:
    """Before the draw: what opens or closes next, and how many are ready."""
    coming = [
        (event.doors_at, _("Doors open in {away}")),
        (event.tech_opens_at if race.needs_tech else None, _("Tech opens in {away}")),
    ]
    ahead = [(moment, words) for moment, words in [*coming, *_closings(event, race)] if moment and moment > now]
    today = timezone.localdate(now)
    if event.date > today:
        title = _("The night is on {day}").format(day=date_format(event.date, "l j F"))
    elif ahead:
        moment, words = ahead[0]
        title = words.format(away=minutes_words(moment - now))
    else:
        title = _("The draw is not made")
    entered, ready = desk.of(race), desk.ready(race)
    here = sum(entry.state == Entry.State.CHECKED_IN for entry in entered)
    clear = sum(desk.clearances[entry.pk].may_race for entry in entered)
    if not entered:
        subtitle = _("{race}: nobody is entered yet.").format(race=race.name)
    elif race.needs_tech:
        words = _("{race}: {here} of {n} are checked in, {clear} of {n} cars are clear to race.")
        subtitle = words.format(race=race.name, here=here, clear=clear, n=len(entered))
    else:
        subtitle = _("{race}: {here} of {n} are checked in.").format(race=race.name, here=here, n=len(entered))
    act = _waiting_act(event, race, desk, now)
    if act.url_name == "draw-create" and len(ready) < len(entered):
        subtitle += " " + _("You can draw now; who is not ready is left out.")
    return Headline(title, subtitle, act)


def _waiting_act(event: Event, race: Race, desk: Desk, now: dt.datetime) -> Act:
    entered, ready = desk.of(race), desk.ready(race)
    closings = [moment for moment, _words in _closings(event, race)] or ([event.racing_at] if event.racing_at else [])
    is_due = bool(closings) and now >= max(closings) - DRAW_BEFORE
    if len(ready) > 1 and (is_due or len(ready) == len(entered)):
        return Act(_("Make the draw"), "draw-create", race.public_id, "club.run_heats")
    if not entered:
        return Act(_("Enter drivers"), "entry-list", race.public_id, "club.run_desk")
    if any(entry.state == Entry.State.ENTERED for entry in entered) or not race.needs_tech:
        label = _("Check in drivers") if event.date <= timezone.localdate(now) else _("Enter drivers")
        return Act(label, "entry-list", race.public_id, "club.run_desk")
    occasion = desk.occasions[race.tech_occasion_id]
    return Act(_("Open the tech line"), "occasion-detail", occasion.public_id, "club.inspect")


# ---- what needs somebody --------------------------------------------------------------------------------------------


def _attention(
    event: Event, spans: Sequence[RaceSpan], desk: Desk, headline: Headline, now: dt.datetime
) -> Iterable[Attention]:
    """What a person must settle, the gravest first. 2 queries, and 1 for each tech occasion."""
    open_spans = [span for span in spans if not span.is_over]
    seated = set(Seat.objects.filter(stage__race__event=event).values_list("entry_id", flat=True))
    yield from _heats_left(spans, headline, now)
    yield from _tech_attention([span.race for span in open_spans if span.race.needs_tech], desk, seated)
    yield from _not_in_the_draw(open_spans, desk, seated)
    for span in open_spans:
        yield from _desk_attention(event, span, desk, now)
    yield from _unpaid(event, desk)


def _heats_left(spans: Sequence[RaceSpan], headline: Headline, now: dt.datetime) -> Iterable[Attention]:
    done = headline.act.public_id if headline.act else ""
    for span in spans:
        if span.status.code == "run" and span.race.public_id != done:
            act = Act(_("Publish"), "result-preview", span.race.public_id, "club.publish_results")
            yield Attention("unchecked", _("Not published"), span.race.name, _("all heats are run"), act)
        if span.running is None or span.is_over:
            continue
        states, heats = span.running.states, span.running.heats
        phases = {heat.pk: phase_at(states[heat.pk], _ms(now)) for heat in heats}
        last = max((heat.number for heat in heats if phases[heat.pk] in {Phase.ENDED, Phase.CLOSED}), default=0)
        for heat in heats:
            if heat.public_id == done or phases[heat.pk] is Phase.CLOSED:
                continue
            who = _("{race}, heat {n}").format(race=span.race.name, n=heat.number)
            if phases[heat.pk] is Phase.ENDED:
                act = Act(_("Enter laps"), "heat-laps", heat.public_id, "club.run_heats")
                yield Attention("unchecked", _("Laps missing"), who, _("run, not all lanes typed"), act)
            elif heat.number < last and phases[heat.pk] not in OPEN_PHASES:
                act = Act(_("Run it"), "heat-run", heat.public_id, "club.run_heats")
                yield Attention("unchecked", _("Not run"), who, _("later heats are over"), act)


def _car_words(entry: Entry) -> str:
    car = first_car(entry)
    return _("Car {n}, {who}").format(n=car.car.number, who=entry) if car else str(entry)


def _listed(names: Sequence[str]) -> str:
    """Up to six names; then how many more."""
    if len(names) <= MOST_NAMES:
        return ", ".join(names)
    rest = len(names) - MOST_NAMES + 1
    return _("{names} and {n} more").format(names=", ".join(names[: MOST_NAMES - 1]), n=rest)


def _tech_attention(races: Sequence[Race], desk: Desk, seated: Collection[int]) -> Iterable[Attention]:
    """Cars that may not race. Once heats are run, only those that are in the draw: it is too late for the others."""
    unclear = {
        race.pk: [
            entry
            for entry in desk.of(race)
            if not desk.clearances[entry.pk].may_race and (entry.pk in seated or not race.has_begun)
        ]
        for race in races
    }
    findings = _findings(desk.clearances[entry.pk].card for entries in unclear.values() for entry in entries)
    rows: dict[str, list[Attention]] = defaultdict(list)
    for race in races:
        occasion = desk.occasions[race.tech_occasion_id]
        judged = _judge_clauses(occasion)
        groups: dict[str, list[Entry]] = defaultdict(list)
        for entry in unclear[race.pk]:
            clearance = desk.clearances[entry.pk]
            row = _car_attention(entry, clearance, findings.get(clearance.card, {}), judged)
            if row:
                rows[row.kind].append(row)
            else:
                groups[clearance.state].append(entry)
        rows["unchecked"] += _group_attention(groups, occasion)
    for kind in ("bad", "near", "judge", "unchecked"):
        yield from rows[kind]


def _findings(cards: Iterable[str]) -> dict[str, dict[int, Finding]]:
    """The standing findings of these cards, by card and clause. 1 query."""
    found: dict[str, dict[int, Finding]] = defaultdict(dict)
    rows = Finding.objects.filter(inspection__public_id__in=[card for card in cards if card])
    for row in rows.filter(superseded_at__isnull=True).select_related("inspection", "clause__characteristic"):
        found[row.inspection.public_id][row.clause_id] = row
    return found


def _judge_clauses(occasion: TechOccasion) -> dict[int, str]:
    """What is checked before the race, by clause id: the subject where a judge decides, else "". 1 query."""
    clauses = checked_clauses(occasion.revision, Inspection.Phase.BEFORE)
    return {c.pk: str(c.characteristic or c.text[:60]) if c.comparator == "judge_decides" else "" for c in clauses}


def _finding_words(findings: Iterable[Finding]) -> str:
    found = list(findings)
    first = found[0]
    limit = limit_words_short(first.clause)
    answer = first.reading or first.answer
    words = f"{first.subject} {answer}, {limit}" if limit else f"{first.subject} {answer}"
    if len(found) > 1:
        words = _("{first}, and {n} more").format(first=words, n=len(found) - 1)
    return words


def _car_attention(
    entry: Entry, clearance: EntryClearance, findings: Mapping[int, Finding], clauses: Mapping[int, str]
) -> Attention | None:
    """The row of one car, or None where cars are gathered in one row."""
    if clearance.state == "no_car":
        act = Act(_("Enter a car"), "entry-car", entry.public_id, "club.run_desk")
        return Attention("unchecked", _("No car"), _car_words(entry), _("no car is entered"), act)
    failed = [row for row in findings.values() if row.outcome == Finding.Outcome.FAIL]
    near = [row for row in findings.values() if row.is_too_close]
    missing = [subject for pk, subject in clauses.items() if pk not in findings]
    label = _("Open card")
    if clearance.state == "failed" and failed:
        kind, word, detail = "bad", STATES["fail"][0], _finding_words(failed)
    elif clearance.state == "build_changed":
        kind, word, detail = "judge", _("Changed"), _("the build is not the one that was inspected")
    elif clearance.state == "touched":
        kind, word, detail = "judge", _("Touched"), _("touched in impound, so it is not clear any more")
    elif near:
        kind, word, detail = "near", STATES["too_close"][0], _finding_words(near)
    elif clearance.state == "not_clear":
        kind, word, detail = "judge", _("Not clear"), _("the card is signed as not clear")
    elif clearance.state == "open" and missing and all(missing):
        kind, word, detail, label = "judge", STATES["judge_decides"][0], _listed(missing), _("Decide")
    else:
        return None
    act = Act(label, "inspection-detail", clearance.card, "club.inspect")
    return Attention(kind, word, _car_words(entry), detail, act)


_GROUPS = {"not_checked": gettext_lazy("not seen yet"), "open": gettext_lazy("begun, not signed")}


def _group_attention(groups: Mapping[str, Sequence[Entry]], occasion: TechOccasion) -> Iterable[Attention]:
    act = Act(_("Open the line"), "occasion-detail", occasion.public_id, "club.inspect")
    for state, words in _GROUPS.items():
        entries = groups.get(state, [])
        if not entries:
            continue
        numbers = _listed([str(first_car(entry).car.number) for entry in entries])
        who = ngettext("Car {numbers}", "Cars {numbers}", len(entries)).format(numbers=numbers)
        detail = _("{names}; {words}").format(names=_listed([str(entry) for entry in entries]), words=words)
        yield Attention("unchecked", STATES["not_checked"][0], who, detail, act)


def _not_in_the_draw(spans: Sequence[RaceSpan], desk: Desk, seated: Collection[int]) -> Iterable[Attention]:
    """Who became ready after the heats were drawn."""
    for span in spans:
        race = span.race
        left = [str(entry) for entry in desk.ready(race) if entry.pk not in seated] if race.has_draw else []
        if not left:
            continue
        if race.has_begun:
            act = Act(_("Draw the rest again"), "redraw-create", race.public_id, "club.run_heats")
            detail = _("ready, but the heats have begun without them")
        else:
            act = Act(_("Draw again"), "draw-create", race.public_id, "club.run_heats")
            detail = _("ready since the heats were drawn")
        yield Attention("judge", _("Not in the draw"), _listed(left), f"{race.name}; {detail}", act)


def _desk_attention(event: Event, span: RaceSpan, desk: Desk, now: dt.datetime) -> Iterable[Attention]:
    race = span.race
    entered = [entry for entry in desk.of(race) if entry.state == Entry.State.ENTERED]
    closings = [moment for moment, _words in _closings(event, race)] or ([event.racing_at] if event.racing_at else [])
    if entered and not race.has_draw and closings and now >= min(closings) - CALL_BEFORE:
        act = Act(_("Check in"), "entry-list", race.public_id, "club.run_desk")
        names = _listed([str(entry) for entry in entered])
        yield Attention("unchecked", _("Not checked in"), names, race.name, act)
    waiting = [entry for entry in desk.entries if entry.race_id == race.pk and entry.state == Entry.State.WAITING]
    free = None if race.cap is None else race.cap - len(desk.of(race))
    if waiting and (free is None or free > 0) and not race.has_begun:
        act = Act(_("Move up"), "entry-list", race.public_id, "club.run_desk")
        places = "" if free is None else ngettext("{n} place is free", "{n} places are free", free).format(n=free)
        detail = "; ".join(part for part in (race.name, places) if part)
        yield Attention("judge", _("Waiting list"), _listed([str(entry) for entry in waiting]), detail, act)


def _unpaid(event: Event, desk: Desk) -> Iterable[Attention]:
    owing = [(entry, account_of(entry).owed) for entry in desk.entries if entry.state == Entry.State.CHECKED_IN]
    owing = [(entry, owed) for entry, owed in owing if owed]
    if not owing:
        return
    total = sum((owed for _entry, owed in owing), Decimal(0))
    act = Act(_("Takings"), "takings", event.public_id, "club.run_desk")
    if len(owing) == 1:
        act = Act(_("Take the fee"), "entry-payment", owing[0][0].public_id, "club.run_desk")
    names = _listed(list(dict.fromkeys(str(entry) for entry, _owed in owing)))
    detail = _("{amount} {currency} owed").format(amount=total, currency=event.club.currency)
    yield Attention("unchecked", _("Unpaid"), names, detail, act)


# ---- the timetable --------------------------------------------------------------------------------------------------


def _lines(
    event: Event, spans: Sequence[RaceSpan], desk: Desk, end: dt.datetime | None, now: dt.datetime
) -> Iterable[Line]:
    if event.doors_at:
        is_past = event.doors_at <= now
        yield Line(event.doors_at, event.doors_at, _("Doors, practice"), _("done") if is_past else "", is_past)
    if event.tech_opens_at and any(span.race.needs_tech for span in spans):
        yield _tech_line(event, spans, desk, now)
    for span in spans:
        is_now = bool(span.start and span.start <= now and not span.is_over)
        what = ngettext("{race}, {n} heat", "{race}, {n} heats", span.heats).format(race=span.race.name, n=span.heats)
        stands = _race_stands(span, now)
        yield Line(span.planned_start, span.start, what, stands, span.is_over, is_now and span.race.has_begun)
    if spans:
        planned = spans[-1].planned_end
        is_past = all(span.is_over for span in spans)
        yield Line(planned, end, _("Finish"), _against_plan(planned, end), is_past)


def _tech_line(event: Event, spans: Sequence[RaceSpan], desk: Desk, now: dt.datetime) -> Line:
    entries = [entry for span in spans if span.race.needs_tech for entry in desk.of(span.race)]
    clear = sum(desk.clearances[entry.pk].may_race for entry in entries)
    what = ngettext("Tech, {n} car", "Tech, {n} cars", len(entries)).format(n=len(entries))
    stands = _("{clear} clear, {open} open").format(clear=clear, open=len(entries) - clear)
    is_past = bool(event.tech_closes_at and event.tech_closes_at <= now)
    is_now = event.tech_opens_at <= now and not is_past and not any(span.race.has_begun for span in spans)
    return Line(event.tech_opens_at, event.tech_opens_at, what, stands, is_past, is_now)


def _race_stands(span: RaceSpan, now: dt.datetime) -> str:
    if span.running and span.running.current and span.status.code == "running":
        place = {"n": span.running.current.number, "of": span.heats}
        if span.running.phase(_ms(now)) in OPEN_PHASES:
            return _("heat {n} of {of} runs").format(**place)
        return _("heat {n} of {of} is next").format(**place)
    if span.status.code in {"open", "closed"}:
        return _("draw not made")
    return str(span.status.label)


def _against_plan(planned: dt.datetime | None, end: dt.datetime | None) -> str:
    if planned is None or end is None:
        return ""
    if abs(end - planned) < dt.timedelta(minutes=1):
        return _("as planned")
    if end < planned:
        return _("{time} in hand").format(time=minutes_words(planned - end))
    return _("{time} behind the plan").format(time=minutes_words(end - planned))
