"""Read results: as they would be published now, as they were published, and how rows are shown."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from django.utils.text import get_text_list
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from racedesk.entries.selectors import clearance_of, entries_of, first_car, shown_name
from racedesk.heats.selectors import current_draw, unrun_heats
from racedesk.models import Entry, Penalty, Race, ResultRow, ResultSheet
from racedesk.racecontrol.selectors import EntryScore, LaneScore, scores_of
from racedesk.scoring import classification as scoring
from racedesk.scoring.classification import Placing, Score, Status, TieBreak, classify

TIE_BREAKS: dict[str, tuple[TieBreak, ...]] = {
    Race.TieRule.BEST_LAP: (TieBreak.BEST_LAP,),
    Race.TieRule.BEST_LANE: (TieBreak.BEST_LANE,),
    Race.TieRule.SHARED: (TieBreak.SHARED,),
}
_STATUS = {
    Status.FINISHED: ResultRow.Status.CLASSIFIED,
    Status.RUNNING: ResultRow.Status.CLASSIFIED,
    Status.WITHDRAWN: ResultRow.Status.WITHDRAWN,
    Status.DID_NOT_START: ResultRow.Status.DID_NOT_START,
    Status.EXCLUDED: ResultRow.Status.EXCLUDED,
}


@dataclass(frozen=True, slots=True)
class Outcome:
    """A race's result as it stands now. rows: in order of place, not saved. unrun: numbers of unfinished heats."""

    is_drawn: bool
    unrun: tuple[int, ...]
    rows: tuple[ResultRow, ...]
    notes: tuple[str, ...]
    tech_note: str

    @property
    def can_publish(self) -> bool:
        """Whether every heat of a draw has its laps."""
        return self.is_drawn and not self.unrun


def penalties_of(race: Race) -> list[Penalty]:
    """Penalties in force, oldest first. 3 queries."""
    rows = race.penalties.filter(withdrawn_at__isnull=True).select_related("entry")
    return list(rows.prefetch_related("entry__drivers__driver"))


def _status(score: EntryScore, penalties: Sequence[Penalty]) -> Status:
    if any(penalty.kind == Penalty.Kind.EXCLUSION for penalty in penalties):
        return Status.EXCLUDED
    if score.entry.state == Entry.State.NO_SHOW or not any(lane.laps for lane in score.lanes):
        return Status.DID_NOT_START
    if score.entry.state == Entry.State.WITHDRAWN:
        return Status.WITHDRAWN
    return Status.FINISHED


def _lane_sections(lane: LaneScore) -> int:
    return lane.laps.total_sections if lane.laps else 0


def _score(score: EntryScore, penalties: Sequence[Penalty]) -> Score:
    lines = [p for p in penalties if p.kind == Penalty.Kind.LAPS]
    return Score(
        key=score.entry.pk,
        sections=score.total.total_sections,
        divisor=score.divisor,
        lanes=tuple(scoring.LaneScore(lane.lane_number, _lane_sections(lane)) for lane in score.lanes),
        penalties=tuple(scoring.PenaltyLine(p.laps * score.divisor, p.reason) for p in lines),
        status=_status(score, penalties),
    )


def _tie_notes(placings: Sequence[Placing], names: Mapping[int, str]) -> list[str]:
    """How each tie was decided, naming who was level."""
    groups: dict[frozenset[int], tuple[str, str]] = {}
    for placing in placings:
        if placing.tied_with:
            level = frozenset({placing.key, *placing.tied_with})
            who = [names[each.key] for each in placings if each.key in level]
            words = _(placing.explanation) if placing.explanation else _("level on laps")
            groups.setdefault(level, (get_text_list(who, _("and")), words))
    return [f"{who}: {words}" for who, words in groups.values()]


def _notes(scores: Sequence[EntryScore], penalties: Sequence[Penalty], placings: Sequence[Placing]) -> tuple[str, ...]:
    """What stands under the table: how ties were decided, which laps were corrected, who was penalized."""
    names = {score.entry.pk: score.name for score in scores}
    notes = _tie_notes(placings, names)
    for score in scores:
        for lane in score.lanes:
            if lane.corrections:
                words = _("{name}, heat {heat}, lane {lane}: corrected ({reason})")
                place = {"heat": lane.heat_number, "lane": f"{lane.lane_number} {lane.lane_name}"}
                notes.append(words.format(name=score.name, reason=lane.reason, **place))
    for score in scores:
        if score.entry.override_at:
            words = _("{name} raced by the director's decision ({reason})")
            notes.append(words.format(name=score.name, reason=score.entry.override_reason))
    for penalty in penalties:
        what = penalty.get_kind_display()
        if penalty.kind == Penalty.Kind.LAPS:
            what = ngettext("{n} lap taken away", "{n} laps taken away", penalty.laps).format(n=penalty.laps)
        notes.append(f"{names.get(penalty.entry_id) or shown_name(penalty.entry)}: {what} ({penalty.reason})")
    return tuple(dict.fromkeys(notes))


