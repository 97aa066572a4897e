"""Who raced last time, and what would become of each row of a file."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from django.core.exceptions import ValidationError
from django.db.models import Exists, OuterRef, Q
from django.utils.translation import gettext as _

from inspection.drivers.selectors import NameIndex, name_index
from inspection.models import Car, Driver, name_key
from racedesk.entries.selectors import RACING, Candidate, cars_to_enter, entered_states, free_places
from racedesk.events.forms import AmountField
from racedesk.models import Entry, EntryCar, EntryDriver, EntryImport, Race

# ---- last time ------------------------------------------------------------------------------------------------------


def last_race(race: Race) -> Race | None:
    """The race of this class before this one, that somebody took part in. 1 query."""
    took_part = Entry.objects.filter(race=OuterRef("pk")).racing()
    before = Q(event__date__lt=race.event.date) | Q(event=race.event, position__lt=race.position)
    races = Race.objects.filter(before, event__club=race.event.club, racing_class=race.racing_class)
    return races.filter(Exists(took_part)).select_related("event").order_by("event__date", "position").last()


def last_time(race: Race) -> list[Candidate]:
    """Who raced this class last time, by name, each with the car to enter. Constant queries."""
    before = last_race(race)
    if before is None:
        return []
    rows = EntryDriver.objects.filter(race=before, entry__state__in=RACING).select_related("driver")
    drivers = sorted((row.driver for row in rows), key=lambda driver: driver.name.casefold())
    entered, cars = entered_states(race), cars_to_enter(race, drivers)
    return [
        Candidate(driver, *cars.get(driver.pk, (None, False)), entered=entered.get(driver.pk, "")) for driver in drivers
    ]


# ---- a file ---------------------------------------------------------------------------------------------------------

LARGEST_CAR_NUMBER = 99_999
NEW, OUT = "new", "out"  # choices beside the public id of a driver
_YES = frozenset(["yes", "y", "ja", "j", "x", "true", "1", "✓", "✔", "ok", "oui", "si", "paid", "bezahlt"])
_NO = frozenset(["no", "n", "nein", "false", "0", "-", "\u2013", "non", "nicht", "offen", "open"])
_AMOUNT = AmountField(required=False)


@dataclass(frozen=True, slots=True)
class TypedRow:
    """A row as it stands in the file. typed: number, car, class, fee, paid, junior, grade, contact; those there are."""

    row: int
    name: str
    typed: dict[str, str] = field(default_factory=dict)


@dataclass(slots=True)
class ImportLine:
    """What would become of a row.

    outcome: enter, choose (somebody must say who is meant), skip or error. driver: None for a new one.
    near: who may be meant. is_same_key: the name is near's but for case, accents or marks.
    """

    row: int
    name: str
    outcome: str = "enter"
    driver: Driver | None = None
    near: tuple[Driver, ...] = ()
    is_same_key: bool = False
    car: Car | None = None
    new_car_number: int | None = None
    new_car_name: str = ""
    fee: Decimal = Decimal(0)
    paid: Decimal = Decimal(0)
    is_junior: bool = False
    grade: str = ""
    contact: str = ""
    waits: bool = False
    was_chosen: bool = False
    errors: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    @property
    def has_new_car(self) -> bool:
        """A car the club does not know yet."""
        return self.new_car_number is not None or bool(self.new_car_name)

    @property
    def choice(self) -> str:
        """The name of the form's field for this row."""
        return f"row-{self.row}"


def typed_rows(entry_import: EntryImport) -> list[TypedRow]:
    """The kept rows of a file. No query."""
    return [TypedRow(row["row"], row["name"], row["typed"]) for row in entry_import.rows]


