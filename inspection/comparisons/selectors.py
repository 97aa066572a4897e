"""How two revisions of a sheet differ, clause by clause by their lasting ids."""

import difflib
import re
from dataclasses import dataclass

from django.utils.translation import gettext

from inspection.clauses.selectors import ClauseLine, clause_lines
from inspection.contents.selectors import content_of, plain_content, requirements_in
from inspection.families.selectors import family_of
from inspection.models import RuleSheetRevision
from inspection.units import DecimalMark

SAME, OLD, NEW = "same", "old", "new"


@dataclass(frozen=True, slots=True)
class Words:
    """A run of words. state: "same", "old" (only in the older revision) or "new"."""

    state: str
    text: str


@dataclass(frozen=True, slots=True)
class Difference:
    """One thing that a clause says, in both revisions. name: what it is, "" for the text itself."""

    name: str
    older: tuple[Words, ...]
    newer: tuple[Words, ...]


@dataclass(frozen=True, slots=True)
class ClauseChange:
    """How one clause differs. states: of "added", "removed", "changed", "renumbered", "moved"; () for the same."""

    states: tuple[str, ...]
    older: ClauseLine | None
    newer: ClauseLine | None
    differences: tuple[Difference, ...] = ()


def compare_revisions(
    older: RuleSheetRevision, newer: RuleSheetRevision, *, decimal_mark: DecimalMark = "."
) -> list[ClauseChange]:
    """Two revisions with all that holds by them: in the newer one's order, what was removed last.

    The queries of `family_of`, twice.
    """
    before, after = (
        {line.clause.lasting_id: line for line in _lines(revision, decimal_mark)} for revision in (older, newer)
    )
    common_before = [key for key in before if key in after]
    common_after = [key for key in after if key in before]
    stays = _longest_run(common_before, common_after)
    changes = []
    for key, line in after.items():
        old = before.get(key)
        if old is None:
            changes.append(ClauseChange(("added",), None, line, _differences(None, line)))
            continue
        states = _states(old, line) + (() if key in stays else ("moved",))
        changes.append(ClauseChange(states, old, line, _differences(old, line) if states else ()))
    gone = [line for key, line in before.items() if key not in after]
    return changes + [ClauseChange(("removed",), line, None, _differences(line, None)) for line in gone]


def _lines(revision: RuleSheetRevision, decimal_mark: DecimalMark) -> list[ClauseLine]:
    return clause_lines(revision, decimal_mark=decimal_mark, clauses=family_of(revision).clauses)


def _longest_run(older: list[object], newer: list[object]) -> set[object]:
    """The clauses that keep their order: what is not among them has moved."""
    matcher = difflib.SequenceMatcher(a=older, b=newer, autojunk=False)
    return {key for block in matcher.get_matching_blocks() for key in older[block.a : block.a + block.size]}


def _states(older: ClauseLine, newer: ClauseLine) -> tuple[str, ...]:
    was, now = (_said(line) for line in (older, newer))
    states = []
    if was | {"number": ""} != now | {"number": ""}:
        states.append("changed")
    if was["number"] != now["number"]:
        states.append("renumbered")
    return tuple(states)


def _said(line: ClauseLine) -> dict[str, object]:
    """What a clause says, and what the shared lists it names allow."""
    content = content_of(line.clause)
    allowed = [one.entries for one in requirements_in(content) if one.choice_list is not None]
    return {"number": ""} | plain_content(content) | {"allowed": allowed}


def _differences(older: ClauseLine | None, newer: ClauseLine | None) -> tuple[Difference, ...]:
    was, now = (_shown(line) if line else {} for line in (older, newer))
    found = []
    for name in dict.fromkeys([*was, *now]):
        old, new = was.get(name, ""), now.get(name, "")
        if old or new:
            found.append(Difference(name, *marked(old, new)))
    return tuple(found)


def _shown(line: ClauseLine) -> dict[str, str]:
    """What a reader is shown of a clause, by its name."""
    clause = line.clause
    lists = [one for one in requirements_in(content_of(clause)) if one.choice_list is not None]
    listed = " / ".join(dict.fromkeys(entry.value for one in lists for entry in one.entries))
    how = [line.phases, line.readings, line.gauge.name if line.gauge else "", clause.consequence]
    return {
        "": clause.text,
        gettext("Subject"): clause.characteristic.name if clause.characteristic else "",
        gettext("Where"): clause.measuring_point,
        gettext("Limit"): line.limit,
        gettext("On the list"): listed,
        gettext("Judge"): ", ".join(filter(None, (clause.judge, clause.judge_reason))),
        gettext("How"): "; ".join(filter(None, how)),
        gettext("From"): line.origin.name if line.origin else "",
    }


def marked(older: str, newer: str) -> tuple[tuple[Words, ...], tuple[Words, ...]]:
    """Two texts word by word, with what only one of them has marked. Joined, the runs are the texts."""
    old, new = (re.findall(r"\S+\s*", text) for text in (older, newer))
    bare = [[word.strip() for word in words] for words in (old, new)]
    left: list[Words] = []
    right: list[Words] = []
    for code, a1, a2, b1, b2 in difflib.SequenceMatcher(a=bare[0], b=bare[1], autojunk=False).get_opcodes():
        same = code == "equal"
        if a2 > a1:
            left.append(Words(SAME if same else OLD, "".join(old[a1:a2])))
        if b2 > b1:
            right.append(Words(SAME if same else NEW, "".join(new[b1:b2])))
    return tuple(left), tuple(right)
