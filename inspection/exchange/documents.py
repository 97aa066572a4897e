"""Rule sheets that go out as JSON, in the form of data/rule-sheet.schema.json."""

from collections.abc import Iterable
from typing import Any

from inspection.clauses.selectors import clauses_of
from inspection.contents.selectors import ClauseContent, content_of, named_codes, plain_content, requirements_in
from inspection.exchange.imports import DOCUMENT, VERSION
from inspection.models import Characteristic, Clause, RuleSheetRevision

_ALWAYS = {"tolerance_style": "none", "allows_overdue_gauges": True, "sheet_tolerances": {}}


def sheet_document(revision: RuleSheetRevision, clauses: list[Clause] | None = None) -> dict[str, Any]:
    """A revision as JSON values: a class sheet with all that holds, inherited clauses among its own.

    clauses: loaded as `clauses_of` loads them, for a draft that builds on another sheet.
    Those of `clauses_of`, one query for the register where conditions or parts speak of it, two for a draft's lists.
    """
    sheet = revision.rule_sheet
    rows = [clause for clause in (clauses_of(revision) if clauses is None else clauses) if not clause.is_struck]
    contents = [content_of(clause) for clause in rows]
    document: dict[str, Any] = {"document": DOCUMENT, "version": VERSION, "name": sheet.name, "racing_class": None}
    if sheet.racing_class is not None:
        document["racing_class"] = {"name": sheet.racing_class.name, "scale": sheet.racing_class.scale}
    settings = {
        "guard_factor": str(revision.guard_factor),
        "tolerance_style": revision.tolerance_style,
        "sheet_tolerances": revision.sheet_tolerances,
        "allows_overdue_gauges": revision.allows_overdue_gauges,
    }
    return document | {
        "opening_words": revision.preamble,
        "decision_rule": revision.decision_rule,
        **{name: value for name, value in settings.items() if value != _ALWAYS.get(name)},
        "is_closed": revision.is_closed,
        "revision": {
            "number": revision.number,
            "state": revision.state,
            "effective_from": revision.effective_from.isoformat() if revision.effective_from else None,
            "change_note": revision.change_note,
            "club": sheet.club.name,
        },
        "characteristics": [plain_characteristic(one) for one in _spoken_of(contents)],
        **_lists(contents),
        "clauses": [
            {"id": str(clause.lasting_id)} | {"number": "", "text": ""} | plain_content(content)
            for clause, content in zip(rows, contents, strict=True)
        ],
    }


def _spoken_of(contents: list[ClauseContent]) -> list[Characteristic]:
    known: dict[str, Characteristic] = {}
    for content in contents:
        known |= content.spoken_of
        for one in requirements_in(content):
            known |= {each.code: each for each in (one.characteristic, one.other) if each is not None}
            if one.choice_list and one.choice_list.keyed_by:
                known[one.choice_list.keyed_by.code] = one.choice_list.keyed_by
    codes = named_codes(contents)
    return [known[code] for code in sorted(codes & set(known))]


def _lists(contents: Iterable[ClauseContent]) -> dict[str, Any]:
    """The shared lists that the clauses name, each with what the pinned revision allows."""
    found: dict[str, dict[str, Any]] = {}
    for content in contents:
        for one in requirements_in(content):
            if one.choice_list is None:
                continue
            plain: dict[str, Any] = {"name": one.choice_list.name}
            if one.choice_list.keyed_by is not None:
                plain["keyed_by"] = one.choice_list.keyed_by.code
            found[one.choice_list.name] = plain | {"entries": [entry.plain for entry in one.entries]}
    return {"choice_lists": [found[name] for name in sorted(found)]} if found else {}


def plain_characteristic(characteristic: Characteristic) -> dict[str, Any]:
    """A characteristic as JSON values, for a club that lacks it. No query."""
    names = (
        *("code", "name", "kind", "unit", "measuring_point", "group", "plausible_low", "plausible_high"),
        *("counts_with", "drawing", "derivation"),
    )
    plain = {name: getattr(characteristic, name) for name in names}
    return {name: value for name, value in plain.items() if value} | {"on_build_sheet": characteristic.on_build_sheet}
