"""Rule sheets that go out as JSON, in the form of data/rule-sheet.schema.json."""

from typing import Any

from inspection.clauses.selectors import clauses_of, content_of, plain_content
from inspection.exchange.imports import DOCUMENT, VERSION
from inspection.models import Characteristic, RuleSheetRevision


def sheet_document(revision: RuleSheetRevision) -> dict[str, Any]:
    """A revision as JSON values. One query when the sheet, its class and its club are loaded."""
    sheet = revision.rule_sheet
    clauses = clauses_of(revision)
    spoken_of = {clause.characteristic.code: clause.characteristic for clause in clauses if clause.characteristic}
    document: dict[str, Any] = {"document": DOCUMENT, "version": VERSION, "name": sheet.name, "racing_class": None}
    if sheet.racing_class is not None:
        document["racing_class"] = {"name": sheet.racing_class.name, "scale": sheet.racing_class.scale}
    return document | {
        "opening_words": revision.preamble,
        "decision_rule": revision.decision_rule,
        "is_closed": revision.is_closed,
        "revision": {
            "number": revision.number,
            "state": revision.state,
            "effective_from": revision.effective_from.isoformat() if revision.effective_from else None,
            "change_note": revision.change_note,
            "club": sheet.club.name,
        },
        "characteristics": [plain_characteristic(spoken_of[code]) for code in sorted(spoken_of)],
        "clauses": [{"id": str(clause.lasting_id)} | _clause(clause) for clause in clauses],
    }


def _clause(clause: Any) -> dict[str, Any]:
    content = content_of(clause)
    plain = {"number": "", "text": ""} | plain_content(content)
    if content.comparator != "yes_no":
        plain.pop("expected_answer", None)
    if content.readings_wanted == 1:
        plain.pop("readings_wanted", None)
    return plain


def plain_characteristic(characteristic: Characteristic) -> dict[str, Any]:
    """A characteristic as JSON values, for a club that lacks it. No query."""
    names = ("code", "name", "kind", "unit", "measuring_point", "group", "plausible_low", "plausible_high")
    plain = {name: getattr(characteristic, name) for name in names}
    return {name: value for name, value in plain.items() if value} | {"on_build_sheet": characteristic.on_build_sheet}
