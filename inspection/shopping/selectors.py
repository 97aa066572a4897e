"""What a car of a class needs: for each place the parts that the clauses leave, what rules the others out, a total.

Each part is judged alone, by the engine that judges cars, with what its record tells; whether parts fit each other is
the bench's to say. A clause that cannot be decided by one part alone rules nothing out.
"""

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal

from django.db.models import QuerySet
from django.utils.translation import gettext

from inspection.clauses.selectors import clauses_of, sheet_for_engine
from inspection.conformity.facts import Facts
from inspection.conformity.inputs import with_parts
from inspection.conformity.observations import Observation, Reading, measured, named
from inspection.conformity.sheet import Sheet, judge_sheet
from inspection.conformity.verdicts import Outcome
from inspection.gauges.selectors import read_stored
from inspection.models import BenchSheet, Clause, Club, Part, RacingClass, RuleSheetRevision
from inspection.parts.selectors import main_sizes, parts_of
from inspection.planning.legality import OF_PARTS
from inspection.planning.register import PLACE_LABELS, PLACES
from inspection.units import Kind
from inspection.wording.selectors import limit_words

# The characteristic, the place, the size of the part that it is, its kind: a part alone tells two more than a car does.
MEASURED = (
    *OF_PARTS,
    ("motor-speed", "motor", "no_load_speed", Kind.ROTATION_SPEED),
    ("axle-diameter", "front_axle", "diameter", Kind.LENGTH),
)
# By place: a characteristic told in words, and what of the part may be the word. Any of them on the list is enough.
NAMED: Mapping[str, tuple[tuple[str, tuple[str, ...]], ...]] = {
    "motor": (("motor-type", ("name", "motor_class")),),
    "body": (("body", ("name",)),),
    "rear_tires": (("tire-material", ("compound",)),),
    "front_tires": (("tire-material", ("compound",)),),
}
PAIRS = frozenset(("rear_tires", "front_tires", "rear_wheels", "front_wheels"))


@dataclass(frozen=True, slots=True)
class Offer:
    """A part for a place. is_named: the class names this very part. ruled_out: why it may not be used, in words."""

    part: Part
    sizes: str
    is_named: bool = False
    ruled_out: tuple[str, ...] = ()

    @property
    def is_allowed(self) -> bool:
        return not self.ruled_out


@dataclass(frozen=True, slots=True)
class PlaceNeeds:
    """A place of the car. asked: clause numbers with what they ask. on_car: the name of what the bench sheet has."""

    place: str
    label: str
    quantity: int
    asked: tuple[tuple[str, str], ...]
    offers: tuple[Offer, ...]
    on_car: str = ""
    on_car_ruled_out: tuple[str, ...] = ()

    @property
    def allowed(self) -> tuple[Offer, ...]:
        """Cheapest first; those without a price after them."""
        return tuple(offer for offer in self.offers if offer.is_allowed)

    @property
    def ruled_out(self) -> tuple[Offer, ...]:
        return tuple(offer for offer in self.offers if not offer.is_allowed)

    @property
    def is_needed(self) -> bool:
        """Must something be bought or taken out of the drawer? Not for what the car has and may keep."""
        return not self.on_car or bool(self.on_car_ruled_out)

    @property
    def chosen(self) -> Offer | None:
        """The cheapest allowed part of which enough are in stock, else the cheapest; None where none has a price."""
        if not self.is_needed:
            return None
        priced = [offer for offer in self.allowed if offer.part.price is not None]
        there = [offer for offer in priced if offer.part.stock >= self.quantity]
        return next(iter(there or priced), None)

    @property
    def cost(self) -> Decimal:
        chosen = self.chosen
        return Decimal(0) if chosen is None else (chosen.part.price or Decimal(0)) * self.quantity

    @property
    def must_be_ordered(self) -> bool:
        return self.chosen is not None and self.chosen.part.stock < self.quantity


@dataclass(frozen=True, slots=True)
class ShoppingList:
    """What a class needs. revision: the rules in force, None where the class has none."""

    racing_class: RacingClass
    revision: RuleSheetRevision | None
    places: tuple[PlaceNeeds, ...]
    sheet: BenchSheet | None = None

    @property
    def total(self) -> Decimal:
        return sum((place.cost for place in self.places), Decimal("0.00"))

    @property
    def open_places(self) -> tuple[PlaceNeeds, ...]:
        """Places that need a part for which none with a price is known, so that the total leaves them out."""
        return tuple(place for place in self.places if place.is_needed and place.chosen is None)


@dataclass(frozen=True, slots=True)
class _Rules:
    """The rules of a class as parts are held against them. by_place: the clauses that speak of each place."""

    facts: Facts
    sheets: Mapping[str, Sheet] = field(default_factory=dict)
    asked: Mapping[str, tuple[tuple[str, str], ...]] = field(default_factory=dict)


def revision_of_class(racing_class: RacingClass, on: dt.date) -> RuleSheetRevision | None:
    """The rules of a class that hold on a day. One query."""
    published = RuleSheetRevision.objects.of(racing_class.club).published()
    rows = published.filter(rule_sheet__racing_class=racing_class, effective_from__lte=on)
    return rows.select_related("rule_sheet__club").order_by("-effective_from", "-number").first()


def sheets_to_shop_for(club: Club) -> QuerySet[BenchSheet]:
    """The bench sheets of the club's cars, each car's latest first. One query."""
    return BenchSheet.objects.of(club).select_related("car__owner").order_by("car__number", "-number")


