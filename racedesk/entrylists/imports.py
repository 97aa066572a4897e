"""Files of entries as clubs keep them: which column is what, and each row as typed.

Nothing is looked up or decided here: `selectors.plan_import` says what would happen to each row.
"""

import re
from collections.abc import Mapping, Sequence

from django.core.files.uploadedfile import UploadedFile

from inspection.clubs.imports import TableFile, read_table
from inspection.models import name_key
from racedesk.entrylists.errors import ColumnTwice, NoHeaderRow
from racedesk.entrylists.selectors import TypedRow

# fmt: off
ALIASES: Mapping[str, frozenset[str]] = {
    "name": frozenset((
        "driver", "driver name", "name", "name of driver", "full name", "racer", "racer name", "pilot",
        "participant", "competitor", "entrant", "fahrer", "fahrername", "fahrerin", "teilnehmer", "pilote",
        "conducteur", "coureur",
    )),
    "first_name": frozenset((
        "first name", "firstname", "given name", "forename", "vorname", "prenom",
    )),
    "last_name": frozenset((
        "last name", "lastname", "surname", "family name", "nachname", "familienname", "nom",
    )),
    "number": frozenset((
        "number", "car number", "car no", "car nr", "car num", "race number", "start number", "nummer",
        "startnummer", "fahrzeugnummer", "auto nr", "wagen nr", "numero",
    )),
    "place": frozenset((
        "no", "nr", "num", "n", "pos", "position",
    )),
    "car": frozenset((
        "car", "car name", "name of car", "name of the car", "vehicle", "model", "body", "auto", "wagen",
        "fahrzeug", "modell", "voiture",
    )),
    "class": frozenset((
        "class", "race class", "category", "klasse", "kategorie", "classe", "race",
    )),
    "fee": frozenset((
        "fee", "entry fee", "fee due", "due", "amount", "price", "startgeld", "nenngeld", "nenngebuhr",
        "betrag", "gebuhr",
    )),
    "paid": frozenset((
        "paid", "payed", "paid fee", "payment", "settled", "bezahlt", "paye",
    )),
    "junior": frozenset((
        "junior", "jun", "youth", "jugend", "jugendlich", "jugendlicher",
    )),
    "grade": frozenset((
        "grade", "driver grade", "level", "stufe",
    )),
    "contact": frozenset((
        "contact", "email", "e mail", "e mail address", "email address", "mail", "phone", "telephone",
        "mobile", "tel", "telefon", "handy", "kontakt",
    )),
}
# fmt: on
_FIELD_OF = {alias: field for field, aliases in ALIASES.items() for alias in aliases}
_MAY_REPEAT = {"contact"}


def _field_of(header: str) -> str:
    """Which field a heading names; "" for none. "Car #", "Car No." and "CAR_NUMBER" are all the car's number."""
    key = name_key(re.sub(r"[_./()]", " ", header.replace("#", " no ").replace("№", " no ")))
    key = re.sub(r"\b(eur|usd|gbp|chf)\b", "", key).strip()
    return _FIELD_OF.get(key, "")


def _columns(table: TableFile) -> dict[str, list[int]]:
    """The places of each known field. Refuses a table without a column of names, or with a field twice."""
    found: dict[str, list[int]] = {}
    for place, header in enumerate(table.headers):
        if field := _field_of(header):
            found.setdefault(field, []).append(place)
    if "first_name" in found and "last_name" not in found and "name" in found:
        found["last_name"] = found.pop("name")
    if "name" not in found and "last_name" not in found:
        raise NoHeaderRow(name=table.name, first=", ".join(header for header in table.headers if header)[:120])
    _take_numbers_under_other_words(table, found)
    for field, places in found.items():
        if len(places) > 1 and field not in _MAY_REPEAT:
            raise ColumnTwice(name=table.name, headers=", ".join(table.headers[place] for place in places))
    return found


def _take_numbers_under_other_words(table: TableFile, found: dict[str, list[int]]) -> None:
    """Without a column of car numbers, one called "Car" or "No." is it, if it holds nothing but numbers.

    A "No." that counts the rows 1, 2, 3 is no car number.
    """
    for field in ("car", "place"):
        for place in found.get(field, []) if "number" not in found else []:
            values = [row.cells[place] for row in table.rows if row.cells[place]]
            if not values or not all(re.fullmatch(r"#?[0-9]+", value) for value in values):
                continue
            if field == "place" and values == [str(n) for n in range(1, len(values) + 1)]:
                continue
            found["number"] = [place]
            found[field].remove(place)
            break
    for field in ("car", "place"):
        if not found.get(field):
            found.pop(field, None)
    found.pop("place", None)


def _typed(cells: Sequence[str], columns: Mapping[str, list[int]], number: int) -> TypedRow:
    values = {field: " ".join(cells[place] for place in places).strip() for field, places in columns.items()}
    names = [values.pop(part, "") for part in ("first_name", "last_name")]
    name = values.pop("name", "") or " ".join(part for part in names if part)
    return TypedRow(row=number, name=_in_order(name), typed=values)


def _in_order(name: str) -> str:
    """A name with single blanks; "Brandt, Ada" is Ada Brandt."""
    clean = " ".join(name.split())
    family, comma, given = clean.partition(",")
    if comma and family.strip() and given.strip() and "," not in given:
        return f"{given.strip()} {family.strip()}"
    return clean


def read_entries(upload: UploadedFile) -> tuple[list[TypedRow], list[str]]:
    """The rows of a file as typed, and the headings of columns that are not read.

    Raises a FileRefused (clubs.imports), NoHeaderRow or ColumnTwice.
    """
    table = read_table(upload)
    columns = _columns(table)
    used = {place for places in columns.values() for place in places}
    unread = [header for place, header in enumerate(table.headers) if header and place not in used]
    return [_typed(row.cells, columns, row.number) for row in table.rows], unread
