"""What a clause says, apart from where it stands: as exact quantities, as plain JSON values, as the engine reads it.

Parts, limits by condition and conditions are stored as data/rule-sheet.schema.json of the slice `exchange` writes them.
"""

import datetime as dt
import hashlib
import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, fields
from typing import Any

from inspection.choicelists.selectors import EntryContent, entries_of, newest_revisions
from inspection.conformity.clauses import Comparator
from inspection.gauges.selectors import quantity_kind_of, read_stored
from inspection.models import Characteristic, ChoiceList, Clause, Gauge, RuleSheetRevision
from inspection.units import Kind, Quantity

LIMIT_NAMES = ("lower", "upper", "nominal", "tolerance")
GROUPS = frozenset({Comparator.ALL_OF, Comparator.ANY_OF})
_UNSAID = {"expected_answer": True, "readings_wanted": 1, "counts": "each"}
_RESOLVED = {"entries", "list_revision", "spoken_of"}


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitRow:
    """The limits or choices that hold under a condition; the first row whose condition holds counts."""

    when: Mapping[str, Any]
    lower: Quantity | None = None
    upper: Quantity | None = None
    nominal: Quantity | None = None
    tolerance: Quantity | None = None
    choices: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Requirement:
    """What is asked of one characteristic. Limits are exact quantities; empty means not given.

    other, factor, offset: instead of a written limit, factor * other + offset. choice_list: a shared list instead of
    `choices`. entries, list_revision: what that list allows, and by which of its revisions; None until it is pinned.
    tolerance_style: "" as the sheet says; allowance: its own tolerance, as written. applies_when, unless: conditions
    as JSON values, {} for none.
    """

    characteristic: Characteristic | None = None
    measuring_point: str = ""
    comparator: Comparator | None = None
    lower: Quantity | None = None
    upper: Quantity | None = None
    nominal: Quantity | None = None
    tolerance: Quantity | None = None
    other: Characteristic | None = None
    factor: str = ""
    offset: Quantity | None = None
    choices: tuple[str, ...] = ()
    choice_list: ChoiceList | None = None
    entries: tuple[EntryContent, ...] = ()
    list_revision: int | None = None
    expected_answer: bool = True
    readings_wanted: int = 1
    counts: str = "each"
    tolerance_style: str = ""
    allowance: str = ""
    parts: "tuple[Requirement, ...]" = ()
    rows: tuple[LimitRow, ...] = ()
    applies_when: Mapping[str, Any] = field(default_factory=dict)
    unless: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class ClauseContent(Requirement):
    """What a clause says, apart from where it stands.

    decision_rule: empty for the sheet's own. phases: values of Inspection.Phase.
    spoken_of: characteristics that conditions name, by code, for the words.
    """

    number: str
    text: str
    judge_reason: str = ""
    judge: str = ""
    decision_rule: str = ""
    gauge: Gauge | None = None
    phases: tuple[str, ...] = ()
    consequence: str = ""
    is_struck: bool = False
    spoken_of: Mapping[str, Characteristic] = field(default_factory=dict)


# What else a clause speaks of: loaded once a revision, and only when a clause names it.


def register_of(revision: RuleSheetRevision) -> Mapping[str, Characteristic]:
    """The club's characteristics by code, kept on the revision. One query the first time."""
    found: Mapping[str, Characteristic] | None = revision.__dict__.get("_register")
    if found is None:
        of_club = Characteristic.objects.filter(club_id=revision.rule_sheet.club_id).select_related("default_gauge")
        found = revision.__dict__["_register"] = {one.code: one for one in of_club}
    return found


def _lists_of(revision: RuleSheetRevision) -> Mapping[str, tuple[ChoiceList, tuple[EntryContent, ...]]]:
    """The club's lists by name with what their newest revision allows, kept on the revision. Two queries at first."""
    found: Mapping[str, Any] | None = revision.__dict__.get("_lists")
    if found is None:
        newest = newest_revisions(revision.rule_sheet.club, with_entries=True).values()
        found = {one.choice_list.name: (one.choice_list, entries_of(one)) for one in newest}
        revision.__dict__["_lists"] = found
    return found