class _Known:
    """All that rows are held against, read once: a file of 10,000 rows takes no more queries than one of 10."""

    def __init__(self, race: Race, rows: Sequence[TypedRow]) -> None:
        club = race.event.club
        self.race = race
        self.index: NameIndex = name_index(club)
        self.entered = entered_states(race)
        self.cars_in_race = set(EntryCar.objects.filter(race=race).values_list("car_id", flat=True))
        self.cars = {car.number: car for car in Car.objects.of(club).select_related("owner")}
        self.cars_by_owner: dict[tuple[int, str], Car] = {}
        for car in self.cars.values():
            self.cars_by_owner[car.owner_id, car.name.casefold()] = car
        exact = {match.exact for match in (self.index.match(row.name) for row in rows) if match.exact}
        self.last_cars = cars_to_enter(race, sorted(exact, key=lambda driver: driver.pk))
        self.row_of_key: dict[str, int] = {}
        self.row_of_driver: dict[int, int] = {}
        self.row_of_car: dict[int, int] = {}


def plan_import(race: Race, rows: Sequence[TypedRow], choices: Mapping[int, str] | None = None) -> list[ImportLine]:
    """What would become of each row, in the order of the file. Changes nothing; about 8 queries however many rows.

    choices: by row number, the public id of the driver meant, NEW or OUT, where somebody has said so.
    """
    known = _Known(race, rows)
    free = free_places(race)
    lines = [_plan_row(row, known, (choices or {}).get(row.row, "")) for row in rows]
    for line in lines:
        if line.errors:
            line.outcome = "error"
        elif free is not None and line.outcome in {"enter", "choose"}:
            line.waits = free <= 0
            free -= 1
    return lines


def _plan_row(row: TypedRow, known: _Known, choice: str) -> ImportLine:
    line = ImportLine(row.row, row.name)
    class_name = row.typed.get("class", "")
    if class_name and not _is_class_of(known.race, class_name):
        line.outcome = "skip"
        line.notes.append(_("another class: %(name)s") % {"name": class_name[:80]})
        return line
    key = name_key(row.name)
    if not key:
        line.errors.append(_("no name"))
        return line
    if len(row.name) > 120:
        line.errors.append(_("a name longer than 120 letters"))
        return line
    if key in known.row_of_key:
        line.errors.append(_("the same name as in row %(row)s") % {"row": known.row_of_key[key]})
    known.row_of_key.setdefault(key, row.row)
    _read_plain(line, row)
    _match_driver(line, known, choice)
    if line.outcome == "skip":
        return line
    _check_driver(line, known)
    _match_car(line, row, known)
    _read_money(line, row, known.race)
    return line


def _is_class_of(race: Race, name: str) -> bool:
    own = [race.name, race.racing_class.name if race.racing_class else ""]
    return name_key(name) in {name_key(text) for text in own if text}


def _yes_no(line: ImportLine, text: str, heading: str) -> bool | None:
    """True, False, or None when the text is neither; blank is no."""
    word = text.casefold().strip()
    if word in _YES:
        return True
    if not word or word in _NO:
        return False
    return None


def _read_plain(line: ImportLine, row: TypedRow) -> None:
    junior = _yes_no(line, row.typed.get("junior", ""), "junior")
    if junior is None:
        line.errors.append(_("junior “%(text)s” is neither yes nor no") % {"text": row.typed["junior"][:40]})
    line.is_junior = bool(junior)
    line.grade, line.contact = row.typed.get("grade", ""), row.typed.get("contact", "")
    if len(line.grade) > 40 or len(line.contact) > 200:
        line.errors.append(_("a grade longer than 40 letters or a contact longer than 200"))


def _match_driver(line: ImportLine, known: _Known, choice: str) -> None:
    """Who is meant: never decided between two spellings by itself."""
    match = known.index.match(line.name)
    if match.exact is not None:
        line.is_same_key = match.exact.name != line.name and name_key(match.exact.name) == name_key(line.name)
        line.near = (match.exact,) if line.is_same_key else ()
        line.driver = None if line.is_same_key else match.exact
        if not line.is_same_key and match.exact.name != line.name:
            line.notes.append(_("a spelling of %(name)s") % {"name": match.exact.name})
    else:
        line.near = match.near
    if not line.near:
        return
    chosen = next((driver for driver in line.near if driver.public_id == choice), None)
    if chosen is not None:
        line.driver, line.was_chosen = chosen, True
    elif choice == OUT:
        line.outcome = "skip"
        line.notes.append(_("left out"))
    elif choice != NEW or line.is_same_key:
        line.outcome = "choose"


