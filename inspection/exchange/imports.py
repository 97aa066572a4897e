"""Rule sheets that come in as JSON. The file is read whole and strictly, and all that is wrong with it is said at once.

Its form is data/rule-sheet.schema.json. A key that is not known there is refused: it may be a limit misspelled.
"""

import json
import uuid
from collections.abc import Callable, Iterator, Mapping
from typing import Any

from django.utils.translation import gettext as _

from inspection.clauses.selectors import DECISION_RULES, LIMIT_NAMES, ClauseContent
from inspection.conformity.clauses import CharacteristicKind, Comparator
from inspection.exchange.errors import UnreadableFile, UnreadableSheet
from inspection.exchange.selectors import STARTERS, SheetContent
from inspection.gauges.selectors import built_in_register, quantity_kind_of, read_typed, unit_or_none
from inspection.models import Characteristic, Club, Gauge, Inspection
from inspection.units import UnitsError

LARGEST_FILE = 1_000_000
MOST_ITEMS = 500
DOCUMENT, VERSION = "rule-sheet", 1

# By key: the type, and the greatest length of a text. Keys outside these tables are refused.
_SHEET: dict[str, tuple[type, int]] = {
    "document": (str, 40),
    "version": (int, 0),
    "name": (str, 120),
    "racing_class": (dict, 0),
    "opening_words": (str, 5000),
    "decision_rule": (str, 20),
    "is_closed": (bool, 0),
    "revision": (dict, 0),
    "characteristics": (list, 0),
    "clauses": (list, 0),
}
_CLASS: dict[str, tuple[type, int]] = {"name": (str, 80), "scale": (str, 20)}
_CHARACTERISTIC: dict[str, tuple[type, int]] = {
    "code": (str, 60),
    "name": (str, 80),
    "kind": (str, 20),
    "unit": (str, 12),
    "measuring_point": (str, 300),
    "group": (str, 10),
    "plausible_low": (str, 30),
    "plausible_high": (str, 30),
    "on_build_sheet": (bool, 0),
}
_CLAUSE: dict[str, tuple[type, int]] = {
    "id": (str, 40),
    "number": (str, 12),
    "text": (str, 1000),
    "characteristic": (str, 60),
    "measuring_point": (str, 300),
    "comparator": (str, 20),
    **dict.fromkeys(LIMIT_NAMES, (str, 40)),
    "choices": (list, 0),
    "expected_answer": (bool, 0),
    "judge_reason": (str, 300),
    "decision_rule": (str, 20),
    "readings_wanted": (int, 0),
    "gauge": (str, 60),
    "phases": (list, 0),
    "consequence": (str, 200),
}


def starter_content(*, club: Club, code: str) -> SheetContent:
    """One of the sheets that ship, for this club. Raises KeyError for an unknown code. Two queries."""
    starter = {starter.code: starter for starter in STARTERS}[code]
    return read_sheet(starter.path.read_bytes(), club=club)


def read_sheet(data: bytes, *, club: Club) -> SheetContent:
    """What a file says, ready to be made into a draft of this club; nothing is saved. Two queries.

    Characteristics are found by code: the club's own, else as the file describes them, else built in.
    Raises UnreadableSheet with everything that is wrong.
    """
    document = read_json(data, document=DOCUMENT, version=VERSION, refused=UnreadableSheet)
    return _SheetReader(club).sheet(document)


