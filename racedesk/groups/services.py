"""Draw a race in groups: one draw, whose heats follow each other group by group."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from inspection.models import User
from racedesk.groups.errors import FieldChanged
from racedesk.groups.selectors import Field, GroupChoices, field_of, groups_of
from racedesk.heats.errors import DrawNotPossible
from racedesk.heats.services import Planned, draw_heats, lane_order_of, report_of, rotation_stage
from racedesk.models import Draw, Entry, Race
from racedesk.posts.selectors import race_roster
from racedesk.rotation.balance import Balance, balance
from racedesk.rotation.errors import DrawError
from racedesk.rotation.groups import GroupPlan, Groups, draw_groups
from racedesk.rotation.plan import Preset


@dataclass(frozen=True, slots=True)
class GroupPlanner:
    """How a race is drawn in these groups, by number in the draw. A planner for `draw_heats`.

    numbers, entries: of everybody, number in the draw and id of the entry, in the order in which they are drawn.
    """

    groups: Groups
    numbers: tuple[int, ...]
    entries: tuple[int, ...]
    top_last: bool

    def __call__(
        self, *, race: Race, entries: Sequence[Entry], preset: str, seed: int, steps: int | None = None
    ) -> Planned:
        """As plan_heats. Refused: field_changed where these are not the drivers of the groups, and as plan_heats."""
        if tuple(entry.pk for entry in entries) != self.entries:
            raise FieldChanged
        place = {number: place for place, number in enumerate(self.numbers, start=1)}
        layout = race.event.track_layout
        lanes = list(layout.lanes.all())
        try:
            made = draw_groups(
                tuple(tuple(place[number] for number in group) for group in self.groups),
                lanes=len(lanes),
                preset=Preset(preset),
                seed=seed,
                lane_order=lane_order_of(layout, lanes),
                top_last=self.top_last,
                steps=steps,
            )
        except DrawError as error:
            raise DrawNotPossible(error) from error
        duties = race_roster(race, made.plan, entries)
        return Planned(made.plan, balance(made.plan), duties, tuple(entries), notes=self._notes(made))

    def _notes(self, made: GroupPlan) -> dict[str, Any]:
        """What the report says of groups, and the figures that count only those who can meet."""
        own = made.balances()
        return _within(own) | {
            "groups": [
                {"seats": [self.numbers[place - 1] for place in group], "first_heat": first, "heats": each.heats}
                for group, first, each in zip(made.groups, made.first_heats, own, strict=True)
            ],
            "top_last": self.top_last,
        }


def _within(own: Sequence[Balance]) -> dict[str, Any]:
    """The figures of pairs, counted within groups: between two groups nobody meets."""
    counts: dict[int, int] = {}
    for each in own:
        for times, pairs in each.pairs_by_meetings:
            counts[times] = counts.get(times, 0) + pairs
    return {
        "meetings_min": min(each.meetings_min for each in own),
        "meetings_max": max(each.meetings_max for each in own),
        "pairs": sum(each.pairs for each in own),
        "pairs_by_meetings": [list(pair) for pair in sorted(counts.items())],
        "sum_of_squares": sum(each.sum_of_squares for each in own),
        "bound": sum(each.bound for each in own),
        "never_meet": sum(each.never_meet for each in own),
        "neighbors_min": min(each.neighbors_min for each in own),
        "neighbors_max": max(each.neighbors_max for each in own),
    }


def _planner(field: Field, groups: Groups, choices: GroupChoices) -> GroupPlanner:
    return GroupPlanner(groups, field.numbers, tuple(entry.pk for entry in field.entries), choices.top_last)


def group_report(field: Field, choices: GroupChoices) -> tuple[Groups, dict[str, Any]]:
    """The groups, the fastest first, and the report of the draw that they would make. Changes nothing.

    Refused: as draw_in_groups.
    """
    groups = groups_of(field, choices)
    planned = _planner(field, groups, choices)(
        race=field.race, entries=field.entries, preset=choices.preset, seed=choices.seed
    )
    return groups, report_of(planned, seats=field.numbers)


def draw_in_groups(
    *, race: Race, choices: GroupChoices, seen: str, reason: str = "", replaces: int | None = None, by: User | None
) -> Draw:
    """Draw the race in these groups, as its next draw.

    seen: `Field.seen` as it was shown. Refused: bad_groups, field_changed, and as draw_heats.
    """
    field = field_of(race, by=choices.by)
    if field.seen != seen:
        raise FieldChanged
    planner = _planner(field, groups_of(field, choices), choices)
    return draw_heats(
        stage=rotation_stage(race=race),
        preset=choices.preset,
        seed=choices.seed,
        reason=reason,
        replaces=replaces,
        plan=planner,
        by=by,
    )
