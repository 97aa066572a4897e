"""Judge one car by a file, without a club and a database: for scripts, and for settling a protest elsewhere."""

from collections.abc import Iterable, Sequence
from typing import Any

from inspection.conformity.results import ClauseResult
from inspection.management.filecommand import FileCommand
from inspection.verdictfiles.documents import findings_document, findings_lines
from inspection.verdictfiles.errors import UnreadableCase
from inspection.verdictfiles.imports import read_case
from inspection.verdictfiles.selectors import Case, findings_schema_text, judge_case, schema_text

Judged = tuple[Case, Sequence[ClauseResult]]


class Command(FileCommand):
    help = (
        "Judge a car by a JSON file of its rule sheet, build and readings. Ends with 0 when every clause clears, 1 "
        "when one fails or is not decided, 2 when the file cannot be read."
    )
    refuses = UnreadableCase
    schemas = {"file": schema_text, "findings": findings_schema_text}

    def work_out(self, content: bytes) -> Judged:
        case = read_case(content)
        return case, judge_case(case)

    def document(self, found: Judged) -> dict[str, Any]:
        return findings_document(*found)

    def lines(self, found: Judged) -> Iterable[str]:
        return findings_lines(*found)

    def is_good(self, found: Judged) -> bool:
        return all(result.clears for result in found[1])