def read_json(
    data: bytes, *, document: str, version: int, refused: type[UnreadableFile], largest: int = LARGEST_FILE
) -> Mapping[str, Any]:
    """A JSON object that says it is such a document of such a version. Raises `refused` for anything else."""
    if len(data) > largest:
        raise refused(why=refused.too_large.format(most=largest // 1_000_000))
    try:
        found = json.loads(
            data.decode("utf-8-sig"), parse_constant=_refuse_constant, object_pairs_hook=_without_doubles
        )
        json.dumps(found, ensure_ascii=False).encode()  # half a surrogate pair is no text, and no database takes it
    except (ValueError, RecursionError) as error:
        raise refused(why=refused.damaged) from error
    if not isinstance(found, dict) or found.get("document") != document:
        raise refused(why=refused.another)
    if type(found.get("version")) is not int or found["version"] != version:
        raise refused(why=refused.other_version.format(version=str(found.get("version"))[:20], known=version))
    return found


def _refuse_constant(name: str) -> None:
    raise ValueError(name)


def _without_doubles(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise ValueError("a key stands twice")
    return found


class StrictReader:
    """Reads one document for one club and gathers what is wrong with it; what every kind of document needs.

    A key that is not known is a problem. `new`: characteristics that the document speaks of and the club lacks, not
    saved yet, by code.
    """

    def __init__(self, club: Club) -> None:
        self.problems: list[str] = []
        self.known = {item.code: item for item in Characteristic.objects.of(club).select_related("default_gauge")}
        self.gauges = {gauge.name.casefold(): gauge for gauge in Gauge.objects.of(club)}
        self.described: dict[str, Characteristic] = {}
        self.new: dict[str, Characteristic] = {}

    def say(self, where: str, what: str) -> None:
        self.problems.append(_("{where} {what}.").format(where=where, what=what))

    def items(self, head: Mapping[str, Any], key: str) -> Iterator[Any]:
        """What stands in a list of the document, or nothing when it is too long."""
        found = head.get(key, [])
        if len(found) > MOST_ITEMS:
            self.say(_("The file"), _("has more than {most} {key}").format(most=MOST_ITEMS, key=key))
            found = []
        return iter(found)

    def checked(self, plain: Any, table: Mapping[str, tuple[type, int]], where: str) -> dict[str, Any]:
        """The keys of an object that are known and of their type; the others are said. null is as if left out."""
        if not isinstance(plain, dict):
            self.say(where, _("is not an object"))
            return {}
        good = {}
        for key, value in plain.items():
            if key not in table:
                self.say(where, _("has “{key}”, which is not known here").format(key=str(key)[:40]))
            elif value is not None and self.fits(value, *table[key], key=key, where=where):
                good[key] = value
        return good

    def fits(self, value: Any, wanted: type, longest: int, *, key: str, where: str) -> bool:
        if type(value) is not wanted:
            self.say(where, _("has a “{key}” of the wrong type").format(key=key))
        elif isinstance(value, str) and len(value) > longest:
            self.say(where, _("has a “{key}” of more than {most} characters").format(key=key, most=longest))
        elif isinstance(value, str) and "\x00" in value:
            self.say(where, _("has a “{key}” with a character that is not text").format(key=key))
        else:
            return True
        return False

    def one_of(self, good: Mapping[str, Any], key: str, allowed: Any, where: str) -> str:
        value = good.get(key, "")
        if value and value not in allowed:
            self.say(where, _("has the {key} “{value}”, which is not known here").format(key=key, value=value))
            return ""
        return value

    def texts(self, good: Mapping[str, Any], key: str, longest: int, most: int, where: str) -> tuple[str, ...]:
        found = good.get(key, [])
        if len(found) > most or not all(isinstance(item, str) and 0 < len(item.strip()) <= longest for item in found):
            self.say(where, _("has a “{key}” that is not a list of short texts").format(key=key))
            return ()
        if any("\x00" in item for item in found):
            self.say(where, _("has a “{key}” with a character that is not text").format(key=key))
            return ()
        return tuple(item.strip() for item in found)

    def describe(self, plain: Any) -> None:
        """Remember a characteristic that the file describes."""
        label = str(plain.get("code", "?"))[:60] if isinstance(plain, dict) else "?"
        where = _("Characteristic “{code}”").format(code=label)
        before = len(self.problems)
        good = self.checked(plain, _CHARACTERISTIC, where)
        if not good.get("name", "").strip() or not good.get("code") or not good.get("kind"):
            self.say(where, _("needs a code, a name and a kind"))
        elif not good["code"].replace("-", "").replace("_", "").isalnum() or not good["code"].isascii():
            self.say(where, _("has a code that is not letters, digits and hyphens"))
        self.one_of(good, "kind", set(CharacteristicKind), where)
        self.one_of(good, "group", Characteristic.Group.values, where)
        if len(self.problems) > before:
            return
        made = Characteristic(**good, position=1000)
        kind = quantity_kind_of(made)
        unit_fits = not made.unit if kind is None else unit_or_none(made.unit, kind) is not None
        if not unit_fits:
            self.say(where, _("has a unit that does not go with its kind"))
            return
        for key in ("plausible_low", "plausible_high"):
            self.quantity(good, key, made, where, lambda name, text: setattr(made, name, text))
        self.described[made.code] = made

    def quantity(
        self,
        good: Mapping[str, Any],
        key: str,
        characteristic: Characteristic | None,
        where: str,
        keep: Callable[[str, str], None] | None = None,
    ) -> Any:
        text = good.get(key, "")
        if not text:
            return None
        kind = quantity_kind_of(characteristic) if characteristic else None
        if characteristic is not None and kind is None:
            self.say(where, _("has a “{key}”, but its subject is not a quantity").format(key=key))
            return None
        try:
            found = read_typed(text, kind=kind, unit=characteristic.unit if characteristic else "")
        except UnitsError as error:
            self.say(where, _("has a “{key}” that cannot be read: {error}").format(key=key, error=str(error)[:-1]))
            return None
        if keep is not None:
            keep(key, found.canonical)
        return found

    def find(self, code: str, where: str) -> Characteristic | None:
        """The characteristic of a code: the club's, the file's, or built in."""
        found = self.known.get(code) or self.new.get(code)
        if found is not None:
            return found
        made = self.described.get(code) or self._built_in(code)
        if made is None:
            self.say(where, _("speaks of “{code}”, which is described nowhere").format(code=code))
            return None
        self.new[code] = made
        return made

    def _built_in(self, code: str) -> Characteristic | None:
        for fields in built_in_register()["characteristics"]:
            if fields["code"] == code:
                gauge = self.gauges.get(fields["default_gauge"].casefold())
                return Characteristic(**fields | {"default_gauge": gauge})
        return None


class _SheetReader(StrictReader):
    """Reads a rule sheet."""

    def sheet(self, document: Mapping[str, Any]) -> SheetContent:
        head = self.checked(document, _SHEET, _("The sheet"))
        name = head.get("name", "").strip()
        if not name:
            self.say(_("The sheet"), _("has no name"))
        group = self.checked(head.get("racing_class", {}), _CLASS, _("The class"))
        if "racing_class" in head and not group.get("name", "").strip():
            self.say(_("The class"), _("has no name"))
        for plain in self.items(head, "characteristics"):
            self.describe(plain)
        if not head.get("clauses"):
            self.say(_("The sheet"), _("has no clauses"))
        clauses = tuple(self.clause(plain) for plain in self.items(head, "clauses"))
        ids = [lasting_id for lasting_id, content in clauses if lasting_id]
        if len(ids) != len(set(ids)):
            self.say(_("The sheet"), _("gives one lasting id to several clauses"))
        decision_rule = self.one_of(head, "decision_rule", DECISION_RULES, _("The sheet")) or "simple_acceptance"
        if self.problems:
            raise UnreadableSheet(why=_("These places need mending first:"), problems=tuple(self.problems))
        return SheetContent(
            name=name,
            racing_class=group.get("name", "").strip(),
            scale=group.get("scale", "").strip(),
            opening_words=head.get("opening_words", "").strip(),
            decision_rule=decision_rule,
            is_closed=head.get("is_closed", False),
            clauses=clauses,
            new_characteristics=tuple(self.new.values()),
        )

    def clause(self, plain: Any) -> tuple[uuid.UUID | None, ClauseContent]:
        label = str(plain.get("number", "?"))[:12] if isinstance(plain, dict) else "?"
        where = _("Clause {number}").format(number=label)
        good = self.checked(plain, _CLAUSE, where)
        for key in ("number", "text"):
            if key not in good:
                self.say(where, _("has no {key}").format(key=key))
        code = good.get("characteristic", "")
        characteristic = self.find(code, where) if code else None
        comparator = self.one_of(good, "comparator", set(Comparator), where)
        phases = self.texts(good, "phases", 10, 4, where)
        if not set(phases) <= set(Inspection.Phase.values):
            self.say(where, _("is checked at a time that is not known here"))
        readings = good.get("readings_wanted", 1)
        if not 1 <= readings <= 10:
            self.say(where, _("asks for {count} readings; 1 to 10 can be taken").format(count=readings))
        content = ClauseContent(
            number=good.get("number", "").strip(),
            text=good.get("text", "").strip(),
            characteristic=characteristic,
            measuring_point=good.get("measuring_point", "").strip(),
            comparator=Comparator(comparator) if comparator else None,
            **{name: self.quantity(good, name, characteristic, where) for name in LIMIT_NAMES},
            choices=self.texts(good, "choices", 80, 200, where),
            expected_answer=good.get("expected_answer", True),
            judge_reason=good.get("judge_reason", "").strip(),
            decision_rule=self.one_of(good, "decision_rule", DECISION_RULES, where),
            readings_wanted=readings,
            gauge=self.gauges.get(good.get("gauge", "").casefold()),
            phases=tuple(phase for phase in Inspection.Phase.values if phase in phases),
            consequence=good.get("consequence", "").strip(),
        )
        return self.lasting_id(good, where), content

    def lasting_id(self, good: Mapping[str, Any], where: str) -> uuid.UUID | None:
        if not good.get("id"):
            return None
        try:
            return uuid.UUID(good["id"])
        except ValueError:
            self.say(where, _("has an “id” that is not a UUID"))
            return None
