"""How a field is split: by what the drivers have done, by lot or by hand. What was chosen stands in the address."""

import re
from collections import defaultdict
from dataclasses import dataclass, replace
from fractions import Fraction
from urllib.parse import urlencode

from django.http import QueryDict

from racedesk.entries.selectors import ready_entries
from racedesk.groups.errors import NoSuchGroups
from racedesk.heats.selectors import in_seat_order
from racedesk.models import Draw, Entry, Race, ResultRow, ResultSheet
from racedesk.rotation.errors import DrawError
from racedesk.rotation.groups import Groups, Split, group_sizes, split, top_races_last

RECENT = "recent"
RECENT_RACES = 5
"""So many published results of a driver say how fast he is."""


@dataclass(frozen=True, slots=True)
class GroupChoices:
    """How the field is to be split.

    most: drivers a group at most. by: what tells fast from slow, `RECENT` or the public id of a race of this night.
    moved: (number in the draw, group from 1 for the fastest) of those who were put elsewhere by hand.
    """

    how: Split
    most: int
    top_last: bool
    seed: int
    preset: str = Draw.Preset.OPPONENTS.value
    by: str = RECENT
    moved: tuple[tuple[int, int], ...] = ()


@dataclass(frozen=True, slots=True)
class Field:
    """Those who race, by number in the draw, the fastest first as far as results tell.

    results: how far up each came in what was asked, 0 the first and 1 the last; who has none is missing.
    """

    race: Race
    numbers: tuple[int, ...]
    entries: tuple[Entry, ...]
    order: tuple[int, ...]
    results: dict[int, Fraction]

    @property
    def seen(self) -> str:
        """Changes when somebody comes or leaves."""
        return "-".join(str(number) for number in self.numbers)


def earlier_races(race: Race) -> list[Race]:
    """Races of this night whose result is published, as qualifying for this one. One query."""
    found = race.event.races.exclude(pk=race.pk).filter(result_sheets__superseded_at__isnull=True)
    return list(found.filter(result_sheets__isnull=False).distinct().order_by("position"))


def field_of(race: Race, *, by: str) -> Field:
    """Those who are ready, and how fast they have been. Constant queries."""
    numbered = in_seat_order(race, ready_entries(race))
    drivers = {number: frozenset(each.driver_id for each in entry.drivers.all()) for number, entry in numbered}
    wanted = frozenset().union(*drivers.values())
    shares = _shares(race, wanted, by=by)
    results: dict[int, Fraction] = {}
    for number, own in drivers.items():
        known = [shares[driver] for driver in own if driver in shares]
        if known:
            results[number] = sum(known, Fraction(0)) / len(known)
    order = sorted(drivers, key=lambda number: (results.get(number, Fraction(2)), number))
    return Field(
        race=race,
        numbers=tuple(number for number, _entry in numbered),
        entries=tuple(entry for _number, entry in numbered),
        order=tuple(order),
        results=results,
    )


def _shares(race: Race, drivers: frozenset[int], *, by: str) -> dict[int, Fraction]:
    """By driver the mean share of the field that was ahead of him, in one race or in his last few. Two queries."""
    sheets = ResultSheet.objects.of(race.event.club).current()
    if by == RECENT:
        sheets = sheets.exclude(race=race).order_by("-race__event__date", "-pk")
    else:
        sheets = sheets.filter(race__event=race.event_id, race__public_id=by)
    kept = list(sheets.values_list("pk", flat=True)[: 4 * RECENT_RACES])
    rows = ResultRow.objects.filter(sheet__in=kept, place__isnull=False)
    places: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for sheet, place, driver in rows.values_list("sheet_id", "place", "entry__drivers__driver_id"):
        places[sheet].append((place, driver))
    found: dict[int, list[Fraction]] = defaultdict(list)
    for sheet in kept:
        last = max((place for place, _driver in places[sheet]), default=1)
        for place, driver in places[sheet]:
            if driver in drivers and len(found[driver]) < RECENT_RACES:
                found[driver].append(Fraction(place - 1, max(last - 1, 1)))
    return {driver: sum(each, Fraction(0)) / len(each) for driver, each in found.items() if each}


def groups_of(field: Field, choices: GroupChoices) -> Groups:
    """The groups, the fastest first, by number in the draw. No query. Refused: bad_groups."""
    try:
        sizes = group_sizes(len(field.numbers), most=choices.most)
        found = split(field.order, sizes=sizes, how=choices.how, seed=choices.seed)
    except DrawError as error:
        raise NoSuchGroups(most=choices.most) from error
    groups = [list(group) for group in found]
    for number, to in choices.moved:
        if number in field.numbers and 1 <= to <= len(groups):
            for group in groups:
                if number in group:
                    group.remove(number)
            groups[to - 1].append(number)
    if min(map(len, groups)) < 2:
        raise NoSuchGroups(most=choices.most)
    return tuple(tuple(group) for group in groups)


# ---- choices in an address ------------------------------------------------------------------------------------------


def usual_choices(race: Race, *, seed: int) -> GroupChoices:
    """What most clubs would choose: at most one more than lanes, by ability, the top group by the month's turn."""
    return GroupChoices(
        how=Split.APART,
        most=race.event.track_layout.lanes.count() + 1,
        top_last=top_races_last(race.event.date.month),
        seed=seed,
    )


def choices_in(query: QueryDict, usual: GroupChoices) -> GroupChoices:
    """The choices that an address names; the usual one where it names none or none that can be."""

    def number(name: str, least: int, most: int, otherwise: int) -> int:
        text = query.get(name, "")
        value = int(text) if re.fullmatch(r"\d{1,9}", text, re.ASCII) else otherwise
        return value if least <= value <= most else otherwise

    how, preset, top = query.get("how", ""), query.get("preset", ""), query.get("top", "")
    moved = [text.split(".") for text in query.getlist("in") if re.fullmatch(r"\d{1,5}\.\d{1,3}", text, re.ASCII)]
    return replace(
        usual,
        how=Split(how) if how in set(Split) else usual.how,
        most=number("most", 2, 500, usual.most),
        top_last=top == "last" if top in {"last", "first"} else usual.top_last,
        seed=number("seed", 0, 10**9, usual.seed),
        preset=preset if preset in Draw.Preset.values else usual.preset,
        by=query.get("by", "") or usual.by,
        moved=tuple((int(one), int(to)) for one, to in moved),
    )


def address_of(choices: GroupChoices) -> str:
    """The choices as they stand in an address, behind its question mark."""
    pairs = [
        ("how", choices.how.value),
        ("most", str(choices.most)),
        ("top", "last" if choices.top_last else "first"),
        ("seed", str(choices.seed)),
        ("preset", choices.preset),
        ("by", choices.by),
        *(("in", f"{number}.{to}") for number, to in choices.moved),
    ]
    return urlencode(pairs)
