"""Rule sheets that come in whole: the starters that ship, and what a file says once it has been read."""

import uuid
from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path
from typing import Any

from django.utils.translation import gettext_lazy

from inspection.choicelists.selectors import EntryContent
from inspection.contents.selectors import ClauseContent
from inspection.models import Characteristic, ChoiceList, RuleSheetRevision

DATA = Path(__file__).parent / "data"
# What of a revision says how it decides; the names of its fields.
SETTINGS = (
    *("decision_rule", "guard_factor", "tolerance_style", "sheet_tolerances", "allows_overdue_gauges", "is_closed"),
)


@dataclass(frozen=True, slots=True)
class Starter:
    """An invented sheet to copy from. name, summary: lazy translations."""

    code: str
    name: Any
    summary: Any

    @property
    def path(self) -> Path:
        return DATA / "starters" / f"{self.code}.json"


STARTERS = (
    Starter(
        "plastic-chassis-32",
        gettext_lazy("Plastic chassis, 1:32"),
        gettext_lazy("Molded chassis without magnets on a wood track; limits in millimeters and grams."),
    ),
    Starter(
        "steel-chassis-24",
        gettext_lazy("Steel chassis, 1:24"),
        gettext_lazy("Stamped steel chassis; limits in inches, fractions among them."),
    ),
    Starter(
        "general",
        gettext_lazy("General club sheet"),
        gettext_lazy("What every car of a club must be, whatever its class."),
    ),
)


def schema_text() -> str:
    """The JSON Schema of a rule sheet as a file."""
    return (DATA / "rule-sheet.schema.json").read_text(encoding="utf-8")


@dataclass(frozen=True, slots=True)
class NewList:
    """A shared list that the club lacks, not saved yet; the clauses refer to it."""

    choice_list: ChoiceList
    keyed_by: Characteristic | None
    entries: tuple[EntryContent, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetContent:
    """A whole sheet as a starter or a file brings it. clauses: lasting id, or None for a new one, and content.

    new_characteristics: rows not saved yet, to which the clauses refer. racing_class, scale: "" for no class.
    """

    name: str
    clauses: tuple[tuple[uuid.UUID | None, ClauseContent], ...]
    new_characteristics: tuple[Characteristic, ...] = ()
    racing_class: str = ""
    scale: str = ""
    opening_words: str = ""
    decision_rule: str = RuleSheetRevision.Decision.SIMPLE_ACCEPTANCE
    guard_factor: Decimal = Decimal("1.65")
    tolerance_style: str = RuleSheetRevision.ToleranceStyle.NONE
    sheet_tolerances: Mapping[str, str] = field(default_factory=dict)
    allows_overdue_gauges: bool = True
    is_closed: bool = False
    new_lists: tuple[NewList, ...] = ()

    @property
    def settings(self) -> dict[str, Any]:
        """How the sheet decides, by the names of the revision's fields."""
        return {name: getattr(self, name) for name in SETTINGS} | {"sheet_tolerances": dict(self.sheet_tolerances)}