def _check_driver(line: ImportLine, known: _Known) -> None:
    if line.driver is None:
        return
    if line.driver.pk in known.entered:
        line.errors.append(_("already entered (%(state)s)") % {"state": known.entered[line.driver.pk]})
    earlier = known.row_of_driver.setdefault(line.driver.pk, line.row)
    if earlier != line.row:
        line.errors.append(_("the same driver as in row %(row)s") % {"row": earlier})
    if line.is_junior != line.driver.is_junior and line.is_junior:
        line.notes.append(_("a junior here, but not in the club's list, which counts"))


def _match_car(line: ImportLine, row: TypedRow, known: _Known) -> None:
    number, name = row.typed.get("number", "").lstrip("#").strip(), row.typed.get("car", "")
    if len(name) > 80:
        line.errors.append(_("a car name longer than 80 letters"))
    if number:
        _match_car_number(line, number, name, known)
    elif name:
        line.car = known.cars_by_owner.get((line.driver.pk, name.casefold())) if line.driver else None
        line.new_car_name = "" if line.car else name
    elif line.driver is not None and line.driver.pk in known.last_cars:
        line.car, is_last = known.last_cars[line.driver.pk]
        line.notes.append(_("car as last time") if is_last else _("the only car of the class"))
    if line.car is None:
        return
    if line.car.pk in known.cars_in_race:
        line.errors.append(_("car %(car)s is in the race already") % {"car": line.car})
    if known.row_of_car.setdefault(line.car.number, line.row) != line.row:
        line.errors.append(_("the same car as in row %(row)s") % {"row": known.row_of_car[line.car.number]})


def _match_car_number(line: ImportLine, typed: str, name: str, known: _Known) -> None:
    if not re.fullmatch(r"[0-9]{1,9}", typed) or not 1 <= int(typed) <= LARGEST_CAR_NUMBER:
        line.errors.append(
            _("car number “%(text)s” is not a number from 1 to %(most)s")
            % {"text": typed[:40], "most": LARGEST_CAR_NUMBER}
        )
        return
    number = int(typed)
    car = known.cars.get(number)
    if car is None:
        line.new_car_number, line.new_car_name = number, name
        if known.row_of_car.setdefault(number, line.row) != line.row:
            line.errors.append(_("the same car number as in row %(row)s") % {"row": known.row_of_car[number]})
        return
    may_be = {line.driver.pk} if line.driver else {driver.pk for driver in line.near}
    if car.owner_id not in may_be or (line.driver is None and line.outcome != "choose"):
        line.errors.append(
            _("car number %(number)s is %(car)s, owned by %(owner)s")
            % {"number": number, "car": car.name, "owner": car.owner}
        )
        return
    line.car = car


def _amount(line: ImportLine, text: str) -> Decimal | None:
    try:
        return _AMOUNT.clean(text)
    except ValidationError:
        line.errors.append(_("“%(text)s” is not an amount") % {"text": text[:40]})
        return None


def _read_money(line: ImportLine, row: TypedRow, race: Race) -> None:
    is_junior = line.driver.is_junior if line.driver else line.is_junior
    usual = race.junior_fee if is_junior and race.junior_fee is not None else race.fee
    typed = _amount(line, row.typed.get("fee", ""))
    line.fee = usual if typed is None else typed
    paid = row.typed.get("paid", "")
    said = _yes_no(line, paid, "paid")
    if said is None:
        line.paid = _amount(line, paid) or Decimal(0)
    elif said:
        line.paid = line.fee
