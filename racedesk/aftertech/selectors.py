"""Who is called to tech after a race, and what was found there: read only."""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from inspection.models import Finding, Inspection, User
from racedesk.entries.selectors import entries_of, first_car, shown_name
from racedesk.models import CalledEntry, DismissedFinding, Entry, Penalty, Race, TechCall
from racedesk.results.selectors import outcome_of
from racedesk.rotation.chance import shuffled


@dataclass(frozen=True, slots=True)
class Call:
    """The entries a call names: by place in order of place, drawn in the order of the draw."""

    by_place: tuple[Entry, ...]
    drawn: tuple[Entry, ...]


def planned_call(race: Race, *, first_places: int, drawn: int, seed: int) -> Call:
    """Who would be called: the first places as the result stands now, and so many of the others by the seed.

    The others are put in order of place, then by entry; the seed shuffles them (rotation/chance.py), and the first are
    called. So anybody with the result and the seed can draw again. About 26 queries.
    """
    entries = {entry.pk: entry for entry in entries_of(race)}
    placed = [row.entry_id for row in outcome_of(race).rows if row.place is not None]
    with_car = [entries[pk] for pk in placed if pk in entries and first_car(entries[pk]) is not None]
    first, others = with_car[:first_places], with_car[first_places:]
    return Call(tuple(first), tuple(shuffled(seed, others)[:drawn]))


@dataclass(frozen=True, slots=True, kw_only=True)
class CalledRow:
    """One entry that is called, its car's card after the race, and what failed on it."""

    called: CalledEntry
    name: str
    car_number: int
    card: Inspection | None
    fails: tuple[Finding, ...]

    @property
    def state(self) -> str:
        """waiting, open, fail or clear."""
        if self.fails:
            return "fail"
        if self.card is None:
            return "waiting"
        return "clear" if self.card.signed_clear else "open"


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """A finding after the race that fails, and nobody has decided about yet. It changes nothing by itself."""

    finding: Finding
    entry: Entry
    name: str
    words: str


def latest_call(race: Race) -> TechCall | None:
    """The latest call of a race. One query."""
    return race.tech_calls.select_related("by").first()


def called_rows(call: TechCall) -> list[CalledRow]:
    """Everybody who is called, with their cards. 7 queries, however many."""
    named = {one.entry_id: one for one in call.entries.all()}
    entries = [entry for entry in entries_of(call.race) if entry.pk in named]
    cards = _cards(call.race, entries)
    fails = _fails(cards.values())
    rows = []
    for entry in sorted(entries, key=lambda one: named[one.pk].position):
        car = first_car(entry)
        card = cards.get(car.car_id) if car else None
        rows.append(
            CalledRow(
                called=named[entry.pk],
                name=shown_name(entry),
                car_number=car.car.number if car else 0,
                card=card,
                fails=tuple(one for one in fails if card is not None and one.inspection_id == card.pk),
            )
        )
    return rows


def proposals_of(race: Race) -> list[Proposal]:
    """What tech found after the race and the director has not decided, in order of car. 9 queries at most."""
    if race.tech_occasion_id is None:
        return []
    entries = list(entries_of(race))
    by_car = {car.car_id: entry for entry in entries if (car := first_car(entry)) is not None}
    cards = _cards(race, entries)
    decided = set(Penalty.objects.filter(race=race, finding__isnull=False).values_list("finding_id", flat=True))
    decided |= set(race.dismissed_findings.values_list("finding_id", flat=True))
    return [
        Proposal(finding=one, entry=entry, name=shown_name(entry), words=_words(one))
        for one in _fails(cards.values())
        if one.pk not in decided
        for entry in (by_car[one.inspection.car_id],)
    ]


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision:
    """What the director made of one finding after the race. penalty: None when it was dismissed."""

    words: str
    name: str
    reason: str
    at: dt.datetime
    by: User | None
    penalty: Penalty | None = None


def decisions_of(race: Race) -> list[Decision]:
    """What was confirmed and what was dismissed of what tech found after the race, the latest first. 5 queries."""
    related = ("finding", "by", "finding__inspection__car__owner")
    given = race.penalties.filter(finding__isnull=False, withdrawn_at__isnull=True).select_related(*related)
    dismissed = race.dismissed_findings.select_related(*related)
    made: list[Penalty | DismissedFinding] = [*given, *dismissed]
    return [
        Decision(
            words=_words(one.finding),
            name=one.finding.inspection.car.owner.shown_name,
            reason=one.reason,
            at=one.at,
            by=one.by,
            penalty=one if isinstance(one, Penalty) else None,
        )
        for one in sorted(made, key=lambda each: each.at, reverse=True)
    ]


def _words(finding: Finding) -> str:
    answer = finding.reading or finding.answer
    limit = finding.limit_text[:1].lower() + finding.limit_text[1:]
    return f"{finding.clause_number} {finding.subject}: {answer}, {limit}"


def _cards(race: Race, entries: Sequence[Entry]) -> dict[int, Inspection]:
    """The cards after the race of these entries' cars, by car."""
    cars = [car.car_id for entry in entries if (car := first_car(entry)) is not None]
    cards = Inspection.objects.filter(
        occasion=race.tech_occasion_id, car__in=cars, phase=Inspection.Phase.AFTER
    ).select_related("car")
    return {card.car_id: card for card in cards}


def _fails(cards: Iterable[Inspection]) -> list[Finding]:
    """What fails on these cards as they stand, by car number."""
    standing = Finding.objects.filter(inspection__in=list(cards), superseded_at__isnull=True, outcome="fail")
    return list(standing.select_related("clause", "inspection__car").order_by("inspection__car__number", "pk"))
