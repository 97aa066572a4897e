"""Work out one build by a file, without a club and a database: fit, gears, rules, cures and a plan of the parts."""

import json
import sys
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandParser
from django.utils.translation import gettext as _

from inspection.benchfiles.documents import result_document, result_lines
from inspection.benchfiles.errors import UnreadableBench
from inspection.benchfiles.imports import read_bench_file, unreadable
from inspection.benchfiles.selectors import result_schema_text, schema_text, work_out
from inspection.planning.errors import PlanningError

GOOD, NOT_GOOD, UNREADABLE = 0, 1, 2


class Command(BaseCommand):
    help = (
        "Work out a build by a JSON file of its chassis, parts, class and track. Ends with 0 when it fits, its gears "
        "run and no clause stands in its way, 1 when not, 2 when the file cannot be read."
    )
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", nargs="?", help="the file; - reads standard input")
        parser.add_argument("--json", action="store_true", dest="as_json", help="print one JSON object")
        parser.add_argument(
            "--schema",
            nargs="?",
            const="file",
            choices=("file", "result"),
            help="print the JSON Schema of the file, or of the result that --json prints",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        if options["schema"]:
            self.stdout.write(schema_text() if options["schema"] == "file" else result_schema_text())
            return
        try:
            outcome = _outcome(options["file"])
        except (UnreadableBench, OSError) as refusal:
            self.stderr.write("\n".join([str(refusal), *getattr(refusal, "problems", ())]))
            sys.exit(UNREADABLE)
        if options["as_json"]:
            self.stdout.write(json.dumps(result_document(outcome), ensure_ascii=False))
        else:
            self.stdout.write("\n".join(result_lines(outcome)))
        sys.exit(GOOD if outcome.evaluation.is_good else NOT_GOOD)


def _outcome(name: str | None) -> Any:
    case = read_bench_file(_read(name))
    try:
        return work_out(case)
    except PlanningError as error:
        raise unreadable(error) from error


def _read(name: str | None) -> bytes:
    if name is None:
        raise UnreadableBench(why=_("Name a file, or - for standard input."))
    return sys.stdin.buffer.read() if name == "-" else Path(name).read_bytes()
