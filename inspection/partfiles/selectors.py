"""What would become of each row of a file of parts; read only."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _

from inspection.clubs.imports import TableFile
from inspection.drivers.selectors import NameIndex, name_index
from inspection.models import Club, Driver, Part, RacingClass, name_key
from inspection.partfiles.errors import NoCodeColumn, PartColumnTwice
from inspection.parts.selectors import (
    LARGEST_STOCK,
    SizeNotUnderstood,
    parts_of,
    read_amount,
    read_size,
    specs_of,
    with_diameter_of_code,
)
from inspection.planning.register import PART_KINDS, PART_SIZES
from inspection.units import UnitsError, unit_of

MOST_ROWS = 10_000
NEW, CHANGED, SAME, WRONG = "new", "changed", "same", "wrong"

# fmt: off
# Headings of what is no size, and of sizes: the first of the codes that the kind of the row has.
PLAIN: Mapping[str, frozenset[str]] = {
    "code": frozenset((
        "article number", "article no", "article nr", "article", "part number", "part no", "item number", "item no",
        "sku", "code", "order number", "order no", "artikelnummer", "artikel nr", "artikel", "bestellnummer", "no",
        "number", "nr", "reference", "ref",
    )),
    "name": frozenset((
        "name", "part", "part name", "description", "title", "bezeichnung", "beschreibung", "teil", "designation",
    )),
    "kind": frozenset(("kind", "kind of part", "type", "category", "group", "art", "kategorie", "teileart", "genre")),
    "owner": frozenset(("owner", "owner name", "belongs to", "driver", "besitzer", "eigentumer", "proprietaire")),
    "price": frozenset((
        "price", "price each", "unit price", "retail price", "cost", "preis", "stuckpreis", "vk", "prix",
    )),
    "stock": frozenset((
        "stock", "in stock", "quantity", "qty", "count", "on hand", "pieces", "bestand", "lager", "menge", "anzahl",
        "stuck", "quantite",
    )),
    "allowed_in": frozenset(("allowed in", "allowed", "classes", "class", "klassen", "klasse", "zugelassen in")),
    "note": frozenset(("note", "notes", "remark", "remarks", "comment", "notiz", "bemerkung", "anmerkung")),
    "in_use": frozenset(("in use", "use", "active", "aktiv", "in gebrauch")),
}
SIZES: Mapping[str, tuple[str, ...]] = {
    "diameter": ("diameter", "outside_diameter", "rim_diameter", "blade_depth", "can_diameter"),
    "durchmesser": ("diameter", "outside_diameter", "rim_diameter"),
    "od": ("outside_diameter", "diameter"), "o d": ("outside_diameter", "diameter"),
    "outer diameter": ("outside_diameter", "diameter"), "tip diameter": ("outside_diameter",),
    "aussendurchmesser": ("outside_diameter", "diameter"),
    "tooth count": ("teeth",), "number of teeth": ("teeth",), "no of teeth": ("teeth",), "tooth": ("teeth",),
    "z": ("teeth",), "zahne": ("teeth",), "zahnezahl": ("teeth",), "dents": ("teeth",),
    "mod": ("module",), "m": ("module",), "modul": ("module",),
    "dp": ("diametral_pitch",), "pitch": ("diametral_pitch",), "d p": ("diametral_pitch",),
    "width": ("width", "face_width"), "breite": ("width", "face_width"), "face": ("face_width",),
    "width of teeth": ("face_width",), "zahnbreite": ("face_width",), "largeur": ("width", "face_width"),
    "hub": ("hub_width", "hub_length"), "nabe": ("hub_width", "hub_length"),
    "hub length": ("hub_length", "hub_width"), "hub width": ("hub_width", "hub_length"),
    "length": ("length", "blade_length", "can_length"), "lange": ("length", "blade_length", "can_length"),
    "longueur": ("length",),
    "hole": ("bore",), "bohrung": ("bore",), "shaft": ("shaft_diameter", "bore"), "axle": ("bore",),
    "thickness": ("thickness", "blade_thickness"), "dicke": ("thickness", "blade_thickness"),
    "starke": ("thickness", "blade_thickness"),
    "rim": ("rim_diameter",), "rim size": ("rim_diameter",), "felge": ("rim_diameter",),
    "size": ("size_code",), "tire size": ("size_code",), "tire code": ("size_code",), "grosse": ("size_code",),
    "rubber": ("compound",), "mixture": ("compound",), "mischung": ("compound",), "hardness": ("compound",),
    "weight": ("mass",), "gewicht": ("mass",), "poids": ("mass",), "masse": ("mass",),
    "depth": ("blade_depth",), "blade": ("blade_depth",), "blade width": ("blade_thickness",),
    "rpm": ("no_load_speed",), "speed": ("no_load_speed",), "no load rpm": ("no_load_speed",),
    "drehzahl": ("no_load_speed",), "volts": ("at_voltage",), "voltage": ("at_voltage",), "spannung": ("at_voltage",),
    "torque": ("stall_torque",), "drehmoment": ("stall_torque",), "amps": ("no_load_current",),
    "ohms": ("resistance",), "widerstand": ("resistance",),
}
_KIND_WORDS: Mapping[str, str] = {
    "spur": "spur_gear", "spurs": "spur_gear", "gear": "spur_gear", "crown": "crown_gear", "contrate": "crown_gear",
    "tyre": "tire", "rim": "wheel", "hub": "wheel", "rear axle": "axle", "shaft": "axle", "bearing": "bushing",
    "washer": "spacer", "shim": "spacer", "flag": "guide", "brush": "braid", "brushes": "braid", "wire": "lead_wire",
    "lead": "ballast", "weight": "ballast", "shell": "body", "ritzel": "pinion", "zahnrad": "spur_gear",
    "stirnrad": "spur_gear", "kronrad": "crown_gear", "reifen": "tire", "felge": "wheel", "rad": "wheel",
    "achse": "axle", "lager": "bushing", "distanz": "spacer", "distanzscheibe": "spacer", "leitkiel": "guide",
    "schleifer": "braid", "kabel": "lead_wire", "ballast": "ballast", "blei": "ballast", "karosserie": "body",
    "fahrwerk": "chassis", "moteur": "motor", "pneu": "tire", "jante": "wheel", "axe": "axle",
}
# fmt: on
_PLAIN_OF = {alias: name for name, aliases in PLAIN.items() for alias in aliases}
_CODES = {spec.code for specs in PART_SIZES.values() for spec in specs}
_KINDS = {name_key(word): kind for kind, label in PART_KINDS.items() for word in (kind.replace("_", " "), label)}
_YES = frozenset(("yes", "y", "ja", "j", "x", "true", "1", "oui"))
_NO = frozenset(("no", "n", "nein", "false", "0", "non"))
_UNIT = re.compile(
    r"(?:\s+in)?\s*[(\[]\s*([^)\]]+?)\s*[)\]]\s*$|\s+(?:in\s+)?(mm|in|inch|inches|g|oz|rpm|v|a)$", re.IGNORECASE
)
_FORMULA_STARTS = "=+-@"


@dataclass(frozen=True, slots=True)
class Column:
    """What a column holds: a plain field, or a size by the codes it may mean. unit: of bare numbers, as headed."""

    place: int
    name: str = ""
    codes: tuple[str, ...] = ()
    unit: str = ""


def column_of(header: str, place: int) -> Column | None:
    """What a heading names; None for nothing known here."""
    words = re.sub(r"[_./]", " ", header.replace("#", " no ").replace("№", " no "))
    unit = ""
    if found := _UNIT.search(words):
        words, unit = words[: found.start()], (found[1] or found[2]).strip()
    key = re.sub(r"\b(eur|usd|gbp|chf)\b", "", name_key(words)).strip()
    if name := _PLAIN_OF.get(key):
        return Column(place, name=name)
    code = key.replace(" ", "_").replace("-", "_")
    codes = tuple(dict.fromkeys([*((code,) if code in _CODES else ()), *SIZES.get(key, ())]))
    return Column(place, codes=codes, unit=unit) if codes else None


def columns_of(table: TableFile) -> tuple[list[Column], list[str]]:
    """The columns that are read, and the headings of those that are not. Refused: no_code_column, part_column_twice."""
    found = [column_of(header, place) for place, header in enumerate(table.headers)]
    columns = [column for column in found if column is not None]
    first: dict[Any, int] = {}
    for column in columns:
        earlier = first.setdefault(column.name or column.codes, column.place)
        if earlier != column.place:
            headers = f"{table.headers[earlier]}, {table.headers[column.place]}"
            raise PartColumnTwice(name=table.name, headers=headers)
    if "code" not in first:
        raise NoCodeColumn(name=table.name, first=", ".join(filter(None, table.headers))[:120])
    read = {column.place for column in columns}
    return columns, [header for place, header in enumerate(table.headers) if header and place not in read]


@dataclass(slots=True)
class PartLine:
    """What would become of a row. part: the one that exists. classes, stock: None where the file says nothing."""

    row: int
    code: str = ""
    outcome: str = NEW
    part: Part | None = None
    name: str = ""
    kind: str = ""
    owner: Driver | None = None
    sizes: dict[str, str] = field(default_factory=dict)
    price: Decimal | None = None
    note: str = ""
    is_active: bool = True
    stock: int | None = None
    classes: list[RacingClass] | None = None
    errors: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    @property
    def kind_shown(self) -> str:
        return dict(Part.Kind.choices).get(self.kind, "")


class _Known:
    """All that rows are held against, read once: 10,000 rows take no more queries than 10."""

    def __init__(self, club: Club) -> None:
        self.club = club
        self.parts = {part.code: part for part in parts_of(club)}
        self.drivers: NameIndex = name_index(club)
        self.names = {name_key(driver.name): driver for driver in Driver.objects.of(club)}
        self.classes = {name_key(group.name): group for group in RacingClass.objects.of(club)}
        self.row_of: dict[str, int] = {}
        self.kind_words = _KINDS | {name_key(str(label)): kind for kind, label in Part.Kind.choices}


def plan_parts(club: Club, table: TableFile) -> list[PartLine]:
    """What would become of each row, in the order of the file. Changes nothing; five queries however many rows.

    An empty cell leaves what stands. Refused: no_code_column, part_column_twice.
    """
    columns, _unread = columns_of(table)
    known = _Known(club)
    lines = []
    for row in table.rows:
        plain = {column.name: _bare(row.cells[column.place]) for column in columns if column.name}
        line = PartLine(row.number, code=plain.get("code", ""))
        _read_plain(line, plain, known)
        _read_sizes(line, [(column, _bare(row.cells[column.place])) for column in columns if column.codes], known)
        _compare(line)
        lines.append(line)
    return lines


def _bare(cell: str) -> str:
    """A cell without the apostrophe that keeps a spreadsheet from running it as a formula."""
    text = cell.strip()
    return text[1:] if text[:1] == "'" and text[1:].lstrip()[:1] in tuple(_FORMULA_STARTS) else text


def _read_plain(line: PartLine, plain: Mapping[str, str], known: _Known) -> None:
    if not line.code or len(line.code) > 40:
        line.errors.append(_("no article number") if not line.code else _("an article number longer than 40 letters"))
    elif (earlier := known.row_of.setdefault(line.code, line.row)) != line.row:
        line.errors.append(_("the same article number as in row {row}").format(row=earlier))
    part = line.part = known.parts.get(line.code)
    if part is not None:
        line.name, line.kind, line.owner, line.note = part.name, part.kind, part.owner, part.note
        line.price, line.is_active, line.sizes = part.price, part.is_active, dict(part.sizes)
    _read_kind(line, plain.get("kind", ""), known)
    line.name, line.note = plain.get("name") or line.name, plain.get("note") or line.note
    if not line.name:
        line.errors.append(_("no name"))
    if len(line.name) > 120 or len(line.note) > 300:
        line.errors.append(_("a name longer than 120 letters, or a note longer than 300"))
    _read_owner(line, plain.get("owner", ""), known)
    _read_classes(line, plain.get("allowed_in", ""), known)
    _read_numbers(line, plain)


def _read_kind(line: PartLine, typed: str, known: _Known) -> None:
    key = name_key(typed)
    kind = known.kind_words.get(key) or _KIND_WORDS.get(key) or _KIND_WORDS.get(key.removesuffix("s"), "")
    kind = kind or known.kind_words.get(key.removesuffix("s"), "")
    if typed and not kind:
        line.errors.append(_("“{text}” is no kind of part known here").format(text=typed[:40]))
    elif line.part is not None and kind and kind != line.part.kind:
        told = _("{code} is a {kind}; a part never becomes another kind: give it another number")
        line.errors.append(told.format(code=line.code, kind=line.kind_shown))
    elif not kind and not line.kind:
        line.errors.append(_("no kind: pinion, spur gear, tire …"))
    line.kind = line.kind or kind


def _read_owner(line: PartLine, typed: str, known: _Known) -> None:
    if not typed:
        return
    if name_key(typed) in {"club", "the club", name_key(_("the club"))}:
        line.owner = None
        return
    line.owner = known.names.get(name_key(typed)) or known.drivers.match(typed).exact
    if line.owner is None:
        line.errors.append(_("no driver of the club is called “{name}”").format(name=typed[:60]))


def _read_classes(line: PartLine, typed: str, known: _Known) -> None:
    if not typed:
        return
    whole = known.classes.get(name_key(typed))
    mark = next((mark for mark in "|;," if mark in typed), "|")
    names = [typed] if whole else [name for name in typed.split(mark) if name.strip()]
    line.classes = []
    for name in names:
        if (group := known.classes.get(name_key(name))) is None:
            line.errors.append(_("the club has no class “{name}”").format(name=name.strip()[:60]))
        elif group not in line.classes:
            line.classes.append(group)


def _read_numbers(line: PartLine, plain: Mapping[str, str]) -> None:
    if typed := plain.get("price", ""):
        try:
            line.price = read_amount(typed)
        except ValueError:
            line.errors.append(_("“{text}” is not an amount").format(text=typed[:20]))
    if typed := plain.get("stock", ""):
        if re.fullmatch(r"[0-9]{1,5}", typed) and int(typed) <= LARGEST_STOCK:
            line.stock = int(typed)
        else:
            line.errors.append(_("a stock of “{text}” is no whole number from 0 up").format(text=typed[:20]))
    if typed := plain.get("in_use", ""):
        word = typed.casefold()
        if word not in _YES | _NO | {_("yes"), _("no")}:
            line.errors.append(_("in use “{text}” is neither yes nor no").format(text=typed[:20]))
        line.is_active = word in _YES or word == _("yes")


def _read_sizes(line: PartLine, cells: Sequence[tuple[Column, str]], known: _Known) -> None:
    specs, found = specs_of(line.kind), {}
    for column, text in cells:
        if not text or not specs:
            continue
        code = next((code for code in column.codes if code in specs), "")
        if not code:
            label = column.codes[0].replace("_", " ")
            line.errors.append(_("a {kind} has no {size}").format(kind=line.kind_shown, size=label))
            continue
        try:
            kept = read_size(specs[code], text, club=known.club, unit=_unit(column.unit, specs[code].kind))
        except SizeNotUnderstood as error:
            line.errors.append(f"{_(specs[code].label)}: {error}")
            continue
        if found.setdefault(code, kept) != kept:
            line.errors.append(_("{size} twice, not the same").format(size=_(specs[code].label)))
    line.sizes |= with_diameter_of_code(line.kind, found)
    missing = [_(spec.label) for code, spec in specs.items() if spec.required and not line.sizes.get(code)]
    if missing and not line.errors:
        line.errors.append(_("missing: {sizes}").format(sizes=", ".join(missing)))


def _unit(headed: str, kind: Any) -> str:
    """The unit that a heading names, where it is one of this kind; else "", for the usual one."""
    try:
        return unit_of(headed, kind).symbol if headed and kind is not None else ""
    except UnitsError:
        return ""


def _compare(line: PartLine) -> None:
    part = line.part
    if line.errors:
        line.outcome = WRONG
    elif part is not None:
        line.notes = _changes(line, part)
        line.outcome = CHANGED if line.notes else SAME


def _changes(line: PartLine, part: Part) -> list[str]:
    """What a row changes of a part, in words."""
    specs = specs_of(part.kind)
    stands = {"name": part.name, "note": part.note, "price": part.price, "owner": part.owner}
    words = {"name": _("name"), "note": _("note"), "price": _("price"), "owner": _("owner")}
    pairs = [(words[name], old, getattr(line, name)) for name, old in stands.items()]
    pairs += [(_("in use"), part.is_active, line.is_active)]
    pairs += [(_(spec.label), part.sizes.get(code, ""), line.sizes.get(code, "")) for code, spec in specs.items()]
    if line.stock is not None:
        pairs.append((_("stock"), part.stock, line.stock))
    if line.classes is not None:
        old = sorted(group.name for group in part.allowed_in.all())
        pairs.append((_("allowed in"), ", ".join(old), ", ".join(sorted(group.name for group in line.classes))))
    return [f"{what}: {_shown(old)} → {_shown(new)}" for what, old, new in pairs if old != new]


def _shown(value: Any) -> str:
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    return "\N{EN DASH}" if value in (None, "") else str(value)
