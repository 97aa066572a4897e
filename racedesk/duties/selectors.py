"""Read the marshal roster: by heat and post with who relieves whom, and by driver."""

from collections.abc import Sequence
from dataclasses import dataclass

from inspection.models import MarshalPost
from racedesk.clocks.selectors import FRESH_PHASES
from racedesk.entries.selectors import RACING, entries_of, shown_name
from racedesk.heats.selectors import HeatCard, heat_cards
from racedesk.models import Entry, MarshalHelper, Penalty, Race
from racedesk.posts.selectors import missed_in, standing_helpers


@dataclass(frozen=True, slots=True)
class Standing:
    """Who stands at a post in a heat. relieves: who stood there in the heat before, "" where the same or nobody.

    races_next: the heat of the next run, None where none follows. missed: the penalty for not being there.
    can_miss: has the heat begun, or is it the next to be run?
    """

    post: MarshalPost
    name: str
    seat_number: int
    relieves: str = ""
    races_next: int | None = None
    missed: Penalty | None = None
    can_miss: bool = False

    @property
    def is_helper(self) -> bool:
        return self.seat_number == 0


@dataclass(frozen=True, slots=True)
class RosterRow:
    """A heat of the roster. standing: one a post, in the posts' order; None where nobody is free."""

    card: HeatCard
    standing: tuple[Standing | None, ...]


@dataclass(frozen=True, slots=True)
class Turns:
    """One driver's duties: the heats and where. missed: how many were missed, by penalties that stand."""

    entry: Entry
    name: str
    seat_number: int | None
    at: tuple[tuple[int, MarshalPost], ...]
    missed: int

    @property
    def is_gone(self) -> bool:
        return self.entry.state not in RACING


@dataclass(frozen=True, slots=True)
class RosterPage:
    """All that the page and the paper show. fewest, most: duties of those who may marshal; None without a draw.

    absent: who has left and still stands at a post to come.
    """

    posts: tuple[MarshalPost, ...]
    rows: tuple[RosterRow, ...]
    people: tuple[Turns, ...]
    helpers: tuple[MarshalHelper, ...]
    fewest: int | None
    most: int | None
    empty: int
    absent: tuple[str, ...] = ()

    @property
    def is_even(self) -> bool:
        return self.fewest is None or self.most is None or self.most <= self.fewest + 1

    @property
    def free_posts(self) -> list[MarshalPost]:
        """Posts at which no helper stands."""
        held = {helper.post_id for helper in self.helpers}
        return [post for post in self.posts if post.pk not in held]


def roster_page(race: Race) -> RosterPage:
    """The roster of a race. About 20 queries, however many heats."""
    cards = heat_cards(race)
    posts = tuple(race.event.track_layout.posts.all())
    missed = missed_in(race)
    rows = tuple(_rows(cards, posts, missed))
    people = tuple(_people(race, cards, missed))
    to_come = max((card.number for card in cards if card.phase not in FRESH_PHASES), default=0) + 1
    going = [len(each.at) for each in people if each.seat_number and not each.is_gone and not each.entry.no_duty_reason]
    return RosterPage(
        posts=posts,
        rows=rows,
        people=people,
        helpers=tuple(standing_helpers(race).values()),
        fewest=min(going, default=None),
        most=max(going, default=None),
        empty=sum(standing is None for row in rows for standing in row.standing),
        absent=tuple(each.name for each in people if each.is_gone and any(heat >= to_come for heat, _post in each.at)),
    )


def _rows(
    cards: Sequence[HeatCard], posts: Sequence[MarshalPost], missed: dict[tuple[int, int], Penalty]
) -> list[RosterRow]:
    rows = []
    before: dict[int, str] = {}
    for place, card in enumerate(cards):
        can_miss = card.phase not in FRESH_PHASES or card.is_on or card.is_next
        found: dict[int, Standing] = {}
        for each in card.marshals:
            relieved = before.get(each.post.pk, "")
            found[each.post.pk] = Standing(
                post=each.post,
                name=each.name,
                seat_number=each.seat_number,
                relieves="" if relieved == each.name else relieved,
                races_next=_next_run(cards[place + 1 :], each.seat_number),
                missed=missed.get((each.entry.pk, card.heat.pk)) if each.entry else None,
                can_miss=can_miss,
            )
        rows.append(RosterRow(card, tuple(found.get(post.pk) for post in posts)))
        before = {pk: standing.name for pk, standing in found.items()}
    return rows


def _next_run(later: Sequence[HeatCard], seat_number: int) -> int | None:
    runs = (card.number for card in later if any(lane.seat_number == seat_number for lane in card.lanes))
    return next(runs, None) if seat_number else None


def _people(race: Race, cards: Sequence[HeatCard], missed: dict[tuple[int, int], Penalty]) -> list[Turns]:
    """Those of the draw in its order, then those who are entered and not in it."""
    seats = {lane.entry.pk: lane.seat_number for card in cards for lane in card.lanes if lane.entry}
    at: dict[int, list[tuple[int, MarshalPost]]] = {}
    for card in cards:
        for each in card.marshals:
            if each.entry:
                at.setdefault(each.entry.pk, []).append((card.number, each.post))
    people = [
        Turns(
            entry=entry,
            name=shown_name(entry),
            seat_number=seats.get(entry.pk),
            at=tuple(at.get(entry.pk, ())),
            missed=sum(entry_pk == entry.pk for entry_pk, _heat in missed),
        )
        for entry in entries_of(race)
        if entry.pk in seats or entry.state in RACING
    ]
    return sorted(people, key=lambda each: (each.seat_number is None, each.seat_number or 0))
