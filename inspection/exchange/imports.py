"""Rule sheets that come in as JSON. The file is read whole and strictly, and all that is wrong with it is said at once.

Its form is data/rule-sheet.schema.json. A key that is not known there is refused: it may be a limit misspelled.
"""

import datetime as dt
import itertools
import json
import re
import uuid
from collections.abc import Callable, Iterator, Mapping
from decimal import Decimal
from functools import cached_property
from typing import Any

from django.utils.translation import gettext as _

from inspection.choicelists.selectors import EntryContent, entries_of, newest_revisions
from inspection.clauses.selectors import DECISION_RULES, subjects_of
from inspection.conformity import clauses as engine
from inspection.conformity.clauses import CharacteristicKind, Comparator
from inspection.conformity.errors import RULE_MESSAGES, RuleError
from inspection.conformity.parse import parse_condition, parse_derivation, parse_factor
from inspection.contents.selectors import LIMIT_NAMES, ClauseContent, LimitRow, Requirement, atoms_of
from inspection.exchange.errors import UnreadableFile, UnreadableSheet
from inspection.exchange.selectors import STARTERS, NewList, SheetContent
from inspection.gauges.selectors import built_in_register, quantity_kind_of, read_typed, unit_or_none
from inspection.models import Characteristic, ChoiceList, ChoiceListRevision, Club, Gauge, Inspection
from inspection.units import Kind, Quantity, UnitsError

LARGEST_FILE = 1_000_000
MOST_ITEMS = 500
DOCUMENT, VERSION, OLDER_VERSIONS = "rule-sheet", 2, (1,)

