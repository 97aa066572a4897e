"""Work out one build by a file, without a club and a database: fit, gears, rules, cures and a plan of the parts."""

from collections.abc import Iterable
from typing import Any

from inspection.benchfiles.documents import result_document, result_lines
from inspection.benchfiles.errors import UnreadableBench
from inspection.benchfiles.imports import read_bench_file, unreadable
from inspection.benchfiles.selectors import BenchOutcome, result_schema_text, schema_text, work_out
from inspection.management.filecommand import FileCommand
from inspection.planning.errors import PlanningError


class Command(FileCommand):
    help = (
        "Work out a build by a JSON file of its chassis, parts, class and track. Ends with 0 when it fits, its gears "
        "run and no clause stands in its way, 1 when not, 2 when the file cannot be read."
    )
    refuses = UnreadableBench
    schemas = {"file": schema_text, "result": result_schema_text}

    def work_out(self, content: bytes) -> BenchOutcome:
        case = read_bench_file(content)
        try:
            return work_out(case)
        except PlanningError as error:
            raise unreadable(error) from error

    def document(self, found: BenchOutcome) -> dict[str, Any]:
        return result_document(found)

    def lines(self, found: BenchOutcome) -> Iterable[str]:
        return result_lines(found)

    def is_good(self, found: BenchOutcome) -> bool:
        return found.evaluation.is_good
