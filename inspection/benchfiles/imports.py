"""A bench that comes in as JSON, in the form of data/bench.schema.json. No database is asked.

Its rule sheet and what is known of the day are read as those of a car to be judged, and refused for the same reasons.
"""

import json
from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext as _

from inspection.benchfiles.errors import UnreadableBench
from inspection.benchfiles.selectors import BenchCase
from inspection.exchange.imports import read_json
from inspection.planning.candidates import read_wish
from inspection.planning.document import read_bench
from inspection.planning.errors import MESSAGES, PlanningError
from inspection.verdictfiles.errors import UnreadableCase
from inspection.verdictfiles.imports import read_case
from inspection.verdictfiles.selectors import Case

DOCUMENT, VERSION = "bench", 1


def read_bench_file(data: bytes) -> BenchCase:
    """What a file says of a bench. No query. Raises UnreadableBench with what is wrong and where."""
    document = read_json(data, document=DOCUMENT, version=VERSION, refused=UnreadableBench)
    try:
        bench = read_bench(document)
        wish = read_wish(bench) if bench.on_hand or bench.wanted else None
    except PlanningError as error:
        raise unreadable(error) from error
    case = _rules(document)
    return BenchCase(
        bench=bench,
        wish=wish,
        rule_sheet="" if case is None else case.rule_sheet,
        sheet=None if case is None else case.sheet,
        facts=None if case is None else case.facts,
    )


def unreadable(error: PlanningError) -> UnreadableBench:
    """A refusal of the engine in the words of the file."""
    words = _(MESSAGES[error.code]) % error.params
    return UnreadableBench(why=_("This place needs mending first:"), problems=(words,))


def _rules(document: Mapping[str, Any]) -> Case | None:
    """The rules and the day; the track of the document tells its values where the day does not."""
    if document.get("rule_sheet") is None:
        return None
    track = document.get("track") or {}
    occasion = dict(document.get("occasion") or {})
    values = {name: text for name, text in track.items() if name not in {"name", "sections", "lanes"}}
    occasion.setdefault("track_values", values)
    if track.get("name"):
        occasion.setdefault("track", track["name"])
    plain = {
        "document": "car-to-judge",
        "version": 1,
        "rule_sheet": document["rule_sheet"],
        "occasion": occasion,
    }
    try:
        return read_case(json.dumps(plain).encode())
    except UnreadableCase as refused:
        raise UnreadableBench(why=_("These places need mending first:"), problems=refused.problems) from refused