# By key: the type, and the greatest length of a text. Keys outside these tables are refused.
_SHEET: dict[str, tuple[type, int]] = {
    "document": (str, 40),
    "version": (int, 0),
    "name": (str, 120),
    "racing_class": (dict, 0),
    "opening_words": (str, 5000),
    "decision_rule": (str, 20),
    "guard_factor": (str, 8),
    "tolerance_style": (str, 12),
    "sheet_tolerances": (dict, 0),
    "allows_overdue_gauges": (bool, 0),
    "is_closed": (bool, 0),
    "revision": (dict, 0),
    "characteristics": (list, 0),
    "choice_lists": (list, 0),
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
    "counts_with": (str, 120),
    "drawing": (str, 40),
    "derivation": (dict, 0),
    "on_build_sheet": (bool, 0),
}
_LIST: dict[str, tuple[type, int]] = {"name": (str, 120), "keyed_by": (str, 60), "entries": (list, 0)}
_ENTRY: dict[str, tuple[type, int]] = {
    "value": (str, 80),
    "key": (str, 80),
    "allowed_from": (str, 10),
    "allowed_until": (str, 10),
    "note": (str, 200),
}
_LIMITS: dict[str, tuple[type, int]] = dict.fromkeys(LIMIT_NAMES, (str, 40)) | {"choices": (list, 0)}
_REQUIREMENT: dict[str, tuple[type, int]] = _LIMITS | {
    "characteristic": (str, 60),
    "measuring_point": (str, 300),
    "comparator": (str, 20),
    "other": (str, 60),
    "factor": (str, 20),
    "offset": (str, 40),
    "choice_list": (str, 120),
    "expected_answer": (bool, 0),
    "readings_wanted": (int, 0),
    "counts": (str, 4),
    "parts": (list, 0),
    "limit_rows": (list, 0),
    "applies_when": (dict, 0),
    "unless": (dict, 0),
    "tolerance_style": (str, 8),
    "allowance": (str, 40),
}
_ROW: dict[str, tuple[type, int]] = _LIMITS | {"when": (dict, 0)}
_CLAUSE: dict[str, tuple[type, int]] = {
    "id": (str, 40),
    "number": (str, 12),
    "text": (str, 1000),
    **_REQUIREMENT,
    "judge_reason": (str, 300),
    "judge": (str, 80),
    "decision_rule": (str, 20),
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
    document = read_json(data, document=DOCUMENT, version=VERSION, older=OLDER_VERSIONS, refused=UnreadableSheet)
    return _SheetReader(club).sheet(document)


def check_sheet(document: Mapping[str, Any]) -> SheetContent:
    """A sheet document by itself, without a club and a database: what it does not describe has to be built in.

    Raises UnreadableSheet with everything that is wrong.
    """
    return _SheetReader(None).sheet(document)


def read_json(
    data: bytes,
    *,
    document: str,
    version: int,
    refused: type[UnreadableFile],
    older: tuple[int, ...] = (),
    largest: int = LARGEST_FILE,
) -> Mapping[str, Any]:
    """A JSON object that says it is such a document of such a version. Raises `refused` for anything else.

    older: versions that are read as well, because the newer only adds to them.
    """
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
    if type(found.get("version")) is not int or found["version"] not in {version, *older}:
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

    def __init__(self, club: Club | None) -> None:
        """club: None for a document that is read by itself, without a database."""
        self.problems: list[str] = []
        self.known: dict[str, Characteristic] = {}
        self.gauges: dict[str, Gauge] = {}
        if club is not None:
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
        if "derivation" in good:
            self.derivation(good["derivation"], where)
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

    def derivation(self, plain: Mapping[str, Any], where: str) -> None:
        """What a characteristic is worked out from; what of it cannot be read is said."""
        try:
            parse_derivation(plain)
        except RuleError as error:
            self.say(where, _("is worked out in a way that cannot be read: {error}").format(error=rule_words(error)))

    def quantity(
        self,
        good: Mapping[str, Any],
        key: str,
        characteristic: Characteristic | None,
        where: str,
        keep: Callable[[str, str], None] | None = None,
    ) -> Quantity | None:
        text = good.get(key, "")
        if not text:
            return None
        kind = quantity_kind_of(characteristic) if characteristic else None
        if characteristic is not None and kind is None:
            self.say(where, _("has a “{key}”, but its subject is not a quantity").format(key=key))
            return None
        try:
            unit = characteristic.unit if characteristic else ""
            found = read_typed(text, kind=kind, unit=unit, allow_negative=key == "offset")
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
        for part in made.derivation.get("of", ()):
            self.find(part, where)
        return made

    def _built_in(self, code: str) -> Characteristic | None:
        for fields in built_in_register()["characteristics"]:
            if fields["code"] == code:
                gauge = self.gauges.get(fields["default_gauge"].casefold())
                return Characteristic(**fields | {"default_gauge": gauge})
        return None


def rule_words(error: RuleError) -> str:
    """What cannot be read as a rule, in the language of the page, without its full stop."""
    return (_(RULE_MESSAGES[error.code]) % error.params).rstrip(".")


class _SheetReader(StrictReader):
    """Reads a rule sheet."""

    def __init__(self, club: Club | None) -> None:
        super().__init__(club)
        self.club = club
        self.lists: dict[str, tuple[ChoiceList, tuple[EntryContent, ...]]] = {}
        self.new_lists: list[NewList] = []

    @cached_property
    def club_lists(self) -> dict[str, ChoiceListRevision]:
        """The newest revision of each of the club's lists by name, read only when the file speaks of any."""
        if self.club is None:
            return {}
        newest = newest_revisions(self.club, with_entries=True).values()
        return {one.choice_list.name.casefold(): one for one in newest}

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
        for plain in self.items(head, "choice_lists"):
            self.choice_list(plain)
        if not head.get("clauses"):
            self.say(_("The sheet"), _("has no clauses"))
        clauses = tuple(self.clause(plain) for plain in self.items(head, "clauses"))
        ids = [lasting_id for lasting_id, content in clauses if lasting_id]
        if len(ids) != len(set(ids)):
            self.say(_("The sheet"), _("gives one lasting id to several clauses"))
        settings = self.settings(head)
        if self.problems:
            raise UnreadableSheet(why=_("These places need mending first:"), problems=tuple(self.problems))
        return SheetContent(
            name=name,
            racing_class=group.get("name", "").strip(),
            scale=group.get("scale", "").strip(),
            opening_words=head.get("opening_words", "").strip(),
            **settings,
            clauses=clauses,
            new_characteristics=tuple(self.new.values()),
            new_lists=tuple(self.new_lists),
        )

    def settings(self, head: Mapping[str, Any]) -> dict[str, Any]:
        """How the sheet decides."""
        where = _("The sheet")
        settings: dict[str, Any] = {name: head[name] for name in ("is_closed", "allows_overdue_gauges") if name in head}
        for name, allowed in (("decision_rule", DECISION_RULES), ("tolerance_style", set(engine.ToleranceStyle))):
            if self.one_of(head, name, allowed, where):
                settings[name] = head[name]
        if "guard_factor" in head:
            settings["guard_factor"] = self.guard_factor(head["guard_factor"])
        settings["sheet_tolerances"] = {}
        for kind, text in head.get("sheet_tolerances", {}).items():
            if kind not in set(Kind) or not isinstance(text, str) or len(text) > 40:
                self.say(where, _("has a tolerance that is not a text for a kind of quantity"))
                continue
            subject = Characteristic(code="", name="", kind=kind)
            found = self.quantity({kind: text}, kind, subject, where)
            if found is not None:
                settings["sheet_tolerances"][kind] = found.canonical
        return settings

    def guard_factor(self, text: str) -> Decimal:
        if not re.fullmatch(r"[0-9]{1,2}(\.[0-9]{1,2})?", text):
            self.say(_("The sheet"), _("has a guard_factor that is not a number such as 1.65"))
            return Decimal("1.65")
        return Decimal(text)

    def choice_list(self, plain: Any) -> None:
        """Remember a list that the file brings: the club's own if that says the same, else a new one."""
        where = _("List “{name}”").format(name=str(plain.get("name", "?"))[:60] if isinstance(plain, dict) else "?")
        good = self.checked(plain, _LIST, where)
        name = " ".join(good.get("name", "").split())
        if not name or not good.get("entries") or name in self.lists:
            self.say(where, _("needs a name of its own and entries"))
            return
        keyed_by = self.find(good["keyed_by"], where) if good.get("keyed_by") else None
        entries = tuple(self.entry(one, where) for one in self.items(good, "entries"))
        known = self.club_lists.get(name.casefold())
        if known is not None and entries_of(known) == entries:
            self.lists[name] = (known.choice_list, entries)
            return
        made = ChoiceList(name=self.free_list_name(name), keyed_by=keyed_by if keyed_by and keyed_by.pk else None)
        self.lists[name] = (made, entries)
        self.new_lists.append(NewList(made, keyed_by, entries))

    def free_list_name(self, name: str) -> str:
        taken = {*self.club_lists, *(one.choice_list.name.casefold() for one in self.new_lists)}
        numbered = (f"{name[:115]} {number}" for number in itertools.count(2))
        return next(one for one in itertools.chain([name], numbered) if one.casefold() not in taken)

    def entry(self, plain: Any, where: str) -> EntryContent:
        good = self.checked(plain, _ENTRY, where)
        if not good.get("value", "").strip():
            self.say(where, _("has an entry that does not say what is allowed"))
        days: dict[str, Any] = {}
        for key in ("allowed_from", "allowed_until"):
            try:
                days[key] = dt.date.fromisoformat(good[key]) if good.get(key) else None
            except ValueError:
                self.say(where, _("has a “{key}” that is not a day").format(key=key))
                days[key] = None
        if days["allowed_from"] and days["allowed_until"] and days["allowed_from"] > days["allowed_until"]:
            self.say(where, _("has an entry that ends before it begins"))
        texts = {key: " ".join(good.get(key, "").split()) for key in ("value", "key", "note")}
        return EntryContent(**texts, **days)

    def clause(self, plain: Any) -> tuple[uuid.UUID | None, ClauseContent]:
        label = str(plain.get("number", "?"))[:12] if isinstance(plain, dict) else "?"
        where = _("Clause {number}").format(number=label)
        good = self.checked(plain, _CLAUSE, where)
        for key in ("number", "text"):
            if key not in good:
                self.say(where, _("has no {key}").format(key=key))
        phases = self.texts(good, "phases", 10, 4, where)
        if not set(phases) <= set(Inspection.Phase.values):
            self.say(where, _("is checked at a time that is not known here"))
        content = ClauseContent(
            number=good.get("number", "").strip(),
            text=good.get("text", "").strip(),
            **self.requirement(good, where),
            judge_reason=good.get("judge_reason", "").strip(),
            judge=good.get("judge", "").strip(),
            decision_rule=self.one_of(good, "decision_rule", DECISION_RULES, where),
            gauge=self.gauges.get(good.get("gauge", "").casefold()),
            phases=tuple(phase for phase in Inspection.Phase.values if phase in phases),
            consequence=good.get("consequence", "").strip(),
            spoken_of=self.known | self.new,
        )
        return self.lasting_id(good, where), content

    def requirement(self, good: Mapping[str, Any], where: str, depth: int = 0) -> dict[str, Any]:
        """What is asked of one characteristic, of a clause or of a part of one."""
        found = {key: self.find(good[key], where) if good.get(key) else None for key in ("characteristic", "other")}
        characteristic = found["characteristic"]
        comparator = self.one_of(good, "comparator", set(Comparator), where)
        readings = good.get("readings_wanted", 1)
        if not 1 <= readings <= 10:
            self.say(where, _("asks for {count} readings; 1 to 10 can be taken").format(count=readings))
        factor = good.get("factor", "").strip()
        try:
            parse_factor(factor)
        except RuleError as error:
            self.say(where, _("has a factor that cannot be read: {error}").format(error=rule_words(error)))
            factor = ""
        choice_list, entries = self.list_of(good, where)
        if good.get("parts") and depth > 1:
            self.say(where, _("has parts within parts of parts"))
        parts = self.items(good, "parts") if depth <= 1 else iter(())
        return found | {
            "measuring_point": good.get("measuring_point", "").strip(),
            "comparator": Comparator(comparator) if comparator else None,
            **{name: self.quantity(good, name, characteristic, where) for name in (*LIMIT_NAMES, "offset")},
            "factor": factor,
            "choices": self.texts(good, "choices", 80, 200, where),
            "choice_list": choice_list,
            "entries": entries,
            "expected_answer": good.get("expected_answer", True),
            "readings_wanted": readings,
            "counts": self.one_of(good, "counts", set(engine.Counts), where) or "each",
            "parts": tuple(self.part(one, where, depth) for one in parts),
            "rows": tuple(self.row(one, characteristic, where) for one in self.items(good, "limit_rows")),
            "applies_when": self.condition(good.get("applies_when", {}), where),
            "unless": self.condition(good.get("unless", {}), where),
            "tolerance_style": self.one_of(good, "tolerance_style", {"in_rule", "none"}, where),
            "allowance": self.allowance(good, characteristic, where),
        }

    def list_of(self, good: Mapping[str, Any], where: str) -> tuple[ChoiceList | None, tuple[EntryContent, ...]]:
        name = " ".join(good.get("choice_list", "").split())
        if not name:
            return None, ()
        known = self.club_lists.get(name.casefold())
        if name not in self.lists and known is not None:
            self.lists[name] = (known.choice_list, entries_of(known))
        if name not in self.lists:
            self.say(where, _("names the list “{name}”, which is described nowhere").format(name=name[:60]))
        return self.lists.get(name, (None, ()))

    def part(self, plain: Any, where: str, depth: int) -> Requirement:
        good = self.checked(plain, _REQUIREMENT, where)
        return Requirement(**self.requirement(good, where, depth + 1))

    def row(self, plain: Any, characteristic: Characteristic | None, where: str) -> LimitRow:
        good = self.checked(plain, _ROW, where)
        if not good.get("when"):
            self.say(where, _("has limits by condition without the condition"))
        return LimitRow(
            when=self.condition(good.get("when", {}), where),
            **{name: self.quantity(good, name, characteristic, where) for name in LIMIT_NAMES},
            choices=self.texts(good, "choices", 80, 200, where),
        )

    def condition(self, plain: Mapping[str, Any], where: str) -> Mapping[str, Any]:
        """A condition that the engine can read; what it names is found."""
        if not plain:
            return {}
        try:
            for atom in atoms_of(plain):
                if atom["about"] in {"characteristic", "restricted"}:
                    self.find(atom.get("name", ""), where)
            parse_condition(plain, subjects_of(self.known | self.new))
        except RuleError as error:
            self.say(where, _("has a condition that cannot be read: {error}").format(error=rule_words(error)))
        except (AttributeError, TypeError, KeyError):
            self.say(where, _("has a condition that is not written as the schema says"))
        return plain

    def allowance(self, good: Mapping[str, Any], characteristic: Characteristic | None, where: str) -> str:
        text = good.get("allowance", "").strip()
        if text.endswith("%"):
            characteristic = Characteristic(code="", name="", kind=Kind.RATIO.value)
        found = self.quantity({"allowance": text}, "allowance", characteristic, where)
        return found.canonical if found else ""

    def lasting_id(self, good: Mapping[str, Any], where: str) -> uuid.UUID | None:
        if not good.get("id"):
            return None
        try:
            return uuid.UUID(good["id"])
        except ValueError:
            self.say(where, _("has an “id” that is not a UUID"))
            return None