def content_of(clause: Clause) -> ClauseContent:
    """What a stored clause says. No query when `clauses.selectors.clauses_of` loaded it.

    One for the register when it has parts or conditions; two for the lists of a draft.
    """
    more = clause.parts or clause.applies_when or clause.unless or clause.limit_rows
    more = more or any(one and one.derivation for one in (clause.characteristic, clause.other))
    spoken_of = register_of(clause.revision) if more and clause.revision_id else {}
    kind, unit = _measure_of(clause.characteristic)
    entries, pinned = _allowed(clause)
    return ClauseContent(
        number=clause.number,
        text=clause.text,
        characteristic=clause.characteristic,
        measuring_point=clause.measuring_point,
        comparator=Comparator(clause.comparator) if clause.comparator else None,
        **{name: read_stored(getattr(clause, name), kind, unit) for name in LIMIT_NAMES},
        other=clause.other,
        factor=clause.factor,
        offset=read_stored(clause.offset, kind, unit),
        choices=tuple(str(choice) for choice in clause.choices),
        choice_list=clause.choice_list,
        entries=entries,
        list_revision=pinned,
        expected_answer=clause.expected_answer,
        readings_wanted=clause.readings_wanted,
        counts=clause.counts,
        parts=tuple(requirement_of(part, spoken_of, clause.revision) for part in clause.parts),
        rows=tuple(_row_of(row, kind, unit) for row in clause.limit_rows),
        applies_when=clause.applies_when,
        unless=clause.unless,
        tolerance_style=clause.tolerance_style,
        allowance=clause.allowance,
        judge_reason=clause.judge_reason,
        judge=clause.judge,
        decision_rule=clause.decision_rule,
        gauge=clause.gauge,
        phases=tuple(clause.phases),
        consequence=clause.consequence,
        is_struck=clause.is_struck,
        spoken_of=spoken_of,
    )


def _measure_of(characteristic: Characteristic | None) -> tuple[Kind | None, str]:
    kind = quantity_kind_of(characteristic) if characteristic else None
    return kind, characteristic.unit if characteristic and kind else ""


def _allowed(clause: Clause) -> tuple[tuple[EntryContent, ...], int | None]:
    """What the shared list of a clause allows, and by which revision: the pinned one, else the newest."""
    if clause.choice_list is None:
        return (), None
    if clause.list_revision is not None:
        return entries_of(clause.list_revision), clause.list_revision.number
    found = _lists_of(clause.revision).get(clause.choice_list.name) if clause.revision_id else None
    return (found[1] if found else ()), None


def requirement_of(
    plain: Mapping[str, Any], register: Mapping[str, Characteristic], revision: RuleSheetRevision
) -> Requirement:
    """A stored part. A characteristic or list that the club no longer has comes back as not given."""
    characteristic = register.get(plain.get("characteristic", ""))
    kind, unit = _measure_of(characteristic)
    choice_list, entries = None, tuple(EntryContent(**_dated(entry)) for entry in plain.get("entries", ()))
    if plain.get("choice_list"):
        choice_list, newest = _lists_of(revision).get(plain["choice_list"], (None, ()))
        entries = entries or newest
    return Requirement(
        characteristic=characteristic,
        measuring_point=plain.get("measuring_point", ""),
        comparator=Comparator(plain["comparator"]) if plain.get("comparator") else None,
        **{name: read_stored(plain.get(name, ""), kind, unit) for name in LIMIT_NAMES},
        other=register.get(plain.get("other", "")),
        factor=plain.get("factor", ""),
        offset=read_stored(plain.get("offset", ""), kind, unit),
        choices=tuple(plain.get("choices", ())),
        choice_list=choice_list,
        entries=entries,
        list_revision=plain.get("list_revision"),
        expected_answer=plain.get("expected_answer", True),
        readings_wanted=plain.get("readings_wanted", 1),
        counts=plain.get("counts", "each"),
        tolerance_style=plain.get("tolerance_style", ""),
        allowance=plain.get("allowance", ""),
        parts=tuple(requirement_of(part, register, revision) for part in plain.get("parts", ())),
        rows=tuple(_row_of(row, kind, unit) for row in plain.get("limit_rows", ())),
        applies_when=plain.get("applies_when", {}),
        unless=plain.get("unless", {}),
    )


def _dated(entry: Mapping[str, str]) -> dict[str, Any]:
    days = {name: _day(entry.get(name, "")) for name in ("allowed_from", "allowed_until")}
    return dict(entry) | days


def _day(text: str) -> dt.date | None:
    return dt.date.fromisoformat(text) if text else None


