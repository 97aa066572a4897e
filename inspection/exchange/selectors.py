"""Rule sheets that come in whole: the starters that ship, and what a file says once it has been read."""

import uuid
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.utils.translation import gettext_lazy

from inspection.clauses.selectors import ClauseContent
from inspection.models import Characteristic, RuleSheetRevision

DATA = Path(__file__).parent / "data"


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
    is_closed: bool = False
