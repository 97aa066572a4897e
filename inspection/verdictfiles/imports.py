"""A car to be judged that comes in as JSON, in the form of data/verdict.schema.json. No database is asked.

The file is read whole and strictly, and all that is wrong with it is said at once. Its rule sheet is read as any rule
sheet that travels (`exchange`), and judged by the engine that the pages ask.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from functools import cache
from typing import Any

from django.utils.translation import gettext as _

from inspection.clauses.selectors import subjects_of
from inspection.conformity.clauses import BEFORE, ListEntry, ToleranceStyle
from inspection.conformity.errors import ConformityError, RuleError
from inspection.conformity.facts import Facts
from inspection.conformity.observations import Observation, Reading, make_reading
from inspection.conformity.parse import Lists, NamedList, make_decision_rule, parse_clause, parse_size
from inspection.conformity.sheet import CLOSING_CODE, Sheet
from inspection.conformity.subjects import TRACK_VALUES, CharacteristicKind, Register, Subject
from inspection.conformity.uncertainty import GaugeSpec
from inspection.conformity.verdicts import Ruling
from inspection.exchange.errors import UnreadableSheet
from inspection.exchange.imports import StrictReader, check_sheet, read_json, rule_words
from inspection.exchange.selectors import SheetContent
from inspection.gauges.selectors import built_in_register
from inspection.models import Characteristic, Gauge, Inspection
from inspection.units import Kind, Quantity
from inspection.verdictfiles.errors import UnreadableCase
from inspection.verdictfiles.selectors import Case

DOCUMENT, VERSION = "car-to-judge", 1

_CASE: dict[str, tuple[type, int]] = {
    "document": (str, 40),
    "version": (int, 0),
    "rule_sheet": (dict, 0),
    "occasion": (dict, 0),
    "gauges": (list, 0),
    "build": (dict, 0),
    "readings": (list, 0),
    "go_no_go": (list, 0),
    "rulings": (list, 0),
}
_OCCASION: dict[str, tuple[type, int]] = {
    "date": (str, 10),
    "phase": (str, 10),
    "class": (str, 80),
    "scale": (str, 20),
    "grade": (str, 80),
    "junior": (bool, 0),
    "track": (str, 120),
    "flags": (list, 0),
    "track_values": (dict, 0),
}
_SIZES = ("resolution", "max_permissible_error", "repeatability", "reproducibility", "bias")
_GAUGE: dict[str, tuple[type, int]] = {
    "name": (str, 120),
    "measures": (str, 20),
    "kind": (str, 10),
    **dict.fromkeys(_SIZES, (str, 40)),
    "overdue": (bool, 0),
}
_BUILD: dict[str, tuple[type, int]] = {"car": (str, 120), "driver": (str, 120), "declared": (list, 0)}
_DECLARED: dict[str, tuple[type, int]] = {
    "characteristic": (str, 60),
    "reading": (str, 40),
    "answer": (bool, 0),
    "answers": (list, 0),
}
_READING: dict[str, tuple[type, int]] = _DECLARED | {"gauge": (str, 120), "temperature": (str, 40)}
_GO: dict[str, tuple[type, int]] = {"clause": (str, 20), "gauge": (str, 120), "goes": (bool, 0)}
_RULING: dict[str, tuple[type, int]] = {
    "clause": (str, 20),
    "passes": (bool, 0),
    "judge": (str, 120),
    "reason": (str, 300),
}


def read_case(data: bytes) -> Case:
    """What a file says of a car to be judged. No query. Raises UnreadableCase with everything that is wrong."""
    return _CaseReader(None).case(read_json(data, document=DOCUMENT, version=VERSION, refused=UnreadableCase))


class _Found:
    """The observations of one section, gathered by characteristic."""

    def __init__(self) -> None:
        self.readings: defaultdict[str, list[Reading]] = defaultdict(list)
        self.written: defaultdict[str, list[Quantity]] = defaultdict(list)
        self.used: defaultdict[str, list[str]] = defaultdict(list)
        self.answers: dict[str, Observation] = {}

    @property
    def observations(self) -> dict[str, Observation]:
        return self.answers | {code: Observation(tuple(readings)) for code, readings in self.readings.items()}


class _CaseReader(StrictReader):
    """Reads a car to be judged."""

    register: Register
    gauge_specs: dict[str, GaugeSpec | None]
    overdue: frozenset[str]

    def case(self, document: Mapping[str, Any]) -> Case:
        head = self.checked(document, _CASE, _("The file"))
        content = self.rule_sheet(head)
        plain = _without_nulls(head.get("rule_sheet", {}))
        self.register = _register_of(plain) if content else {}
        self.gauge_specs, overdue = {}, set()
        for place, one in enumerate(self.items(head, "gauges")):
            overdue |= self.gauge(one, f"gauges[{place}]")
        self.overdue = frozenset(overdue)
        sheet = self.engine_sheet(plain, content) if content else None
        build = self.checked(head.get("build", {}), _BUILD, "build")
        declared, found = _Found(), _Found()
        for place, one in enumerate(self.items(build, "declared")):
            self.observation(one, _DECLARED, f"build.declared[{place}]", declared)
        for place, one in enumerate(self.items(head, "readings")):
            self.observation(one, _READING, f"readings[{place}]", found)
        facts = self.facts(head.get("occasion", {}), plain, declared.observations)
        rulings = self.rulings(head, sheet)
        if self.problems or sheet is None or content is None:
            raise UnreadableCase(why=_("These places need mending first:"), problems=tuple(self.problems))
        return Case(
            rule_sheet=content.name,
            sheet=sheet,
            revision=plain.get("revision", {}).get("number"),
            car=build.get("car", "").strip(),
            driver=build.get("driver", "").strip(),
            facts=facts,
            found=found.observations,
            rulings=rulings,
            readings={code: tuple(written) for code, written in found.written.items()},
            used={code: tuple(names) for code, names in found.used.items()},
            gauges={name: spec for name, spec in self.gauge_specs.items() if spec is not None},
        )

    # ---- the rule sheet ------------------------------------------------------------------------------------------

    def rule_sheet(self, head: Mapping[str, Any]) -> SheetContent | None:
        """The sheet as it is read wherever one comes in, so that it is refused for the same reasons."""
        if "rule_sheet" not in head:
            self.say(_("The file"), _("has no rule_sheet"))
            return None
        plain = head["rule_sheet"]
        if plain.get("document") != "rule-sheet" or plain.get("version") not in {1, 2}:
            self.say("rule_sheet", _("is not a rule sheet of version 1 or 2"))
            return None
        try:
            return check_sheet(plain)
        except UnreadableSheet as refusal:
            self.problems += [f"rule_sheet: {problem}" for problem in refusal.problems]
            return None

    def engine_sheet(self, plain: Mapping[str, Any], content: SheetContent) -> Sheet | None:
        factor = Fraction(Decimal(plain.get("guard_factor", "1.65")))
        lists = _lists_of(plain)
        specs = {name: spec for name, spec in self.gauge_specs.items() if spec is not None}
        before = len(self.problems)
        clauses = []
        for place, one in enumerate(plain.get("clauses", ())):
            path = f"rule_sheet.clauses[{place}]"
            try:
                clause = parse_clause(one, self.register, lists=lists, gauges=specs, guard_factor=factor, path=path)
            except RuleError as error:
                self.say(error.path or path, _("cannot be read: {error}").format(error=rule_words(error)))
                continue
            clauses.append(clause)
        if len(self.problems) > before:
            return None
        return Sheet(
            clauses=tuple(clauses),
            register=self.register,
            decision=make_decision_rule(content.decision_rule, factor),
            tolerance_style=ToleranceStyle(plain.get("tolerance_style", "none")),
            tolerances={
                Kind(kind): parse_size(text, Kind(kind)) for kind, text in plain.get("sheet_tolerances", {}).items()
            },
            allows_overdue_gauges=plain.get("allows_overdue_gauges", True),
            is_closed=content.is_closed,
        )

    # ---- what was measured with, and found -----------------------------------------------------------------------

    def gauge(self, plain: Any, where: str) -> set[str]:
        """Remember a gauge; its name comes back when it is past its calibration."""
        good = self.checked(plain, _GAUGE, where)
        name = good.get("name", "").strip()
        measures = self.one_of(good, "measures", set(Kind), where)
        kind = self.one_of(good, "kind", set(Gauge.Kind.values), where)
        if not name or not measures:
            self.say(where, _("needs a name and what it measures"))
            return set()
        if name in self.gauge_specs:
            self.say(where, _("has the name of another gauge"))
        sizes = {key: self.size(good, key, Kind(measures), where) for key in _SIZES}
        self.gauge_specs[name] = None
        if kind != Gauge.Kind.GO_NO_GO and any(size is not None for size in sizes.values()):
            try:
                self.gauge_specs[name] = GaugeSpec(
                    kind=Kind(measures),
                    **{key: Fraction(0) if size is None else size for key, size in sizes.items()},
                )
            except ConformityError as error:
                self.say(where, _("cannot be so: {error}").format(error=str(error).rstrip(".")))
        return {name} if good.get("overdue", False) else set()

    def size(self, good: Mapping[str, Any], key: str, kind: Kind, where: str) -> Fraction | None:
        """A difference in the base unit, whatever the zero of the unit."""
        found = self.parsed(good, key, kind, None, where)
        return None if found is None else found.magnitude * found.unit.factor

    def parsed(
        self, good: Mapping[str, Any], key: str, kind: Kind, subject: Subject | None, where: str
    ) -> Quantity | None:
        text = good.get(key, "").strip()
        if not text:
            return None
        try:
            return parse_size(text, kind, subject.unit if subject else None)
        except RuleError as error:
            self.say(f"{where}.{key}", _("cannot be read: {error}").format(error=rule_words(error)))
            return None

    def observation(self, plain: Any, table: Mapping[str, tuple[type, int]], where: str, into: _Found) -> None:
        """One thing found or declared: a reading, a yes or no, or words."""
        before = len(self.problems)
        good = self.checked(plain, table, where)
        code = good.get("characteristic", "")
        given = [key for key in ("reading", "answer", "answers") if key in good]
        if not code or len(given) != 1:
            self.say(where, _("needs a characteristic and one of reading, answer and answers"))
            return
        subject = self.subject(code, where)
        if subject is None or len(self.problems) > before:
            return
        kind = subject.kind.quantity_kind
        wanted = "answer" if subject.kind is CharacteristicKind.YES_NO else "reading" if kind else "answers"
        # A count may be named from a list of numbers too.
        if given != [wanted]:
            self.say(where, _("is answered by “{wanted}”, not by “{given}”").format(wanted=wanted, given=given[0]))
        elif kind is not None:
            self.reading(good, subject, kind, where, into)
        elif code in into.answers:
            self.say(where, _("answers for “{code}” a second time").format(code=code))
        elif wanted == "answer":
            into.answers[code] = Observation(answer=good["answer"])
        else:
            into.answers[code] = Observation(answers=self.texts(good, "answers", 80, 50, where))

    def subject(self, code: str, where: str) -> Subject | None:
        found = self.register.get(code)
        if found is None and self.register:
            self.say(where, _("speaks of “{code}”, which is described nowhere").format(code=code))
        return found

    def reading(self, good: Mapping[str, Any], subject: Subject, kind: Kind, where: str, into: _Found) -> None:
        written = self.parsed(good, "reading", kind, subject, where)
        temperature = self.parsed(good, "temperature", Kind.TEMPERATURE, None, where)
        name = good.get("gauge", "").strip()
        if name and name not in self.gauge_specs:
            self.say(where, _("names the gauge “{name}”, which is not among the gauges").format(name=name))
            return
        if written is None:
            return
        spec = self.gauge_specs.get(name)
        if spec is not None and spec.kind is Kind.MASS and kind is Kind.MAGNETIC_PULL:  # both are grams of a scale
            spec = GaugeSpec(kind=kind, **{key: getattr(spec, key) for key in _SIZES})
        try:
            made = make_reading(written, spec, temperature=temperature, overdue=name in self.overdue)
        except ConformityError as error:
            self.say(where, _("cannot be so: {error}").format(error=str(error).rstrip(".")))
            return
        into.readings[subject.code].append(made)
        into.written[subject.code].append(written)
        into.used[subject.code].append(name)

    # ---- what is known -------------------------------------------------------------------------------------------

    def facts(self, plain: Any, sheet: Mapping[str, Any], declared: Mapping[str, Observation]) -> Facts:
        where = "occasion"
        good = self.checked(plain, _OCCASION, where)
        group = sheet.get("racing_class") or {}
        flags = self.texts(good, "flags", 80, 100, where) if "flags" in good else None
        return Facts(
            racing_class=good.get("class", group.get("name")) or None,
            scale=good.get("scale", group.get("scale")) or None,
            grade=good.get("grade") or None,
            junior=good.get("junior"),
            track=good.get("track") or None,
            date=self.date(good, where),
            flags=None if flags is None else frozenset(flags),
            phase=self.one_of(good, "phase", set(Inspection.Phase.values), where) or BEFORE,
            track_values=self.track_values(good, where),
            declared=declared,
        )

    def date(self, good: Mapping[str, Any], where: str) -> dt.date | None:
        try:
            return dt.date.fromisoformat(good["date"]) if "date" in good else None
        except ValueError:
            self.say(where, _("has a date that is not a day such as 2026-03-31"))
            return None

    def track_values(self, good: Mapping[str, Any], where: str) -> dict[str, Fraction]:
        values = {}
        for name, text in good.get("track_values", {}).items():
            if name not in TRACK_VALUES or not isinstance(text, str):
                self.say(where, _("has “{key}”, which is not known here").format(key=str(name)[:40]))
                continue
            found = self.parsed({name: text}, name, TRACK_VALUES[name], None, f"{where}.track_values")
            if found is not None:
                values[name] = found.base
        return values

    def rulings(self, head: Mapping[str, Any], sheet: Sheet | None) -> dict[str, Ruling]:
        """Of judges, and of gauges that go or do not, by clause number."""
        rulings: dict[str, Ruling] = {}
        for key, table in (("go_no_go", _GO), ("rulings", _RULING)):
            for place, plain in enumerate(self.items(head, key)):
                where = f"{key}[{place}]"
                good = self.checked(plain, table, where)
                missing = [name for name in table if name not in good or good[name] == ""]
                if missing:
                    self.say(where, _("lacks {what}").format(what=", ".join(missing)))
                    continue
                self.ruling(good, where, sheet, rulings)
        return rulings

    def ruling(self, good: Mapping[str, Any], where: str, sheet: Sheet | None, rulings: dict[str, Ruling]) -> None:
        number = good["clause"].strip()
        if sheet is not None and number.partition("/")[0] not in sheet.by_number:
            self.say(where, _("speaks of clause {number}, which is not checked").format(number=number))
        elif "goes" in good and good["gauge"].strip() not in self.gauge_specs:
            name = good["gauge"].strip()
            self.say(where, _("names the gauge “{name}”, which is not among the gauges").format(name=name))
        elif "goes" in good:
            rulings[number] = Ruling(passes=good["goes"], judge="", reason=good["gauge"].strip())
        elif number in rulings and rulings[number].judge:
            self.say(where, _("rules on clause {number} a second time").format(number=number))
        else:  # a judge stands over a gauge
            rulings[number] = Ruling(passes=good["passes"], judge=good["judge"].strip(), reason=good["reason"].strip())


def _without_nulls(plain: Any) -> Any:
    """null is as if left out."""
    if isinstance(plain, dict):
        return {key: _without_nulls(value) for key, value in plain.items() if value is not None}
    return [_without_nulls(value) for value in plain] if isinstance(plain, list) else plain


def _register_of(plain: Mapping[str, Any]) -> dict[str, Subject]:
    """What is built in, and over it what the sheet describes."""
    described = {one["code"]: Characteristic(**one) for one in plain.get("characteristics", ())}
    closing = Subject(code=CLOSING_CODE, name=_("Nothing else changed"), kind=CharacteristicKind.YES_NO)
    return {CLOSING_CODE: closing} | _built_in_subjects() | subjects_of(described)


@cache
def _built_in_subjects() -> Mapping[str, Subject]:
    rows = built_in_register()["characteristics"]
    return subjects_of({one["code"]: Characteristic(**one | {"default_gauge": None}) for one in rows})


def _lists_of(plain: Mapping[str, Any]) -> Lists:
    return {
        " ".join(one["name"].split()): NamedList(
            entries=tuple(_entry(entry) for entry in one["entries"]), keyed_by=one.get("keyed_by", "")
        )
        for one in plain.get("choice_lists", ())
    }


def _entry(plain: Mapping[str, str]) -> ListEntry:
    days = {
        key: dt.date.fromisoformat(plain[key]) if plain.get(key) else None for key in ("allowed_from", "allowed_until")
    }
    return ListEntry(value=plain["value"], key=plain.get("key", ""), note=plain.get("note", ""), **days)