def _row_of(plain: Mapping[str, Any], kind: Kind | None, unit: str) -> LimitRow:
    return LimitRow(
        when=plain.get("when", {}),
        **{name: read_stored(plain.get(name, ""), kind, unit) for name in LIMIT_NAMES},
        choices=tuple(plain.get("choices", ())),
    )


# As plain JSON values.


def plain_content(content: Requirement | LimitRow) -> dict[str, Any]:
    """The content as JSON values, without what is empty or as always.

    A characteristic by its code, a gauge and a shared list by their names; a pinned list's entries are left out.
    """
    plain: dict[str, Any] = {}
    for part in fields(content):
        if part.name in _RESOLVED:
            continue
        value = _plain(getattr(content, part.name))
        name = "limit_rows" if part.name == "rows" else part.name
        if value not in (None, "", [], {}, False) or (part.name == "expected_answer" and value is False):
            plain[name] = value
    if plain.get("comparator") != Comparator.YES_NO and isinstance(content, Requirement):
        plain.pop("expected_answer", None)
    for name, always in _UNSAID.items():
        if name != "expected_answer" and plain.get(name) == always:
            del plain[name]
    return plain


def _plain(value: Any) -> Any:
    plain = value
    if isinstance(value, Quantity):
        plain = value.canonical
    elif isinstance(value, Characteristic):
        plain = value.code
    elif isinstance(value, Gauge | ChoiceList):
        plain = value.name
    elif isinstance(value, Requirement | LimitRow):
        plain = plain_content(value)
    elif isinstance(value, tuple):
        plain = [_plain(one) for one in value]
    elif isinstance(value, Comparator):
        plain = value.value
    return plain


def pinned_part(part: Requirement, revisions: Mapping[str, int]) -> dict[str, Any]:
    """A part as a published sheet keeps it: with the revision of its list and all that this allows."""
    plain = plain_content(part)
    if part.choice_list is not None:
        plain["list_revision"] = revisions.get(part.choice_list.name)
        plain["entries"] = [entry.plain for entry in part.entries]
    if part.parts:
        plain["parts"] = [pinned_part(one, revisions) for one in part.parts]
    return plain


def version_of(row: Clause | RuleSheetRevision) -> str:
    """A short mark of what a row says now, by which a form knows that somebody else has saved meanwhile."""
    if isinstance(row, Clause):
        said: Any = plain_content(content_of(row))
    else:
        sheet = row.rule_sheet
        said = [sheet.name, sheet.racing_class_id, sheet.parent_id, row.preamble, row.decision_rule, row.is_closed]
        said += [str(row.guard_factor), row.tolerance_style, row.sheet_tolerances, row.allows_overdue_gauges]
    return hashlib.sha256(json.dumps(said, sort_keys=True, default=str).encode()).hexdigest()[:16]


# What is named where.


def atoms_of(condition: Mapping[str, Any]) -> Iterator[Mapping[str, Any]]:
    """The single conditions in a condition, however nested."""
    for group in ("all", "any"):
        for one in condition.get(group, ()):
            yield from atoms_of(one)
    if "about" in condition:
        yield condition


def conditions_of(content: Requirement) -> Iterator[Mapping[str, Any]]:
    """The single conditions of a clause and its parts: when they apply, when not, and which limits hold."""
    for one in requirements_in(content):
        for condition in (one.applies_when, one.unless, *(row.when for row in one.rows)):
            yield from atoms_of(condition)


def requirements_in(content: Requirement) -> Iterator[Requirement]:
    """The requirement itself and all its parts, from the outside in."""
    yield content
    for part in content.parts:
        yield from requirements_in(part)


def named_codes(contents: Iterable[ClauseContent]) -> set[str]:
    """The codes of all characteristics that clauses speak of: subjects, comparisons, parts, conditions, keys."""
    codes: set[str] = set()
    register: dict[str, Characteristic] = {}
    for content in contents:
        for one in requirements_in(content):
            codes |= {each.code for each in (one.characteristic, one.other) if each is not None}
            codes |= {one.choice_list.keyed_by.code} if one.choice_list and one.choice_list.keyed_by else set()
        codes |= {atom["name"] for atom in conditions_of(content) if atom["about"] in {"characteristic", "restricted"}}
        register |= content.spoken_of
    waiting = list(codes)
    while waiting:
        found = register.get(waiting.pop())
        parts = set(found.derivation.get("of", ())) - codes if found else set()
        codes |= parts
        waiting += parts
    return codes
