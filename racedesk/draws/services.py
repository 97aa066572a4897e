"""Work out a draw with the wishes that it should meet; let into it whom the director decides about."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from django.db import transaction

from inspection.models import User
from racedesk.checkin.services import check_in, override_tech
from racedesk.draws.selectors import Way
from racedesk.entries.selectors import unready_entries
from racedesk.groups.selectors import RECENT, field_of
from racedesk.heats.services import Planned, plan_heats
from racedesk.models import Entry, Race
from racedesk.posts.selectors import race_roster
from racedesk.rotation.balance import balance
from racedesk.rotation.criteria import USUAL_STEPS as USUAL_CRITERIA_STEPS
from racedesk.rotation.criteria import Criterion, arranged
from racedesk.rotation.who import USUAL_STEPS, Granted, Kind, Wish, grant
from racedesk.wishes.selectors import Asked, Wishes


@dataclass(frozen=True, slots=True)
class WishPlanner:
    """A planner for `draw_heats`: in this way, with drivers on the places that suit these wishes."""

    way: Way
    wishes: Wishes

    def __call__(
        self, *, race: Race, entries: Sequence[Entry], preset: str, seed: int, steps: int | None = None
    ) -> Planned:
        """As plan_heats; what was wished and whether it is met is kept with the draw. Refused: as plan_heats.

        Wishes of who is not in the draw, and about lanes that the track does not have, are passed over.
        """
        planned = plan_heats(race=race, entries=entries, preset=preset, seed=seed, steps=steps, **self.way.arguments())
        if self.way.order:
            planned = _by_own_order(race, planned, self.way.order)
        if not self.wishes:
            return planned
        wished = self._wished(race, entries)
        order = _fastest_first(race, entries) if self.wishes.seeding else []
        found = grant(planned.plan, [wish for _asked, wish in wished], order=order, seeding=self.wishes.seeding)
        roster = race_roster(race, found.plan, entries)
        return replace(
            planned,
            plan=found.plan,
            balance=balance(found.plan),
            roster=roster,
            notes={**planned.notes, **_kept(wished, found), "seeding": self.wishes.seeding, "order": order},
        )

    def _wished(self, race: Race, entries: Sequence[Entry]) -> list[tuple[Asked, Wish]]:
        drivers = {entry.public_id: number for number, entry in enumerate(entries, start=1)}
        lanes = {str(lane.number): place for place, lane in enumerate(race.event.track_layout.lanes.all(), start=1)}
        wished = []
        for asked in self.wishes.asked:
            value: int | None
            if asked.kind is Kind.APART:
                value = drivers.get(asked.value)
            elif asked.kind is Kind.FIRST_LANE:
                value = lanes.get(asked.value)
            else:
                value = int(asked.value)
            driver = drivers.get(asked.entry)
            if driver is not None and value is not None and asked.entry != asked.value:
                wished.append((asked, Wish(asked.kind, driver, value, is_hard=asked.is_hard)))
        return wished


def _by_own_order(race: Race, planned: Planned, order: Sequence[Criterion]) -> Planned:
    """The same arranged by a director's own order of criteria, which is kept with the draw."""
    plan = arranged(planned.plan, order)
    notes = {**planned.notes, "criteria": [str(each) for each in order], "criteria_steps": USUAL_CRITERIA_STEPS}
    roster = race_roster(race, plan, planned.entries)
    return replace(planned, plan=plan, balance=balance(plan), roster=roster, notes=notes)


def _kept(wished: Sequence[tuple[Asked, Wish]], found: Granted) -> dict[str, Any]:
    """What stays with a draw of its wishes: plain values. driver, and value where it is one, by the report's order."""
    return {
        "wishes": [
            {
                "kind": str(wish.kind),
                "driver": wish.driver,
                "value": wish.value if wish.kind is Kind.APART else int(asked.value),
                "hard": wish.is_hard,
                "missed": missed,
                "asked": asked.written(),
            }
            for (asked, wish), missed in zip(wished, found.misses, strict=True)
        ],
        "wish_steps": USUAL_STEPS,
    }


def _fastest_first(race: Race, entries: Sequence[Entry]) -> list[int]:
    """The plan's numbers of these entries by what they did in their last results; who has none comes last."""
    field = field_of(race, by=RECENT)
    ranks = {number: rank for rank, number in enumerate(field.order)}
    rank = {entry.pk: ranks[number] for number, entry in zip(field.numbers, field.entries, strict=True)}
    numbered = enumerate(entries, start=1)
    return [number for number, entry in sorted(numbered, key=lambda each: (rank.get(each[1].pk, len(rank)), each[0]))]


@transaction.atomic
def admit_to_draw(*, entry: Entry, reason: str = "", by: User) -> Entry:
    """Check the entry in; where tech has not cleared its car, override that with the director's reason, recorded once.

    Refused: not_in_this_state (waiting, withdrawn, absent), reason_needed.
    """
    checked = check_in(entry=entry, by=by)
    if any(each.entry.pk == entry.pk for each in unready_entries(entry.race)):
        return override_tech(entry=entry, reason=reason, by=by)
    return checked