def _tech_note(race: Race, entries: Sequence[Entry]) -> str:
    if not race.needs_tech:
        return _("No tech tonight")
    states = [clearance.state for clearance in clearance_of(entries).values()]
    clear, overridden = states.count("clear"), states.count("overridden")
    if clear == len(states):
        return ngettext(
            "The car passed tech before the race.", "All {n} cars passed tech before the race.", clear
        ).format(n=clear)
    words = ngettext("{n} car passed tech before the race", "{n} cars passed tech before the race", clear).format(
        n=clear
    )
    if overridden:
        more = ngettext(
            "{n} raced by the director's decision", "{n} raced by the director's decision", overridden
        ).format(n=overridden)
        words = f"{words}; {more}"
    if others := len(states) - clear - overridden:
        more = ngettext("{n} is not clear", "{n} are not clear", others).format(n=others)
        words = f"{words}; {more}"
    return f"{words}."


def outcome_of(race: Race) -> Outcome:
    """The result as it would be published now, computed from laps, penalties and states. About 20 queries."""
    scores = scores_of(race)
    penalties = penalties_of(race)
    by_entry: dict[int, list[Penalty]] = defaultdict(list)
    for penalty in penalties:
        by_entry[penalty.entry_id].append(penalty)
    by_key = {score.entry.pk: score for score in scores}
    placings = classify(
        [_score(score, by_entry[score.entry.pk]) for score in scores], tie_rule=TIE_BREAKS[race.tie_rule]
    )
    entries = [entry for entry in entries_of(race) if entry.pk in by_key]
    cars = {entry.pk: first_car(entry) for entry in entries}
    rows = []
    for placing in placings:
        score = by_key[placing.key]
        car = cars.get(placing.key)
        rows.append(
            ResultRow(
                entry=score.entry,
                place=placing.place,
                is_shared=placing.shared,
                status=_STATUS[placing.status],
                driver_name=score.name,
                car_number=car.car.number if car else None,
                sections=score.total.total_sections,
                divisor=score.divisor,
                penalty_laps=placing.penalty_sections // placing.divisor,
                lanes={str(lane.lane_number): _lane_sections(lane) for lane in score.lanes if lane.laps},
                decided_by=_(placing.explanation) if placing.explanation else "",
            )
        )
    return Outcome(
        is_drawn=current_draw(race) is not None,
        unrun=tuple(unrun_heats(race)),
        rows=tuple(rows),
        notes=_notes(scores, penalties, placings),
        tech_note=_tech_note(race, entries),
    )


def sheets_of(race: Race) -> list[ResultSheet]:
    """Every published revision, the latest first. 1 query."""
    return list(race.result_sheets.select_related("published_by").order_by("-number"))


@dataclass(frozen=True, slots=True)
class Change:
    """What a correction would change in one row. before, after: in words; "" where there is none."""

    name: str
    before: str
    after: str


def _row_words(row: ResultRow | None) -> str:
    if row is None:
        return ""
    net = Fraction(row.sections, row.divisor) - row.penalty_laps
    place = _("place {n}").format(n=row.place) if row.place else row.get_status_display()
    return _("{place}, {laps} laps").format(place=place, laps=f"{float(net):.2f}")


def changes_between(before: Sequence[ResultRow], after: Sequence[ResultRow]) -> list[Change]:
    """Rows that differ in place, laps, lanes, penalties, state, name or car; in the new order. No query."""

    def facts(row: ResultRow) -> tuple[object, ...]:
        driven = (row.place, row.is_shared, row.status, row.sections, row.divisor, row.penalty_laps, row.lanes)
        return (*driven, row.driver_name, row.car_number)

    def words(row: ResultRow | None, other: ResultRow | None) -> str:
        is_renamed = row is not None and other is not None and row.driver_name != other.driver_name
        return f"{row.driver_name}: {_row_words(row)}" if is_renamed else _row_words(row)

    old = {row.entry_id: row for row in before}
    new = {row.entry_id: row for row in after}
    return [
        Change(
            (new.get(pk) or old[pk]).driver_name,
            words(old.get(pk), new.get(pk)),
            words(new.get(pk), old.get(pk)),
        )
        for pk in dict.fromkeys([*new, *old])
        if pk not in new or pk not in old or facts(old[pk]) != facts(new[pk])
    ]


# ---- how rows are shown ---------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class LaneFigure:
    """Laps on one lane. is_best: nobody did more on that lane."""

    sections: int | None
    is_best: bool


@dataclass(frozen=True, slots=True)
class ShownRow:
    """A row as pages and paper set it. net, behind: whole sections. dot: where it stands in the 200-wide picture."""

    row: ResultRow
    net: int
    behind: int
    dot: float
    lanes: tuple[LaneFigure, ...]


def shown_rows(rows: Sequence[ResultRow], lane_numbers: Sequence[int]) -> list[ShownRow]:
    """Rows with figures a lane, gaps to the first, and the best of each lane marked. No query."""
    best = {number: max((row.lanes.get(str(number), 0) for row in rows), default=0) for number in lane_numbers}
    nets = {id(row): row.sections - row.penalty_laps * row.divisor for row in rows}
    placed = [nets[id(row)] for row in rows if row.place]
    leader, last = (placed[0], min(placed)) if placed else (0, 0)
    shown = []
    for row in rows:
        figures = [row.lanes.get(str(number)) for number in lane_numbers]
        marked = zip(lane_numbers, figures, strict=True)
        behind = leader - nets[id(row)]
        shown.append(
            ShownRow(
                row=row,
                net=nets[id(row)],
                behind=behind,
                dot=round(190 - 180 * behind / (leader - last), 1) if leader > last else 190,
                lanes=tuple(LaneFigure(figure, bool(figure) and figure == best[n]) for n, figure in marked),
            )
        )
    return shown
