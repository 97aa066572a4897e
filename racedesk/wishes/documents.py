"""Wishes in words, and what became of them."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from racedesk.entries.selectors import entries_of, shown_name
from racedesk.models import Race
from racedesk.rotation.who import Kind
from racedesk.wishes.selectors import Wishes

WISH_WORDS = {
    Kind.NOT_BEFORE: gettext_lazy("{name} drives in no heat before {value}"),
    Kind.NOT_AFTER: gettext_lazy("{name} drives in no heat after {value}"),
    Kind.APART: gettext_lazy("{name} and {value} in no heat together"),
    Kind.FIRST_LANE: gettext_lazy("{name} first on lane {value}"),
}


@dataclass(frozen=True, slots=True)
class WishRow:
    """A wish in words and what became of it. asked: as it stands in an address."""

    words: str
    outcome: str
    is_met: bool
    asked: str


def idle_wishes(race: Race, wishes: Wishes, used: Collection[str]) -> tuple[WishRow, ...]:
    """Wishes that no draw looks at: of who is not in it, of a lane that is not there. One query.

    used: those that one did look at, as they stand in an address.
    """
    idle = [asked for asked in wishes.asked if asked.written() not in used]
    names = {entry.public_id: shown_name(entry) for entry in entries_of(race)} if idle else {}
    rows = []
    for asked in idle:
        name, value = names.get(asked.entry, _("somebody else")), asked.value
        if asked.kind is Kind.APART:
            value = names.get(asked.value, _("somebody else"))
        words = str(WISH_WORDS[asked.kind]).format(name=name, value=value)
        rows.append(WishRow(words, _("passed over: not in this draw as things stand"), False, asked.written()))  # noqa: FBT003
    return tuple(rows)


def wish_rows(report: dict[str, Any], names: Sequence[str]) -> tuple[WishRow, ...]:
    """The wishes of a draw's report, each with whether it is met. names: by the report's order."""
    rows = []
    for each in report.get("wishes", ()):
        value = names[each["value"] - 1] if each["kind"] == Kind.APART else each["value"]
        words = WISH_WORDS[each["kind"]].format(name=names[each["driver"] - 1], value=value)
        if not each["hard"]:
            words += ", " + _("if it can be")
        missed = each["missed"]
        if not missed:
            outcome = _("met")
        elif each["kind"] == Kind.FIRST_LANE:
            outcome = _("not met")
        else:
            outcome = ngettext("not met, in {n} heat", "not met, in {n} heats", missed).format(n=missed)
        rows.append(WishRow(words, outcome, not missed, each["asked"]))
    return tuple(rows)