def shopping_list(
    club: Club, racing_class: RacingClass, *, on: dt.date, sheet: BenchSheet | None = None
) -> ShoppingList:
    """Each place of a car with the club's parts and the owner's, judged one by one. Constant queries.

    sheet: a bench sheet whose parts the car has already; its owner's parts are offered too.
    """
    revision = revision_of_class(racing_class, on)
    rules = _rules_of(revision, racing_class, on, club)
    owners = {None, sheet.car.owner_id if sheet else None}
    parts = [part for part in parts_of(club).filter(is_active=True) if part.owner_id in owners]
    places = tuple(_needs(place, parts, rules, racing_class, club, sheet) for place in PLACES)
    return ShoppingList(racing_class=racing_class, revision=revision, places=places, sheet=sheet)


def _codes_of(place: str) -> frozenset[str]:
    told = [code for code, at, *_rest in MEASURED if at == place] + [code for code, _words in NAMED.get(place, ())]
    return frozenset(told)


def _rules_of(revision: RuleSheetRevision | None, racing_class: RacingClass, on: dt.date, club: Club) -> _Rules:
    facts = Facts(racing_class=racing_class.name, scale=racing_class.scale or None, date=on)
    if revision is None:
        return _Rules(facts)
    clauses = clauses_of(revision)
    whole = sheet_for_engine(revision, clauses)
    words = {clause.number: limit_words(clause, decimal_mark=club.decimal_mark) for clause in clauses}
    sheets, asked = {}, {}
    for place in PLACES:
        codes = _codes_of(place)
        own = tuple(one for one in whole.clauses if codes & {each.code for each in with_parts(one)})
        if own:
            sheets[place] = replace(whole, clauses=own, is_closed=False)
            asked[place] = tuple((one.number, _told(one.number, words, clauses)) for one in own)
    return _Rules(facts, sheets, asked)


def _told(number: str, words: Mapping[str, str], clauses: Sequence[Clause]) -> str:
    """What a clause asks, after what it asks it of."""
    clause = next(clause for clause in clauses if clause.number == number)
    asked = words.get(number, "")
    if clause.characteristic is None or not asked:
        return asked
    return f"{clause.characteristic.name}: {asked[:1].lower()}{asked[1:]}"


def _needs(
    place: str,
    parts: Iterable[Part],
    rules: _Rules,
    racing_class: RacingClass,
    club: Club,
    sheet: BenchSheet | None,
) -> PlaceNeeds:
    kinds = PLACES[place]
    offers = [
        Offer(
            part=part,
            sizes=main_sizes(part, decimal_mark=club.decimal_mark),
            is_named=racing_class in part.allowed_in.all(),
            ruled_out=_ruled_out(place, part.name, part.sizes, rules) + _elsewhere(part, racing_class),
        )
        for part in parts
        if part.kind in kinds
    ]
    offers.sort(key=lambda offer: (offer.part.price is None, offer.part.price or 0, offer.part.name))
    has = sheet.parts.get(place) if sheet else None
    kept = _ruled_out(place, str(has.get("name", "")), has.get("sizes") or {}, rules) if has else ()
    return PlaceNeeds(
        place=place,
        label=gettext(PLACE_LABELS[place]),
        quantity=2 if place in PAIRS else 1,
        asked=rules.asked.get(place, ()),
        offers=tuple(offers),
        on_car=str(has.get("name") or gettext("a part without a name")) if has else "",
        on_car_ruled_out=kept,
    )


def _elsewhere(part: Part, racing_class: RacingClass) -> tuple[str, ...]:
    """A part that other classes name, and this one does not, is not for this one."""
    named_by = part.allowed_in.all()
    if not named_by or racing_class in named_by:
        return ()
    return (gettext("allowed in {classes} only").format(classes=", ".join(str(group) for group in named_by)),)


def _ruled_out(place: str, name: str, sizes: Mapping[str, str], rules: _Rules) -> tuple[str, ...]:
    """The clauses that a part fails by what is known of it, in words."""
    if place not in rules.sheets:
        return ()
    failing: list[set[str]] = []
    for words in _words_of(place, name, sizes):
        found = _measured(place, sizes) | words
        results = judge_sheet(rules.sheets[place], found, rules.facts)
        failing.append({result.clause.number for result in results if result.outcome is Outcome.FAIL})
    numbers = set.intersection(*failing)
    return tuple(
        gettext("clause {number}, {asked}").format(number=number, asked=told)
        for number, told in rules.asked[place]
        if number in numbers
    )


def _measured(place: str, sizes: Mapping[str, str]) -> dict[str, Observation]:
    found = {}
    for code, at, size, kind in MEASURED:
        if at != place:
            continue
        quantity = read_stored(sizes.get(size, ""), kind, "")
        if quantity is not None and quantity.kind is kind:
            reading = Reading(kind, quantity.base)
            found[code] = measured(reading, reading)  # the same wherever it is measured
    return found


def _words_of(place: str, name: str, sizes: Mapping[str, str]) -> list[dict[str, Observation]]:
    """What a part may be called, one after the other; once without words where it has none.

    A compound may be told by more than the material, as hard rubber: each of its words is tried.
    """
    told = []
    for code, fields in NAMED.get(place, ()):
        for one in fields:
            word = name if one == "name" else sizes.get(one, "")
            words = [word, *word.split()] if one == "compound" else [word]
            told += [{code: named(each)} for each in words if each]
    return told or [{}]
