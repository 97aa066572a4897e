"""The lists that sheets share, their revisions, and who stands on which."""

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.db.models import Count, Prefetch, QuerySet

from inspection.models import ChoiceEntry, ChoiceList, ChoiceListRevision, Clause, Club, RuleSheetRevision

COLUMNS = ("value", "key", "allowed_from", "allowed_until", "note")


@dataclass(frozen=True, slots=True, kw_only=True)
class EntryContent:
    """One thing that a list allows. key: the value of the list's `keyed_by` that it holds for; "" for every car.

    allowed_from, allowed_until: both days included; None for no end.
    """

    value: str
    key: str = ""
    allowed_from: dt.date | None = None
    allowed_until: dt.date | None = None
    note: str = ""

    @property
    def plain(self) -> dict[str, str]:
        """As JSON values, without what is empty; days in ISO form."""
        said = {name: getattr(self, name) for name in COLUMNS}
        return {name: str(value) for name, value in said.items() if value}


def entry_content(entry: ChoiceEntry) -> EntryContent:
    """What a stored entry says."""
    return EntryContent(**{name: getattr(entry, name) for name in COLUMNS})


def entries_of(revision: ChoiceListRevision) -> tuple[EntryContent, ...]:
    """The entries in the list's order. One query unless they are loaded."""
    return tuple(entry_content(entry) for entry in revision.entries.all())


def entries_text(entries: Iterable[EntryContent]) -> str:
    """One entry a line, its parts between bars, without the empty ones at the end: as the form takes them."""
    lines = []
    for entry in entries:
        parts = [str(getattr(entry, name) or "") for name in COLUMNS]
        while parts and not parts[-1]:
            parts.pop()
        lines.append(" | ".join(parts))
    return "\n".join(lines)


def lists_of(club: Club) -> QuerySet[ChoiceList]:
    """The lists of a club by name. One query when read."""
    return ChoiceList.objects.of(club).select_related("keyed_by").order_by("name")


def newest_revisions(club: Club, *, with_entries: bool = False) -> dict[int, ChoiceListRevision]:
    """The newest revision of each list of a club, by the list's key. One query, and one for the entries."""
    found = ChoiceListRevision.objects.of(club).select_related("choice_list__keyed_by").order_by("number")
    newest = {revision.choice_list_id: revision for revision in found}
    if with_entries:
        by_revision: dict[int, list[ChoiceEntry]] = {one.pk: [] for one in newest.values()}
        for entry in ChoiceEntry.objects.filter(revision__in=by_revision):
            by_revision[entry.revision_id].append(entry)
        for revision in newest.values():
            revision._prefetched_objects_cache = {"entries": by_revision[revision.pk]}  # noqa: SLF001  as prefetch does
    return newest


def newest_revision(choice_list: ChoiceList) -> ChoiceListRevision | None:
    """The revision that a sheet published now would pin, with its entries. Two queries."""
    found = choice_list.revisions.select_related("choice_list__keyed_by").prefetch_related("entries")
    return found.order_by("-number").first()


def revisions_of(choice_list: ChoiceList) -> list[ChoiceListRevision]:
    """All revisions, the newest first, with their entries. Two queries."""
    found = choice_list.revisions.select_related("created_by").order_by("-number")
    return list(found.prefetch_related("entries"))


@dataclass(frozen=True, slots=True)
class ListRow:
    """One list of a club: its newest revision, how many entries that has and how many sheets name the list."""

    choice_list: ChoiceList
    revision: ChoiceListRevision | None
    entries: int
    sheets: int


def list_rows(club: Club) -> list[ListRow]:
    """The lists of a club by name. Three queries."""
    newest = {
        revision.choice_list_id: revision
        for revision in ChoiceListRevision.objects.of(club).annotate(entry_count=Count("entries")).order_by("number")
    }
    sheets: dict[str, set[int]] = {}
    for clause in _clauses_with_lists(club):
        for name in named_lists(clause):
            sheets.setdefault(name, set()).add(clause.revision.rule_sheet_id)
    return [
        ListRow(one, newest.get(one.pk), getattr(newest.get(one.pk), "entry_count", 0), len(sheets.get(one.name, ())))
        for one in lists_of(club)
    ]


@dataclass(frozen=True, slots=True)
class ListUse:
    """A revision of a sheet that names the list, and the list's revision it has pinned, None for a draft."""

    revision: RuleSheetRevision
    clauses: tuple[str, ...]
    pinned: int | None


def uses_of(choice_list: ChoiceList) -> list[ListUse]:
    """The newest published revision and the draft of each sheet that names the list, by sheet. One query."""
    found: dict[tuple[int, bool], list[Clause]] = {}
    for clause in _clauses_with_lists(choice_list.club):
        if choice_list.name in named_lists(clause):
            found.setdefault((clause.revision.rule_sheet_id, clause.revision.is_published), []).append(clause)
    uses = []
    for clauses in found.values():
        newest = max((clause.revision for clause in clauses), key=lambda revision: revision.number)
        of_it = [clause for clause in clauses if clause.revision.pk == newest.pk]
        pinned = next((number for clause in of_it if (number := pinned_number(clause, choice_list.name))), None)
        uses.append(ListUse(newest, tuple(clause.number for clause in of_it), pinned))
    return sorted(uses, key=lambda use: (use.revision.rule_sheet.name, -use.revision.number))


def _clauses_with_lists(club: Club) -> QuerySet[Clause]:
    return (
        Clause.objects.filter(revision__rule_sheet__club=club)
        .exclude(choice_list=None, parts=[])
        .select_related("revision__rule_sheet", "choice_list", "list_revision")
        .order_by("position", "id")
    )


def _named_in(parts: Iterable[Mapping[str, Any]]) -> dict[str, int | None]:
    found: dict[str, int | None] = {}
    for part in parts:
        if part.get("choice_list"):
            found[part["choice_list"]] = part.get("list_revision")
        found |= _named_in(part.get("parts", []))
    return found


def named_lists(clause: Clause) -> set[str]:
    """The names of the lists that a clause or a part of it speaks of. No query when its list is loaded."""
    own = {clause.choice_list.name} if clause.choice_list else set()
    return own | set(_named_in(clause.parts))


def pinned_number(clause: Clause, name: str) -> int | None:
    """The revision of the list of that name that a published clause has pinned."""
    if clause.choice_list and clause.choice_list.name == name and clause.list_revision:
        return clause.list_revision.number
    return _named_in(clause.parts).get(name)


@dataclass(frozen=True, slots=True)
class ListBehind:
    """A list of which a newer revision exists than the one that a published sheet has."""

    choice_list: ChoiceList
    pinned: int
    newest: int


def lists_behind(club: Club, clauses: Iterable[Clause]) -> list[ListBehind]:
    """The lists whose newest revision is not the one these clauses have. One query, none when no list is named."""
    pinned: dict[str, int] = {}
    for clause in clauses:
        for name in named_lists(clause):
            number = pinned_number(clause, name)
            if number is not None:
                pinned[name] = min(number, pinned.get(name, number))
    if not pinned:
        return []
    newest = {revision.choice_list.name: revision for revision in newest_revisions(club).values()}
    return [
        ListBehind(newest[name].choice_list, number, newest[name].number)
        for name, number in sorted(pinned.items())
        if name in newest and newest[name].number > number
    ]


ENTRIES = Prefetch("list_revision__entries", queryset=ChoiceEntry.objects.order_by("position", "id"))
